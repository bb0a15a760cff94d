"""The whole inbox decided: files read one by one, then compared with each other, then one fate a record.

What arrives: `SourceFile`s and what is known (`Knowledge`). What leaves: a `CleanedInbox` with the record tables
of the contract, in which every record of every file stands once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.answer_check import KEEPS
from pipeline.answers import Question
from pipeline.clean.cells.loads import KG_PER_LB
from pipeline.clean.decide import decide_file
from pipeline.clean.fates import FateTables, fate_tables
from pipeline.clean.file_reading import Asks, FileReading
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.questions import open_questions
from pipeline.clean.resends import find_resends, reading_order, same_content
from pipeline.clean.slips import answered_load, find_slips
from pipeline.clean.stacked_files import LAYOUT, StackReading, decide_stack
from pipeline.clean.stacks import stack_files
from pipeline.contract.sheets import SourceFile

__all__ = ["CleanedInbox", "clean_inbox"]

_KEPT = (  # of an entry once it is decided; its texts are those of `fates`
    "source_file",
    "source_sheet",
    "source_row",
    "part_index",
    "client_id",
    "session_date",
    "exercise_id",
    "exercise_text",
    "bare_name",
    "set_number_text",
    "drop_index",
    "is_counted",
    "is_grid",
    "load_text",
    "note",
    "superset",
    "bodyweight_text",
    "session_minutes_text",
    "session_rpe_text",
    "status",
    "refusal",
    "question_ids",
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
    "a_soft_problem",
    "a_soft_column",
    "a_soft_text",
)
_COMPARED = (
    "entry",
    "source_file",
    "source_sheet",
    "source_row",
    "is_grid",
    "client_id",
    "session_date",
    "exercise_id",
    "set_number_text",
    "is_counted",
    "a_load_kg",
    "a_load_basis",
    "a_reps",
    "a_duration_s",
)
_JUDGED_BY_HISTORY = (
    "entry",
    "source_file",
    "client_id",
    "session_date",
    "exercise_id",
    "bare_name",
    "load_text",
    "a_load_kg",
    "a_load_basis",
    "a_load_unit",
    "a_reps",
    "a_set_kind",
)


@dataclass(frozen=True)
class CleanedInbox:
    """Record tables of the contract for the logs; `layouts` says how each file was read, `messages` what a
    coach should know about it, `clients` whose records it holds ("" where some are nobody's yet)."""

    tables: FateTables
    open_question: pl.DataFrame
    name_resolution: pl.DataFrame
    layouts: dict[str, str]
    messages: dict[str, str]
    clients: dict[str, frozenset[str]]


def clean_inbox(
    sources: Iterable[SourceFile], known: Knowledge, on_file: Callable[[str], None] = lambda name: None
) -> CleanedInbox:
    """Every record of every file with its fate; the files in reading order, originals before corrections."""
    files = sorted(sources, key=lambda source: reading_order(source.source_file))
    copies = same_content(files, lambda path: known.roster.resolve(None, path, "").client_id)
    originals = [source for source in files if source.source_file not in copies]
    readings, stacks = _read(originals, known, on_file)
    entries = _all_entries([source.source_file for source in originals], readings, stacks)
    asked: dict[str, tuple[Question, str, list[str], str]] = {}
    sentences: dict[str, str] = {}
    if entries.height:
        entries = _mark_resends(entries, known, asked, sentences)
        entries = _mark_slips(entries, known, asked, sentences)
    for reading in readings:
        sentences.update(reading.sentences)
    for asks in (*readings, *stacks):
        asked.update({key: value for key, value in asks.questions.items() if key not in asked})
    copied = [(source, copies[source.source_file]) for source in files if source.source_file in copies]
    tables = fate_tables(readings, stacks, entries, copied, known, sentences)
    layouts = {reading.source.source_file: reading.layout for reading in readings}
    return CleanedInbox(
        tables,
        open_questions(asked, tables.waiting_row, known),
        _names([*readings, *stacks], known),
        layouts | {name: LAYOUT for stack in stacks for name in stack.files},
        {source.source_file: source.message for source in originals},
        _clients(readings, stacks, copies),
    )


def _read(
    sources: list[SourceFile], known: Knowledge, on_file: Callable[[str], None]
) -> tuple[list[FileReading], list[StackReading]]:
    """Files one by one, but even ones of one header all together."""

    def is_answered(name: str) -> bool:
        return known.answers.find_for_file("layout", name) is not None

    stacks, others = stack_files(sources, is_answered)
    decided = [decide_stack(stack, known) for stack in stacks]
    unread = frozenset().union(*(reading.unread for reading in decided))
    if unread:
        names = {source.source_file for source in others} | unread
        others = [source for source in sources if source.source_file in names]
    readings = []
    for source in others:
        on_file(source.source_file)
        readings.append(decide_file(source, known))
    return readings, decided


def _clients(
    readings: list[FileReading], stacks: list[StackReading], copies: dict[str, str]
) -> dict[str, frozenset[str]]:
    clients = {
        reading.source.source_file: frozenset(reading.entries["client_id"].fill_null("").unique().to_list())
        if reading.entries.height
        else frozenset()
        for reading in readings
    }
    for stack in stacks:
        whose = stack.entries.select("source_file", pl.col("client_id").fill_null("")).unique()
        by_file = whose.group_by("source_file").agg("client_id")
        clients.update((name, frozenset(its)) for name, its in by_file.iter_rows())
    return clients | {copy: clients[first] for copy, first in copies.items()}


def _all_entries(order: list[str], readings: list[FileReading], stacks: list[StackReading]) -> pl.DataFrame:
    """The entries of all files, in the order of the files."""
    frames = [reading.entries for reading in readings] + [stack.entries for stack in stacks]
    frames = [frame.select(column for column in _KEPT if column in frame.columns) for frame in frames]
    frames = [frame for frame in frames if frame.height]
    if not frames:
        return pl.DataFrame()
    entries = pl.concat(frames, how="diagonal_relaxed")
    if stacks and len(frames) > 1:
        place = pl.col("source_file").replace_strict(
            pl.Series(order), pl.int_range(len(order), eager=True), return_dtype=pl.Int64
        )
        entries = entries.sort(place, maintain_order=True)
    return entries.with_row_index("entry").with_columns(pl.col("entry").cast(pl.Int64))


def _mark_resends(
    entries: pl.DataFrame,
    known: Knowledge,
    asked: dict[str, tuple[Question, str, list[str], str]],
    sentences: dict[str, str],
) -> pl.DataFrame:
    sets = entries.lazy().filter(pl.col("status") == "set").select(_COMPARED).collect()
    resends = find_resends(sets, known.answers)
    for correction in resends.questions:
        question = correction.question
        asked[question.question_id] = (question, correction.client_id, ["newer", "older", "both"], "newer")
        sentences[question.question_id] = (
            f"The session of {question.raw_text} stands in another file with other figures."
        )
    return entries.with_columns(
        _looked_up({**resends.superseded, **resends.duplicate}, pl.Int64()).alias("duplicate_of"),
        pl.when(pl.col("entry").is_in(list(resends.duplicate)))
        .then(pl.lit("duplicate"))
        .when(pl.col("entry").is_in(list(resends.superseded)))
        .then(pl.lit("superseded"))
        .when(pl.col("entry").is_in(list(resends.waiting)))
        .then(pl.lit("waiting"))
        .otherwise(pl.col("status"))
        .alias("status"),
        pl.coalesce(_looked_up(resends.waiting, pl.String()), pl.col("question_ids")).alias("question_ids"),
    )


def _looked_up(values: dict[int, int] | dict[int, str], kind: pl.DataType) -> pl.Expr:
    return pl.col("entry").replace_strict(values or {-1: None}, default=None, return_dtype=kind)


def _mark_slips(
    entries: pl.DataFrame,
    known: Knowledge,
    asked: dict[str, tuple[Question, str, list[str], str]],
    sentences: dict[str, str],
) -> pl.DataFrame:
    """Hold what is far from the client's history; an answer keeps the load or puts the right one in its place."""
    written = (
        pl.when(pl.col("a_load_unit") == "lb")
        .then(pl.col("a_load_kg") / KG_PER_LB)
        .otherwise(pl.col("a_load_kg"))
    )
    sets = (
        entries.lazy()
        .filter(pl.col("status") == "set")
        .select(*_JUDGED_BY_HISTORY, written.alias("written_load"))
        .collect()
    )
    held: dict[int, str] = {}
    corrected: dict[int, float] = {}
    by_entry = {slip.entry: slip for slip in find_slips(sets)}
    rows = sets.filter(pl.col("entry").is_in(list(by_entry)))
    for row in rows.iter_rows(named=True):
        slip = by_entry[row["entry"]]
        text = row["load_text"] or f"{row['written_load']:g}"
        question = Question(
            "load",
            row["client_id"],
            row["source_file"],
            f"{row['session_date'].isoformat()} {row['bare_name']}: {text} x {row['a_reps']}",
        )
        answer = (known.answers.find(question) or "").strip().lower()
        load_kg = answered_load(answer, row["a_load_unit"])
        if load_kg is not None:
            corrected[row["entry"]] = load_kg
        elif answer not in KEEPS:
            held[row["entry"]] = question.question_id
            suggested = f"{slip.suggested:g}" if slip.suggested is not None else ""
            asked[question.question_id] = (
                question,
                row["client_id"],
                [c for c in ("keep", suggested) if c],
                suggested,
            )
            sentences[question.question_id] = slip.sentence
    return entries.with_columns(
        pl.when(pl.col("entry").is_in(list(held)))
        .then(pl.lit("waiting"))
        .otherwise(pl.col("status"))
        .alias("status"),
        pl.coalesce(_looked_up(held, pl.String()), pl.col("question_ids")).alias("question_ids"),
        pl.coalesce(
            pl.col("entry").replace_strict(corrected or {-1: None}, default=None, return_dtype=pl.Float64),
            pl.col("a_load_kg"),
        ).alias("a_load_kg"),
    )


def _names(readings: Sequence[Asks], known: Knowledge) -> pl.DataFrame:
    """How each spelling of an exercise was resolved, for the coach to look over."""
    rows = [
        (
            client_id,
            text,
            match.exercise_id,
            known.exercise_names.get(match.exercise_id or "", ""),
            match.how,
            match.score,
            n,
        )
        for reading in readings
        for client_id, text, match, n in reading.names
    ]
    frame = pl.DataFrame(
        rows,
        orient="row",
        schema={
            "client_id": pl.String,
            "exercise_text": pl.String,
            "exercise_id": pl.String,
            "exercise_name": pl.String,
            "how": pl.String,
            "score": pl.Float64,
            "n_rows": pl.Int64,
        },
    )
    keys = ["client_id", "exercise_text", "exercise_id", "exercise_name", "how"]
    return (
        frame.group_by(keys, maintain_order=True)
        .agg(pl.col("score").max(), pl.col("n_rows").sum())
        .sort("client_id", "exercise_text")
    )
