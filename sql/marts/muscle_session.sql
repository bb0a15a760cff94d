-- The days a muscle was trained directly, and how long after the time before.
-- grain: client, session_date, muscle
-- reads: stg_set, exercise_muscle
with

trained as (
    select
        stg_set.client_id,
        stg_set.session_date,
        stg_set.week_start,
        exercise_muscle.muscle,
        count(*) as n_working_sets
    from stg_set
    inner join exercise_muscle on stg_set.exercise_id = exercise_muscle.exercise_id
    where stg_set.is_working and exercise_muscle.credit >= 1
    group by stg_set.client_id, stg_set.session_date, stg_set.week_start, exercise_muscle.muscle
)

select
    client_id,
    session_date,
    week_start,
    muscle,
    n_working_sets,
    datediff(
        'day',
        lag(session_date) over (partition by client_id, muscle order by session_date),
        session_date
    ) as days_since_last
from trained
