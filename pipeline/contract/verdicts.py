"""What a coach decides on: states, the roster's review, bests, plan findings, next targets."""

from __future__ import annotations

from pipeline.contract.column import Column, Table, date, real, text, whole, yes_no
from pipeline.contract.records import RECENT_PAIN_DAYS

STATES = (
    "progressing",
    "plateau",
    "over_reaching",
    "off_plan",
    "planned_deload",
    "returning",
    "steady",
    "not_enough_data",
    "no_recent_log",
)


def _state() -> tuple[Column, ...]:
    return (
        text("state", "the state, from what was known at the week's end", required=True, allowed=STATES),
        date("since_week", "first week of the present run of this state"),
        whole("weeks_in_state", "weeks it has lasted", "weeks"),
        real(
            "confidence",
            "how sure, 0 to 1; share of such calls that hold where the truth is known",
            "probability, 0 to 1",
            low=0,
            high=1,
        ),
        text("reasons", "the reason in one sentence with its figures", required=True),
        text("evidence", "JSON list of {signal, figure, unit, speaks (for, against), text}", required=True),
        text("would_change", "what would change the state, as a sentence"),
    )


CLIENT_WEEK = Table(
    "client_week",
    "client × complete week from the first log to the as-of day",
    (
        text("client_id", "the client", required=True),
        date("week_start", "first day of the week", required=True),
        *_state(),
        whole("n_sessions", "sessions logged in the week", "sessions"),
        yes_no("has_pain_note", "pain is mentioned in a note of the week"),
    ),
    key=("client_id", "week_start"),
)

LIFT_WEEK = Table(
    "lift_week",
    "client × exercise × week",
    (
        text("client_id", "the client", required=True),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown"),
        date("week_start", "first day of the week", required=True),
        *_state(),
    ),
    key=("client_id", "exercise_id", "week_start"),
)

ROSTER_REVIEW = Table(
    "roster_review",
    "a client, as of the last complete week",
    (
        whole("place", "order of urgency, those that need a look first", "place, from 1", required=True),
        text("client_id", "the client", required=True),
        text("name", "name shown"),
        date("week_start", "the last complete week"),
        text("state", "the state", required=True, allowed=STATES),
        date("since_week", "first week of the present run of this state"),
        whole("weeks_in_state", "weeks it has lasted", "weeks"),
        real("confidence", "how sure, 0 to 1", "probability, 0 to 1"),
        text("reason", "the reason in one sentence with its figures"),
        real("urgency", "0 leave alone … 100 talk today", "score, 0 to 100"),
        yes_no("needs_a_look", "the coach should open this client this week"),
        text("previous_state", "the state a week before"),
        text("what_changed", "what changed since last week, as a sentence; empty: nothing"),
        date("last_log_date", "last day with a logged set"),
        whole("days_since_log", "days from that to the as-of day", "days"),
        whole("n_sessions", "sessions of the last complete week", "sessions"),
        real("attendance_pct", "attendance of the last four weeks", "%"),
        real("set_completion_pct", "set completion of the last four weeks", "%"),
        real("hard_sets", "hard sets of the last complete week, all muscles", "sets"),
        real("planned_sets", "sets planned that week", "sets"),
        real("slope_pct_per_week", "pooled strength slope", "% a week"),
        whole("n_waiting", "records of this client that wait for an answer", "records"),
        whole("n_pain_notes", f"notes of the last {RECENT_PAIN_DAYS} days that mention pain", "notes"),
        text("options", "JSON list of {option, because}: what the trade would consider next, never an order"),
    ),
    key=("client_id",),
)

PERSONAL_BEST = Table(
    "personal_best",
    "a best that beats measurement error or the load step",
    (
        text("client_id", "the client", required=True),
        date("best_date", "the day", required=True),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown"),
        text(
            "kind",
            "load, reps_at_load, e1rm, volume",
            required=True,
            allowed=("load", "reps_at_load", "e1rm", "volume"),
        ),
        real("value", "the best, in unit", "as in unit", required=True),
        text("unit", "kg or repetitions"),
        real("previous_value", "the best before", "as in unit"),
        date("previous_date", "its day"),
        real("load_kg", "load of the set", "kg"),
        whole("reps", "repetitions of the set", "repetitions"),
    ),
)

PLAN_AUDIT = Table(
    "plan_audit",
    "a finding about a plan version",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "the version"),
        text("rule", "the rule", required=True),
        text("severity", "look, consider or fine", allowed=("look", "consider", "fine")),
        text("place", "day, muscle or exercise it is about"),
        real("figure", "the figure", "as in unit"),
        text("unit", "its unit"),
        text("sentence", "the finding as a sentence", required=True),
        text("source", "the practice or publication the rule rests on"),
    ),
)

NEXT_TARGET = Table(
    "next_target",
    "client × planned exercise: what the progression rule proposes",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        text("day", "the planned day"),
        whole("slot", "order within the day", "place, from 1"),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown"),
        whole("sets", "working sets", "sets"),
        real("target_load_kg", "proposed external load; empty: none is proposed", "kg"),
        whole("target_rep_low", "least repetitions", "repetitions"),
        whole("target_rep_high", "most repetitions", "repetitions"),
        real("target_rir", "RIR aimed at", "repetitions"),
        real("last_load_kg", "load of the last session", "kg"),
        text("last_reps", "repetitions of the last session, set by set"),
        text("rule", "rule that was applied"),
        text("reason", "why, as a sentence"),
        date("planned_date", "the day of next week it is planned for; empty: any day"),
        real("target_duration_low_s", "least seconds of a timed set", "s"),
        real("target_duration_high_s", "most seconds of a timed set", "s"),
        text("load_basis", "what the load counts"),
        whole(
            "implements",
            "dumbbells or kettlebells the load counts one of (2: one in each hand)",
            "dumbbells or kettlebells",
        ),
        text("superset", "letter or label that pairs exercises done in turn"),
        real("rest_s", "rest between sets", "s"),
        text("note", "the coach's remark on the exercise"),
    ),
)

PLAN_LAYOUT = Table(
    "plan_layout",
    "a way to lay the days of a plan version over the week, best first",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "the version", required=True),
        whole(
            "place",
            "1 keeps hard sessions and sessions of the same muscles furthest apart",
            "place, from 1",
            required=True,
        ),
        yes_no("is_current", "this is how the plan lays them now"),
        text("layout", "weekday and day, in order of the week", required=True),
        whole("least_days_hard", "least days from one hard session to the next", "days"),
        whole(
            "least_days_same_muscle",
            "least days from one session to the next that trains the same muscle directly",
            "days",
        ),
        text("same_muscles", "the muscles that come round after so few days"),
        whole("n_hard_neighbours", "pairs of hard sessions on following days", "pairs"),
        whole("n_interfering_neighbours", "of those, pairs whose lifts interfere", "pairs"),
        whole(
            "n_days_moved", "training days on another weekday than the plan has; empty: it names none", "days"
        ),
        text("sentence", "the layout as a sentence"),
    ),
    key=("client_id", "plan", "valid_from", "place"),
)

PLAN_CHANGE = Table(
    "plan_change",
    "what changed from one plan version to the next",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "the version", required=True),
        date("previous_valid_from", "the version it is compared with", required=True),
        text(
            "kind",
            "added, removed, sets, repetitions, effort, rest, moved, day or muscle",
            required=True,
            allowed=("added", "removed", "sets", "repetitions", "effort", "rest", "moved", "day", "muscle"),
        ),
        text("place", "day, exercise or muscle it is about"),
        text("before", "what the version before says"),
        text("after", "what this version says"),
        real("figure", "the difference, where it is a number", "as in unit"),
        text("unit", "its unit"),
        text("sentence", "the change as a sentence", required=True),
    ),
)

BLOCK_OUTCOMES = ("stronger", "no_clear_change", "weaker", "too_little")

BLOCK_REVIEW = Table(
    "block_review",
    "client × block: a training version of the plan and what came of it",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "first day of the block", required=True),
        date("last_day", "last day of the block up to the as-of day", required=True),
        yes_no("is_over", "the block has ended"),
        whole("n_weeks", "complete weeks of the block", "weeks"),
        whole("n_planned", "sessions planned and not excused", "sessions"),
        whole("n_done", "of those, done", "sessions"),
        real("attendance_pct", "sessions done / planned and not excused", "%"),
        real("set_completion_pct", "sets done / planned, each week's exercises capped at 100 %", "%"),
        whole("n_lifts", "lifts with enough sessions to speak", "lifts"),
        real("change_pct_per_week", "strength change of these lifts, pooled", "% a week"),
        real("change_low_pct_per_week", "lower end of its 90 % interval", "% a week"),
        real("change_high_pct_per_week", "upper end of its 90 % interval", "% a week"),
        date("previous_valid_from", "the block before; empty: none"),
        real("previous_attendance_pct", "its attendance", "%"),
        real("previous_change_pct_per_week", "its strength change", "% a week"),
        real("difference_pct_per_week", "this block's change less the one before", "% a week"),
        real("difference_low_pct_per_week", "lower end of its 90 % interval", "% a week"),
        real("difference_high_pct_per_week", "upper end of its 90 % interval", "% a week"),
        text(
            "outcome",
            "stronger, no_clear_change, weaker, or too_little to tell",
            required=True,
            allowed=BLOCK_OUTCOMES,
        ),
        text("sentence", "the block in a sentence with its figures", required=True),
    ),
    key=("client_id", "plan", "valid_from"),
)

BLOCK_LIFT = Table(
    "block_lift",
    "client × block × lift: strength within the block",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "first day of the block", required=True),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown"),
        whole("n_sessions", "sessions of the lift in the block, deloads left out", "sessions"),
        real("first_e1rm_kg", "e1RM of the fitted line on the first of them", "kg"),
        real("last_e1rm_kg", "e1RM of the fitted line on the last of them", "kg"),
        real("change_pct_per_week", "strength change; empty: too few sessions", "% a week"),
        real("change_low_pct_per_week", "lower end of its 90 % interval", "% a week"),
        real("change_high_pct_per_week", "upper end of its 90 % interval", "% a week"),
        real("previous_change_pct_per_week", "the same in the block before", "% a week"),
        real("difference_pct_per_week", "this block's change less the one before", "% a week"),
        real("difference_low_pct_per_week", "lower end of its 90 % interval", "% a week"),
        real("difference_high_pct_per_week", "upper end of its 90 % interval", "% a week"),
        text(
            "outcome",
            "stronger, no_clear_change, weaker, or too_little to tell",
            required=True,
            allowed=BLOCK_OUTCOMES,
        ),
    ),
    key=("client_id", "plan", "valid_from", "exercise_id"),
)

BLOCK_MUSCLE = Table(
    "block_muscle",
    "client × block × muscle: sets a week planned and done",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "first day of the block", required=True),
        text("muscle", "the muscle", required=True),
        real("planned_sets", "planned sets × credit a week", "sets"),
        real("done_sets", "hard sets × credit a week with a log", "sets"),
        real(
            "unknown_effort_sets",
            "working sets × credit a week of unknown effort, not in the hard sets",
            "sets",
        ),
        real("previous_done_sets", "hard sets × credit a week in the block before", "sets"),
        real("target_low", "least weekly hard sets aimed at", "sets"),
        real("target_high", "most weekly hard sets aimed at", "sets"),
    ),
    key=("client_id", "plan", "valid_from", "muscle"),
)

BLOCK_EXERCISE = Table(
    "block_exercise",
    "client × block × planned exercise: plan against done",
    (
        text("client_id", "the client", required=True),
        text("plan", "the plan"),
        date("valid_from", "first day of the block", required=True),
        text("day", "the planned day", required=True),
        whole("slot", "order within the day", "place, from 1"),
        text("exercise_id", "the planned exercise"),
        text("exercise_name", "name shown"),
        whole(
            "n_times_planned", "times it was planned in weeks that are over, excused ones left out", "times"
        ),
        whole("n_times_done", "of those, done, swaps included", "times"),
        whole("n_times_swapped", "of those, another exercise was done for it", "times"),
        text("swapped_for", "what was done most often instead"),
        whole("planned_sets", "working sets planned", "sets"),
        whole("done_sets", "working sets done, at most those planned", "sets"),
        real("reps_in_range_pct", "sets within the repetition range", "%"),
        real("effort_in_range_pct", "sets within 1 of the RIR aimed at, of those with effort", "%"),
        text("sentence", "plan against done as a sentence", required=True),
    ),
)

PIPELINE_RUN = Table(
    "pipeline_run",
    "the run that made this history (one row)",
    (
        date("as_of", "the day up to which it reads", required=True),
        text("version", "version of the program"),
        text("rules_version", "version of the reading rules"),
        whole("n_files", "files in the inbox", "files"),
        whole("n_records", "records in them", "records"),
        whole("n_sets", "sets loaded", "sets"),
    ),
)

DATA_DICTIONARY = Table(
    "data_dictionary",
    "a column of a published table",
    (
        text("table_name", "the table", required=True),
        text("grain", "what one row is"),
        text("column_name", "the column", required=True),
        text("type", "text, whole, real, yes_no, date or time"),
        text("unit", "unit"),
        text("meaning", "meaning"),
    ),
    key=("table_name", "column_name"),
)

TABLES = (
    CLIENT_WEEK,
    LIFT_WEEK,
    ROSTER_REVIEW,
    PERSONAL_BEST,
    PLAN_AUDIT,
    PLAN_LAYOUT,
    PLAN_CHANGE,
    BLOCK_REVIEW,
    BLOCK_LIFT,
    BLOCK_MUSCLE,
    BLOCK_EXERCISE,
    NEXT_TARGET,
    PIPELINE_RUN,
    DATA_DICTIONARY,
)
