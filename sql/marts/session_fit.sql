-- How well the training days within reach fit each planned session.
-- grain: one row a planned session and a training day within its reach that have something in common
-- reads: planned_item, session_item, stg_similar_exercise, calendar
--
-- Within reach are the days of the session's own week and, for a session with a planned date, the days of the
-- next or the last week that lie no more than two days from it: Sunday's session done on Monday.
-- A planned exercise found as written counts 1, a listed alternative 0.9, one of the same pattern 0.6; summed
-- in tenths, so that sums are exact and no day falls short of a limit by a rounding error.
-- fit: that sum over the planned exercises; days_apart is 0 for sessions without a planned date. A day fits
-- when it holds a third of the session (a fifth on the planned date), or when half of the day is from the
-- session.
with

week as (
    select
        week_start,
        lag(week_start) over (order by week_start) as last_week_start,
        lead(week_start) over (order by week_start) as next_week_start
    from calendar
    group by week_start
),

reached as (
    select
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        item_no,
        exercise_id,
        alternatives,
        week_start as reached_week_start
    from planned_item
    union all
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.n_items_of_session,
        planned_item.item_no,
        planned_item.exercise_id,
        planned_item.alternatives,
        week.next_week_start as reached_week_start
    from planned_item
    inner join week on planned_item.week_start = week.week_start
    where datediff('day', planned_item.planned_date, week.next_week_start) <= 2
    union all
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.n_items_of_session,
        planned_item.item_no,
        planned_item.exercise_id,
        planned_item.alternatives,
        week.last_week_start as reached_week_start
    from planned_item
    inner join week on planned_item.week_start = week.week_start
    where
        week.last_week_start is not null
        and datediff('day', planned_item.week_start, planned_item.planned_date) <= 1
),

as_written as (
    select
        reached.client_id,
        reached.week_start,
        reached.planned_no,
        reached.planned_date,
        reached.n_items_of_session,
        reached.item_no,
        session_item.session_date,
        session_item.week_start as day_week_start,
        session_item.n_items_of_day,
        10 as quality
    from reached
    inner join session_item
        on
            reached.client_id = session_item.client_id
            and reached.reached_week_start = session_item.week_start
            and reached.exercise_id = session_item.exercise_id
),

listed as (
    select
        reached.client_id,
        reached.week_start,
        reached.planned_no,
        reached.planned_date,
        reached.n_items_of_session,
        reached.item_no,
        session_item.session_date,
        session_item.week_start as day_week_start,
        session_item.n_items_of_day,
        9 as quality
    from reached
    inner join session_item
        on
            reached.client_id = session_item.client_id
            and reached.reached_week_start = session_item.week_start
            and reached.alternatives like '%;' || session_item.exercise_id || ';%'
    where reached.alternatives <> ';;'
),

alike as (
    select
        reached.client_id,
        reached.week_start,
        reached.planned_no,
        reached.planned_date,
        reached.n_items_of_session,
        reached.item_no,
        session_item.session_date,
        session_item.week_start as day_week_start,
        session_item.n_items_of_day,
        6 as quality
    from reached
    inner join stg_similar_exercise on reached.exercise_id = stg_similar_exercise.exercise_id
    inner join session_item
        on
            reached.client_id = session_item.client_id
            and reached.reached_week_start = session_item.week_start
            and stg_similar_exercise.other_id = session_item.exercise_id
),

every_find as (
    select * from as_written
    union all
    select * from listed
    union all
    select * from alike
),

found as (
    select
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        item_no,
        session_date,
        day_week_start,
        n_items_of_day,
        max(quality) as quality
    from every_find
    where day_week_start = week_start or abs(datediff('day', planned_date, session_date)) <= 2
    group by
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        item_no,
        session_date,
        day_week_start,
        n_items_of_day
),

fitted as (
    select
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        session_date,
        day_week_start,
        n_items_of_day,
        sum(quality) / 1e1 as fit,
        sum(case when quality >= 10 then 1 else 0 end) as n_exact
    from found
    group by
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        session_date,
        day_week_start,
        n_items_of_day
)

select
    client_id,
    week_start,
    planned_no,
    session_date,
    day_week_start,
    day_week_start = week_start as is_own_week,
    fit,
    n_exact,
    fit / n_items_of_session as planned_share,
    -- several planned lifts of a pattern may find the same logged one
    least(fit / n_items_of_day, 1e0) as session_share,
    coalesce(abs(datediff('day', planned_date, session_date)), 0) as days_apart,
    coalesce(planned_date = session_date, false) as is_same_day
from fitted
where
    fit / n_items_of_session >= 35e-2
    or (fit / n_items_of_session >= 2e-1 and planned_date = session_date)
    or (fit / n_items_of_day >= 5e-1 and (n_exact > 0 or planned_date = session_date))
