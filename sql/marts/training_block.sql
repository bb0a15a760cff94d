-- Every training block that held on a day up to the as-of day, with the client's block before.
-- grain: client_id, plan, valid_from
-- reads: block_day, block_version, block_week, setting
--
-- A block is over when it holds on no day after the as-of day.
with

held as (
    select
        client_id,
        plan,
        valid_from,
        min(day) as first_day,
        max(day) as last_day
    from block_day
    group by client_id, plan, valid_from
),

stated as (
    select
        client_id,
        plan,
        block_from as valid_from,
        max(valid_to) as valid_to
    from block_version
    group by client_id, plan, block_from
),

counted as (
    select
        client_id,
        plan,
        valid_from,
        count(*) as n_weeks
    from block_week
    group by client_id, plan, valid_from
)

select
    held.client_id,
    held.plan,
    held.valid_from,
    held.first_day,
    held.last_day,
    held.last_day < setting.as_of or coalesce(stated.valid_to <= setting.as_of, false) as is_over,
    coalesce(counted.n_weeks, 0) as n_weeks,
    lag(held.valid_from) over (partition by held.client_id order by held.valid_from, held.plan)
        as previous_from,
    lag(held.plan) over (partition by held.client_id order by held.valid_from, held.plan) as previous_plan
from held
cross join setting
left join stated
    on
        held.client_id = stated.client_id
        and held.plan = stated.plan
        and held.valid_from = stated.valid_from
left join counted
    on
        held.client_id = counted.client_id
        and held.plan = counted.plan
        and held.valid_from = counted.valid_from
