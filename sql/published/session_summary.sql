-- A client's training day: sets, volume load, length as a range, session load.
-- grain: client, session_date
-- reads: stg_set, session_match, planned_session_outcome, item_match, planned_item
--
-- A logged length wins. Otherwise a range: warm-up 5 to 10 min, 3 to 4 s a repetition, 1 to 3 min rest after
-- a set (or 80 to 120 % of the rest planned for it), 1 to 2 min to the next exercise (values from memory).
-- Exercises done in turn, by the log or else by the plan, rest half of that (Iversen et al. 2021).
-- Session load = session RPE x minutes (Foster et al. 2001), only where both were logged.
with

planned_rest as (
    select
        item_match.client_id,
        item_match.session_date,
        item_match.done_exercise_id as exercise_id,
        max(planned_item.superset) as superset,
        avg(planned_item.rest_s) as rest_s
    from item_match
    inner join planned_item
        on
            item_match.client_id = planned_item.client_id
            and item_match.week_start = planned_item.week_start
            and item_match.item_no = planned_item.item_no
    group by item_match.client_id, item_match.session_date, item_match.done_exercise_id
),

rested as (
    select
        stg_set.client_id,
        stg_set.session_date,
        stg_set.week_start,
        stg_set.exercise_id,
        stg_set.is_set,
        stg_set.is_hard,
        stg_set.is_unknown_effort,
        stg_set.volume_kg,
        stg_set.system_volume_kg,
        stg_set.timed_s,
        stg_set.session_minutes,
        stg_set.session_rpe,
        stg_set.total_reps,
        case
            when stg_set.drop_index > 1 then 0e0
            when coalesce(stg_set.superset, planned_rest.superset) is not null then 5e-1
            else 1e0
        end as rest_share,
        coalesce(8e-1 * planned_rest.rest_s, 6e1) as least_rest_s,
        coalesce(12e-1 * planned_rest.rest_s, 18e1) as most_rest_s
    from stg_set
    left join planned_rest
        on
            stg_set.client_id = planned_rest.client_id
            and stg_set.session_date = planned_rest.session_date
            and stg_set.exercise_id = planned_rest.exercise_id
    where stg_set.is_done or stg_set.set_kind = 'warm_up' or stg_set.is_missed_attempt
),

session as (
    select
        client_id,
        session_date,
        week_start,
        count(distinct exercise_id) as n_exercises,
        sum(case when is_set then 1 else 0 end) as n_sets,
        sum(case when is_hard then 1 else 0 end) as n_hard_sets,
        sum(case when is_unknown_effort then 1 else 0 end) as n_unknown_effort_sets,
        sum(volume_kg) as volume_kg,
        sum(system_volume_kg) as system_volume_kg,
        sum(timed_s) as timed_s,
        max(session_minutes) as session_minutes,
        max(session_rpe) as session_rpe,
        sum(total_reps) as n_reps,
        sum(rest_share * least_rest_s) as least_rest_s,
        sum(rest_share * most_rest_s) as most_rest_s
    from rested
    group by client_id, session_date, week_start
),

planned_day as (
    select
        session_match.client_id,
        session_match.session_date,
        min(planned_session_outcome.day_name) as first_day,
        max(planned_session_outcome.day_name) as last_day
    from session_match
    inner join planned_session_outcome
        on
            session_match.client_id = planned_session_outcome.client_id
            and session_match.week_start = planned_session_outcome.week_start
            and session_match.planned_no = planned_session_outcome.planned_no
    group by session_match.client_id, session_match.session_date
)

select
    session.client_id,
    session.session_date,
    session.week_start,
    case
        when planned_day.first_day <> planned_day.last_day
            then planned_day.first_day || ' + ' || planned_day.last_day
        else planned_day.first_day
    end as planned_day,
    session.n_exercises,
    session.n_sets,
    session.n_hard_sets,
    session.n_unknown_effort_sets,
    session.volume_kg,
    session.system_volume_kg,
    session.timed_s,
    coalesce(
        session.session_minutes,
        5 + (3 * session.n_reps + session.timed_s + session.least_rest_s) / 6e1
        + 1 * (session.n_exercises - 1)
    ) as duration_low_min,
    coalesce(
        session.session_minutes,
        10 + (4 * session.n_reps + session.timed_s + session.most_rest_s) / 6e1
        + 2 * (session.n_exercises - 1)
    ) as duration_high_min,
    session.session_rpe,
    session.session_rpe * session.session_minutes as session_load_au
from session
left join planned_day
    on session.client_id = planned_day.client_id and session.session_date = planned_day.session_date
