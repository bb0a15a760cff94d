-- Every accepted set, typed once: whether it counts, how hard it was, both sides, what it moved.
-- grain: one row a row of logged_set
-- reads: logged_set, exercise, calendar, setting
--
-- A drop set counts once, as its first load. A missed attempt (0 repetitions) is no set done.
-- RIR = 10 - RPE (Zourdos et al. 2016); an RPE below 5 says as little as none. A written RIR wins over an
-- RPE. Dumbbells are logged per hand: the volume counts both. One side at a time: the volume counts both
-- sides. Assistance is no external load lifted: such a set has external volume 0, its work is in
-- system_volume_kg.
with

effort as (
    select
        source_area,
        source_file,
        source_sheet,
        source_row,
        part_index,
        case
            when rir is not null and (rpe is null or rir <> 10 - rpe) then rir
            when rpe >= 5 then 10 - rpe
            when rpe is not null then null
            else rir
        end as rir,
        rpe >= 5 and rpe < 7 and (rir is null or rir = 10 - rpe) as is_rir_vague,
        client_id,
        session_date,
        exercise_id,
        exercise_name,
        set_index,
        coalesce(drop_index, 1) as drop_index,
        set_kind,
        load_basis,
        implements,
        superset,
        session_minutes,
        session_rpe,
        is_at_least,
        cast(load_kg as double) as load_kg,
        cast(system_kg as double) as system_kg,
        coalesce(reps, least(reps_left, reps_right)) as reps,
        reps_left,
        reps_right,
        cast(duration_s as double) as duration_s
    from logged_set
),

joined as (
    select
        effort.*,
        calendar.week_start,
        exercise.pattern,
        exercise.implement,
        coalesce(exercise.is_one_sided, false) as is_one_sided,
        coalesce(exercise.is_e1rm_lift, false) as is_e1rm_lift,
        case when coalesce(exercise.bodyweight_share, 0) > 0 then 'system' else 'external' end as e1rm_basis,
        setting.hard_set_max_rir
    from effort
    inner join calendar on effort.session_date = calendar.day
    left join exercise on effort.exercise_id = exercise.exercise_id
    cross join setting
),

counted as (
    select
        *,
        case
            when set_kind = 'timed' or reps is null then 0
            when is_one_sided and reps_left is not null and reps_right is not null then reps_left + reps_right
            when is_one_sided then 2 * reps
            else reps
        end as total_reps,
        set_kind <> 'warm_up' and coalesce(reps, 1) > 0 as is_done,
        set_kind <> 'warm_up' and reps = 0 as is_missed_attempt,
        set_kind <> 'warm_up' and drop_index = 1 and coalesce(reps, 1) > 0 as is_set,
        set_kind <> 'warm_up' and drop_index = 1 and coalesce(reps, 1) > 0
        and coalesce(pattern, 'other') <> 'conditioning' as is_working
    from joined
)

select
    source_area,
    source_file,
    source_sheet,
    source_row,
    part_index,
    client_id,
    session_date,
    week_start,
    exercise_id,
    exercise_name,
    set_index,
    drop_index,
    set_kind,
    superset,
    load_kg,
    system_kg,
    reps,
    total_reps,
    duration_s,
    rir,
    is_rir_vague,
    coalesce(is_at_least, false) as is_at_least,
    is_e1rm_lift,
    e1rm_basis,
    session_minutes,
    session_rpe,
    is_done,
    is_missed_attempt,
    is_set,
    is_working,
    is_working and rir is not null and rir <= hard_set_max_rir as is_hard,
    is_working and rir is null as is_unknown_effort,
    case
        when not is_done or set_kind = 'timed' then 0e0
        else case when load_kg < 0 then 0e0 else load_kg end * total_reps * implements
    end as volume_kg,
    case
        when not is_done or set_kind = 'timed' then 0e0
        when e1rm_basis = 'system' then system_kg * total_reps
        else case when load_kg < 0 then 0e0 else load_kg end * total_reps * implements
    end as system_volume_kg,
    case when is_done and set_kind = 'timed' then coalesce(duration_s, 0e0) else 0e0 end as timed_s
from counted
