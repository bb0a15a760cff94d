-- severity: stop
-- meaning: Sets, hard sets and volume load of a session are the sums over its exercises.
-- reads: session_summary, exercise_session
with

summed as (
    select
        client_id,
        session_date,
        sum(n_sets) as n_sets,
        sum(n_hard_sets) as n_hard_sets,
        sum(n_unknown_effort_sets) as n_unknown_effort_sets,
        sum(coalesce(volume_kg, 0)) as volume_kg
    from exercise_session
    group by client_id, session_date
)

select
    session_summary.client_id,
    session_summary.session_date,
    session_summary.n_sets,
    summed.n_sets as n_sets_of_exercises
from session_summary
left join summed
    on session_summary.client_id = summed.client_id and session_summary.session_date = summed.session_date
where
    session_summary.n_sets <> coalesce(summed.n_sets, 0)
    or session_summary.n_hard_sets <> coalesce(summed.n_hard_sets, 0)
    or session_summary.n_unknown_effort_sets <> coalesce(summed.n_unknown_effort_sets, 0)
    or abs(coalesce(session_summary.volume_kg, 0) - coalesce(summed.volume_kg, 0))
    > 1e-6 * (1 + coalesce(session_summary.volume_kg, 0))
