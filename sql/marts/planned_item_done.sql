-- The sets done for each planned exercise, within its repetition, effort and load ranges or not.
-- grain: one row a planned exercise of a week (client, week_start, item_no)
-- reads: planned_item, item_match, stg_set, exercise_session
--
-- Load in range: at least 95 % of the heaviest load of the last of the four sessions before with the exercise
-- whose top set had repetitions within 3 of this one's; a deload is lighter on purpose and not asked. Effort
-- in range: within 1 of the RIR aimed at [P].
with

previous as (
    select
        client_id,
        session_date,
        exercise_id,
        top_load_reps,
        lag(top_load_kg, 1) over (partition by client_id, exercise_id order by session_date) as load_1,
        lag(top_load_reps, 1) over (partition by client_id, exercise_id order by session_date) as reps_1,
        lag(top_load_kg, 2) over (partition by client_id, exercise_id order by session_date) as load_2,
        lag(top_load_reps, 2) over (partition by client_id, exercise_id order by session_date) as reps_2,
        lag(top_load_kg, 3) over (partition by client_id, exercise_id order by session_date) as load_3,
        lag(top_load_reps, 3) over (partition by client_id, exercise_id order by session_date) as reps_3,
        lag(top_load_kg, 4) over (partition by client_id, exercise_id order by session_date) as load_4,
        lag(top_load_reps, 4) over (partition by client_id, exercise_id order by session_date) as reps_4
    from exercise_session
),

comparable as (
    select
        client_id,
        session_date,
        exercise_id,
        case
            when abs(reps_1 - top_load_reps) <= 3 then load_1
            when abs(reps_2 - top_load_reps) <= 3 then load_2
            when abs(reps_3 - top_load_reps) <= 3 then load_3
            when abs(reps_4 - top_load_reps) <= 3 then load_4
        end as last_load_kg
    from previous
),

-- what a set is held against: the planned exercise it serves
place as (
    select
        planned_item.client_id,
        planned_item.week_start,
        planned_item.item_no,
        item_match.session_date,
        item_match.done_exercise_id,
        item_match.sets_before,
        item_match.planned_sets,
        item_match.is_last_place,
        item_match.sets_before = 0 and item_match.is_last_place as is_only_place,
        planned_item.rep_low,
        coalesce(planned_item.rep_high, planned_item.rep_low) as rep_high,
        planned_item.target_rir,
        case when coalesce(planned_item.phase, '') not like '%deload%' then comparable.last_load_kg end
            as last_load_kg
    from item_match
    inner join planned_item
        on
            item_match.client_id = planned_item.client_id
            and item_match.week_start = planned_item.week_start
            and item_match.item_no = planned_item.item_no
    left join comparable
        on
            item_match.client_id = comparable.client_id
            and item_match.session_date = comparable.session_date
            and item_match.done_exercise_id = comparable.exercise_id
),

-- only where an exercise has several places on a day must its sets be told apart
shared_set as (
    select
        stg_set.client_id,
        stg_set.session_date,
        stg_set.exercise_id,
        stg_set.reps,
        stg_set.rir,
        stg_set.load_kg,
        row_number() over (
            partition by stg_set.client_id, stg_set.session_date, stg_set.exercise_id
            order by
                stg_set.set_index,
                stg_set.source_file,
                stg_set.source_sheet,
                stg_set.source_row,
                stg_set.part_index
        ) as set_no
    from stg_set
    inner join (
        select distinct
            client_id,
            session_date,
            done_exercise_id
        from place
        where not is_only_place
    ) as several
        on
            stg_set.client_id = several.client_id
            and stg_set.session_date = several.session_date
            and stg_set.exercise_id = several.done_exercise_id
    where stg_set.is_set
),

done_set as (
    select
        place.client_id,
        place.week_start,
        place.item_no,
        place.rep_low,
        place.rep_high,
        place.target_rir,
        place.last_load_kg,
        stg_set.reps,
        stg_set.rir,
        stg_set.load_kg
    from place
    inner join stg_set
        on
            place.client_id = stg_set.client_id
            and place.session_date = stg_set.session_date
            and place.done_exercise_id = stg_set.exercise_id
    where place.is_only_place and stg_set.is_set
    union all
    select
        place.client_id,
        place.week_start,
        place.item_no,
        place.rep_low,
        place.rep_high,
        place.target_rir,
        place.last_load_kg,
        shared_set.reps,
        shared_set.rir,
        shared_set.load_kg
    from place
    inner join shared_set
        on
            place.client_id = shared_set.client_id
            and place.session_date = shared_set.session_date
            and place.done_exercise_id = shared_set.exercise_id
            and place.sets_before < shared_set.set_no
            and (place.is_last_place or place.sets_before + place.planned_sets >= shared_set.set_no)
    where not place.is_only_place
),

done as (
    select
        client_id,
        week_start,
        item_no,
        count(*) as done_sets,
        sum(coalesce(reps, 0)) as done_reps,
        sum(case when reps >= rep_low and reps <= rep_high then 1 else 0 end) as sets_in_rep_range,
        sum(case when rir is not null and target_rir is not null then 1 else 0 end) as sets_with_effort,
        sum(case when abs(rir - target_rir) <= 1 then 1 else 0 end) as sets_in_effort_range,
        sum(case when load_kg is not null and last_load_kg is not null then 1 else 0 end) as sets_with_load,
        sum(case when load_kg >= last_load_kg - 5e-2 * abs(last_load_kg) - 1e-6 then 1 else 0 end)
            as sets_in_load_range
    from done_set
    group by client_id, week_start, item_no
)

select
    planned_item.client_id,
    planned_item.week_start,
    planned_item.item_no,
    planned_item.planned_no,
    planned_item.plan,
    planned_item.phase,
    planned_item.day_name,
    planned_item.planned_date,
    planned_item.slot,
    planned_item.exercise_id,
    planned_item.exercise_name,
    planned_item.rep_low,
    planned_item.rep_high,
    planned_item.target_rir,
    planned_item.planned_sets,
    planned_item.planned_sets
    * (planned_item.rep_low + coalesce(planned_item.rep_high, planned_item.rep_low)) / 2e0 as planned_reps,
    case when done.done_sets is not null then item_match.done_exercise_id end as done_exercise_id,
    case when done.done_sets is not null then item_match.session_date end as session_date,
    coalesce(
        done.done_sets is not null
        and datediff('day', planned_item.week_start, item_match.session_date) > 6,
        false
    ) as is_after_week,
    coalesce(item_match.is_swap and done.done_sets is not null, false) as is_swap,
    coalesce(done.done_sets, 0) as done_sets,
    coalesce(done.done_reps, 0) as done_reps,
    coalesce(done.sets_in_rep_range, 0) as sets_in_rep_range,
    coalesce(done.sets_with_effort, 0) as sets_with_effort,
    coalesce(done.sets_in_effort_range, 0) as sets_in_effort_range,
    coalesce(done.sets_with_load, 0) as sets_with_load,
    coalesce(done.sets_in_load_range, 0) as sets_in_load_range
from planned_item
left join item_match
    on
        planned_item.client_id = item_match.client_id
        and planned_item.week_start = item_match.week_start
        and planned_item.item_no = item_match.item_no
left join done
    on
        planned_item.client_id = done.client_id
        and planned_item.week_start = done.week_start
        and planned_item.item_no = done.item_no
