-- The load of a week and how it is spread over its days.
-- grain: client, week_start
-- reads: day_load, calendar
--
-- Monotony = mean daily load / standard deviation over the seven days, rest days being zeros; strain = weekly
-- load x monotony (Foster 1998). The denominator of the standard deviation is not stated there: the
-- population form (7) is taken. Days all alike leave it undefined. Neither foretells injury (Impellizzeri
-- et al. 2020).
with

summed as (
    select
        client_id,
        week_start,
        count(*) as n_sessions,
        sum(n_working_sets) as n_working_sets,
        max(n_working_sets) as max_working_sets,
        sum(volume_kg) as volume_kg,
        sum(case when days_since_session = 1 then 1 else 0 end) as n_back_to_back,
        sum(case when session_load_au is not null then 1 else 0 end) as n_sessions_with_load,
        sum(session_load_au) as known_load_au,
        sum(session_load_au * session_load_au) as squared_load
    from day_load
    group by client_id, week_start
),

complete as (
    select
        week_start,
        min(case when is_complete_week then 1 else 0 end) as is_complete
    from calendar
    group by week_start
),

spread as (
    select
        summed.client_id,
        summed.week_start,
        summed.n_sessions,
        summed.n_working_sets,
        summed.max_working_sets,
        summed.volume_kg,
        summed.n_back_to_back,
        summed.n_sessions_with_load,
        case
            when summed.n_sessions_with_load = summed.n_sessions then summed.known_load_au
        end as session_load_au,
        case
            when summed.n_sessions_with_load = summed.n_sessions and complete.is_complete = 1
                then
                    summed.squared_load / 7e0
                    - (summed.known_load_au / 7e0) * (summed.known_load_au / 7e0)
        end as variance
    from summed
    inner join complete on summed.week_start = complete.week_start
),

monotonous as (
    select
        *,
        -- a variance of rounding error is none
        case
            when variance > 1e-9 * session_load_au * session_load_au
                then session_load_au / 7e0 / sqrt(variance)
        end as monotony
    from spread
)

select
    client_id,
    week_start,
    n_sessions,
    n_working_sets,
    volume_kg,
    1e2 * max_working_sets / nullif(n_working_sets, 0) as hardest_day_pct,
    n_back_to_back,
    n_sessions_with_load,
    session_load_au,
    monotony,
    session_load_au * monotony as strain_au
from monotonous
