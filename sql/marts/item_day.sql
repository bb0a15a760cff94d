-- The day on which the session of a planned exercise was done, if it was.
-- grain: one row a planned exercise (client, week_start, item_no)
-- reads: planned_item, session_match
select
    planned_item.client_id,
    planned_item.week_start,
    planned_item.item_no,
    planned_item.exercise_id,
    planned_item.alternatives,
    planned_item.planned_date,
    session_match.session_date,
    coalesce(session_match.is_other_week, false) as is_other_week,
    coalesce(session_match.is_other_week and session_match.session_date < planned_item.week_start, false)
        as is_early
from planned_item
left join session_match
    on
        planned_item.client_id = session_match.client_id
        and planned_item.week_start = session_match.week_start
        and planned_item.planned_no = session_match.planned_no
