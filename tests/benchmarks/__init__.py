"""How long the pipeline takes and where: made folders of logs, two other ways to do the job, one table."""
