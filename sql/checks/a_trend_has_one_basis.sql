-- severity: stop
-- meaning: External and system load are never mixed in the series of one lift.
-- reads: strength_trend, exercise_session
select
    client_id,
    exercise_id,
    count(distinct e1rm_basis) as n_bases
from (
    select
        client_id,
        exercise_id,
        e1rm_basis
    from strength_trend
    union all
    select
        client_id,
        exercise_id,
        e1rm_basis
    from exercise_session
    where e1rm_basis is not null
) as every_basis
group by client_id, exercise_id
having count(distinct e1rm_basis) > 1
