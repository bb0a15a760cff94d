-- Which exercises may stand in for each other: the same movement pattern, and for single-joint and core work
-- also a muscle both train directly.
-- grain: one row an ordered pair of different exercises
-- reads: exercise, exercise_muscle
with

direct as (
    select
        exercise_id,
        muscle
    from exercise_muscle
    where credit >= 1
),

shared as (
    select
        direct.exercise_id,
        other.exercise_id as other_id,
        count(*) as n_muscles
    from direct
    inner join direct as other on direct.muscle = other.muscle
    where direct.exercise_id <> other.exercise_id
    group by direct.exercise_id, other.exercise_id
)

select
    exercise.exercise_id,
    other.exercise_id as other_id,
    coalesce(shared.n_muscles, 0) as n_muscles
from exercise
inner join exercise as other on exercise.pattern = other.pattern
left join shared on exercise.exercise_id = shared.exercise_id and other.exercise_id = shared.other_id
where
    exercise.exercise_id <> other.exercise_id
    and exercise.pattern not in ('other', 'conditioning')
    and (exercise.pattern not in ('isolation', 'core') or shared.n_muscles is not null)
