"""One file decided: every entry becomes a set, a refusal, a wait for an answer, or an ignored record.

What arrives: a `SourceFile`. What leaves: a `FileReading` whose frames account for every record of the file.
Nothing here looks at other files; `resends` and `slips` do that afterwards.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.answers import Question
from pipeline.clean.amount_columns import with_amounts
from pipeline.clean.cells.folding import is_blank
from pipeline.clean.cells.loads import parse_unit
from pipeline.clean.diary import diary_lines, of_records
from pipeline.clean.entries import Unfolded
from pipeline.clean.exercise_names import NameMatch
from pipeline.clean.exercise_texts import parse_exercise_text
from pipeline.clean.file_reading import Asks, FileReading
from pipeline.clean.knowledge import ClientProfile, Knowledge
from pipeline.clean.notes import unfold_notes
from pipeline.clean.people import Person
from pipeline.clean.plan_sheets import set_plans_aside
from pipeline.clean.remarks import remarks_of_notes, remarks_of_table
from pipeline.clean.row_rules import is_not_done
from pipeline.clean.settle_days import days_said, with_days
from pipeline.clean.settle_exercises import with_exercises
from pipeline.clean.sides import join_sides
from pipeline.clean.taken_back import with_loads_taken_back
from pipeline.clean.unfold import unfold_table
from pipeline.contract.group_numbers import distinct_rows, with_found
from pipeline.contract.sheets import Refusal, Sheet, SourceFile


def decide_file(source: SourceFile, known: Knowledge) -> FileReading:
    """Every record of one file with its fate."""
    if source.refusal is not None:
        return FileReading(source, pl.DataFrame(), refusal=source.refusal)
    reading = FileReading(source, pl.DataFrame())
    layout_answer = (known.answers.find_for_file("layout", source.source_file) or "").strip().lower()
    unfolded = [(sheet, _unfold(sheet, known, layout_answer)) for sheet in source.sheets]
    set_plans_aside(unfolded)
    reading.layout = ", ".join(dict.fromkeys(u.layout for _, u in unfolded if u.layout != "unknown"))
    refusal = _nothing_in_it(unfolded)
    if refusal is not None:
        reading.refusal = refusal
        return reading
    frames = []
    for sheet, result in unfolded:
        reading.ignored += [(sheet.source_sheet, row, rule) for row, rule in result.ignored.items()]
        if result.layout == "unknown":
            _without_layout(sheet, result, reading)
        if result.entries.height:
            frames.append(
                result.entries.with_columns(
                    pl.lit(sheet.source_sheet).alias("source_sheet"),
                    pl.lit(sheet.epoch).alias("epoch"),
                    pl.lit(result.layout == "date grid").alias("is_grid"),
                )
            )
    if frames:
        reading.entries = _decide_entries(pl.concat(frames), reading, known)
        for sheet, result in unfolded:
            _keep_remarks(sheet, result, reading, known)
    return reading


def _keep_remarks(sheet: Sheet, result: Unfolded, reading: FileReading, known: Knowledge) -> None:
    name, entries = reading.source.source_file, reading.entries
    if sheet.is_notes:

        def days_of(texts: list[str], client_id: str) -> dict[str, date]:
            return days_said(texts, client_id, name, known)

        reading.remarks += remarks_of_notes(result.remarks, entries, name, sheet.source_sheet, days_of)
        return
    rows = [row for row, rule in result.ignored.items() if rule == "note"]
    if rows:
        text = pl.concat_str([pl.col(c) for c in sheet.columns], separator=" ", ignore_nulls=True)
        notes = sheet.cells.filter(pl.col("source_row").is_in(rows)).select("source_row", text.alias("words"))
        reading.remarks += remarks_of_table(list(notes.iter_rows()), entries, name, sheet.source_sheet)


@dataclass(frozen=True)
class ExerciseTests:
    """What a text says of an exercise: that it may name one, surely names one, names one done without a load, one
    that both sides do at once."""

    knows: Callable[[str], bool]
    is_sure: Callable[[str], bool]
    is_unloaded: Callable[[str], bool]
    is_two_sided: Callable[[str], bool]


def exercise_tests(known: Knowledge) -> ExerciseTests:
    """The tests of a run's catalogue."""

    def match(text: str) -> NameMatch:
        return known.matcher.match(parse_exercise_text(text).name)

    return ExerciseTests(
        lambda text: match(text).how != "unknown",
        lambda text: match(text).exercise_id is not None,
        lambda text: match(text).exercise_id in known.unloaded_ids,
        lambda text: match(text).exercise_id in known.two_sided_ids,
    )


def _unfold(sheet: Sheet, known: Knowledge, answer: str) -> Unfolded:
    tests = exercise_tests(known)

    def is_client(text: str) -> bool:
        return known.roster.find(text) is not None

    def as_notes(lines: Sheet) -> Unfolded:
        return unfold_notes(lines, tests.knows, answer, tests.is_unloaded, tests.is_sure, is_client)

    if sheet.is_notes:
        return as_notes(sheet)
    table = unfold_table(sheet, tests.knows, answer, tests.is_unloaded, tests.is_two_sided)
    lines = diary_lines(sheet) if table.layout == "unknown" else None
    return of_records(as_notes(lines), sheet) if lines is not None else table


def _nothing_in_it(unfolded: list[tuple[Sheet, Unfolded]]) -> Refusal | None:
    """The reason to refuse a file without a single entry; None where it has one or a layout must be asked."""
    if any(result.entries.height or result.question for _, result in unfolded):
        return None
    rules = [rule for _, result in unfolded for rule in result.ignored.values()]
    if rules and set(rules) <= {"header", "title", "blank"} and "header" in rules:
        return Refusal(
            "file_header_only",
            "The file has a header and nothing below it.",
            "Ask the client whether this is the right file.",
        )
    return Refusal(
        "file_no_sets",
        "The file holds no set that could be recognised.",
        "Check that it is a training log; a header row with date, exercise, load and repetitions helps.",
    )


def _without_layout(sheet: Sheet, result: Unfolded, reading: FileReading) -> None:
    """A sheet without a known header: asked about where it holds sets, else no log, record by record."""
    question_id = ""
    if result.question:
        question_id = reading.ask(
            Question("layout", "", reading.source.source_file),
            [
                "date, exercise, load, reps",
                "date, exercise, reps, load",
                "date, exercise, set, load, reps",
                "date, exercise, set, reps, load",
            ],
        )
    for row in sheet.cells.iter_rows(named=True):
        texts = [row[c] for c in sheet.columns if row[c]]
        if not texts:
            reading.ignored.append((sheet.source_sheet, row["source_row"], "blank"))
        elif question_id:
            reading.held.append((sheet.source_sheet, row["source_row"], question_id))
        else:
            reading.ignored.append((sheet.source_sheet, row["source_row"], "no_log_sheet"))


def _decide_entries(entries: pl.DataFrame, reading: FileReading, known: Knowledge) -> pl.DataFrame:
    frame = entries.with_columns(pl.lit(reading.source.source_file).alias("source_file"))
    frame = with_clients(frame, reading, known)
    frame = with_exercises(frame, reading, known)
    frame = with_days(frame, reading, known)
    frame = with_loads_taken_back(frame, reading, known)
    frame = with_units_and_amounts(frame, reading, known)
    return join_sides(with_status(_with_notation_question(frame, reading)))


def _with_notation_question(frame: pl.DataFrame, reading: FileReading) -> pl.DataFrame:
    """One question a file for notations that can be read in more than one way."""
    texts = frame.filter(pl.col("problem") == "set_notation_ambiguous")["problem_text"].drop_nulls().unique()
    question_id = None
    if texts.len():
        example = str(texts.sort()[0])
        triple = example.lower().replace("×", "x").count("x") >= 2
        choices = ["load_reps_sets", "load_sets_reps"] if triple else ["sets_reps", "load_reps", "reps_load"]
        question_id = reading.ask(Question("layout", "", reading.source.source_file, example), choices)
    return frame.with_columns(
        pl.when(pl.col("problem") == "set_notation_ambiguous")
        .then(pl.lit(question_id, dtype=pl.String))
        .alias("notation_question")
    )


def with_clients(frame: pl.DataFrame, asks: Asks, known: Knowledge) -> pl.DataFrame:
    """`client_id` of each entry, or the `client_question` who it is."""
    keys = ["client_text", "source_file", "source_sheet"]
    numbers, places = distinct_rows(frame, keys)
    people = [known.roster.resolve(*place) for place in places.iter_rows()]
    who = pl.DataFrame(
        [(person.client_id, _ask_who(person, asks)) for person in people],
        orient="row",
        schema={"client_id": pl.String, "client_question": pl.String},
    )
    return with_found(frame, numbers, who)


def _ask_who(person: Person, asks: Asks) -> str:
    return asks.ask(person.question, list(person.candidates)) if person.question else ""


def with_units_and_amounts(frame: pl.DataFrame, asks: Asks, known: Knowledge) -> pl.DataFrame:
    """The amounts of each entry (`a_` columns), or the `unit_question` of a load whose unit nobody says."""
    keys = ["client_id", "source_file"]
    numbers, whose = distinct_rows(frame, keys)
    units = [_default_unit(client_id or "", name, known) for client_id, name in whose.iter_rows()]
    frame = with_found(frame, numbers, pl.DataFrame({"default_unit": pl.Series(units, dtype=pl.String)}))
    frame = with_amounts(
        frame,
        known.exercise_facts,
        known.bar_kg,
        is_warm_up_column=_is_warm_up_column(frame),
    )
    open_ones = frame.filter("a_needs_unit").select(keys).unique(maintain_order=True)
    if not open_ones.height:
        return frame.with_columns(pl.lit("").alias("unit_question"))
    asked = [asks.ask(Question("unit", *one), ["kg", "lb"]) for one in open_ones.iter_rows()]
    questions = open_ones.with_columns(pl.Series("unit_question", asked, dtype=pl.String))
    frame = frame.join(questions, on=keys, how="left", nulls_equal=True, maintain_order="left")
    question = pl.when("a_needs_unit").then(pl.col("unit_question")).otherwise(pl.lit(""))
    return frame.with_columns(question.fill_null("").alias("unit_question"))


def _default_unit(client_id: str, source_file: str, known: Knowledge) -> str:
    profile = known.profiles.get(client_id, ClientProfile(client_id))
    answered = known.answers.find(Question("unit", client_id, source_file)) or ""
    return parse_unit(answered) or profile.unit or known.default_unit


def _is_warm_up_column(frame: pl.DataFrame) -> bool:
    """True where the set-type column only says yes or no: then a yes marks a warm-up."""
    texts = {text.strip().lower() for text in frame["kind_text"].drop_nulls().unique().to_list()}
    return bool(texts) and texts <= {
        "true",
        "false",
        "yes",
        "no",
        "y",
        "n",
        "x",
        "1",
        "0",
        "ja",
        "nein",
        "oui",
        "non",
        "si",
        "✓",
        "-",
    }


def with_status(frame: pl.DataFrame) -> pl.DataFrame:
    """The status of each entry and the first reason for it; a record with a waiting entry waits whole."""
    skipped = [text for text in frame["reps_text"].drop_nulls().unique().to_list() if is_not_done(text)]
    no_exercise = [text for text in frame["exercise_text"].drop_nulls().unique().to_list() if is_blank(text)]
    no_name = pl.col("exercise_text").is_null() | pl.col("exercise_text").is_in(no_exercise)
    date_problem = pl.col("date_problem").fill_null("") != ""
    notation = pl.col("problem").fill_null("") != ""
    ambiguous = pl.col("problem") == "set_notation_ambiguous"
    question = pl.concat_str(
        [
            pl.when(pl.col(name).fill_null("") != "").then(pl.col(name)).otherwise(None)
            for name in (
                "client_question",
                "exercise_question",
                "date_question",
                "unit_question",
                "taken_back_question",
                "notation_question",
            )
        ],
        separator="\x1f",
        ignore_nulls=True,
    )
    frame = frame.with_columns(question.alias("question_ids"))
    waits = pl.col("question_ids").fill_null("") != ""
    refusal = (
        pl.when(date_problem)
        .then(
            pl.struct(
                pl.col("date_problem").alias("code"),
                pl.lit("session_date").alias("column"),
                pl.col("date_text").alias("text"),
            )
        )
        .when(no_name)
        .then(
            pl.struct(
                pl.lit("exercise_missing").alias("code"),
                pl.lit("exercise_name").alias("column"),
                pl.lit("").alias("text"),
            )
        )
        .when(notation & ~ambiguous)
        .then(
            pl.struct(
                pl.col("problem").alias("code"),
                pl.col("problem_column").alias("column"),
                pl.col("problem_text").alias("text"),
            )
        )
        .when((pl.col("a_problem").fill_null("") != "") & ~notation)
        .then(
            pl.struct(
                pl.col("a_problem").alias("code"),
                pl.col("a_problem_column").alias("column"),
                pl.col("a_problem_text").alias("text"),
            )
        )
    )
    frame = frame.with_columns(refusal.alias("refusal"))
    is_refused = pl.col("refusal").is_not_null() & pl.col("refusal").struct.field("code").is_not_null()
    status = (
        pl.when(pl.col("exercise_id") == "ignore")
        .then(pl.lit("ignored"))
        .when(pl.col("reps_text").is_in(skipped))
        .then(pl.lit("not_done"))
        .when(is_refused)
        .then(pl.lit("refused"))
        .when(waits)
        .then(pl.lit("waiting"))
        .otherwise(pl.lit("set"))
    )
    return frame.with_columns(status.alias("status"))
