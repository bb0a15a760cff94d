"""The exercise of each entry, with what its cell says besides the name; unsure names are asked."""

from __future__ import annotations

from collections.abc import Callable

import polars as pl

from pipeline.answers import Question
from pipeline.clean.exercise_names import NameMatch
from pipeline.clean.exercise_texts import kind_of_numbered_set, kind_said_in_note, parse_exercise_text
from pipeline.clean.file_reading import Asks
from pipeline.clean.knowledge import Knowledge


def with_exercises(frame: pl.DataFrame, asks: Asks, known: Knowledge) -> pl.DataFrame:
    keys = ["client_id", "exercise_text"]
    by_file = frame.group_by("source_file", *keys).agg(pl.col("source_row").n_unique().alias("n"))
    counts = by_file.group_by(keys).agg(pl.col("n").sum())
    rows = []
    for client_id, text, n in counts.sort("client_id", "exercise_text").iter_rows():
        if text is None:
            rows.append((client_id, text, "", "", "", "", "", ""))
            continue
        bare = parse_exercise_text(text)
        exercise_id, question, match = _which_exercise(bare.name or text, client_id, known)
        if question is not None:
            question_id = asks.ask(question, list(match.candidates))
        else:
            question_id = ""
            if exercise_id and exercise_id != "ignore":
                asks.names.append((client_id, text, match, n))
        rows.append(
            (client_id, text, exercise_id, question_id, bare.superset, bare.kind, bare.side, bare.name)
        )
    found = pl.DataFrame(
        rows,
        orient="row",
        schema={
            "client_id": pl.String,
            "exercise_text": pl.String,
            "exercise_id": pl.String,
            "exercise_question": pl.String,
            "cell_superset": pl.String,
            "cell_kind": pl.String,
            "cell_side": pl.String,
            "bare_name": pl.String,
        },
    )
    frame = frame.join(
        found, on=["client_id", "exercise_text"], how="left", nulls_equal=True, maintain_order="left"
    )
    kind = pl.coalesce(
        pl.when(pl.col("cell_kind") != "").then(pl.col("cell_kind")),
        pl.col("kind_text"),
        _kinds_of(frame, "set_number_text", kind_of_numbered_set),
        _kinds_of(frame, "note", kind_said_in_note),
    )
    return frame.with_columns(
        pl.when(pl.col("cell_superset") != "")
        .then(pl.col("cell_superset"))
        .otherwise(pl.col("superset_text"))
        .alias("superset"),
        kind.alias("kind_text"),
    )


def _kinds_of(frame: pl.DataFrame, column: str, kind_of: Callable[[str], str]) -> pl.Expr:
    """The kind of set that another column mentions: `W` for a set number, `warm-up` in a note."""
    kinds = {
        text: kind
        for text in frame[column].drop_nulls().unique().to_list()
        if len(text) < 200 and (kind := kind_of(text)) not in ("", "work")
    }
    if not kinds:
        return pl.lit(None, dtype=pl.String)
    return pl.col(column).replace_strict(kinds, default=None, return_dtype=pl.String)


def _which_exercise(name: str, client_id: str, known: Knowledge) -> tuple[str, Question | None, NameMatch]:
    match = known.matcher.match(name)
    question = Question("exercise", client_id, "", name)
    answer = known.answers.find(question)
    if answer:
        if answer.strip().lower() in ("ignore", "none", "not an exercise"):
            return "ignore", None, match
        answered = answer if answer in known.exercise_ids else known.matcher.match(answer).exercise_id
        if answered:
            return answered, None, NameMatch(answered, "answered by the coach", 100.0, ())
    if match.exercise_id and match.how not in ("unsure", "unknown"):
        return match.exercise_id, None, match
    return "", question, match
