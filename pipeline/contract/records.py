"""What became of every record of every file. Filled by ingest, clean and validate."""

from __future__ import annotations

from pipeline.contract.column import Column, Table, date, real, text, whole, yes_no
from pipeline.contract.inputs import LOAD_BASES

SET_KINDS = ("work", "warm_up", "drop", "rest_pause", "timed")
AREAS = ("inbox", "plans", "check_ins", "workspace")


def _source() -> tuple[Column, ...]:
    return (
        text("source_area", "folder of the workspace the file is in", allowed=AREAS),
        text("source_file", "path below that folder (the inbox for logs)", required=True),
        text("source_sheet", "sheet of a workbook; empty for text files"),
        whole(
            "source_row",
            "record in the file or sheet, from 1, header and blank lines included; "
            "empty: the whole file or sheet",
            "record, from 1",
        ),
    )


LOGGED_SET = Table(
    "logged_set",
    "a set that was accepted (a drop set has one row a load)",
    (
        *_source(),
        whole("part_index", "which set of the record, from 1", "place, from 1", required=True, low=1),
        text("client_id", "the client", required=True),
        date("session_date", "day of the session", required=True),
        text("exercise_id", "the exercise", required=True),
        text("exercise_name", "name shown", required=True),
        text("exercise_text", "the exercise as the client wrote it"),
        whole(
            "set_index",
            "order of the set within exercise and session, from 1; rows of one drop set share it",
            "place, from 1",
            required=True,
            low=1,
            high=200,
        ),
        whole(
            "drop_index", "order within a drop set, from 1; 1 for other sets", "place, from 1", low=1, high=20
        ),
        text("set_kind", "what kind of set", required=True, allowed=SET_KINDS),
        real(
            "load_kg",
            "external load as one would say it: per hand for dumbbells, 0 bodyweight, negative "
            "assistance, total with the bar for barbells; empty for bands and machine steps",
            "kg",
            low=-200,
            high=700,
        ),
        text("load_basis", "what the load counts", required=True, allowed=LOAD_BASES),
        text("load_text", "the load as the client wrote it"),
        text("load_unit", "unit the client wrote the load in", allowed=("kg", "lb")),
        whole(
            "implements",
            "dumbbells or kettlebells held",
            "dumbbells or kettlebells",
            required=True,
            low=1,
            high=2,
        ),
        real(
            "system_kg",
            "what is moved for e1RM: bodyweight share + load where the exercise moves the body; "
            "empty where bodyweight or load is unknown",
            "kg",
            low=0,
            high=1000,
        ),
        whole(
            "reps",
            "repetitions done (one side's where done one side at a time); 0: a missed attempt; "
            "empty for timed holds",
            "repetitions",
            low=0,
            high=200,
        ),
        whole("reps_left", "repetitions of the left side where they differ", "repetitions", low=0, high=200),
        whole(
            "reps_right", "repetitions of the right side where they differ", "repetitions", low=0, high=200
        ),
        yes_no("is_at_least", "the client wrote 12+: at least that many"),
        real("duration_s", "length of a timed set", "s", low=0, high=36000),
        real(
            "rir",
            "repetitions in reserve as written, or 10 − RPE from RPE 7 up; empty: unknown",
            "repetitions",
            low=0,
            high=10,
        ),
        real("rpe", "rating of perceived exertion as written", "RPE, 1 to 10", low=1, high=10),
        text("superset", "superset label as written (A1, A2 …)"),
        text("note", "the client's words, untouched"),
        real("bodyweight_kg", "the client's bodyweight as the log gives it that day", "kg", low=25, high=350),
        real("session_minutes", "logged length of the session", "min", low=1, high=600),
        real("session_rpe", "logged effort of the whole session", "RPE, 1 to 10", low=0, high=10),
    ),
    key=("source_area", "source_file", "source_sheet", "source_row", "part_index"),
)

REJECTED_ROW = Table(
    "rejected_row",
    "a record, a cell of one, or a whole file that was refused",
    (
        *_source(),
        text("column_name", "the column at fault, as our column is called"),
        text("raw_text", "the text as it stood"),
        text("reason_code", "why, as a code", required=True),
        text("message", "why, as a sentence", required=True),
        text("suggestion", "what to do about it"),
        yes_no("is_part", "true: the rest of the record was loaded"),
    ),
)

DUPLICATE_ROW = Table(
    "duplicate_row",
    "a record already known",
    (
        *_source(),
        text("first_seen_file", "file that holds it already", required=True),
        text("first_seen_sheet", "sheet of that file"),
        whole("first_seen_row", "record of that file", "record, from 1"),
        text("message", "why it counts as known"),
    ),
)

WAITING_ROW = Table(
    "waiting_row",
    "a record held until a question is answered",
    (
        text("question_id", "the question", required=True),
        *_source(),
        text("raw_text", "the record as it stood"),
        text("message", "what is missing, as a sentence"),
    ),
)

IGNORED_ROW = Table(
    "ignored_row",
    "a record that is no set, by a named rule",
    (
        *_source(),
        text("rule", "blank, title, header, heading, total, rest_day, not_done, note …", required=True),
        text("raw_text", "the record as it stood"),
    ),
)

QUESTION_KINDS = ("client", "exercise", "unit", "date_order", "date", "load", "correction", "layout")

OPEN_QUESTION = Table(
    "open_question",
    "something only the coach can decide",
    (
        text("question_id", "stable id, the same on every update until answered", required=True),
        text("kind", "what is asked", required=True, allowed=QUESTION_KINDS),
        text("client_id", "the client concerned, where known"),
        text("source_file", "the file concerned, or the first of them"),
        text("raw_text", "the text in question"),
        text("question", "the question as a sentence"),
        text(
            "choices",
            "JSON list of {value, label}; an answer may also be something else where it makes sense",
        ),
        text("suggested", "the choice that looks likeliest; never taken by itself"),
        whole("n_rows_waiting", "records that wait for it", "records"),
    ),
    key=("question_id",),
)

FILE_LEDGER = Table(
    "file_ledger",
    "a file, each time it changed",
    (
        text("source_area", "folder of the workspace the file is in", required=True, allowed=AREAS),
        text("source_file", "path below that folder", required=True),
        text("content_hash", "SHA-256 of the bytes", required=True),
        date("first_seen_date", "as-of day of the first update that saw this content"),
        yes_no("is_current", "the file has this content now"),
        text("outcome", "read, refused, or gone (the file is no longer there)"),
        text("message", "what a coach should know about the file"),
        text(
            "layout", "how it was read: set rows, exercise rows, set columns, date grid, exercise grid, notes"
        ),
        whole("n_records", "records in the file", "records"),
        whole("n_loaded", "records that gave at least one set (or plan row, or check-in)", "records"),
        whole("n_duplicate", "records already known", "records"),
        whole("n_rejected", "records refused", "records"),
        whole("n_waiting", "records that wait for an answer", "records"),
        whole("n_ignored", "records that are no set by a named rule", "records"),
        whole("n_sets", "sets loaded from the file", "sets"),
    ),
    key=("source_area", "source_file", "content_hash"),
)

NAME_RESOLUTION = Table(
    "name_resolution",
    "a spelling of an exercise met in a file, and what it was taken for",
    (
        text("client_id", "the client who writes it so"),
        text("exercise_text", "the spelling", required=True),
        text("exercise_id", "the exercise it was taken for", required=True),
        text("exercise_name", "name shown"),
        text("how", "exact, known spelling, close spelling, or answered by the coach", required=True),
        real("score", "closeness of the match, 100 the same", "score, 0 to 100", low=0, high=100),
        whole("n_rows", "records with this spelling", "records"),
    ),
)

RECENT_PAIN_DAYS = 14
"""A pain note is recent, and its client needs a look, for so many days [P]."""

PAIN_NOTE = Table(
    "pain_note",
    "a note in which a client mentions pain, word for word",
    (
        text("client_id", "the client", required=True),
        date("session_date", "day of the session", required=True),
        text("exercise_id", "the exercise it was written beside; empty: the whole session or a check-in"),
        text("exercise_name", "name shown"),
        text("note", "the client's words", required=True),
        text("word", "the word that was found"),
        yes_no("is_warning_sign", "a sign that ends coaching and goes to licensed medical care"),
        *_source(),
    ),
)

SESSION_NOTE = Table(
    "session_note",
    "a line of words among the sets of a log, word for word",
    (
        text("client_id", "the client", required=True),
        date("session_date", "day of the session it stands with", required=True),
        text("exercise_id", "the exercise it stands under; empty: the whole session"),
        text("note", "the client's words", required=True),
        *_source(),
    ),
)

VALIDATION_RESULT = Table(
    "validation_result",
    "a rule of the contract, as checked in this run",
    (
        text("rule_id", "the rule", required=True),
        text("checked_table", "table it was checked on"),
        text("column_name", "column it is about"),
        text("severity", "row (rows are refused) or stop (nothing is published)"),
        text("meaning", "the rule as a sentence"),
        whole("n_checked", "rows checked", "rows"),
        whole("n_failed", "rows that failed", "rows"),
    ),
    key=("rule_id", "checked_table"),
)

TABLES = (
    LOGGED_SET,
    REJECTED_ROW,
    DUPLICATE_ROW,
    WAITING_ROW,
    IGNORED_ROW,
    OPEN_QUESTION,
    FILE_LEDGER,
    NAME_RESOLUTION,
    PAIN_NOTE,
    SESSION_NOTE,
    VALIDATION_RESULT,
)
