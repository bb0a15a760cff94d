-- Each planned exercise of a week and what was done of it.
-- grain: client, week_start, plan, day, planned_date, slot
-- reads: planned_item_done, exercise
select
    planned_item_done.client_id,
    planned_item_done.week_start,
    planned_item_done.plan,
    planned_item_done.day_name as day,  -- noqa: RF04
    planned_item_done.planned_date,
    planned_item_done.slot,
    planned_item_done.exercise_id,
    planned_item_done.exercise_name,
    planned_item_done.done_exercise_id,
    exercise.exercise_name as done_exercise_name,
    planned_item_done.session_date,
    planned_item_done.planned_sets,
    planned_item_done.done_sets,
    planned_item_done.rep_low,
    planned_item_done.rep_high,
    planned_item_done.target_rir,
    planned_item_done.sets_in_rep_range,
    planned_item_done.sets_in_effort_range,
    planned_item_done.sets_with_effort,
    cast(round(planned_item_done.planned_reps) as bigint) as planned_reps,
    planned_item_done.done_reps
from planned_item_done
left join exercise on planned_item_done.done_exercise_id = exercise.exercise_id
