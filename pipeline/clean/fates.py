"""One fate a record: loaded, duplicate, rejected, waiting, or ignored by a named rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from pipeline.clean.bodyweights import bodyweight_kg
from pipeline.clean.file_reading import FileReading
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.pain import pain_notes
from pipeline.clean.questions import waiting_message
from pipeline.clean.raw_records import RAW_CHARACTERS, RawRecords
from pipeline.clean.reasons import explain
from pipeline.clean.remarks import REMARK_SCHEMA
from pipeline.clean.set_order import with_set_order
from pipeline.clean.stacked_files import StackReading
from pipeline.contract.sheets import SourceFile

_IGNORED_STATUS = {"ignored": "coach_ignored", "not_done": "not_done", "other_side": "other_side"}
_KNOWN_ALREADY = ("duplicate", "superseded")
_PLACE = ["source_file", "source_sheet", "source_row"]
_OF_SETS = [  # what a logged set is made of, the few of many columns
    *_PLACE,
    "entry",
    "part_index",
    "client_id",
    "session_date",
    "exercise_id",
    "exercise_text",
    "set_number_text",
    "drop_index",
    "is_counted",
    "load_text",
    "a_set_kind",
    "a_load_kg",
    "a_load_basis",
    "a_load_unit",
    "a_implements",
    "a_reps",
    "a_reps_left",
    "a_reps_right",
    "a_is_at_least",
    "a_duration_s",
    "a_rir",
    "a_rpe",
    "superset",
    "note",
    "bodyweight_text",
    "session_minutes_text",
    "session_rpe_text",
]
_SOURCE_SCHEMA = {
    "source_area": pl.String,
    "source_file": pl.String,
    "source_sheet": pl.String,
    "source_row": pl.Int64,
}


@dataclass(frozen=True)
class FateTables:
    """Record tables of the contract; `logged_set` still without `system_kg`, `pain_note` as the logs give it."""

    logged_set: pl.DataFrame
    rejected_row: pl.DataFrame
    duplicate_row: pl.DataFrame
    waiting_row: pl.DataFrame
    ignored_row: pl.DataFrame
    session_note: pl.DataFrame
    pain_note: pl.DataFrame


def fate_tables(
    readings: list[FileReading],
    stacks: list[StackReading],
    entries: pl.DataFrame,
    copied: list[tuple[SourceFile, str]],
    known: Knowledge,
    sentences: Mapping[str, str],
) -> FateTables:
    """The fates of all records of all files of the inbox."""
    raw = RawRecords(readings, stacks)
    ignored = pl.concat([_ignored_rows(readings, raw), *(_ignored_in_stack(stack) for stack in stacks)])
    waiting = _held_rows(readings, raw)
    rejected = [_refused_files(readings)]
    duplicates = [_copied_files(copied)]
    sets = pain = None
    if entries.height:
        entries = _settle_records(entries)
        rejected += [_refused(entries), _refused_parts(entries)]
        waiting = pl.concat([waiting, _waiting(entries, raw, dict(sentences))])
        duplicates.append(_duplicates(entries))
        ignored = pl.concat([ignored, _ignored(entries, raw)])
        sets = _logged_sets(entries, known)
        pain = _pain(entries, known)
    remarks = _in_inbox(
        pl.DataFrame([r for reading in readings for r in reading.remarks], orient="row", schema=REMARK_SCHEMA)
    )
    pain = (
        pl.concat([pain, _pain_said_in(remarks, known)])
        if pain is not None
        else _pain_said_in(remarks, known)
    )
    return FateTables(
        sets if sets is not None else pl.DataFrame(),
        pl.concat(rejected),
        pl.concat(duplicates),
        waiting,
        ignored,
        remarks,
        pain,
    )


def _in_inbox(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.with_columns(pl.lit("inbox").alias("source_area"))


def _placed(rows: list[tuple[str, str, int, str]], name: str) -> pl.DataFrame:
    """Records by file, sheet and number with one more text about each."""
    schema = {"source_file": pl.String, "source_sheet": pl.String, "source_row": pl.Int64, name: pl.String}
    return pl.DataFrame(rows, orient="row", schema=schema)


def _ignored_rows(readings: list[FileReading], raw: RawRecords) -> pl.DataFrame:
    kept = [r for r in readings if r.refusal is None]
    frame = _placed([(r.source.source_file, *one) for r in kept for one in r.ignored], "rule")
    return _in_inbox(raw.texts(frame.drop("rule")).with_columns(frame["rule"])).select(
        *_SOURCE_SCHEMA, "rule", "raw_text"
    )


def _ignored_in_stack(reading: StackReading) -> pl.DataFrame:
    """Headers and blank records of even files."""
    headers = pl.DataFrame({"source_file": reading.files}, schema={"source_file": pl.String}).with_columns(
        pl.lit(1, pl.Int64).alias("source_row"), pl.lit("header").alias("rule")
    )
    texts = reading.stack.layout.header_texts.values()
    blanks = reading.records.filter("is_blank").select(
        "source_file", pl.col("file_row").alias("source_row"), pl.lit("blank").alias("rule")
    )
    header = " | ".join(texts)[:RAW_CHARACTERS]
    text = pl.when(pl.col("rule") == "header").then(pl.lit(header)).otherwise(pl.lit(""))
    frame = pl.concat([headers, blanks]).with_columns(
        pl.lit("").alias("source_sheet"), text.alias("raw_text")
    )
    return _in_inbox(frame).select(*_SOURCE_SCHEMA, "rule", "raw_text")


def _held_rows(readings: list[FileReading], raw: RawRecords) -> pl.DataFrame:
    kept = [r for r in readings if r.refusal is None]
    frame = _placed([(r.source.source_file, *one) for r in kept for one in r.held], "question_id")
    messages = [waiting_message(question_id, {}) for question_id in frame["question_id"]]
    return _in_inbox(
        raw.texts(frame.drop("question_id")).with_columns(
            frame["question_id"], pl.Series("message", messages, dtype=pl.String)
        )
    ).select("question_id", *_SOURCE_SCHEMA, "raw_text", "message")


def _refused_files(readings: list[FileReading]) -> pl.DataFrame:
    rows = [
        (
            "inbox",
            r.source.source_file,
            "",
            None,
            None,
            None,
            r.refusal.reason_code,
            r.refusal.message,
            r.refusal.suggestion,
            False,
        )
        for r in readings
        if r.refusal is not None
    ]
    return pl.DataFrame(rows, orient="row", schema=REJECTED_SCHEMA)


REJECTED_SCHEMA = {
    **_SOURCE_SCHEMA,
    "column_name": pl.String,
    "raw_text": pl.String,
    "reason_code": pl.String,
    "message": pl.String,
    "suggestion": pl.String,
    "is_part": pl.Boolean,
}
DUPLICATE_SCHEMA = {
    **_SOURCE_SCHEMA,
    "first_seen_file": pl.String,
    "first_seen_sheet": pl.String,
    "first_seen_row": pl.Int64,
    "message": pl.String,
}


def _copied_files(copied: list[tuple[SourceFile, str]]) -> pl.DataFrame:
    frames = [
        sheet.cells.select(
            pl.lit("inbox").alias("source_area"),
            pl.lit(source.source_file).alias("source_file"),
            pl.lit(sheet.source_sheet).alias("source_sheet"),
            "source_row",
            pl.lit(first).alias("first_seen_file"),
            pl.lit(sheet.source_sheet).alias("first_seen_sheet"),
            pl.col("source_row").alias("first_seen_row"),
            pl.lit(f"The file holds the same as {first}.").alias("message"),
        )
        for source, first in copied
        for sheet in source.sheets
    ]
    return pl.concat(frames) if frames else pl.DataFrame(schema=DUPLICATE_SCHEMA)


def _settle_records(entries: pl.DataFrame) -> pl.DataFrame:
    """A record waits whole; else it is loaded where one of its sets is; `record` is its fate."""
    others = entries.filter(pl.col("status").ne_missing("set")).select(_PLACE).unique()
    if not others.height:
        return entries.with_columns(pl.lit("loaded").alias("record"))
    record = (
        pl.when((pl.col("status") == "waiting").any().over(_PLACE))
        .then(pl.lit("waiting"))
        .when((pl.col("status") == "set").any().over(_PLACE))
        .then(pl.lit("loaded"))
        .when((pl.col("status") == "refused").any().over(_PLACE))
        .then(pl.lit("refused"))
        .when(pl.col("status").is_in(_KNOWN_ALREADY).any().over(_PLACE))
        .then(pl.lit("duplicate"))
        .otherwise(pl.lit("ignored"))
    )
    mixed = entries.select("entry", *_PLACE, "status").join(others, on=_PLACE, how="semi")
    settled = mixed.select("entry", record.alias("record"))
    return entries.join(settled, on="entry", how="left", maintain_order="left").with_columns(
        pl.col("record").fill_null("loaded")
    )


def _explained(frame: pl.DataFrame) -> pl.DataFrame:
    """`message` and `suggestion` for each `reason_code` and `raw_text`."""
    pairs = frame.select("reason_code", "raw_text").unique()
    rows = [(code, text, *explain(code, text)) for code, text in pairs.iter_rows()]
    sentences = pl.DataFrame(
        rows,
        orient="row",
        schema={
            "reason_code": pl.String,
            "raw_text": pl.String,
            "message": pl.String,
            "suggestion": pl.String,
        },
    )
    return frame.join(
        sentences, on=["reason_code", "raw_text"], how="left", nulls_equal=True, maintain_order="left"
    )


def _refused(entries: pl.DataFrame) -> pl.DataFrame:
    """One row a refused entry, none for records that wait; of equal entries of a record the first."""
    frame = entries.filter((pl.col("status") == "refused") & (pl.col("record") != "waiting"))
    frame = frame.with_columns(
        pl.col("refusal").struct.field("column").alias("column_name"),
        pl.col("refusal").struct.field("text").alias("raw_text"),
        pl.col("refusal").struct.field("code").alias("reason_code"),
        (pl.col("record") == "loaded").alias("is_part"),
    ).unique([*_PLACE, "reason_code", "raw_text"], keep="first", maintain_order=True)
    return _in_inbox(_explained(frame)).select(*REJECTED_SCHEMA)


def _refused_parts(entries: pl.DataFrame) -> pl.DataFrame:
    """Cells refused while the rest of the record was loaded."""
    frame = entries.filter(
        (pl.col("record") == "loaded")
        & (pl.col("status") == "set")
        & (pl.col("a_soft_problem").fill_null("") != "")
    )
    frame = frame.with_columns(
        pl.col("a_soft_column").alias("column_name"),
        pl.col("a_soft_text").alias("raw_text"),
        pl.col("a_soft_problem").alias("reason_code"),
        pl.lit(value=True).alias("is_part"),
    ).unique([*_PLACE, "reason_code", "raw_text"], keep="first", maintain_order=True)
    return _in_inbox(_explained(frame)).select(*REJECTED_SCHEMA)


def _waiting(entries: pl.DataFrame, raw: RawRecords, sentences: dict[str, str]) -> pl.DataFrame:
    """A row a record and question: a record may wait for more than one answer."""
    frame = entries.filter((pl.col("record") == "waiting") & (pl.col("status") == "waiting"))
    frame = frame.with_columns(pl.col("question_ids").str.split("\x1f").alias("question_id")).explode(
        "question_id"
    )
    frame = frame.select(*_PLACE, "question_id").unique(maintain_order=True)
    messages = {q: waiting_message(q, sentences) for q in frame["question_id"].unique().to_list()}
    texts = raw.texts(frame.select(_PLACE))
    return _in_inbox(
        frame.with_columns(
            texts["raw_text"],
            pl.col("question_id")
            .replace_strict(messages or {"": ""}, default="", return_dtype=pl.String)
            .alias("message"),
        )
    ).select("question_id", *_SOURCE_SCHEMA, "raw_text", "message")


def _duplicates(entries: pl.DataFrame) -> pl.DataFrame:
    first = entries.select(
        pl.col("entry").alias("duplicate_of"),
        pl.col("source_file").alias("first_seen_file"),
        pl.col("source_sheet").alias("first_seen_sheet"),
        pl.col("source_row").alias("first_seen_row"),
    )
    frame = entries.filter((pl.col("record") == "duplicate") & pl.col("status").is_in(_KNOWN_ALREADY))
    frame = frame.unique(_PLACE, keep="first", maintain_order=True).join(
        first, on="duplicate_of", how="left", maintain_order="left"
    )
    message = (
        pl.when(pl.col("status") == "superseded")
        .then(pl.lit("A corrected resend of the same session holds instead."))
        .otherwise(pl.lit("The same set of the same session is known already."))
    )
    return _in_inbox(frame).with_columns(message.alias("message")).select(*DUPLICATE_SCHEMA)


def _ignored(entries: pl.DataFrame, raw: RawRecords) -> pl.DataFrame:
    frame = entries.filter(pl.col("record") == "ignored").unique(_PLACE, keep="first", maintain_order=True)
    texts = raw.texts(frame.select(_PLACE))
    rule = pl.col("status").replace_strict(_IGNORED_STATUS, default="not_done", return_dtype=pl.String)
    return _in_inbox(frame.with_columns(rule.alias("rule"), texts["raw_text"])).select(
        *_SOURCE_SCHEMA, "rule", "raw_text"
    )


def _logged_sets(entries: pl.DataFrame, known: Knowledge) -> pl.DataFrame:
    is_loaded = (pl.col("status") == "set") & (pl.col("record") == "loaded")
    sets = with_set_order(entries.lazy().filter(is_loaded).select(_OF_SETS).collect())
    names = known.catalogue.exercise.select("exercise_id", "exercise_name")
    sets = sets.join(names, on="exercise_id", how="left", maintain_order="left")
    number = pl.col("session_minutes_text").str.extract(r"(\d{1,3}(?:[.,]\d+)?)", 1).str.replace(",", ".")
    effort = pl.col("session_rpe_text").str.extract(r"(\d{1,2}(?:[.,]\d+)?)", 1).str.replace(",", ".")
    return _in_inbox(sets).select(
        *_SOURCE_SCHEMA,
        "part_index",
        "client_id",
        "session_date",
        "exercise_id",
        "exercise_name",
        "exercise_text",
        "set_index",
        "drop_index",
        pl.col("a_set_kind").alias("set_kind"),
        pl.col("a_load_kg").alias("load_kg"),
        pl.col("a_load_basis").alias("load_basis"),
        "load_text",
        pl.when(pl.col("a_load_unit") != "").then(pl.col("a_load_unit")).alias("load_unit"),
        pl.col("a_implements").alias("implements"),
        pl.col("a_reps").alias("reps"),
        pl.col("a_reps_left").alias("reps_left"),
        pl.col("a_reps_right").alias("reps_right"),
        pl.col("a_is_at_least").alias("is_at_least"),
        pl.col("a_duration_s").alias("duration_s"),
        pl.col("a_rir").alias("rir"),
        pl.col("a_rpe").alias("rpe"),
        "superset",
        "note",
        bodyweight_kg().alias("bodyweight_kg"),
        number.cast(pl.Float64, strict=False).alias("session_minutes"),
        effort.cast(pl.Float64, strict=False).alias("session_rpe"),
    )


def _pain(entries: pl.DataFrame, known: Knowledge) -> pl.DataFrame:
    """Notes of pain beside any set, loaded or not, once a note and exercise and day."""
    rows = entries.filter(
        pl.col("note").is_not_null()
        & pl.col("session_date").is_not_null()
        & (pl.col("client_id") != "")
        & ~pl.col("status").is_in(_KNOWN_ALREADY)
    )
    return _pain_said_in(_in_inbox(rows), known)


def _pain_said_in(rows: pl.DataFrame, known: Knowledge) -> pl.DataFrame:
    names = known.catalogue.exercise.select("exercise_id", "exercise_name")
    found = pain_notes(rows).unique(
        ["client_id", "session_date", "exercise_id", "note"], keep="first", maintain_order=True
    )
    return (found.join(names, on="exercise_id", how="left", maintain_order="left")).select(
        "client_id",
        "session_date",
        "exercise_id",
        "exercise_name",
        "note",
        "word",
        "is_warning_sign",
        *_SOURCE_SCHEMA,
    )
