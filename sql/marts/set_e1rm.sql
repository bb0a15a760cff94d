-- The estimated 1RM of every set that can carry one, by the equation the coach chose, with its error.
-- grain: one row a working set of an e1RM lift with a known load and at least one repetition
-- reads: stg_set, setting
--
-- Repetitions to failure = done + in reserve. A single to failure is the 1RM itself, whatever the equation.
-- Effort unknown (or "12+"): at least as many could have been done, so the figure is a lower bound.
-- Above e1rm_max_reps to failure, or above the range the equation is valid for (the linear ones: 10, Reynolds
-- et al. 2006), there is no estimate; the row stays, for the lift's own load-repetition curve. Error:
-- repetitions to failure 0.7 at 90 % to 1.1 at 70 % of 1RM (Mitter et al. 2022); stated reserve 1 repetition
-- up to 5 in reserve, growing to 2.5 at 10 (Hackett et al. 2017); none added at failure.
with

candidate as (
    select
        stg_set.client_id,
        stg_set.session_date,
        stg_set.week_start,
        stg_set.exercise_id,
        stg_set.set_index,
        stg_set.part_index,
        stg_set.source_row,
        stg_set.e1rm_basis,
        stg_set.load_kg as external_load_kg,
        case when stg_set.e1rm_basis = 'system' then stg_set.system_kg else stg_set.load_kg end as load_kg,
        stg_set.reps,
        stg_set.rir,
        stg_set.is_rir_vague,
        stg_set.rir is null or stg_set.is_at_least as is_lower_bound,
        setting.e1rm_equation,
        case
            when setting.e1rm_equation in ('epley', 'brzycki', 'oconner', 'lander')
                then least(setting.e1rm_max_reps, 10)
            else setting.e1rm_max_reps
        end as most_reps,
        setting.e1rm_max_reps,
        cast(stg_set.reps + coalesce(stg_set.rir, 0) as double) as reps_to_failure
    from stg_set
    cross join setting
    where
        stg_set.is_working
        and stg_set.is_e1rm_lift
        and stg_set.set_kind in ('work', 'drop')
        and stg_set.reps >= 1
),

factored as (
    select
        *,
        case
            when reps_to_failure <= 1 then cast(1 as double)
            when e1rm_equation = 'epley' then 1 + reps_to_failure / 3e1
            when e1rm_equation = 'brzycki' then 3.6e1 / (3.7e1 - reps_to_failure)
            when e1rm_equation = 'lombardi' then power(reps_to_failure, 1e-1)
            when e1rm_equation = 'mayhew' then 1e2 / (5.22e1 + 4.19e1 * exp(-5.5e-2 * reps_to_failure))
            when e1rm_equation = 'oconner' then 1 + 2.5e-2 * reps_to_failure
            when e1rm_equation = 'wathan' then 1e2 / (4.88e1 + 5.38e1 * exp(-7.5e-2 * reps_to_failure))
            when e1rm_equation = 'lander' then 1e2 / (1.013e2 - 2.67123e0 * reps_to_failure)
        end as factor,
        -- how much one repetition more moves the estimate, as a share of it
        case
            when e1rm_equation = 'epley' then 1 / (3e1 + reps_to_failure)
            when e1rm_equation = 'brzycki' then 1 / (3.7e1 - reps_to_failure)
            when e1rm_equation = 'lombardi' then 1e-1 / reps_to_failure
            when e1rm_equation = 'mayhew'
                then
                    4.19e1 * 5.5e-2 * exp(-5.5e-2 * reps_to_failure)
                    / (5.22e1 + 4.19e1 * exp(-5.5e-2 * reps_to_failure))
            when e1rm_equation = 'oconner' then 2.5e-2 / (1 + 2.5e-2 * reps_to_failure)
            when e1rm_equation = 'wathan'
                then
                    5.38e1 * 7.5e-2 * exp(-7.5e-2 * reps_to_failure)
                    / (4.88e1 + 5.38e1 * exp(-7.5e-2 * reps_to_failure))
            when e1rm_equation = 'lander' then 2.67123e0 / (1.013e2 - 2.67123e0 * reps_to_failure)
        end as share_per_rep,
        7e-1 + 4e-1 * least(greatest((reps_to_failure - 4) / 8e0, 0e0), 1.5e0) as reps_sd,
        case
            when rir is null or rir = 0 then 0e0
            when rir <= 5 then 1e0
            else 1e0 + 3e-1 * (rir - 5)
        end as rir_sd
    from candidate
    where load_kg > 0 and reps_to_failure <= 2e1
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
    case when is_lower_bound then 'lower_bound' else 'point' end as e1rm_kind,
    reps_to_failure <= e1rm_max_reps as is_short,
    case when reps_to_failure <= most_reps then load_kg * factor end as e1rm_kg,
    -- a vague RPE (5 to 6 means 4 to 6 in reserve) spreads the reserve over two repetitions: 2 / sqrt(12)
    100 * share_per_rep * sqrt(
        reps_sd * reps_sd + rir_sd * rir_sd + case when is_rir_vague then 1e0 / 3 else 0e0 end
    ) as e1rm_se_pct
from factored
