-- severity: stop
-- meaning: Attendance and capped shares lie between 0 and 100 and are empty where nothing was planned.
-- reads: adherence_week
select
    client_id,
    week_start,
    attendance_pct,
    set_completion_pct,
    relative_dose_intensity_pct
from adherence_week
where
    attendance_pct < 0 or attendance_pct > 100 + 1e-9
    or set_completion_pct < 0 or set_completion_pct > 100 + 1e-9
    or relative_dose_intensity_pct < 0 or relative_dose_intensity_pct > 100 + 1e-9
    or (n_planned = 0 and (attendance_pct is not null or set_completion_pct is not null))
