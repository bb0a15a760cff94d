-- The circumstances of a lift: late in the session, the day after one, its muscle trained just before.
-- grain: client, exercise_id, session_date
-- reads: stg_set, muscle_session, exercise_muscle, day_load
--
-- The order within a session is that of the records of its file; sessions pieced together from several files
-- have none.
with

item as (
    select
        client_id,
        session_date,
        exercise_id,
        min(source_row) as first_row,
        min(source_area || '/' || source_file || '/' || coalesce(source_sheet, '')) as first_file,
        max(source_area || '/' || source_file || '/' || coalesce(source_sheet, '')) as last_file
    from stg_set
    where is_set
    group by client_id, session_date, exercise_id
),

placed as (
    select
        client_id,
        session_date,
        exercise_id,
        row_number() over (partition by client_id, session_date order by first_row, exercise_id) as place,
        count(*) over (partition by client_id, session_date) as n_items,
        min(first_file) over (partition by client_id, session_date)
        = max(last_file) over (partition by client_id, session_date) as is_one_file
    from item
),

rested as (
    select
        item.client_id,
        item.session_date,
        item.exercise_id,
        min(muscle_session.days_since_last) as days_since_muscle
    from item
    inner join exercise_muscle
        on item.exercise_id = exercise_muscle.exercise_id and exercise_muscle.credit >= 1
    inner join muscle_session
        on
            item.client_id = muscle_session.client_id
            and item.session_date = muscle_session.session_date
            and exercise_muscle.muscle = muscle_session.muscle
    group by item.client_id, item.session_date, item.exercise_id
)

select
    placed.client_id,
    placed.exercise_id,
    placed.session_date,
    case when placed.is_one_file then placed.place > 2 and 2 * placed.place > placed.n_items end as is_late,
    day_load.days_since_session = 1 as is_day_after,
    rested.days_since_muscle <= 2 as is_muscle_again
from placed
inner join day_load
    on placed.client_id = day_load.client_id and placed.session_date = day_load.session_date
left join rested
    on
        placed.client_id = rested.client_id
        and placed.session_date = rested.session_date
        and placed.exercise_id = rested.exercise_id
