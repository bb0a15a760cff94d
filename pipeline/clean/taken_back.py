"""Sets whose figures a line of words takes back (`sorry, bench was 85 not 80`): the coach is asked which load holds."""

from __future__ import annotations

import re

import polars as pl

from pipeline.answer_check import KEEPS
from pipeline.answers import Question
from pipeline.clean.cells.loads import parse_load
from pipeline.clean.file_reading import FileReading
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.note_words import is_correction

_LOAD = re.compile(r"\d+(?:[.,]\d+)?")
_KEYS = ("client_id", "date_text", "exercise_text", "load_text", "taken_back")


def with_loads_taken_back(frame: pl.DataFrame, reading: FileReading, known: Knowledge) -> pl.DataFrame:
    """`taken_back_question` for sets that wait for the coach's word; the load an answer gives in place of theirs."""
    frame = _with_own_notes(frame)
    if not frame["taken_back"].drop_nulls().len():
        return frame.with_columns(pl.lit("").alias("taken_back_question"))
    rows = []
    for client_id, day, exercise, load, words in (
        frame.filter(pl.col("taken_back").is_not_null()).select(_KEYS).unique(maintain_order=True).iter_rows()
    ):
        text = f"{day or ''} {exercise or ''}: {load}, and then: {words}".strip()
        question = Question("load", client_id or "", reading.source.source_file, text)
        answer = (known.answers.find(question) or "").strip()
        new_load, question_id = load, ""
        if parse_load(answer).kind == "plain":
            # 85 behind 80kg is meant in kg, too
            new_load = answer if re.search(r"[a-z]", answer) else _LOAD.sub(answer, load, count=1)
        elif answer.lower() not in KEEPS:
            others = [figure for figure in _LOAD.findall(words) if figure not in load]
            suggested = others[0] if len(others) == 1 else ""
            question_id = reading.ask(question, ["keep", suggested], suggested)
            reading.sentences[question_id] = f"Words beside it take the load back: “{words}”."
        rows.append((client_id, day, exercise, load, words, new_load, question_id))
    schema = dict.fromkeys([*_KEYS, "new_load", "taken_back_question"], pl.String)
    asked = pl.DataFrame(rows, orient="row", schema=schema)
    joined = frame.join(asked, on=_KEYS, how="left", nulls_equal=True, maintain_order="left")
    return joined.with_columns(pl.coalesce("new_load", "load_text").alias("load_text")).drop("new_load")


def _with_own_notes(frame: pl.DataFrame) -> pl.DataFrame:
    """A note in the set's own row that names another load for it (`typo - should be 45` beside 54)."""
    pairs = frame.filter(pl.col("taken_back").is_null()).select("load_text", "note").drop_nulls().unique()
    found = [
        (load, note, note)
        for load, note in pairs.iter_rows()
        if is_correction(note) and _names_load(load, note)
    ]
    if not found:
        return frame
    words = pl.DataFrame(found, orient="row", schema=["load_text", "note", "own_words"])
    joined = frame.join(words, on=["load_text", "note"], how="left", maintain_order="left")
    return joined.with_columns(pl.coalesce("taken_back", "own_words").alias("taken_back")).drop("own_words")


def _names_load(load: str, note: str) -> bool:
    """True where a figure of the note could be the load: another one, and not far off."""
    written = parse_load(load).value
    if not written:
        return False
    figures = [float(figure.replace(",", ".")) for figure in _LOAD.findall(note)]
    return any(figure != written and 0.4 <= figure / written <= 2.5 for figure in figures)
