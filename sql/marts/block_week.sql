-- The weeks of a block: complete ones of which it held four days or more.
-- grain: client_id, plan, valid_from, week_start
-- reads: block_day, calendar
select
    block_day.client_id,
    block_day.plan,
    block_day.valid_from,
    block_day.week_start
from block_day
inner join calendar on block_day.day = calendar.day
where calendar.is_complete_week
group by block_day.client_id, block_day.plan, block_day.valid_from, block_day.week_start
having count(*) >= 4
