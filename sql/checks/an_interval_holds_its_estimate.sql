-- severity: stop
-- meaning: An estimate lies within its interval, and a lower bound has no upper end.
-- reads: exercise_session
select
    client_id,
    session_date,
    exercise_id,
    best_e1rm_kg,
    e1rm_low_kg,
    e1rm_high_kg
from exercise_session
where
    best_e1rm_kg < e1rm_low_kg
    or best_e1rm_kg > e1rm_high_kg
    or (e1rm_kind = 'lower_bound' and e1rm_high_kg is not null)
    or (best_e1rm_kg is not null and (e1rm_kind is null or e1rm_basis is null))
