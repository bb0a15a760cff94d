-- severity: stop
-- meaning: Volume load of a week's muscles is that of its exercises times the muscles trained directly.
-- reads: muscle_week, exercise_session, exercise_muscle
with

direct as (
    select
        exercise_id,
        count(*) as n_muscles
    from exercise_muscle
    where credit >= 1
    group by exercise_id
),

from_exercises as (
    select
        exercise_session.client_id,
        exercise_session.week_start,
        sum(coalesce(exercise_session.volume_kg, 0) * coalesce(direct.n_muscles, 0)) as volume_kg
    from exercise_session
    left join direct on exercise_session.exercise_id = direct.exercise_id
    group by exercise_session.client_id, exercise_session.week_start
),

from_muscles as (
    select
        client_id,
        week_start,
        sum(volume_kg) as volume_kg
    from muscle_week
    group by client_id, week_start
)

select
    from_exercises.client_id,
    from_exercises.week_start,
    from_exercises.volume_kg,
    from_muscles.volume_kg as volume_kg_of_muscles
from from_exercises
left join from_muscles
    on
        from_exercises.client_id = from_muscles.client_id
        and from_exercises.week_start = from_muscles.week_start
where
    abs(from_exercises.volume_kg - coalesce(from_muscles.volume_kg, 0))
    > 1e-6 * (1 + from_exercises.volume_kg)
