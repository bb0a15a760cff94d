"""What a coach decides on: states, the roster's review, bests, plan findings, next targets."""

from __future__ import annotations

from pipeline.contract.column import Column, Table, date, real, text, whole, yes_no

STATES = (
    "progressing", "plateau", "over_reaching", "off_plan", "planned_deload", "returning", "steady",
    "not_enough_data", "no_recent_log",
)


def _state() -> tuple[Column, ...]:
    return (
        text("state", "the state, from what was known at the week's end", required=True, allowed=STATES),
        date("since_week", "first week of the present run of this state"),
        whole("weeks_in_state", "weeks it has lasted"),
        real("confidence", "how sure, 0 to 1; share of such calls that hold where the truth is known",
             low=0, high=1),
        text("reasons", "the reason in one sentence with its figures", required=True),
        text("evidence", "JSON list of {signal, figure, unit, speaks (for, against), text}", required=True),
        text("would_change", "what would change the state, as a sentence"),
    )


CLIENT_WEEK = Table("client_week", "client × complete week from the first log to the as-of day", (
    text("client_id", "the client", required=True),
    date("week_start", "first day of the week", required=True),
    *_state(),
    whole("n_sessions", "sessions logged in the week"),
    yes_no("has_pain_note", "pain is mentioned in a note of the week"),
), key=("client_id", "week_start"))

LIFT_WEEK = Table("lift_week", "client × exercise × week", (
    text("client_id", "the client", required=True),
    text("exercise_id", "the exercise", required=True),
    text("exercise_name", "name shown"),
    date("week_start", "first day of the week", required=True),
    *_state(),
), key=("client_id", "exercise_id", "week_start"))

ROSTER_REVIEW = Table("roster_review", "a client, as of the last complete week", (
    whole("place", "order of urgency, 1 first", required=True),
    text("client_id", "the client", required=True),
    text("name", "name shown"),
    date("week_start", "the last complete week"),
    text("state", "the state", required=True, allowed=STATES),
    date("since_week", "first week of the present run of this state"),
    whole("weeks_in_state", "weeks it has lasted"),
    real("confidence", "how sure, 0 to 1"),
    text("reason", "the reason in one sentence with its figures"),
    real("urgency", "0 leave alone … 100 talk today"),
    yes_no("needs_a_look", "the coach should open this client this week"),
    text("previous_state", "the state a week before"),
    text("what_changed", "what changed since last week, as a sentence; empty: nothing"),
    date("last_log_date", "last day with a logged set"),
    whole("days_since_log", "days from that to the as-of day", "days"),
    whole("n_sessions", "sessions of the last complete week"),
    real("attendance_pct", "attendance of the last four weeks", "%"),
    real("set_completion_pct", "set completion of the last four weeks", "%"),
    real("hard_sets", "hard sets of the last complete week, all muscles", "sets"),
    real("planned_sets", "sets planned that week", "sets"),
    real("slope_pct_per_week", "pooled strength slope", "% a week"),
    whole("n_waiting", "records of this client that wait for an answer"),
    whole("n_pain_notes", "notes of the last two weeks that mention pain"),
    text("options", "JSON list of {option, because}: what the trade would consider next, never an order"),
), key=("client_id",))

PERSONAL_BEST = Table("personal_best", "a best that beats measurement error or the load step", (
    text("client_id", "the client", required=True),
    date("best_date", "the day", required=True),
    text("exercise_id", "the exercise", required=True),
    text("exercise_name", "name shown"),
    text("kind", "load, reps_at_load, e1rm, volume", required=True,
         allowed=("load", "reps_at_load", "e1rm", "volume")),
    real("value", "the best, in unit", required=True),
    text("unit", "kg or repetitions"),
    real("previous_value", "the best before"),
    date("previous_date", "its day"),
    real("load_kg", "load of the set", "kg"),
    whole("reps", "repetitions of the set", "repetitions"),
))

PLAN_AUDIT = Table("plan_audit", "a finding about a plan version", (
    text("client_id", "the client", required=True),
    text("plan", "the plan"),
    date("valid_from", "the version"),
    text("rule", "the rule", required=True),
    text("severity", "look, consider or fine", allowed=("look", "consider", "fine")),
    text("place", "day, muscle or exercise it is about"),
    real("figure", "the figure"),
    text("unit", "its unit"),
    text("sentence", "the finding as a sentence", required=True),
    text("source", "the practice or publication the rule rests on"),
))

NEXT_TARGET = Table("next_target", "client × planned exercise: what the progression rule proposes", (
    text("client_id", "the client", required=True),
    text("plan", "the plan"),
    text("day", "the planned day"),
    whole("slot", "order within the day"),
    text("exercise_id", "the exercise", required=True),
    text("exercise_name", "name shown"),
    whole("sets", "working sets"),
    real("target_load_kg", "proposed external load; empty: none is proposed", "kg"),
    whole("target_rep_low", "least repetitions"),
    whole("target_rep_high", "most repetitions"),
    real("target_rir", "RIR aimed at"),
    real("last_load_kg", "load of the last session", "kg"),
    text("last_reps", "repetitions of the last session, set by set"),
    text("rule", "rule that was applied"),
    text("reason", "why, as a sentence"),
))

PIPELINE_RUN = Table("pipeline_run", "the run that made this history (one row)", (
    date("as_of", "the day up to which it reads", required=True),
    text("version", "version of the program"),
    text("rules_version", "version of the reading rules"),
    whole("n_files", "files in the inbox"),
    whole("n_records", "records in them"),
    whole("n_sets", "sets loaded"),
))

DATA_DICTIONARY = Table("data_dictionary", "a column of a published table", (
    text("table_name", "the table", required=True),
    text("grain", "what one row is"),
    text("column_name", "the column", required=True),
    text("type", "text, whole, real, yes_no, date or time"),
    text("unit", "unit"),
    text("meaning", "meaning"),
), key=("table_name", "column_name"))

TABLES = (
    CLIENT_WEEK, LIFT_WEEK, ROSTER_REVIEW, PERSONAL_BEST, PLAN_AUDIT, NEXT_TARGET, PIPELINE_RUN,
    DATA_DICTIONARY,
)
