-- The planned sessions of a block's weeks: done, moved or missed; excused ones and weeks without a log are
-- in no share.
-- grain: one row a planned session (client_id, week_start, plan, day, planned_date) of a block
-- reads: block_week, planned_session
select
    block_week.client_id,
    block_week.plan,
    block_week.valid_from,
    block_week.week_start,
    planned_session.day,
    planned_session.planned_date,
    planned_session.outcome
from block_week
inner join planned_session
    on
        block_week.client_id = planned_session.client_id
        and block_week.week_start = planned_session.week_start
        and block_week.plan = coalesce(planned_session.plan, '')
where planned_session.outcome in ('done', 'moved', 'missed')
