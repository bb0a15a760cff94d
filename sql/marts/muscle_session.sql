-- The days a muscle was trained directly, and how long after the time before.
-- grain: client, session_date, muscle
-- reads: exercise_day, exercise_muscle
with

trained as (
    select
        exercise_day.client_id,
        exercise_day.session_date,
        exercise_day.week_start,
        exercise_muscle.muscle,
        sum(exercise_day.n_working_sets) as n_working_sets
    from exercise_day
    inner join exercise_muscle on exercise_day.exercise_id = exercise_muscle.exercise_id
    where exercise_day.n_working_sets > 0 and exercise_muscle.credit >= 1
    group by
        exercise_day.client_id,
        exercise_day.session_date,
        exercise_day.week_start,
        exercise_muscle.muscle
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
