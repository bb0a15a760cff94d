-- What was done for each planned exercise on the day its session was done within its own week.
-- grain: one row a planned exercise (client, week_start, item_no) that was done on that day
-- reads: item_day, session_item, stg_similar_exercise
--
-- As planned first. Then swaps, each logged exercise used once: listed alternatives before lifts of the same
-- pattern, more shared muscles before fewer. `taking` walks a day's pairs in that order, one a step, and
-- carries what is taken.
with recursive

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
        not item_left.is_other_week
        and (
            stg_similar_exercise.other_id is not null
            or item_left.alternatives like '%;' || done_left.exercise_id || ';%'
        )
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
)

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
from taking
where is_taken
