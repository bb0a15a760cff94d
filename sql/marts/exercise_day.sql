-- What every exercise of a client's training day came to, warm-ups counted apart.
-- grain: client_id, session_date, exercise_id
-- reads: stg_set
--
-- The sets are gone through once here; sessions, exercises, muscles and plans are told from these rows.
-- n_entries counts rows that are no warm-up; all_reps, n_rests and n_rests_in_turn hold warm-ups too, for the
-- length of a session (a drop is not rested before; in_turn: logged as done in turn with another exercise).
select
    client_id,
    session_date,
    week_start,
    exercise_id,
    max(case when set_kind <> 'warm_up' then exercise_name end) as exercise_name,
    max(case when set_kind <> 'warm_up' then e1rm_basis end) as e1rm_basis,
    sum(case when set_kind <> 'warm_up' then 1 else 0 end) as n_entries,
    sum(case when is_set then 1 else 0 end) as n_sets,
    sum(case when is_working then 1 else 0 end) as n_working_sets,
    sum(case when is_hard then 1 else 0 end) as n_hard_sets,
    sum(case when is_unknown_effort then 1 else 0 end) as n_unknown_effort_sets,
    sum(case when is_missed_attempt then 1 else 0 end) as n_missed_attempts,
    sum(case when is_done then 1 else 0 end) as n_done,
    sum(case when is_done then total_reps else 0 end) as n_reps,
    sum(volume_kg) as volume_kg,
    sum(system_volume_kg) as system_volume_kg,
    sum(timed_s) as timed_s,
    avg(case when is_working then rir end) as mean_rir,
    max(case when is_done and reps >= 1 then load_kg end) as top_load_kg,
    -- of sets at the heaviest load the one with most repetitions
    max_by(reps, case when is_done and reps >= 1 then load_kg + 1e-6 * reps end) as top_load_reps,
    sum(total_reps) as all_reps,
    sum(case when drop_index = 1 then 1 else 0 end) as n_rests,
    sum(case when drop_index = 1 and superset is not null then 1 else 0 end) as n_rests_in_turn,
    max(session_minutes) as session_minutes,
    max(session_rpe) as session_rpe,
    min(case when is_set then source_row end) as first_row,
    min(case when is_set then source_area end) as first_area,
    max(case when is_set then source_area end) as last_area,
    min(case when is_set then source_file end) as first_file,
    max(case when is_set then source_file end) as last_file,
    min(case when is_set then coalesce(source_sheet, '') end) as first_sheet,
    max(case when is_set then coalesce(source_sheet, '') end) as last_sheet
from stg_set
group by client_id, session_date, week_start, exercise_id
