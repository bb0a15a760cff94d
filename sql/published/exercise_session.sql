-- What each exercise came to in each session: sets, volume load, the heaviest load, the best estimated 1RM.
-- grain: client, session_date, exercise_id
-- reads: stg_set, set_e1rm
--
-- The estimate of a session rests on its best set with known effort; a set of unknown effort takes its place
-- only when even its lower bound lies above the interval of that one.
with

ranked_load as (
    select
        client_id,
        session_date,
        exercise_id,
        load_kg,
        reps,
        row_number() over (
            partition by client_id, session_date, exercise_id
            order by load_kg desc, reps desc, set_index asc
        ) as place
    from stg_set
    where is_done and reps >= 1 and load_kg is not null
),

top_load as (
    select
        client_id,
        session_date,
        exercise_id,
        load_kg as top_load_kg,
        reps as top_load_reps
    from ranked_load
    where place = 1
),

estimated as (
    select
        *,
        case when is_lower_bound then null else e1rm_kg * (1 + 1.645e-2 * e1rm_se_pct) end as high_kg
    from set_e1rm
    where e1rm_kg is not null
),

best_point as (
    select
        client_id,
        session_date,
        exercise_id,
        max(high_kg) as high_kg
    from estimated
    where not is_lower_bound
    group by client_id, session_date, exercise_id
),

ranked_estimate as (
    select
        estimated.*,
        row_number() over (
            partition by estimated.client_id, estimated.session_date, estimated.exercise_id
            order by
                case
                    when not estimated.is_lower_bound then 1
                    when best_point.high_kg is null then 1
                    when estimated.e1rm_kg > best_point.high_kg then 1
                    else 0
                end desc,
                estimated.e1rm_kg desc,
                estimated.set_index asc,
                estimated.source_row asc,
                estimated.part_index asc
        ) as place
    from estimated
    left join best_point
        on
            estimated.client_id = best_point.client_id
            and estimated.session_date = best_point.session_date
            and estimated.exercise_id = best_point.exercise_id
),

best as (
    select
        client_id,
        session_date,
        exercise_id,
        e1rm_kg,
        e1rm_se_pct,
        e1rm_kind,
        high_kg,
        external_load_kg,
        reps,
        rir
    from ranked_estimate
    where place = 1
),

counted as (
    select
        client_id,
        session_date,
        week_start,
        exercise_id,
        max(exercise_name) as exercise_name,
        max(e1rm_basis) as e1rm_basis,
        sum(case when is_set then 1 else 0 end) as n_sets,
        sum(case when is_hard then 1 else 0 end) as n_hard_sets,
        sum(case when is_unknown_effort then 1 else 0 end) as n_unknown_effort_sets,
        sum(case when is_missed_attempt then 1 else 0 end) as n_missed_attempts,
        sum(case when is_done then total_reps else 0 end) as n_reps,
        sum(volume_kg) as volume_kg,
        sum(system_volume_kg) as system_volume_kg,
        avg(case when is_working then rir end) as mean_rir
    from stg_set
    where set_kind <> 'warm_up'
    group by client_id, session_date, week_start, exercise_id
)

select
    counted.client_id,
    counted.session_date,
    counted.week_start,
    counted.exercise_id,
    counted.exercise_name,
    counted.n_sets,
    counted.n_hard_sets,
    counted.n_unknown_effort_sets,
    counted.n_missed_attempts,
    counted.n_reps,
    counted.volume_kg,
    counted.system_volume_kg,
    top_load.top_load_kg,
    top_load.top_load_reps,
    best.e1rm_kg as best_e1rm_kg,
    best.e1rm_kg * (1 - 1.645e-2 * best.e1rm_se_pct) as e1rm_low_kg,
    best.high_kg as e1rm_high_kg,
    best.e1rm_se_pct,
    case when best.e1rm_kg is not null then counted.e1rm_basis end as e1rm_basis,
    best.e1rm_kind,
    best.external_load_kg as best_load_kg,
    best.reps as best_reps,
    best.rir as best_rir,
    counted.mean_rir
from counted
left join top_load
    on
        counted.client_id = top_load.client_id
        and counted.session_date = top_load.session_date
        and counted.exercise_id = top_load.exercise_id
left join best
    on
        counted.client_id = best.client_id
        and counted.session_date = best.session_date
        and counted.exercise_id = best.exercise_id
