-- The exercises of a client's training days, warm-ups left out.
-- grain: one row a client, session_date and exercise
-- reads: exercise_day
select
    client_id,
    week_start,
    session_date,
    exercise_id,
    exercise_name,
    n_sets,
    count(*) over (partition by client_id, session_date) as n_items_of_day
from exercise_day
where n_entries > 0
