-- A client's training day: sets, volume load, length as a range, session load.
-- grain: client, session_date
-- reads: exercise_day, session_match, planned_session_outcome, item_match, planned_item
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
        exercise_day.client_id,
        exercise_day.session_date,
        exercise_day.week_start,
        exercise_day.n_sets,
        exercise_day.n_hard_sets,
        exercise_day.n_unknown_effort_sets,
        exercise_day.volume_kg,
        exercise_day.system_volume_kg,
        exercise_day.timed_s,
        exercise_day.session_minutes,
        exercise_day.session_rpe,
        exercise_day.all_reps,
        case
            when planned_rest.superset is not null then 5e-1 * exercise_day.n_rests
            else exercise_day.n_rests - 5e-1 * exercise_day.n_rests_in_turn
        end as n_full_rests,
        coalesce(8e-1 * planned_rest.rest_s, 6e1) as least_rest_s,
        coalesce(12e-1 * planned_rest.rest_s, 18e1) as most_rest_s
    from exercise_day
    left join planned_rest
        on
            exercise_day.client_id = planned_rest.client_id
            and exercise_day.session_date = planned_rest.session_date
            and exercise_day.exercise_id = planned_rest.exercise_id
),

session as (
    select
        client_id,
        session_date,
        week_start,
        count(*) as n_exercises,
        sum(n_sets) as n_sets,
        sum(n_hard_sets) as n_hard_sets,
        sum(n_unknown_effort_sets) as n_unknown_effort_sets,
        sum(volume_kg) as volume_kg,
        sum(system_volume_kg) as system_volume_kg,
        sum(timed_s) as timed_s,
        max(session_minutes) as session_minutes,
        max(session_rpe) as session_rpe,
        sum(all_reps) as n_reps,
        sum(n_full_rests * least_rest_s) as least_rest_s,
        sum(n_full_rests * most_rest_s) as most_rest_s
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
