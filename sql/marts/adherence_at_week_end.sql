-- The week against the plan as it stood when the week ended: what weekly states may know.
-- grain: client, week_start
-- reads: planned_session_outcome, planned_item_done
--
-- The same counts as adherence_week but for sessions of the week that were done in the next one: here they
-- are not done yet.
with

outcome as (
    select
        client_id,
        week_start,
        count(*) as n_planned,
        sum(case when outcome_at_week_end in ('done', 'moved') then 1 else 0 end) as n_done,
        sum(case when outcome_at_week_end = 'excused' then 1 else 0 end) as n_excused
    from planned_session_outcome
    group by client_id, week_start
),

item as (
    select
        planned_item_done.client_id,
        planned_item_done.week_start,
        sum(planned_item_done.planned_sets) as planned_sets,
        sum(case when planned_item_done.is_after_week then 0 else planned_item_done.done_sets end)
            as done_sets,
        sum(case
            when planned_item_done.is_after_week then 0
            else least(planned_item_done.done_sets, planned_item_done.planned_sets)
        end) as capped_sets
    from planned_item_done
    inner join planned_session_outcome
        on
            planned_item_done.client_id = planned_session_outcome.client_id
            and planned_item_done.week_start = planned_session_outcome.week_start
            and planned_item_done.planned_no = planned_session_outcome.planned_no
    where planned_session_outcome.outcome_at_week_end in ('done', 'moved', 'missed')
    group by planned_item_done.client_id, planned_item_done.week_start
)

select
    outcome.client_id,
    outcome.week_start,
    outcome.n_planned,
    outcome.n_done,
    outcome.n_excused,
    coalesce(item.planned_sets, 0) as planned_sets,
    coalesce(item.done_sets, 0) as done_sets,
    1e2 * item.capped_sets / nullif(item.planned_sets, 0) as set_completion_pct
from outcome
left join item on outcome.client_id = item.client_id and outcome.week_start = item.week_start
