-- What was done for each planned exercise: itself, or what it was swapped for, and on which day.
-- grain: one row a planned exercise (client, week_start, item_no) that was done
-- reads: planned_item, session_match, session_item, stg_similar_exercise
--
-- Four steps, each for what the ones before left:
-- 1. The exercise as planned, on the day its session was done within its own week.
-- 2. Swaps on that day, each logged exercise used once: listed alternatives before lifts of the same pattern,
--    more shared muscles before fewer. `taking` walks a day's pairs in that order, one a step, and carries
--    what is taken.
-- 3. The exercise as planned on another day of the week where nothing planned has used it.
-- 4. Exercises of a session done across the week's edge, on that day: as planned, else swapped.
-- Step 3 before step 4, so that what was known at a week's end stays as it was; for the same reason step 3
-- leaves alone a day that made up for last week, and a session that was done the week before.
with recursive

item_day as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.item_no,
        planned_item.exercise_id,
        planned_item.alternatives,
        planned_item.planned_date,
        session_match.session_date,
        coalesce(session_match.is_other_week, false) as is_other_week,
        coalesce(session_match.is_other_week and session_match.session_date < planned_item.week_start, false)
            as is_early
    from planned_item
    left join session_match
        on
            planned_item.client_id = session_match.client_id
            and planned_item.week_start = session_match.week_start
            and planned_item.planned_no = session_match.planned_no
),

as_planned as (
    select
        item_day.client_id,
        item_day.week_start,
        item_day.item_no,
        item_day.exercise_id as done_exercise_id,
        item_day.session_date
    from item_day
    inner join session_item
        on
            item_day.client_id = session_item.client_id
            and item_day.session_date = session_item.session_date
            and item_day.exercise_id = session_item.exercise_id
    where not item_day.is_other_week
),

item_left as (
    select item_day.*
    from item_day
    left join as_planned
        on
            item_day.client_id = as_planned.client_id
            and item_day.week_start = as_planned.week_start
            and item_day.item_no = as_planned.item_no
    where as_planned.item_no is null
),

used as (
    select distinct
        client_id,
        session_date,
        done_exercise_id
    from as_planned
),

done_left as (
    select
        session_item.client_id,
        session_item.week_start,
        session_item.session_date,
        session_item.exercise_id
    from session_item
    left join used
        on
            session_item.client_id = used.client_id
            and session_item.session_date = used.session_date
            and session_item.exercise_id = used.done_exercise_id
    where used.done_exercise_id is null
),

-- every pair of a planned exercise and another one of its session's day that may stand in for it
stand_in as (
    select
        item_left.client_id,
        item_left.week_start,
        item_left.item_no,
        item_left.session_date,
        item_left.is_other_week,
        done_left.exercise_id as done_exercise_id,
        case when item_left.alternatives like '%;' || done_left.exercise_id || ';%' then 1 else 0 end
            as is_listed,
        coalesce(stg_similar_exercise.n_muscles, 0) as n_muscles
    from item_left
    inner join done_left
        on item_left.client_id = done_left.client_id and item_left.session_date = done_left.session_date
    left join stg_similar_exercise
        on
            item_left.exercise_id = stg_similar_exercise.exercise_id
            and done_left.exercise_id = stg_similar_exercise.other_id
    where
        stg_similar_exercise.other_id is not null
        or item_left.alternatives like '%;' || done_left.exercise_id || ';%'
),

swap_candidate as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        row_number() over (
            partition by client_id, session_date
            order by is_listed desc, n_muscles desc, item_no asc, done_exercise_id asc
        ) as place,
        ';i' || cast(item_no as varchar) || ';' as item_mark,
        ';e' || done_exercise_id || ';' as done_mark
    from stand_in
    where not is_other_week
),

taking as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        place,
        true as is_taken,
        item_mark || done_mark as marks
    from swap_candidate
    where place = 1
    union all
    select
        swap_candidate.client_id,
        swap_candidate.week_start,
        swap_candidate.item_no,
        swap_candidate.session_date,
        swap_candidate.done_exercise_id,
        swap_candidate.place,
        replace(replace(taking.marks, swap_candidate.item_mark, ''), swap_candidate.done_mark, '')
        = taking.marks as is_taken,
        case
            when
                replace(replace(taking.marks, swap_candidate.item_mark, ''), swap_candidate.done_mark, '')
                = taking.marks
                then taking.marks || swap_candidate.item_mark || swap_candidate.done_mark
            else taking.marks
        end as marks
    from taking
    inner join swap_candidate
        on
            taking.client_id = swap_candidate.client_id
            and taking.session_date = swap_candidate.session_date
            and taking.place + 1 = swap_candidate.place
),

swapped as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id
    from taking
    where is_taken
),

made_up_day as (
    select distinct
        client_id,
        session_date
    from item_day
    where is_other_week and not is_early
),

elsewhere_candidate as (
    select
        item_left.client_id,
        item_left.week_start,
        item_left.item_no,
        done_left.session_date,
        done_left.exercise_id as done_exercise_id,
        row_number() over (
            partition by item_left.client_id, item_left.week_start, item_left.exercise_id
            order by
                coalesce(abs(datediff('day', item_left.planned_date, done_left.session_date)), 0),
                item_left.item_no,
                done_left.session_date
        ) as place
    from item_left
    inner join done_left
        on
            item_left.client_id = done_left.client_id
            and item_left.week_start = done_left.week_start
            and item_left.exercise_id = done_left.exercise_id
    left join swapped as item_swapped
        on
            item_left.client_id = item_swapped.client_id
            and item_left.week_start = item_swapped.week_start
            and item_left.item_no = item_swapped.item_no
    left join swapped as done_swapped
        on
            done_left.client_id = done_swapped.client_id
            and done_left.session_date = done_swapped.session_date
            and done_left.exercise_id = done_swapped.done_exercise_id
    left join made_up_day
        on
            done_left.client_id = made_up_day.client_id
            and done_left.session_date = made_up_day.session_date
    where
        item_swapped.item_no is null
        and done_swapped.item_no is null
        and made_up_day.session_date is null
        and not item_left.is_early
),

elsewhere_preferred as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        place,
        min(place) over (partition by client_id, week_start, item_no) as best_of_item,
        min(place) over (partition by client_id, session_date, done_exercise_id) as best_of_done
    from elsewhere_candidate
),

elsewhere as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id
    from elsewhere_preferred
    where place = best_of_item and place = best_of_done
),

edge_as_planned as (
    select
        item_left.client_id,
        item_left.week_start,
        item_left.item_no,
        item_left.session_date,
        item_left.exercise_id as done_exercise_id
    from item_left
    inner join done_left
        on
            item_left.client_id = done_left.client_id
            and item_left.session_date = done_left.session_date
            and item_left.exercise_id = done_left.exercise_id
    left join elsewhere as item_found
        on
            item_left.client_id = item_found.client_id
            and item_left.week_start = item_found.week_start
            and item_left.item_no = item_found.item_no
    left join elsewhere as done_used
        on
            done_left.client_id = done_used.client_id
            and done_left.session_date = done_used.session_date
            and done_left.exercise_id = done_used.done_exercise_id
    where item_left.is_other_week and item_found.item_no is null and done_used.item_no is null
),

found_so_far as (
    select * from elsewhere
    union all
    select * from edge_as_planned
),

edge_swap_candidate as (
    select
        stand_in.client_id,
        stand_in.week_start,
        stand_in.item_no,
        stand_in.session_date,
        stand_in.done_exercise_id,
        row_number() over (
            partition by stand_in.client_id, stand_in.session_date
            order by
                stand_in.is_listed desc,
                stand_in.n_muscles desc,
                stand_in.item_no asc,
                stand_in.done_exercise_id asc
        ) as place
    from stand_in
    left join found_so_far as item_found
        on
            stand_in.client_id = item_found.client_id
            and stand_in.week_start = item_found.week_start
            and stand_in.item_no = item_found.item_no
    left join found_so_far as done_used
        on
            stand_in.client_id = done_used.client_id
            and stand_in.session_date = done_used.session_date
            and stand_in.done_exercise_id = done_used.done_exercise_id
    where stand_in.is_other_week and item_found.item_no is null and done_used.item_no is null
),

edge_swap_preferred as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        place,
        min(place) over (partition by client_id, week_start, item_no) as best_of_item,
        min(place) over (partition by client_id, session_date, done_exercise_id) as best_of_done
    from edge_swap_candidate
),

every_match as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        false as is_swap
    from as_planned
    union all
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        true as is_swap
    from swapped
    union all
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        false as is_swap
    from found_so_far
    union all
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        true as is_swap
    from edge_swap_preferred
    where place = best_of_item and place = best_of_done
)

select
    every_match.client_id,
    every_match.week_start,
    every_match.item_no,
    every_match.session_date,
    every_match.done_exercise_id,
    every_match.is_swap,
    -- a planned exercise may stand twice on a day (a heavy single, then back-off sets; or two sessions
    -- merged): the logged sets go to its places in order, what is over to the last
    sum(planned_item.planned_sets) over (
        partition by every_match.client_id, every_match.session_date, every_match.done_exercise_id
        order by planned_item.item_no
        rows between unbounded preceding and current row
    ) - planned_item.planned_sets as sets_before,
    planned_item.planned_sets,
    row_number() over (
        partition by every_match.client_id, every_match.session_date, every_match.done_exercise_id
        order by planned_item.item_no desc
    ) = 1 as is_last_place
from every_match
inner join planned_item
    on
        every_match.client_id = planned_item.client_id
        and every_match.week_start = planned_item.week_start
        and every_match.item_no = planned_item.item_no
