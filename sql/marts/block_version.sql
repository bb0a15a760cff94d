-- Which block each plan version belongs to: weeks written one by one on end with the same exercises are one.
-- grain: client_id, plan, valid_from
-- reads: plan_slot
--
-- A version of a week at most goes on with the block of the one before where that one lasted a week at most
-- too, ended the day before, and names the same phase and the same exercises on the same days.
with

version as (
    select
        client_id,
        coalesce(plan, '') as plan,
        valid_from,
        max(valid_to) as valid_to,
        min(coalesce(phase, '')) as phase
    from plan_slot
    group by client_id, coalesce(plan, ''), valid_from
),

listed as (
    select distinct
        client_id,
        coalesce(plan, '') as plan,
        valid_from,
        day || '|' || exercise_id as exercise
    from plan_slot
    where exercise_id is not null
),

counted as (
    select
        client_id,
        plan,
        valid_from,
        count(*) as n_exercises
    from listed
    group by client_id, plan, valid_from
),

after_another as (
    select
        client_id,
        plan,
        valid_from,
        valid_to,
        phase,
        lag(valid_from) over (partition by client_id, plan order by valid_from) as last_from,
        lag(valid_to) over (partition by client_id, plan order by valid_from) as last_to,
        lag(phase) over (partition by client_id, plan order by valid_from) as last_phase
    from version
),

candidate as (
    select
        client_id,
        plan,
        valid_from,
        last_from
    from after_another
    where
        datediff('day', valid_from, valid_to) <= 6
        and datediff('day', last_from, last_to) <= 6
        and datediff('day', last_to, valid_from) = 1
        and last_phase = phase
),

shared as (
    select
        candidate.client_id,
        candidate.plan,
        candidate.valid_from,
        count(*) as n_exercises
    from candidate
    inner join listed
        on
            candidate.client_id = listed.client_id
            and candidate.plan = listed.plan
            and candidate.valid_from = listed.valid_from
    inner join listed as earlier
        on
            candidate.client_id = earlier.client_id
            and candidate.plan = earlier.plan
            and candidate.last_from = earlier.valid_from
            and listed.exercise = earlier.exercise
    group by candidate.client_id, candidate.plan, candidate.valid_from
),

going_on as (
    select
        candidate.client_id,
        candidate.plan,
        candidate.valid_from
    from candidate
    inner join shared
        on
            candidate.client_id = shared.client_id
            and candidate.plan = shared.plan
            and candidate.valid_from = shared.valid_from
    inner join counted
        on
            candidate.client_id = counted.client_id
            and candidate.plan = counted.plan
            and candidate.valid_from = counted.valid_from
            and shared.n_exercises = counted.n_exercises
    inner join counted as earlier
        on
            candidate.client_id = earlier.client_id
            and candidate.plan = earlier.plan
            and candidate.last_from = earlier.valid_from
            and shared.n_exercises = earlier.n_exercises
)

select
    version.client_id,
    version.plan,
    version.valid_from,
    version.valid_to,
    max(case when going_on.valid_from is null then version.valid_from end) over (
        partition by version.client_id, version.plan
        order by version.valid_from
    ) as block_from
from version
left join going_on
    on
        version.client_id = going_on.client_id
        and version.plan = going_on.plan
        and version.valid_from = going_on.valid_from
