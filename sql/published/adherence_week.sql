-- The week against the plan: sessions, sets, repetitions, load and effort. Nothing planned: empty shares.
-- grain: client, week_start
-- reads: planned_session_outcome, planned_item_done, client_week_log, plan_day_in_force, calendar
--
-- As known now: a session done within two days after the week counts in its own week (adherence_at_week_end
-- has what was known then). Shares are ratios of sums over the week (not means of ratios). Excused sessions,
-- sessions of a week without a log and sessions not yet due are in no denominator. Attendance = attended /
-- planned; relative dose intensity = completed / planned dose, dose being repetitions (Nilsen et al. 2018;
-- Fairman et al. 2020).
with

outcome as (
    select
        client_id,
        week_start,
        count(*) as n_planned,
        sum(case when outcome in ('done', 'moved') then 1 else 0 end) as n_done,
        sum(case when outcome = 'moved' then 1 else 0 end) as n_moved,
        sum(case when outcome = 'missed' then 1 else 0 end) as n_missed,
        sum(case when outcome = 'excused' then 1 else 0 end) as n_excused,
        sum(case when outcome = 'no_log' then 1 else 0 end) as n_no_log,
        sum(case when outcome = 'open' then 1 else 0 end) as n_open
    from planned_session_outcome
    group by client_id, week_start
),

item as (
    select
        planned_item_done.client_id,
        planned_item_done.week_start,
        sum(case when planned_item_done.is_swap then 1 else 0 end) as n_swapped,
        sum(planned_item_done.planned_sets) as planned_sets,
        sum(planned_item_done.done_sets) as done_sets,
        sum(least(planned_item_done.done_sets, planned_item_done.planned_sets)) as capped_sets,
        sum(case when planned_item_done.rep_low is not null then planned_item_done.done_sets end)
            as range_sets,
        sum(planned_item_done.sets_in_rep_range) as sets_in_rep_range,
        sum(planned_item_done.sets_with_effort) as sets_with_effort,
        sum(planned_item_done.sets_in_effort_range) as sets_in_effort_range,
        sum(planned_item_done.sets_with_load) as sets_with_load,
        sum(planned_item_done.sets_in_load_range) as sets_in_load_range,
        sum(planned_item_done.planned_reps) as planned_reps,
        sum(case when planned_item_done.planned_reps is not null then planned_item_done.done_reps end)
            as done_reps
    from planned_item_done
    inner join planned_session_outcome
        on
            planned_item_done.client_id = planned_session_outcome.client_id
            and planned_item_done.week_start = planned_session_outcome.week_start
            and planned_item_done.planned_no = planned_session_outcome.planned_no
    where planned_session_outcome.outcome in ('done', 'moved', 'missed')
    group by planned_item_done.client_id, planned_item_done.week_start
),

-- by the week of the day, which is not the week it was planned for where a session crossed the week's edge
used_day as (
    select distinct
        planned_item_done.client_id,
        calendar.week_start,
        planned_item_done.session_date
    from planned_item_done
    inner join calendar on planned_item_done.session_date = calendar.day
),

used as (
    select
        client_id,
        week_start,
        count(*) as n_days
    from used_day
    group by client_id, week_start
),

phase_days as (
    select
        client_id,
        week_start,
        phase,
        row_number() over (
            partition by client_id, week_start
            order by count(*) desc, max(day) desc
        ) as place
    from plan_day_in_force
    where phase is not null
    group by client_id, week_start, phase
)

select
    client_week_log.client_id,
    client_week_log.week_start,
    phase_days.phase,
    coalesce(outcome.n_planned, 0) as n_planned,
    coalesce(outcome.n_done, 0) as n_done,
    coalesce(outcome.n_moved, 0) as n_moved,
    coalesce(item.n_swapped, 0) as n_swapped,
    coalesce(outcome.n_missed, 0) as n_missed,
    coalesce(outcome.n_excused, 0) as n_excused,
    coalesce(outcome.n_no_log, 0) as n_no_log,
    coalesce(outcome.n_open, 0) as n_open,
    client_week_log.n_days_logged - coalesce(used.n_days, 0) as n_unplanned,
    1e2 * outcome.n_done / nullif(outcome.n_done + outcome.n_missed, 0) as attendance_pct,
    coalesce(item.planned_sets, 0) as planned_sets,
    coalesce(item.done_sets, 0) as done_sets,
    1e2 * item.capped_sets / nullif(item.planned_sets, 0) as set_completion_pct,
    1e2 * item.done_sets / nullif(item.planned_sets, 0) as set_completion_uncapped_pct,
    1e2 * item.sets_in_rep_range / nullif(item.range_sets, 0) as reps_in_range_pct,
    1e2 * item.sets_in_load_range / nullif(item.sets_with_load, 0) as load_in_range_pct,
    1e2 * item.sets_in_effort_range / nullif(item.sets_with_effort, 0) as effort_in_range_pct,
    case
        when item.done_reps > item.planned_reps then 1e2
        else 1e2 * item.done_reps / nullif(item.planned_reps, 0)
    end as relative_dose_intensity_pct,
    1e2 * item.done_reps / nullif(item.planned_reps, 0) as relative_dose_intensity_uncapped_pct,
    case
        when client_week_log.n_days_logged > 0 then 'logged'
        when client_week_log.n_days_excused * 2 > client_week_log.n_days then 'excused'
        else 'nothing_logged'
    end as log_state
from client_week_log
left join outcome
    on client_week_log.client_id = outcome.client_id and client_week_log.week_start = outcome.week_start
left join item
    on client_week_log.client_id = item.client_id and client_week_log.week_start = item.week_start
left join used
    on client_week_log.client_id = used.client_id and client_week_log.week_start = used.week_start
left join phase_days
    on
        client_week_log.client_id = phase_days.client_id
        and client_week_log.week_start = phase_days.week_start
        and phase_days.place = 1
