-- Every planned exercise of every week, on its date where the plan names a weekday.
-- grain: one row a client, week and planned exercise (slot) of a planned session
-- reads: plan_day_in_force, plan_slot, calendar
--
-- planned_no numbers the planned sessions of a client's week. Sessions without a weekday belong to a week
-- when their version holds on at least four of its days, so that a change of plan does not double a week.
-- A break is no planned session.
with

whole_week as (
    select
        plan_day_in_force.client_id,
        plan_day_in_force.week_start,
        plan_day_in_force.plan,
        plan_day_in_force.valid_from,
        count(*) as n_days
    from plan_day_in_force
    group by
        plan_day_in_force.client_id,
        plan_day_in_force.week_start,
        plan_day_in_force.plan,
        plan_day_in_force.valid_from
),

-- the last, unfinished week has fewer days so far: its plan counts from the first
week_length as (
    select
        week_start,
        count(*) as n_days
    from calendar
    group by week_start
),

planned as (
    select
        client_id,
        coalesce(plan, '') as plan,
        valid_from,
        phase,
        day as day_name,
        weekday,
        coalesce(slot, 1) as slot,
        source_row,
        exercise_id,
        exercise_name,
        coalesce(sets, 0) as planned_sets,
        rep_low,
        rep_high,
        target_rir,
        superset,
        rest_s,
        ';' || replace(coalesce(alternatives, ''), ' ', '') || ';' as alternatives
    from plan_slot
    where
        coalesce(phase, '') <> 'break'
        and (exercise_id is not null or exercise_text is not null)
        and coalesce(sets, 1) > 0
),

dated as (
    select
        planned.*,
        plan_day_in_force.week_start,
        plan_day_in_force.day as planned_date
    from planned
    inner join plan_day_in_force
        on
            planned.client_id = plan_day_in_force.client_id
            and planned.plan = plan_day_in_force.plan
            and planned.valid_from = plan_day_in_force.valid_from
            and planned.weekday = plan_day_in_force.weekday
),

any_day as (
    select
        planned.*,
        whole_week.week_start,
        cast(null as date) as planned_date
    from planned
    inner join whole_week
        on
            planned.client_id = whole_week.client_id
            and planned.plan = whole_week.plan
            and planned.valid_from = whole_week.valid_from
    inner join week_length on whole_week.week_start = week_length.week_start
    where
        planned.weekday is null
        and (whole_week.n_days >= 4 or (week_length.n_days < 7 and whole_week.n_days >= week_length.n_days))
),

every_item as (
    select * from dated
    union all
    select * from any_day
)

select
    client_id,
    week_start,
    plan,
    valid_from,
    phase,
    day_name,
    planned_date,
    dense_rank() over (
        partition by client_id, week_start
        order by coalesce(planned_date, cast('9999-12-31' as date)), plan, day_name
    ) as planned_no,
    row_number() over (
        partition by client_id, week_start
        order by coalesce(planned_date, cast('9999-12-31' as date)), plan, day_name, slot, source_row
    ) as item_no,
    count(*) over (
        partition by client_id, week_start, planned_date, plan, day_name
    ) as n_items_of_session,
    slot,
    exercise_id,
    exercise_name,
    planned_sets,
    rep_low,
    rep_high,
    target_rir,
    superset,
    rest_s,
    alternatives
from every_item
