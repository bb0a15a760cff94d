-- The days a block held, up to the as-of day: breaks, deloads and tapers are no training blocks.
-- grain: one row a client, plan, day of the block
-- reads: plan_day_in_force, block_version, setting
select
    plan_day_in_force.client_id,
    block_version.plan,
    block_version.block_from as valid_from,
    plan_day_in_force.day,
    plan_day_in_force.week_start
from plan_day_in_force
inner join block_version
    on
        plan_day_in_force.client_id = block_version.client_id
        and plan_day_in_force.plan = block_version.plan
        and plan_day_in_force.valid_from = block_version.valid_from
cross join setting
where
    plan_day_in_force.day <= setting.as_of
    and coalesce(plan_day_in_force.phase, '') <> 'break'
    and coalesce(plan_day_in_force.phase, '') not like '%deload%'
    and coalesce(plan_day_in_force.phase, '') not like '%taper%'
