"""What is known of one file while its records are decided: entries, questions, refusals, remarks."""

from __future__ import annotations

from dataclasses import dataclass, field

import polars as pl

from pipeline.answers import Question
from pipeline.clean.exercise_names import NameMatch
from pipeline.contract.sheets import Refusal, SourceFile


class Asks:
    """Who reads files and has questions: questions by their id, names of exercises as they were understood."""

    questions: dict[str, tuple[Question, str, list[str], str]]
    names: list[tuple[str, str, NameMatch, int]]

    def ask(self, question: Question, choices: list[str], suggested: str = "", client_id: str = "") -> str:
        """Note a question; its id."""
        self.questions.setdefault(
            question.question_id, (question, client_id or question.client_id, choices, suggested)
        )
        return question.question_id


@dataclass
class FileReading(Asks):
    """One file, decided. `entries` has one row an entry with its `status`: set, refused, waiting or ignored.

    `ignored` are the other records (sheet, row, rule), `held` those that wait as they are (sheet, row,
    question); `refusal` stands for a file refused whole; `sentences` say why a question was asked (by its id).
    """

    source: SourceFile
    entries: pl.DataFrame
    ignored: list[tuple[str, int, str]] = field(default_factory=list)
    questions: dict[str, tuple[Question, str, list[str], str]] = field(default_factory=dict)
    names: list[tuple[str, str, NameMatch, int]] = field(default_factory=list)
    held: list[tuple[str, int, str]] = field(default_factory=list)
    sentences: dict[str, str] = field(default_factory=dict)
    remarks: list[tuple[object, ...]] = field(default_factory=list)
    refusal: Refusal | None = None
    layout: str = ""
