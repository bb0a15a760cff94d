-- The exercises of a client's training days, warm-ups left out.
-- grain: one row a client, session_date and exercise
-- reads: stg_set
with

item as (
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
)

select
    client_id,
    week_start,
    session_date,
    exercise_id,
    exercise_name,
    n_sets,
    count(*) over (partition by client_id, session_date) as n_items_of_day
from item
