-- Which plan version holds on which day for a client.
-- grain: one row a client, day and plan in force
-- reads: plan_slot, client, calendar
--
-- The version with the latest start wins; one without an end holds until the next version starts. A version
-- laid over a longer one that has an end date gives way to it again afterwards; so does a deload, taper or
-- break that has an end to one that has none. Days before the client's first day with the coach are nobody's
-- plan.
with

plan_version as (
    select
        client_id,
        coalesce(plan, '') as plan,
        valid_from,
        max(valid_to) as valid_to,
        min(phase) as phase
    from plan_slot
    group by client_id, coalesce(plan, ''), valid_from
),

-- what ends a version without an end: any later start but that of a deload, taper or break that passes
lasting_start as (
    select distinct
        client_id,
        valid_from
    from plan_version
    where
        valid_to is null
        or not (
            coalesce(phase, '') like '%deload%'
            or coalesce(phase, '') like '%taper%'
            or coalesce(phase, '') = 'break'
        )
),

version_start as (
    select
        plan_version.client_id,
        plan_version.valid_from,
        min(lasting_start.valid_from) as next_from
    from plan_version
    left join lasting_start
        on
            plan_version.client_id = lasting_start.client_id
            and plan_version.valid_from < lasting_start.valid_from
    group by plan_version.client_id, plan_version.valid_from
),

holding as (
    select
        plan_version.client_id,
        calendar.day,
        calendar.week_start,
        calendar.weekday,
        plan_version.plan,
        plan_version.valid_from,
        plan_version.phase,
        rank() over (
            partition by plan_version.client_id, calendar.day
            order by plan_version.valid_from desc
        ) as place
    from plan_version
    inner join version_start
        on
            plan_version.client_id = version_start.client_id
            and plan_version.valid_from = version_start.valid_from
    inner join calendar
        on
            plan_version.valid_from <= calendar.day
            and (plan_version.valid_to is null or plan_version.valid_to >= calendar.day)
            and (
                plan_version.valid_to is not null
                or version_start.next_from is null
                or version_start.next_from > calendar.day
            )
    left join client on plan_version.client_id = client.client_id
    where client.start_date is null or calendar.day >= client.start_date
)

select
    client_id,
    day,
    week_start,
    weekday,
    plan,
    valid_from,
    phase
from holding
where place = 1
