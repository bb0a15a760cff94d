-- A client's training day: sets, volume load, length as a range, session load.
-- grain: client, session_date
-- reads: stg_set, session_match, planned_session_outcome
--
-- A logged length wins. Otherwise a range: warm-up 5 to 10 min, 3 to 4 s a repetition, 1 to 3 min rest after
-- a set (half of it in supersets: Iversen et al. 2021), 1 to 2 min to the next exercise (values from memory).
-- Session load = session RPE x minutes (Foster et al. 2001), only where both were logged.
with

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
        sum(case when drop_index > 1 then 0e0 when superset is not null then 5e-1 else 1e0 end) as n_rests
    from stg_set
    where is_done or set_kind = 'warm_up' or is_missed_attempt
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
        5 + (3 * session.n_reps + session.timed_s + 60 * session.n_rests) / 6e1
        + 1 * (session.n_exercises - 1)
    ) as duration_low_min,
    coalesce(
        session.session_minutes,
        10 + (4 * session.n_reps + session.timed_s + 180 * session.n_rests) / 6e1
        + 2 * (session.n_exercises - 1)
    ) as duration_high_min,
    session.session_rpe,
    session.session_rpe * session.session_minutes as session_load_au
from session
left join planned_day
    on session.client_id = planned_day.client_id and session.session_date = planned_day.session_date
