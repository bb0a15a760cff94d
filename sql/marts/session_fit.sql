-- How well each training day of a week fits each planned session of that week.
-- grain: one row a planned session and a training day of the same week that have something in common
-- reads: planned_item, session_item, stg_similar_exercise
--
-- A planned exercise found as written counts 1, a listed alternative 0.9, one of the same pattern 0.6.
-- fit: that sum over the planned exercises; days_apart is 0 for sessions without a planned date.
with

found as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.item_no,
        session_item.session_date,
        max(case
            when planned_item.exercise_id = session_item.exercise_id then 1e0
            when planned_item.alternatives like '%;' || session_item.exercise_id || ';%' then 9e-1
            else 6e-1
        end) as quality
    from planned_item
    inner join session_item
        on
            planned_item.client_id = session_item.client_id
            and planned_item.week_start = session_item.week_start
    left join stg_similar_exercise
        on
            planned_item.exercise_id = stg_similar_exercise.exercise_id
            and session_item.exercise_id = stg_similar_exercise.other_id
    where
        planned_item.exercise_id = session_item.exercise_id
        or planned_item.alternatives like '%;' || session_item.exercise_id || ';%'
        or stg_similar_exercise.other_id is not null
    group by
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.item_no,
        session_item.session_date
),

fitted as (
    select
        client_id,
        week_start,
        planned_no,
        planned_date,
        session_date,
        sum(quality) as fit,
        sum(case when quality >= 1 then 1 else 0 end) as n_exact
    from found
    group by client_id, week_start, planned_no, planned_date, session_date
),

planned_size as (
    select
        client_id,
        week_start,
        planned_no,
        count(*) as n_items
    from planned_item
    group by client_id, week_start, planned_no
),

session_size as (
    select
        client_id,
        session_date,
        count(*) as n_items
    from session_item
    group by client_id, session_date
)

select
    fitted.client_id,
    fitted.week_start,
    fitted.planned_no,
    fitted.session_date,
    fitted.fit,
    fitted.n_exact,
    fitted.fit / planned_size.n_items as planned_share,
    fitted.fit / session_size.n_items as session_share,
    coalesce(abs(datediff('day', fitted.planned_date, fitted.session_date)), 0) as days_apart,
    coalesce(fitted.planned_date = fitted.session_date, false) as is_same_day
from fitted
inner join planned_size
    on
        fitted.client_id = planned_size.client_id
        and fitted.week_start = planned_size.week_start
        and fitted.planned_no = planned_size.planned_no
inner join session_size
    on fitted.client_id = session_size.client_id and fitted.session_date = session_size.session_date
where
    fitted.planned_date = fitted.session_date
    or fitted.fit / planned_size.n_items >= 35e-2
    or (fitted.fit / session_size.n_items >= 5e-1 and fitted.n_exact > 0)
