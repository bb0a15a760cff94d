-- What was done for each planned exercise: itself, or what it was swapped for, and on which day.
-- grain: one row a planned exercise (client, week_start, item_no) that was done
-- reads: planned_item, session_match, session_item, stg_similar_exercise
--
-- First the exercise as planned, on the day its session was done. Then swaps on that day, each logged
-- exercise used once: listed alternatives before lifts of the same pattern. Last, the exercise as planned on
-- another day of the week where nothing planned has used it.
with

item_day as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.item_no,
        planned_item.exercise_id,
        planned_item.alternatives,
        planned_item.planned_date,
        session_match.session_date
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
),

item_left as (
    select
        item_day.client_id,
        item_day.week_start,
        item_day.item_no,
        item_day.exercise_id,
        item_day.alternatives,
        item_day.planned_date,
        item_day.session_date
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

swap_candidate as (
    select
        item_left.client_id,
        item_left.week_start,
        item_left.item_no,
        item_left.session_date,
        done_left.exercise_id as done_exercise_id,
        row_number() over (
            partition by item_left.client_id, item_left.session_date
            order by
                case
                    when item_left.alternatives like '%;' || done_left.exercise_id || ';%' then 1
                    else 0
                end desc,
                coalesce(stg_similar_exercise.n_muscles, 0) desc,
                item_left.item_no asc,
                done_left.exercise_id asc
        ) as place
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

swap_preferred_1 as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        place,
        min(place) over (partition by client_id, week_start, item_no) as best_of_item,
        min(place) over (partition by client_id, session_date, done_exercise_id) as best_of_done
    from swap_candidate
),

swap_1 as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id
    from swap_preferred_1
    where place = best_of_item and place = best_of_done
),

swap_left_1 as (
    select
        swap_candidate.client_id,
        swap_candidate.week_start,
        swap_candidate.item_no,
        swap_candidate.session_date,
        swap_candidate.done_exercise_id,
        swap_candidate.place
    from swap_candidate
    left join swap_1 as item_taken
        on
            swap_candidate.client_id = item_taken.client_id
            and swap_candidate.week_start = item_taken.week_start
            and swap_candidate.item_no = item_taken.item_no
    left join swap_1 as done_taken
        on
            swap_candidate.client_id = done_taken.client_id
            and swap_candidate.session_date = done_taken.session_date
            and swap_candidate.done_exercise_id = done_taken.done_exercise_id
    where item_taken.item_no is null and done_taken.item_no is null
),

swap_preferred_2 as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id,
        place,
        min(place) over (partition by client_id, week_start, item_no) as best_of_item,
        min(place) over (partition by client_id, session_date, done_exercise_id) as best_of_done
    from swap_left_1
),

swapped as (
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id
    from swap_1
    union all
    select
        client_id,
        week_start,
        item_no,
        session_date,
        done_exercise_id
    from swap_preferred_2
    where place = best_of_item and place = best_of_done
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
    where item_swapped.item_no is null and done_swapped.item_no is null
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
    from elsewhere_preferred
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
