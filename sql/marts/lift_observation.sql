-- The set that says most about a lift in a session, for the strength trend.
-- grain: client, exercise_id, session_date
-- reads: best_set, plan_day_in_force
--
-- Sets above the range of the equation (up to 20 repetitions to failure) speak here too: the trend estimates
-- the client's own load-repetition curve, so that they need not be read by the published one. Known effort
-- goes before unknown, sets of up to e1rm_max_reps to failure before longer ones.
with

ranked as (
    select
        client_id,
        exercise_id,
        session_date,
        week_start,
        e1rm_basis,
        is_lower_bound,
        e1rm_se_pct,
        share_per_rep,
        reps_to_failure,
        ln(load_kg) as ln_load,
        ln(factor) as ln_factor,
        row_number() over (
            partition by client_id, exercise_id, session_date
            order by
                case when is_lower_bound then 1 else 0 end asc,
                case when is_short then 0 else 1 end asc,
                load_kg * factor desc,
                set_index asc,
                source_row asc,
                part_index asc
        ) as place
    from best_set
),

deload_day as (
    select
        client_id,
        day
    from plan_day_in_force
    where phase like '%deload%' or phase like '%taper%'
    group by client_id, day
)

select
    ranked.client_id,
    ranked.exercise_id,
    ranked.session_date,
    ranked.week_start,
    ranked.e1rm_basis,
    ranked.is_lower_bound,
    ranked.e1rm_se_pct,
    ranked.share_per_rep,
    ranked.reps_to_failure,
    ranked.ln_load,
    ranked.ln_factor,
    deload_day.day is not null as is_deload
from ranked
left join deload_day on ranked.client_id = deload_day.client_id and ranked.session_date = deload_day.day
where ranked.place = 1
