-- severity: stop
-- meaning: The sets credited to planned exercises of a day are never more than the sets done that day.
-- reads: planned_exercise, exercise_session
with

credited as (
    select
        client_id,
        session_date,
        done_exercise_id,
        sum(done_sets) as n_sets
    from planned_exercise
    where session_date is not null
    group by client_id, session_date, done_exercise_id
)

select
    credited.client_id,
    credited.session_date,
    credited.done_exercise_id,
    credited.n_sets,
    exercise_session.n_sets as n_sets_done
from credited
left join exercise_session
    on
        credited.client_id = exercise_session.client_id
        and credited.session_date = exercise_session.session_date
        and credited.done_exercise_id = exercise_session.exercise_id
where credited.n_sets > coalesce(exercise_session.n_sets, 0)
