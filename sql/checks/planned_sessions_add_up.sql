-- severity: stop
-- meaning: Planned sessions of a week = done + missed + excused + week without a log + not yet due.
-- reads: adherence_week, planned_session
with

counted as (
    select
        client_id,
        week_start,
        count(*) as n_sessions
    from planned_session
    group by client_id, week_start
)

select
    adherence_week.client_id,
    adherence_week.week_start,
    adherence_week.n_planned,
    counted.n_sessions
from adherence_week
left join counted
    on adherence_week.client_id = counted.client_id and adherence_week.week_start = counted.week_start
where
    adherence_week.n_planned
    <> adherence_week.n_done + adherence_week.n_missed + adherence_week.n_excused + adherence_week.n_no_log
    + adherence_week.n_open
    or adherence_week.n_planned <> coalesce(counted.n_sessions, 0)
    or adherence_week.n_unplanned < 0
