-- The circumstances of a lift: late in the session, the day after one, its muscle trained just before.
-- grain: client, exercise_id, session_date
-- reads: exercise_day, muscle_session, exercise_muscle, day_load
--
-- The order within a session is that of the records of its file; sessions pieced together from several files
-- have none.
with

item as (
    select
        client_id,
        session_date,
        exercise_id,
        row_number() over (partition by client_id, session_date order by first_row, exercise_id) as place
    from exercise_day
    where n_sets > 0
),

session as (
    select
        client_id,
        session_date,
        count(*) as n_items,
        min(first_area) = max(last_area)
        and min(first_file) = max(last_file)
        and min(first_sheet) = max(last_sheet) as is_one_file
    from exercise_day
    where n_sets > 0
    group by client_id, session_date
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
    item.client_id,
    item.exercise_id,
    item.session_date,
    case when session.is_one_file then item.place > 2 and 2 * item.place > session.n_items end as is_late,
    day_load.days_since_session = 1 as is_day_after,
    rested.days_since_muscle <= 2 as is_muscle_again
from item
inner join session
    on item.client_id = session.client_id and item.session_date = session.session_date
inner join day_load
    on item.client_id = day_load.client_id and item.session_date = day_load.session_date
left join rested
    on
        item.client_id = rested.client_id
        and item.session_date = rested.session_date
        and item.exercise_id = rested.exercise_id
