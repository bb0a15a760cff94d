-- Which training day a planned session was done on: best fit first, then nearest date, each day used once.
-- grain: one row a planned session that was done
-- reads: session_fit, planned_item, session_item
--
-- Rounds: in each, a planned session and a day that prefer each other above all others left are matched. Four
-- rounds settle all but contrived weeks. What is left may share a day that is taken (two sessions merged into
-- one day) when at least half of its sets were done there as written, over and above what the other asks for.
with

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
        ) as place
    from session_fit
),

preferred_1 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        place,
        min(place) over (partition by client_id, week_start, planned_no) as best_of_planned,
        min(place) over (partition by client_id, week_start, session_date) as best_of_day
    from candidate
),

match_1 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date
    from preferred_1
    where place = best_of_planned and place = best_of_day
),

left_1 as (
    select
        candidate.client_id,
        candidate.week_start,
        candidate.planned_no,
        candidate.session_date,
        candidate.place
    from candidate
    left join match_1 as planned
        on
            candidate.client_id = planned.client_id
            and candidate.week_start = planned.week_start
            and candidate.planned_no = planned.planned_no
    left join match_1 as day_taken
        on
            candidate.client_id = day_taken.client_id
            and candidate.week_start = day_taken.week_start
            and candidate.session_date = day_taken.session_date
    where planned.planned_no is null and day_taken.planned_no is null
),

preferred_2 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        place,
        min(place) over (partition by client_id, week_start, planned_no) as best_of_planned,
        min(place) over (partition by client_id, week_start, session_date) as best_of_day
    from left_1
),

match_2 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date
    from preferred_2
    where place = best_of_planned and place = best_of_day
),

left_2 as (
    select
        left_1.client_id,
        left_1.week_start,
        left_1.planned_no,
        left_1.session_date,
        left_1.place
    from left_1
    left join match_2 as planned
        on
            left_1.client_id = planned.client_id
            and left_1.week_start = planned.week_start
            and left_1.planned_no = planned.planned_no
    left join match_2 as day_taken
        on
            left_1.client_id = day_taken.client_id
            and left_1.week_start = day_taken.week_start
            and left_1.session_date = day_taken.session_date
    where planned.planned_no is null and day_taken.planned_no is null
),

preferred_3 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        place,
        min(place) over (partition by client_id, week_start, planned_no) as best_of_planned,
        min(place) over (partition by client_id, week_start, session_date) as best_of_day
    from left_2
),

match_3 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date
    from preferred_3
    where place = best_of_planned and place = best_of_day
),

left_3 as (
    select
        left_2.client_id,
        left_2.week_start,
        left_2.planned_no,
        left_2.session_date,
        left_2.place
    from left_2
    left join match_3 as planned
        on
            left_2.client_id = planned.client_id
            and left_2.week_start = planned.week_start
            and left_2.planned_no = planned.planned_no
    left join match_3 as day_taken
        on
            left_2.client_id = day_taken.client_id
            and left_2.week_start = day_taken.week_start
            and left_2.session_date = day_taken.session_date
    where planned.planned_no is null and day_taken.planned_no is null
),

preferred_4 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        place,
        min(place) over (partition by client_id, week_start, planned_no) as best_of_planned,
        min(place) over (partition by client_id, week_start, session_date) as best_of_day
    from left_3
),

match_4 as (
    select
        client_id,
        week_start,
        planned_no,
        session_date
    from preferred_4
    where place = best_of_planned and place = best_of_day
),

matched as (
    select * from match_1
    union all
    select * from match_2
    union all
    select * from match_3
    union all
    select * from match_4
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
)

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
