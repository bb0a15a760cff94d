-- Which training day a planned session was done on: best fit first, then nearest date, each day used once.
-- grain: one row a planned session that was done
-- reads: session_fit, planned_item, session_item
--
-- Three steps, the later ones for what the earlier ones left:
-- 1. Within the week, the best pair of a planned session and a day is taken, then the best of what is left,
--    and so on. `taking` walks a week's pairs in that order, one a step, and carries what is taken.
-- 2. Two sessions merged into one day: the second shares the first one's day when at least half of its sets
--    were done there as written, over and above what the first asks for.
-- 3. Across the week's edge: a session and a day of the week before or after, two days apart at most
--    (Sunday's session done on Monday), when half of either is the other. The week's own days go first, so
--    that what was known at a week's end stays as it was.
with recursive

candidate as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        row_number() over (
            partition by client_id, week_start
            order by
                planned_share + session_share + case when is_same_day then 5e-1 else 0e0 end desc,
                days_apart asc,
                planned_no asc,
                session_date asc
        ) as place,
        ';p' || cast(planned_no as varchar) || ';' as planned_mark,
        ';d' || cast(session_date as varchar) || ';' as day_mark
    from session_fit
    where is_own_week
),

taking as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        place,
        true as is_taken,
        planned_mark || day_mark as marks
    from candidate
    where place = 1
    union all
    select
        candidate.client_id,
        candidate.week_start,
        candidate.planned_no,
        candidate.session_date,
        candidate.place,
        replace(replace(taking.marks, candidate.planned_mark, ''), candidate.day_mark, '') = taking.marks
            as is_taken,
        case
            when
                replace(replace(taking.marks, candidate.planned_mark, ''), candidate.day_mark, '')
                = taking.marks
                then taking.marks || candidate.planned_mark || candidate.day_mark
            else taking.marks
        end as marks
    from taking
    inner join candidate
        on
            taking.client_id = candidate.client_id
            and taking.week_start = candidate.week_start
            and taking.place + 1 = candidate.place
),

matched as (
    select
        client_id,
        week_start,
        planned_no,
        session_date
    from taking
    where is_taken
),

-- sets of each exercise that the sessions matched so far do not ask for
asked as (
    select
        matched.client_id,
        matched.session_date,
        planned_item.exercise_id,
        sum(planned_item.planned_sets) as asked_sets
    from matched
    inner join planned_item
        on
            matched.client_id = planned_item.client_id
            and matched.week_start = planned_item.week_start
            and matched.planned_no = planned_item.planned_no
    group by matched.client_id, matched.session_date, planned_item.exercise_id
),

to_spare as (
    select
        session_item.client_id,
        session_item.week_start,
        session_item.session_date,
        session_item.exercise_id,
        session_item.n_sets - coalesce(asked.asked_sets, 0) as n_sets
    from session_item
    left join asked
        on
            session_item.client_id = asked.client_id
            and session_item.session_date = asked.session_date
            and session_item.exercise_id = asked.exercise_id
    where session_item.n_sets > coalesce(asked.asked_sets, 0)
),

unmatched_item as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.planned_no,
        planned_item.planned_date,
        planned_item.exercise_id,
        planned_item.planned_sets,
        sum(planned_item.planned_sets) over (
            partition by planned_item.client_id, planned_item.week_start, planned_item.planned_no
        ) as session_sets
    from planned_item
    left join matched
        on
            planned_item.client_id = matched.client_id
            and planned_item.week_start = matched.week_start
            and planned_item.planned_no = matched.planned_no
    where matched.planned_no is null
),

merge_candidate as (
    select
        unmatched_item.client_id,
        unmatched_item.week_start,
        unmatched_item.planned_no,
        unmatched_item.planned_date,
        to_spare.session_date,
        sum(least(unmatched_item.planned_sets, to_spare.n_sets))
        / cast(unmatched_item.session_sets as double) as done_share
    from unmatched_item
    inner join to_spare
        on
            unmatched_item.client_id = to_spare.client_id
            and unmatched_item.week_start = to_spare.week_start
            and unmatched_item.exercise_id = to_spare.exercise_id
    group by
        unmatched_item.client_id,
        unmatched_item.week_start,
        unmatched_item.planned_no,
        unmatched_item.planned_date,
        unmatched_item.session_sets,
        to_spare.session_date
),

ranked_merge as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        row_number() over (
            partition by client_id, week_start, planned_no
            order by
                done_share desc,
                coalesce(abs(datediff('day', planned_date, session_date)), 0) asc,
                session_date asc
        ) as place
    from merge_candidate
    where done_share >= 5e-1
),

within_week as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        false as is_merged
    from matched
    union all
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        true as is_merged
    from ranked_merge
    where place = 1
),

edge_candidate as (
    select
        session_fit.client_id,
        session_fit.week_start,
        session_fit.planned_no,
        session_fit.session_date,
        row_number() over (
            partition by
                session_fit.client_id,
                greatest(session_fit.week_start, session_fit.day_week_start)
            order by
                session_fit.days_apart asc,
                session_fit.planned_share + session_fit.session_share desc,
                session_fit.week_start asc,
                session_fit.planned_no asc,
                session_fit.session_date asc
        ) as place
    from session_fit
    left join within_week as done
        on
            session_fit.client_id = done.client_id
            and session_fit.week_start = done.week_start
            and session_fit.planned_no = done.planned_no
    left join within_week as used
        on session_fit.client_id = used.client_id and session_fit.session_date = used.session_date
    where
        not session_fit.is_own_week
        and session_fit.planned_share >= 5e-1
        and session_fit.session_share >= 5e-1
        and done.planned_no is null
        and used.planned_no is null
),

edge_preferred as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        place,
        min(place) over (partition by client_id, week_start, planned_no) as best_of_planned,
        min(place) over (partition by client_id, session_date) as best_of_day
    from edge_candidate
)

select
    client_id,
    week_start,
    planned_no,
    session_date,
    is_merged,
    false as is_other_week
from within_week
union all
select
    client_id,
    week_start,
    planned_no,
    session_date,
    false as is_merged,
    true as is_other_week
from edge_preferred
where place = best_of_planned and place = best_of_day
