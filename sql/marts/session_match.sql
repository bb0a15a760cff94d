-- Which training day a planned session was done on: best fit first, then nearest date, each day used once.
-- grain: one row a planned session that was done
-- reads: session_fit
--
-- Rounds: in each, a planned session and a day that prefer each other above all others left are matched. Four
-- rounds settle all but contrived weeks. What is left may share a day that is taken (two sessions merged into
-- one day) when at least half of it was done there as written.
with

candidate as (
    select
        client_id,
        week_start,
        planned_no,
        session_date,
        n_exact,
        planned_share,
        row_number() over (
            partition by client_id, week_start
            order by
                planned_share + session_share + case when is_same_day then 5e-1 else 0e0 end desc,
                days_apart,
                planned_no,
                session_date
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

merge_candidate as (
    select
        candidate.client_id,
        candidate.week_start,
        candidate.planned_no,
        candidate.session_date,
        row_number() over (
            partition by candidate.client_id, candidate.week_start, candidate.planned_no
            order by candidate.place
        ) as place
    from candidate
    left join matched
        on
            candidate.client_id = matched.client_id
            and candidate.week_start = matched.week_start
            and candidate.planned_no = matched.planned_no
    where matched.planned_no is null and candidate.n_exact > 0 and candidate.planned_share >= 5e-1
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
from merge_candidate
where place = 1
