-- Weekly hard sets a muscle, done and planned, against the target range.
-- grain: client, week_start, muscle
-- reads: exercise_day, exercise_muscle, muscle_target, planned_item, muscle_session
--
-- A hard set counts 1 for a muscle trained directly and 0.5 for one trained indirectly (Pelland et al. 2024),
-- or what the coach set. Effort unknown is counted apart, never as hard. A client's week with a log has a row
-- for every muscle that was trained, was planned or has a target; weeks without a log have none: not known is
-- not zero.
with

week_exercise as (
    select
        client_id,
        week_start,
        exercise_id,
        sum(n_hard_sets) as n_hard_sets,
        sum(n_unknown_effort_sets) as n_unknown_effort_sets,
        sum(volume_kg) as volume_kg
    from exercise_day
    where n_done > 0
    group by client_id, week_start, exercise_id
),

trained as (
    select
        week_exercise.client_id,
        week_exercise.week_start,
        exercise_muscle.muscle,
        sum(case when exercise_muscle.credit >= 1 then 1e0 else 0e0 end * week_exercise.n_hard_sets)
            as direct_hard_sets,
        sum(exercise_muscle.credit * week_exercise.n_hard_sets) as fractional_hard_sets,
        sum(exercise_muscle.credit * week_exercise.n_unknown_effort_sets) as unknown_effort_sets,
        sum(case when exercise_muscle.credit >= 1 then week_exercise.volume_kg else 0e0 end) as volume_kg
    from week_exercise
    inner join exercise_muscle on week_exercise.exercise_id = exercise_muscle.exercise_id
    group by week_exercise.client_id, week_exercise.week_start, exercise_muscle.muscle
),

spacing as (
    select
        client_id,
        week_start,
        muscle,
        count(*) as n_sessions,
        min(days_since_last) as min_days_between
    from muscle_session
    group by client_id, week_start, muscle
),

planned as (
    select
        planned_item.client_id,
        planned_item.week_start,
        exercise_muscle.muscle,
        sum(planned_item.planned_sets * exercise_muscle.credit) as planned_sets,
        sum(case when exercise_muscle.credit >= 1 then planned_item.planned_sets else 0 end)
            as planned_direct_sets
    from planned_item
    inner join exercise_muscle on planned_item.exercise_id = exercise_muscle.exercise_id
    group by planned_item.client_id, planned_item.week_start, exercise_muscle.muscle
),

planned_week as (
    select
        client_id,
        week_start
    from planned_item
    group by client_id, week_start
),

logged_week as (
    select
        client_id,
        week_start
    from week_exercise
    group by client_id, week_start
),

every_muscle as (
    select
        client_id,
        week_start,
        muscle
    from trained
    union
    select
        planned.client_id,
        planned.week_start,
        planned.muscle
    from planned
    inner join logged_week
        on planned.client_id = logged_week.client_id and planned.week_start = logged_week.week_start
    union
    select
        logged_week.client_id,
        logged_week.week_start,
        muscle_target.muscle
    from logged_week
    cross join muscle_target
)

select
    every_muscle.client_id,
    every_muscle.week_start,
    every_muscle.muscle,
    coalesce(trained.direct_hard_sets, 0e0) as direct_hard_sets,
    coalesce(trained.fractional_hard_sets, 0e0) as fractional_hard_sets,
    coalesce(trained.unknown_effort_sets, 0e0) as unknown_effort_sets,
    coalesce(spacing.n_sessions, 0) as n_sessions,
    case when planned_week.client_id is not null then coalesce(planned.planned_sets, 0e0) end as planned_sets,
    case
        when planned_week.client_id is not null then coalesce(planned.planned_direct_sets, 0)
    end as planned_direct_sets,
    muscle_target.target_low,
    muscle_target.target_high,
    coalesce(trained.volume_kg, 0e0) as volume_kg,
    spacing.min_days_between
from every_muscle
left join trained
    on
        every_muscle.client_id = trained.client_id
        and every_muscle.week_start = trained.week_start
        and every_muscle.muscle = trained.muscle
left join spacing
    on
        every_muscle.client_id = spacing.client_id
        and every_muscle.week_start = spacing.week_start
        and every_muscle.muscle = spacing.muscle
left join planned
    on
        every_muscle.client_id = planned.client_id
        and every_muscle.week_start = planned.week_start
        and every_muscle.muscle = planned.muscle
left join planned_week
    on every_muscle.client_id = planned_week.client_id and every_muscle.week_start = planned_week.week_start
left join muscle_target on every_muscle.muscle = muscle_target.muscle
