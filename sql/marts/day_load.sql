-- What a training day came to, and whether the day before was one too.
-- grain: client, session_date
-- reads: session_summary
select
    client_id,
    session_date,
    week_start,
    n_hard_sets + n_unknown_effort_sets as n_working_sets,
    volume_kg,
    session_load_au,
    datediff(
        'day',
        lag(session_date) over (partition by client_id order by session_date),
        session_date
    ) as days_since_session
from session_summary
