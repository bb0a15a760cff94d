"""What was trained: sessions, exercises, muscles, adherence. Computed by sql/, trends by analyse."""

from __future__ import annotations

from pipeline.contract.column import Table, date, real, text, whole

SESSION_SUMMARY = Table(
    "session_summary",
    "a client's training day",
    (
        text("client_id", "the client", required=True),
        date("session_date", "the day", required=True),
        date("week_start", "first day of its week", required=True),
        text("planned_day", "planned day it was matched to; empty: none"),
        whole("n_exercises", "exercises done", "exercises"),
        whole("n_sets", "sets without warm-ups (a drop set is one)", "sets"),
        whole("n_hard_sets", "working sets at the hard-set RIR or less", "sets"),
        whole("n_unknown_effort_sets", "working sets without effort", "sets"),
        real("volume_kg", "volume load: sets × repetitions × external load, both hands and sides", "kg"),
        real("system_volume_kg", "the same with bodyweight moved", "kg"),
        real("timed_s", "seconds under timed sets", "s"),
        real("duration_low_min", "session length, least (logged where logged)", "min"),
        real("duration_high_min", "session length, most (logged where logged)", "min"),
        real("session_rpe", "effort of the whole session as logged", "RPE, 1 to 10"),
        real("session_load_au", "session RPE × minutes; empty without both", "arbitrary units"),
    ),
    key=("client_id", "session_date"),
)

EXERCISE_SESSION = Table(
    "exercise_session",
    "an exercise in a session",
    (
        text("client_id", "the client", required=True),
        date("session_date", "the day", required=True),
        date("week_start", "first day of its week", required=True),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown"),
        whole("n_sets", "sets without warm-ups (a drop set is one)", "sets"),
        whole("n_hard_sets", "working sets at the hard-set RIR or less", "sets"),
        whole("n_unknown_effort_sets", "working sets without effort", "sets"),
        whole("n_missed_attempts", "attempts without a repetition, not among the sets", "attempts"),
        whole("n_reps", "repetitions of working sets, both sides", "repetitions"),
        real("volume_kg", "volume load, external", "kg"),
        real("system_volume_kg", "volume load with bodyweight moved", "kg"),
        real("top_load_kg", "heaviest external load with at least one repetition", "kg"),
        whole("top_load_reps", "most repetitions at that load", "repetitions"),
        real("best_e1rm_kg", "best estimated 1RM of the session, on the lift's basis (e1rm_basis)", "kg"),
        real("e1rm_low_kg", "lower end of its 90 % interval", "kg"),
        real("e1rm_high_kg", "upper end of its 90 % interval", "kg"),
        real("e1rm_se_pct", "standard error of the estimate", "%"),
        text("e1rm_basis", "external or system load", allowed=("external", "system")),
        text(
            "e1rm_kind",
            "point (effort known or failure), or lower_bound (effort unknown)",
            allowed=("point", "lower_bound"),
        ),
        real("best_load_kg", "external load of the set the estimate rests on", "kg"),
        whole("best_reps", "repetitions of that set", "repetitions"),
        real("best_rir", "repetitions in reserve of that set", "repetitions"),
        real("mean_rir", "mean RIR of working sets where known", "repetitions"),
    ),
    key=("client_id", "session_date", "exercise_id"),
)

STRENGTH_TREND = Table(
    "strength_trend",
    "client × exercise × week, from what was known at the week's end",
    (
        text("client_id", "the client", required=True),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown"),
        date("week_start", "first day of the week", required=True),
        whole("n_exposures", "sessions of the lift the trend rests on", "sessions"),
        text("e1rm_basis", "external or system load", allowed=("external", "system")),
        real("level_kg", "e1RM level at the week's end", "kg"),
        real("level_low_kg", "lower end of its 90 % interval", "kg"),
        real("level_high_kg", "upper end of its 90 % interval", "kg"),
        real("slope_pct_per_week", "slope of the level", "% a week"),
        real("slope_low_pct_per_week", "lower end of its 90 % interval", "% a week"),
        real("slope_high_pct_per_week", "upper end of its 90 % interval", "% a week"),
        text(
            "status",
            "rising, flat, falling, unclear, or too_few",
            allowed=("rising", "flat", "falling", "unclear", "too_few"),
        ),
        text(
            "level_kind",
            "point, or lower_bound where no set had a known effort (then no upper end)",
            allowed=("point", "lower_bound"),
        ),
        whole("n_exposures_recent", "sessions of the lift in the last six weeks", "sessions"),
        real("level_se_pct", "standard error of the level", "%"),
        real("slope_se_pct_per_week", "standard error of the slope", "% a week"),
        real(
            "curve",
            "own load–repetition curve against the published one: 0 the same, above 0 the load falls "
            "faster with repetitions, below 0 slower",
            "ratio",
        ),
        real("curve_low", "lower end of its 90 % interval", "ratio"),
        real("curve_high", "upper end of its 90 % interval", "ratio"),
    ),
    key=("client_id", "exercise_id", "week_start"),
)

CLIENT_STRENGTH_WEEK = Table(
    "client_strength_week",
    "client × week: all lifts pooled",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        real("strength_index", "pooled e1RM level, 100 at the client's first weeks", "index"),
        real("index_low", "lower end of its 90 % interval", "index"),
        real("index_high", "upper end of its 90 % interval", "index"),
        real("slope_pct_per_week", "pooled slope", "% a week"),
        real("slope_low_pct_per_week", "lower end of its 90 % interval", "% a week"),
        real("slope_high_pct_per_week", "upper end of its 90 % interval", "% a week"),
        whole("n_lifts", "lifts that speak", "lifts"),
        whole("n_exposures", "lift sessions of the window", "sessions"),
    ),
    key=("client_id", "week_start"),
)

MUSCLE_WEEK = Table(
    "muscle_week",
    "client × muscle × week",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        text("muscle", "the muscle", required=True),
        real("direct_hard_sets", "hard sets of exercises that train it directly", "sets"),
        real("fractional_hard_sets", "hard sets × credit (1 direct, 0.5 indirect)", "sets"),
        real(
            "unknown_effort_sets", "working sets × credit of unknown effort, not among the hard sets", "sets"
        ),
        whole("n_sessions", "sessions that trained it directly (frequency)", "sessions"),
        real("planned_sets", "planned sets × credit; empty: no plan that week", "sets"),
        real("planned_direct_sets", "planned sets of exercises that train it directly", "sets"),
        real("target_low", "least weekly hard sets aimed at", "sets"),
        real("target_high", "most weekly hard sets aimed at", "sets"),
        real("volume_kg", "volume load of the exercises that train it directly", "kg"),
        whole(
            "min_days_between",
            "least days from one session that trained it directly to the next, the last "
            "one before the week included; empty: first time",
            "days",
        ),
    ),
    key=("client_id", "week_start", "muscle"),
)

LOAD_WEEK = Table(
    "load_week",
    "client × week with a session: load of the week and how it is spread",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        whole("n_sessions", "training days", "sessions"),
        whole("n_working_sets", "working sets whose effort is hard or unknown", "sets"),
        real("volume_kg", "volume load, external", "kg"),
        real(
            "hardest_day_pct", "share of the week's hard and unknown sets that fell on its fullest day", "%"
        ),
        whole("n_back_to_back", "training days that follow a training day", "sessions"),
        whole("n_sessions_with_load", "training days with a logged session RPE and length", "sessions"),
        real(
            "session_load_au",
            "sum of session RPE × minutes; empty unless every training day has both",
            "arbitrary units",
        ),
        real(
            "monotony",
            "mean daily load / its standard deviation over the seven days (population, rest days "
            "are zeros; Foster 1998); empty when the days are all alike, the week unfinished or loads "
            "missing. Describes the week; foretells no injury",
            "ratio",
        ),
        real("strain_au", "session load of the week × monotony", "arbitrary units"),
    ),
    key=("client_id", "week_start"),
)

CONDITIONS = ("late_in_session", "day_after_session", "same_muscle_within_two_days")

SESSION_CONTEXT = Table(
    "session_context",
    "client × circumstance: what went with less or more performance",
    (
        text("client_id", "the client", required=True),
        text(
            "circumstance",
            "late in the session (its second half, third exercise or later), the day after a "
            "session, or a muscle trained directly again within two days",
            required=True,
            allowed=CONDITIONS,
        ),
        whole("n_with", "lift sessions in this circumstance", "lift sessions"),
        whole("n_without", "lift sessions of the same lifts outside it", "lift sessions"),
        real("difference_pct", "strength shown in it less strength shown outside it, same lifts", "%"),
        real("difference_low_pct", "lower end of its 90 % interval", "%"),
        real("difference_high_pct", "upper end of its 90 % interval", "%"),
        text("sentence", "the observation as a sentence"),
    ),
    key=("client_id", "circumstance"),
)

OWN_VOLUME_RESPONSE = Table(
    "own_volume_response",
    "client: what weekly amount of sets went with progress in the client's own blocks alone",
    (
        text("client_id", "the client", required=True),
        whole("n_changes", "changes from one four-week block to the next that it rests on", "changes"),
        real("sets_low", "working sets a week in the lighter blocks (10th percentile)", "sets"),
        real("sets_high", "working sets a week in the fuller blocks (90th percentile)", "sets"),
        real("slope", "gain (log) a week for one set a week more", "log gain a week for a set a week"),
        real("variance", "variance of that slope", "square of that"),
    ),
    key=("client_id",),
)

VOLUME_RESPONSE = Table(
    "volume_response",
    "client: what weekly amount of sets went with progress",
    (
        text("client_id", "the client", required=True),
        whole("n_blocks", "four-week blocks it rests on", "blocks"),
        real("sets_low", "working sets a week in the lighter blocks (10th percentile)", "sets"),
        real("sets_high", "working sets a week in the fuller blocks (90th percentile)", "sets"),
        real(
            "gain_per_ten_sets_pct",
            "strength gain a week that went with ten more sets a week, own data pooled with the roster's",
            "% a week",
        ),
        real("gain_low_pct", "lower end of its 90 % interval", "% a week"),
        real("gain_high_pct", "upper end of its 90 % interval", "% a week"),
        real("own_share_pct", "weight of the client's own blocks in it; the rest is the roster's", "%"),
        real("roster_gain_pct", "the same for the roster as a whole", "% a week"),
        text("sentence", "the observation as a sentence; never a cause"),
    ),
    key=("client_id",),
)

PLANNED_SESSION = Table(
    "planned_session",
    "a planned training day of a week, and what became of it",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        text("plan", "the plan"),
        text("phase", "its phase"),
        text("day", "the planned day", required=True),
        date("planned_date", "date it was planned for; empty: any day"),
        text(
            "outcome",
            "done, moved (another day of the week, or of the next or last one up to two days away), missed, "
            "excused, no_log (nothing came in at all), or open (the week is not over)",
            allowed=("done", "moved", "missed", "excused", "no_log", "open"),
        ),
        date("session_date", "the day it was done"),
        whole("planned_sets", "working sets planned", "sets"),
        whole("done_sets", "planned working sets done, swaps included", "sets"),
        whole(
            "n_swapped",
            "exercises swapped within the movement pattern or for a listed alternative",
            "exercises",
        ),
    ),
    key=("client_id", "week_start", "plan", "day", "planned_date"),
)

PLANNED_EXERCISE = Table(
    "planned_exercise",
    "a planned exercise of a week, and what was done of it",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        text("plan", "the plan"),
        text("day", "the planned day", required=True),
        date("planned_date", "date it was planned for; empty: any day"),
        whole("slot", "order within the day", "place, from 1"),
        text("exercise_id", "the planned exercise"),
        text("exercise_name", "name shown"),
        text("done_exercise_id", "what was done for it; another one is a swap"),
        text("done_exercise_name", "name shown"),
        date("session_date", "the day it was done"),
        whole("planned_sets", "working sets planned", "sets"),
        whole("done_sets", "working sets done", "sets"),
        whole("rep_low", "least repetitions planned", "repetitions"),
        whole("rep_high", "most repetitions planned", "repetitions"),
        real("target_rir", "RIR aimed at", "repetitions"),
        whole("sets_in_rep_range", "working sets within the range", "sets"),
        whole("sets_in_effort_range", "working sets within 1 of the RIR aimed at", "sets"),
        whole("sets_with_effort", "working sets whose effort is known", "sets"),
        whole("planned_reps", "sets × middle of the range", "repetitions"),
        whole("done_reps", "repetitions done", "repetitions"),
    ),
)

ADHERENCE_WEEK = Table(
    "adherence_week",
    "client × week with something planned or done",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        text("phase", "phase of the plan that week"),
        whole("n_planned", "sessions planned", "sessions"),
        whole(
            "n_done", "planned sessions done, moved ones included, up to two days beyond the week", "sessions"
        ),
        whole("n_moved", "of those, done on another day", "sessions"),
        whole("n_swapped", "exercises swapped", "exercises"),
        whole("n_missed", "planned sessions missed", "sessions"),
        whole("n_excused", "planned sessions excused, out of the denominator", "sessions"),
        whole(
            "n_no_log",
            "planned sessions of a week without any log: neither done nor missed is known",
            "sessions",
        ),
        whole("n_open", "planned sessions of a week that is not over yet", "sessions"),
        whole("n_unplanned", "sessions done that no plan asked for", "sessions"),
        real("attendance_pct", "sessions done / planned and not excused; empty: nothing planned", "%"),
        whole("planned_sets", "working sets planned and not excused", "sets"),
        whole("done_sets", "of those, done", "sets"),
        real("set_completion_pct", "sets done / planned, each exercise capped at 100 %", "%"),
        real("set_completion_uncapped_pct", "the same, uncapped", "%"),
        real("reps_in_range_pct", "planned exercises' sets within the repetition range", "%"),
        real(
            "load_in_range_pct",
            "sets at a load within 5 % of the client's last comparable session or above",
            "%",
        ),
        real("effort_in_range_pct", "sets within 1 of the RIR aimed at, of those with effort", "%"),
        real("relative_dose_intensity_pct", "repetitions done / planned of the week, capped at 100 %", "%"),
        real("relative_dose_intensity_uncapped_pct", "the same, uncapped", "%"),
        text(
            "log_state",
            "logged, nothing_logged (no log that week, though the client logs otherwise), excused",
        ),
    ),
    key=("client_id", "week_start"),
)

TABLES = (
    SESSION_SUMMARY,
    EXERCISE_SESSION,
    STRENGTH_TREND,
    CLIENT_STRENGTH_WEEK,
    MUSCLE_WEEK,
    PLANNED_SESSION,
    PLANNED_EXERCISE,
    ADHERENCE_WEEK,
    LOAD_WEEK,
    SESSION_CONTEXT,
    OWN_VOLUME_RESPONSE,
    VOLUME_RESPONSE,
)
