"""A stack of even files decided: the same steps as for one file, taken once for all of them.

What arrives: a `Stack`. What leaves: a `StackReading`, whose entries are those `decide_file` would make of each of
its files.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import polars as pl

from pipeline.answers import Question
from pipeline.clean.decide import exercise_tests, with_clients, with_status, with_units_and_amounts
from pipeline.clean.entries import Unfolded, join_entries
from pipeline.clean.exercise_names import NameMatch
from pipeline.clean.file_reading import Asks
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.settle_days import with_days_of_dated
from pipeline.clean.settle_exercises import with_exercises
from pipeline.clean.sides import join_sides
from pipeline.clean.split_sets import split_sets
from pipeline.clean.stacks import Stack
from pipeline.clean.titles import Stated
from pipeline.clean.unfold import unfold_layout

LAYOUT = "set rows"


@dataclass
class StackReading(Asks):
    """Even files, decided: `entries` as those of a `FileReading`; `unread` are files that turned out to hold
    something that only a file read by itself can tell."""

    stack: Stack
    entries: pl.DataFrame
    unread: frozenset[str] = frozenset()
    questions: dict[str, tuple[Question, str, list[str], str]] = field(default_factory=dict)
    names: list[tuple[str, str, NameMatch, int]] = field(default_factory=list)

    @property
    def records(self) -> pl.DataFrame:
        """The records below the headers of the files that were read."""
        records = self.stack.records
        return records.filter(~pl.col("source_file").is_in(self.unread)) if self.unread else records

    @property
    def files(self) -> list[str]:
        """Names of the files that were read."""
        names = (source.source_file for source in self.stack.sources)
        return [name for name in names if name not in self.unread]


def decide_stack(stack: Stack, known: Knowledge) -> StackReading:
    """Every record of a stack with its fate."""
    tests = exercise_tests(known)
    cells = list(stack.layout.columns)
    body = stack.records.filter(~pl.col("is_blank")).select("source_row", *cells)
    entries, _ = unfold_layout(body, stack.layout, Unfolded(), Stated(), tests.knows, frozenset())
    entries = join_entries([split_sets(entries, stack.layout, "", tests.is_unloaded, tests.is_two_sided)])
    # numbers of the stack give way to those of the files
    place = stack.records.select("source_file", "file_row")[entries["source_row"] - 1]
    entries = entries.with_columns(place["source_file"], place["file_row"].alias("source_row"))
    unclear = entries.filter(pl.col("problem") == "set_notation_ambiguous")["source_file"].unique()
    if unclear.len():
        entries = entries.filter(~pl.col("source_file").is_in(unclear.to_list()))
    entries = entries.with_columns(
        pl.lit("").alias("source_sheet"), pl.lit("1900").alias("epoch"), pl.lit(value=False).alias("is_grid")
    )
    reading = StackReading(stack, entries, frozenset(unclear.to_list()))
    if entries.height:
        reading.entries = _decided(entries, reading, known)
    return reading


def _decided(frame: pl.DataFrame, reading: StackReading, known: Knowledge) -> pl.DataFrame:
    frame = with_clients(frame, reading, known)
    frame = with_exercises(frame, reading, known)
    frame = with_days_of_dated(frame, reading, known)
    frame = frame.with_columns(pl.lit("").alias("taken_back_question"))
    frame = with_units_and_amounts(frame, reading, known)
    frame = frame.with_columns(pl.lit(None, dtype=pl.String).alias("notation_question"))
    return join_sides(with_status(frame))
