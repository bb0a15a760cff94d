"""Sets whose figures a line of words takes back (`sorry, bench was 85 not 80`): the coach is asked which load holds."""

from __future__ import annotations

import re

import polars as pl

from pipeline.answers import Question
from pipeline.clean.cells.loads import parse_load
from pipeline.clean.file_reading import FileReading
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.slips import KEEPS

_LOAD = re.compile(r"\d+(?:[.,]\d+)?")
_KEYS = ("client_id", "date_text", "exercise_text", "load_text", "taken_back")


def with_loads_taken_back(frame: pl.DataFrame, reading: FileReading, known: Knowledge) -> pl.DataFrame:
    """`taken_back_question` for sets that wait for the coach's word; the load an answer gives in place of theirs."""
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
            reading.sentences[question_id] = f"A line below takes figures back: “{words}”."
        rows.append((client_id, day, exercise, load, words, new_load, question_id))
    schema = dict.fromkeys([*_KEYS, "new_load", "taken_back_question"], pl.String)
    asked = pl.DataFrame(rows, orient="row", schema=schema)
    joined = frame.join(asked, on=_KEYS, how="left", nulls_equal=True, maintain_order="left")
    return joined.with_columns(pl.coalesce("new_load", "load_text").alias("load_text")).drop("new_load")
