-- What became of each planned session: done, moved, missed, excused, not known, or not yet due.
-- grain: one row a planned session of a week (client, week_start, planned_no)
-- reads: planned_item_done, session_match, client_week_log, excused_span
--
-- outcome is what is known now, outcome_at_week_end what was known when the week ended: Sunday's session done
-- on Monday is moved by the one, missed by the other. Weekly states read the second, so that no later log
-- changes them.
-- A session whose exercises were mostly (half of its sets) done on other days counts as moved. A session not
-- done is excused when its date is; one without a date when the week's excused days, as a share of the week,
-- leave no room for it (the first sessions of the list are asked for first). In a week without a single log
-- nothing is known to be missed. In the unfinished week only days up to the as-of day are asked for.
with

session as (
    select
        client_id,
        week_start,
        planned_no,
        plan,
        phase,
        day_name,
        planned_date,
        sum(planned_sets) as planned_sets,
        sum(done_sets) as done_sets,
        sum(least(done_sets, planned_sets)) as capped_sets,
        sum(case when is_swap then 1 else 0 end) as n_swapped,
        max(session_date) as a_session_date,
        sum(case when is_after_week then 0 else least(done_sets, planned_sets) end)
            as capped_sets_at_week_end,
        max(case when is_after_week then null else session_date end) as a_session_date_at_week_end
    from planned_item_done
    group by client_id, week_start, planned_no, plan, phase, day_name, planned_date
),

matched_day as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        datediff('day', week_start, session_date) > 6 as is_after_week
    from session_match
),

matched as (
    select
        session.*,
        case
            when session_match.session_date is not null then session_match.session_date
            when session.capped_sets >= 5e-1 * session.planned_sets and session.capped_sets > 0
                then session.a_session_date
        end as session_date,
        case
            when not session_match.is_after_week then session_match.session_date
            when
                session.capped_sets_at_week_end >= 5e-1 * session.planned_sets
                and session.capped_sets_at_week_end > 0
                then session.a_session_date_at_week_end
        end as session_date_at_week_end
    from session
    left join matched_day as session_match
        on
            session.client_id = session_match.client_id
            and session.week_start = session_match.week_start
            and session.planned_no = session_match.planned_no
),

excused_date as (
    select distinct
        matched.client_id,
        matched.week_start,
        matched.planned_no
    from matched
    inner join excused_span
        on
            matched.client_id = excused_span.client_id
            and matched.planned_date >= excused_span.date_from
            and matched.planned_date <= excused_span.date_to
),

waiting as (
    select
        matched.*,
        client_week_log.n_days,
        client_week_log.n_days_logged,
        client_week_log.n_days_excused,
        client_week_log.is_complete_week,
        excused_date.planned_no is not null as is_date_excused,
        round(
            sum(case when matched.planned_date is null then 1 else 0 end) over (
                partition by matched.client_id, matched.week_start
            ) * client_week_log.n_days_excused / cast(client_week_log.n_days as double)
        ) as n_any_day_excused,
        row_number() over (
            partition by
                matched.client_id,
                matched.week_start,
                case when matched.planned_date is null then 1 else 0 end,
                case when matched.session_date is null then 1 else 0 end
            order by matched.planned_no desc
        ) as not_done_place
    from matched
    inner join client_week_log
        on matched.client_id = client_week_log.client_id and matched.week_start = client_week_log.week_start
    left join excused_date
        on
            matched.client_id = excused_date.client_id
            and matched.week_start = excused_date.week_start
            and matched.planned_no = excused_date.planned_no
)

select
    client_id,
    week_start,
    planned_no,
    plan,
    phase,
    day_name,
    planned_date,
    session_date,
    planned_sets,
    done_sets,
    n_swapped,
    case
        when session_date is not null and (planned_date is null or planned_date = session_date) then 'done'
        when session_date is not null then 'moved'
        when is_date_excused or (planned_date is null and not_done_place <= n_any_day_excused) then 'excused'
        when not is_complete_week then 'open'
        when n_days_logged = 0 then 'no_log'
        else 'missed'
    end as outcome,
    case
        when
            session_date_at_week_end is not null
            and (planned_date is null or planned_date = session_date_at_week_end)
            then 'done'
        when session_date_at_week_end is not null then 'moved'
        when is_date_excused or (planned_date is null and not_done_place <= n_any_day_excused) then 'excused'
        when not is_complete_week then 'open'
        when n_days_logged = 0 then 'no_log'
        else 'missed'
    end as outcome_at_week_end
from waiting
