-- What each exercise came to in each session: sets, volume load, the heaviest load, the best estimated 1RM.
-- grain: client, session_date, exercise_id
-- reads: exercise_day, best_set, set_e1rm
--
-- The estimate of a session rests on its best set with known effort; a set of unknown effort takes its place
-- only when even its lower bound lies above the interval of that one.
with

estimated as (
    select
        client_id,
        session_date,
        exercise_id,
        is_lower_bound,
        e1rm_kg,
        e1rm_se_pct,
        e1rm_kind,
        case when not is_lower_bound then e1rm_kg * (1 + 1.645e-2 * e1rm_se_pct) end as high_kg,
        external_load_kg,
        reps,
        rir
    from best_set
    where has_estimate
),

-- the highest upper end of the sets with known effort, where a set of unknown effort may lie above it
highest_point as (
    select
        set_e1rm.client_id,
        set_e1rm.session_date,
        set_e1rm.exercise_id,
        max(set_e1rm.e1rm_kg * (1 + 1.645e-2 * set_e1rm.e1rm_se_pct)) as high_kg
    from set_e1rm
    inner join estimated
        on
            set_e1rm.client_id = estimated.client_id
            and set_e1rm.session_date = estimated.session_date
            and set_e1rm.exercise_id = estimated.exercise_id
    where estimated.is_lower_bound and not set_e1rm.is_lower_bound and set_e1rm.e1rm_kg is not null
    group by set_e1rm.client_id, set_e1rm.session_date, set_e1rm.exercise_id
),

best_bound as (
    select estimated.*
    from estimated
    left join highest_point
        on
            estimated.client_id = highest_point.client_id
            and estimated.session_date = highest_point.session_date
            and estimated.exercise_id = highest_point.exercise_id
    where
        estimated.is_lower_bound
        and (highest_point.high_kg is null or estimated.e1rm_kg > highest_point.high_kg)
),

best as (
    select * from best_bound
    union all
    select estimated.*
    from estimated
    left join best_bound
        on
            estimated.client_id = best_bound.client_id
            and estimated.session_date = best_bound.session_date
            and estimated.exercise_id = best_bound.exercise_id
    where not estimated.is_lower_bound and best_bound.client_id is null
)

select
    exercise_day.client_id,
    exercise_day.session_date,
    exercise_day.week_start,
    exercise_day.exercise_id,
    exercise_day.exercise_name,
    exercise_day.n_sets,
    exercise_day.n_hard_sets,
    exercise_day.n_unknown_effort_sets,
    exercise_day.n_missed_attempts,
    exercise_day.n_reps,
    exercise_day.volume_kg,
    exercise_day.system_volume_kg,
    exercise_day.top_load_kg,
    exercise_day.top_load_reps,
    best.e1rm_kg as best_e1rm_kg,
    best.e1rm_kg * (1 - 1.645e-2 * best.e1rm_se_pct) as e1rm_low_kg,
    best.high_kg as e1rm_high_kg,
    best.e1rm_se_pct,
    case when best.e1rm_kg is not null then exercise_day.e1rm_basis end as e1rm_basis,
    best.e1rm_kind,
    best.external_load_kg as best_load_kg,
    best.reps as best_reps,
    best.rir as best_rir,
    exercise_day.mean_rir
from exercise_day
left join best
    on
        exercise_day.client_id = best.client_id
        and exercise_day.session_date = best.session_date
        and exercise_day.exercise_id = best.exercise_id
where exercise_day.n_entries > 0
