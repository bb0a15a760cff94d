-- The set of a session with the highest estimate, of each kind of set that must not be mixed.
-- grain: client_id, session_date, exercise_id, is_lower_bound, is_short, has_estimate
-- reads: set_e1rm
--
-- Kinds: effort known or not, up to e1rm_max_reps to failure or beyond, within the range of the equation or
-- not. high_kg: the highest upper end of any set of the kind.
with

ranked as (
    select
        client_id,
        session_date,
        week_start,
        exercise_id,
        set_index,
        part_index,
        source_row,
        e1rm_basis,
        external_load_kg,
        load_kg,
        reps,
        rir,
        reps_to_failure,
        factor,
        share_per_rep,
        is_lower_bound,
        e1rm_kind,
        is_short,
        e1rm_kg,
        e1rm_se_pct,
        row_number() over (
            partition by client_id, session_date, exercise_id, is_lower_bound, is_short, e1rm_kg is not null
            order by load_kg * factor desc, set_index asc, source_row asc, part_index asc
        ) as place
    from set_e1rm
)

select
    client_id,
    session_date,
    week_start,
    exercise_id,
    set_index,
    part_index,
    source_row,
    e1rm_basis,
    external_load_kg,
    load_kg,
    reps,
    rir,
    reps_to_failure,
    factor,
    share_per_rep,
    is_lower_bound,
    e1rm_kind,
    is_short,
    e1rm_kg is not null as has_estimate,
    e1rm_kg,
    e1rm_se_pct
from ranked
where place = 1
