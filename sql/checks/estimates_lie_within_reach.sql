-- severity: warn
-- meaning: An estimated 1RM over 500 kg or over twice the lift's own median is likelier a slip than strength.
-- reads: exercise_session
with

typical as (
    select
        client_id,
        exercise_id,
        median(best_e1rm_kg) as median_kg
    from exercise_session
    where best_e1rm_kg is not null
    group by client_id, exercise_id
)

select
    exercise_session.client_id,
    exercise_session.session_date,
    exercise_session.exercise_id,
    exercise_session.best_e1rm_kg,
    typical.median_kg
from exercise_session
inner join typical
    on
        exercise_session.client_id = typical.client_id
        and exercise_session.exercise_id = typical.exercise_id
where exercise_session.best_e1rm_kg > 500 or exercise_session.best_e1rm_kg > 2 * typical.median_kg
