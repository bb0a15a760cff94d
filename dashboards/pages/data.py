from dashboards.frame import begin

begin()
