-- The exercises of a client's training days, warm-ups left out.
-- grain: one row a client, session_date and exercise
-- reads: stg_set
select
    client_id,
    week_start,
    session_date,
    exercise_id,
    max(exercise_name) as exercise_name,
    sum(case when is_set then 1 else 0 end) as n_sets
from stg_set
where set_kind <> 'warm_up'
group by client_id, week_start, session_date, exercise_id
