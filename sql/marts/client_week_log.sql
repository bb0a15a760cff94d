-- What is known of a client's week before any plan is looked at: training days, excused days.
-- grain: one row a client and week with something logged, planned or excused
-- reads: session_item, planned_item, excused_span, calendar
with

logged as (
    select
        client_id,
        week_start,
        count(distinct session_date) as n_days_logged
    from session_item
    group by client_id, week_start
),

planned as (
    select
        client_id,
        week_start
    from planned_item
    group by client_id, week_start
),

excused as (
    select
        excused_span.client_id,
        calendar.week_start,
        count(distinct calendar.day) as n_days_excused
    from excused_span
    inner join calendar
        on excused_span.date_from <= calendar.day and excused_span.date_to >= calendar.day
    group by excused_span.client_id, calendar.week_start
),

week as (
    select
        week_start,
        count(*) as n_days,
        min(case when is_complete_week then 1 else 0 end) = 1 as is_complete_week
    from calendar
    group by week_start
),

every_week as (
    select
        client_id,
        week_start
    from logged
    union
    select
        client_id,
        week_start
    from planned
    union
    select
        client_id,
        week_start
    from excused
)

select
    every_week.client_id,
    every_week.week_start,
    week.n_days,
    week.is_complete_week,
    coalesce(logged.n_days_logged, 0) as n_days_logged,
    coalesce(excused.n_days_excused, 0) as n_days_excused
from every_week
inner join week on every_week.week_start = week.week_start
left join logged
    on every_week.client_id = logged.client_id and every_week.week_start = logged.week_start
left join excused
    on every_week.client_id = excused.client_id and every_week.week_start = excused.week_start
