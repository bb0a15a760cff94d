"""Open questions as sentences with their choices; how many records wait for each."""

from __future__ import annotations

import json

import polars as pl

from pipeline.answers import Question
from pipeline.clean.knowledge import Knowledge
from pipeline.contract.records import OPEN_QUESTION

_SENTENCES = {
    "client": "Which client is “{raw_text}”?",
    "exercise": "Which exercise does {client} mean by “{raw_text}”?",
    "unit": "Are the loads in {source_file} kilograms or pounds?",
    "date_order": "Are the dates in {source_file} day first or month first?",
    "date": "Which day is “{raw_text}” in {source_file}?",
    "load": "Is this load right? {raw_text} in {source_file}",
    "correction": "{source_file} gives {raw_text} with other figures than an older file. Which holds?",
    "layout": "How is {source_file} laid out? {raw_text}",
}
_LABELS = {
    "kg": "kilograms",
    "lb": "pounds",
    "dmy": "day first (31/12)",
    "mdy": "month first (12/31)",
    "newer": "the newer file replaces the older one",
    "older": "the older file stays",
    "both": "both: they are different sets",
    "keep": "right as written",
    "sets_reps": "sets × repetitions",
    "load_reps": "load × repetitions",
    "reps_load": "repetitions × load",
    "load_reps_sets": "load × repetitions × sets",
    "load_sets_reps": "load × sets × repetitions",
}
_WAITING_MESSAGES = {
    "client": "It is not known whose record this is.",
    "exercise": "It is not known which exercise this is.",
    "unit": "Neither the file nor the client's profile says whether loads are kilograms or pounds.",
    "date_order": "Neither the file nor the client's profile says whether day or month comes first.",
    "date": "The year does not fit the days around it.",
    "load": "The load is far from this client's history.",
    "correction": "The session stands in another file with other figures.",
    "layout": "It is not known what the figures mean.",
}


def waiting_message(question_id: str, sentences: dict[str, str]) -> str:
    """Why a record waits, as a sentence; the kind of a question is the first word of its id."""
    return sentences.get(question_id) or _WAITING_MESSAGES.get(
        question_id.rsplit("-", 1)[0], "An answer is needed."
    )


def open_questions(
    asked: dict[str, tuple[Question, str, list[str], str]], waiting: pl.DataFrame, known: Knowledge
) -> pl.DataFrame:
    """The `open_question` table: those questions for which records wait."""
    counts = dict(waiting.group_by("question_id").agg(pl.len()).iter_rows()) if waiting.height else {}
    files = (
        dict(waiting.group_by("question_id").agg(pl.col("source_file").min()).iter_rows())
        if waiting.height
        else {}
    )
    rows = []
    for question_id, (question, client_id, choices, suggested) in sorted(asked.items()):
        if question_id not in counts:
            continue
        source_file = question.source_file or files.get(question_id, "")
        text = _SENTENCES[question.kind]
        for name, value in (
            ("raw_text", question.raw_text),
            ("source_file", source_file),
            ("client", _name(client_id, known)),
        ):
            text = text.replace("{" + name + "}", value)
        labelled = [
            {"value": c, "label": _label(question.kind, c, known.exercise_names)}
            for c in dict.fromkeys(choices)
            if c
        ]
        rows.append(
            (
                question_id,
                question.kind,
                client_id,
                source_file,
                question.raw_text,
                text.strip(),
                json.dumps(labelled, ensure_ascii=False),
                suggested,
                counts[question_id],
            )
        )
    schema = {
        name: pl.Int64 if name == "n_rows_waiting" else pl.String for name in OPEN_QUESTION.column_names
    }
    return pl.DataFrame(rows, orient="row", schema=schema)


def _name(client_id: str, known: Knowledge) -> str:
    profile = known.profiles.get(client_id)
    return (profile.name if profile else "") or client_id or "the client"


def _label(kind: str, choice: str, shown: dict[str, str]) -> str:
    if kind == "exercise":
        return shown.get(choice, choice)
    return _LABELS.get(choice, choice)
