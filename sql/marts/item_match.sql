-- What was done for each planned exercise: itself, or what it was swapped for, and on which day.
-- grain: one row a planned exercise (client, week_start, item_no) that was done
-- reads: planned_item, item_day, item_match_on_day, session_item, stg_similar_exercise
--
-- What was done on the day of its session goes first (item_match_on_day). Then, each step for what is left:
-- 1. The exercise as planned on another day of the week where nothing planned has used it.
-- 2. Exercises of a session done across the week's edge, on that day: as planned, else swapped.
-- In this order, so that what was known at a week's end stays as it was; for the same reason step 1 leaves
-- alone a day that made up for last week, and a session that was done the week before.
with

item_left as (
    select item_day.*
    from item_day
    left join item_match_on_day
        on
            item_day.client_id = item_match_on_day.client_id
            and item_day.week_start = item_match_on_day.week_start
            and item_day.item_no = item_match_on_day.item_no
    where item_match_on_day.item_no is null
),

done_left as (
    select
        session_item.client_id,
        session_item.week_start,
        session_item.session_date,
        session_item.exercise_id
    from session_item
    left join item_match_on_day
        on
            session_item.client_id = item_match_on_day.client_id
            and session_item.session_date = item_match_on_day.session_date
            and session_item.exercise_id = item_match_on_day.done_exercise_id
    where item_match_on_day.done_exercise_id is null
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
    left join made_up_day
        on
            done_left.client_id = made_up_day.client_id
            and done_left.session_date = made_up_day.session_date
    where
        made_up_day.session_date is null
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

-- every pair of a planned exercise and another one of its session's day that may stand in for it
stand_in as (
    select
        item_left.client_id,
        item_left.week_start,
        item_left.item_no,
        item_left.session_date,
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
        item_left.is_other_week
        and (
            stg_similar_exercise.other_id is not null
            or item_left.alternatives like '%;' || done_left.exercise_id || ';%'
        )
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
    where item_found.item_no is null and done_used.item_no is null
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
        is_swap
    from item_match_on_day
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
