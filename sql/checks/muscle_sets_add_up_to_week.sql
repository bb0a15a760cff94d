-- severity: stop
-- meaning: Fractional hard sets of a week's muscles add up to its hard sets times their exercises' credits.
-- reads: muscle_week, exercise_session, exercise_muscle
with

credit as (
    select
        exercise_id,
        sum(credit) as credit
    from exercise_muscle
    group by exercise_id
),

from_exercises as (
    select
        exercise_session.client_id,
        exercise_session.week_start,
        sum(exercise_session.n_hard_sets * coalesce(credit.credit, 0)) as fractional_hard_sets
    from exercise_session
    left join credit on exercise_session.exercise_id = credit.exercise_id
    group by exercise_session.client_id, exercise_session.week_start
),

from_muscles as (
    select
        client_id,
        week_start,
        sum(fractional_hard_sets) as fractional_hard_sets
    from muscle_week
    group by client_id, week_start
)

select
    from_exercises.client_id,
    from_exercises.week_start,
    from_exercises.fractional_hard_sets,
    from_muscles.fractional_hard_sets as fractional_hard_sets_of_muscles
from from_exercises
left join from_muscles
    on
        from_exercises.client_id = from_muscles.client_id
        and from_exercises.week_start = from_muscles.week_start
where abs(from_exercises.fractional_hard_sets - coalesce(from_muscles.fractional_hard_sets, 0)) > 1e-6
