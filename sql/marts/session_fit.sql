-- How well each training day of a week fits each planned session of that week.
-- grain: one row a planned session and a training day of the same week that have something in common
-- reads: planned_item, session_item, stg_similar_exercise
--
-- A planned exercise found as written counts 1, a listed alternative 0.9, one of the same pattern 0.6.
-- fit: that sum over the planned exercises; days_apart is 0 for sessions without a planned date. A day fits
-- when it holds a third of the session (a fifth on the planned date), or when half of the day is from the
-- session.
with

as_written as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.n_items_of_session,
        planned_item.item_no,
        session_item.session_date,
        session_item.n_items_of_day,
        1e0 as quality
    from planned_item
    inner join session_item
        on
            planned_item.client_id = session_item.client_id
            and planned_item.week_start = session_item.week_start
            and planned_item.exercise_id = session_item.exercise_id
),

listed as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.n_items_of_session,
        planned_item.item_no,
        session_item.session_date,
        session_item.n_items_of_day,
        9e-1 as quality
    from planned_item
    inner join session_item
        on
            planned_item.client_id = session_item.client_id
            and planned_item.week_start = session_item.week_start
            and planned_item.alternatives like '%;' || session_item.exercise_id || ';%'
    where planned_item.alternatives <> ';;'
),

alike as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.n_items_of_session,
        planned_item.item_no,
        session_item.session_date,
        session_item.n_items_of_day,
        6e-1 as quality
    from planned_item
    inner join stg_similar_exercise on planned_item.exercise_id = stg_similar_exercise.exercise_id
    inner join session_item
        on
            planned_item.client_id = session_item.client_id
            and planned_item.week_start = session_item.week_start
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
        n_items_of_day,
        max(quality) as quality
    from every_find
    group by
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        item_no,
        session_date,
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
        n_items_of_day,
        sum(quality) as fit,
        sum(case when quality >= 1 then 1 else 0 end) as n_exact
    from found
    group by
        client_id,
        week_start,
        planned_no,
        planned_date,
        n_items_of_session,
        session_date,
        n_items_of_day
)

select
    client_id,
    week_start,
    planned_no,
    session_date,
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
