-- Each planned training day of a week and what became of it.
-- grain: client, week_start, plan, day, planned_date
-- reads: planned_session_outcome
select
    client_id,
    week_start,
    plan,
    phase,
    day_name as day,  -- noqa: RF04
    planned_date,
    outcome,
    session_date,
    planned_sets,
    done_sets,
    n_swapped
from planned_session_outcome
