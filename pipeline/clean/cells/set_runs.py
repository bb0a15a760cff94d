"""Runs of sets under one load, and the single sets they stand for."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from pipeline.clean.cells.set_tokens import REPS_WORD

PairMeaning = Literal["load_reps", "sets_reps", "reps_load", "load_reps_sets", "load_sets_reps", ""]
MOST_SETS = 12  # nobody writes more sets of one exercise as a count; a larger number is a load
MOST_SETS_A_ROW = 30
MOST_COUNTED = 6  # more sets than that are seldom counted, and a light added load becomes possible


@dataclass(frozen=True)
class SetPart:
    """One set as text: load, repetitions, effort; `kind` is "", "warm_up" or "drop"; `drop_index` from 1."""

    load: str = ""
    reps: str = ""
    effort: str = ""
    kind: str = ""
    drop_index: int = 1


class Unreadable(Exception):
    """The notation cannot be read; `reason_code` says why. Never leaves the notation reader."""

    def __init__(self, reason_code: str) -> None:
        super().__init__(reason_code)
        self.reason_code = reason_code


@dataclass
class Run:
    """Sets under one load, or under one load each where `loads` lists them (`@ 60/65/70`).

    `count` repeats a single figure of repetitions, or says how many the list must have. `either` is a number
    before x that may be the count or the load, which the list behind it settles.
    """

    load: str | None = None
    count: int | None = None
    either: str | None = None
    loads: list[str] = field(default_factory=list)
    reps: list[str] = field(default_factory=list)
    efforts: list[str] = field(default_factory=list)
    separators: list[str] = field(default_factory=list)
    kind: str = ""
    drop_index: int = 0
    is_load_behind: bool = False
    count_is_first: bool = True

    def add_reps(self, text: str, separator: str) -> None:
        """One more figure of repetitions, and what stands before it."""
        pieces = (
            re.split(r"/(?=\d+ ?(?:/|$|[a-z]))", text) if re.fullmatch(r"\d+(?:/\d+)+\D*", text) else [text]
        )
        for index, piece in enumerate(pieces):
            word = re.sub(rf" ?{REPS_WORD}", "", piece)
            self.reps.append(word.strip() or piece)
            self.efforts.append("")
            self.separators.append("/" if index else separator)

    def join(self, last: Run, separator: str) -> None:
        """Take over the end of a list that names the load for all of it."""
        self.reps += last.reps
        self.efforts += last.efforts
        self.separators += [separator] * len(last.reps)
        self.load, self.is_load_behind = last.load, True
        if self.either is not None:
            self.count, self.either = _whole(self.either), None

    def repeat(self, count: int) -> None:
        """A count that stands behind its set."""
        if len(self.reps) != 1 and len(self.reps) != count:
            raise Unreadable("set_notation_contradiction")
        self.count, self.count_is_first = count, False

    def add_effort(self, text: str) -> None:
        """Effort for the sets that have none yet; a list of as many figures goes one to each set."""
        free = [index for index, effort in enumerate(self.efforts) if not effort]
        if not free:
            raise Unreadable("set_notation_unreadable")
        scale = "rir" if re.search("rir|tank|reserve", text) else "rpe"
        figures = re.split(r" ?[,/] ?", re.sub(r"[a-z:=@]+", " ", text).strip())
        n_sets = (self.count or 1) if len(self.reps) == 1 else len(free)
        if len(figures) == n_sets > 1:
            self._spread()
            free = [index for index, effort in enumerate(self.efforts) if not effort]
            for index, figure in zip(free, figures, strict=True):
                self.efforts[index] = f"{scale} {figure.strip()}"
            return
        for index in free:
            self.efforts[index] = f"{scale} {figures[0].strip()}" if len(figures) == 1 else text

    def _spread(self) -> None:
        if self.count and len(self.reps) == 1:
            self.reps, self.efforts = self.reps * self.count, self.efforts * self.count
            self.separators = [self.separators[0], *[","] * (self.count - 1)]

    def settle(self, pair_means: PairMeaning) -> None:
        """Decide what the number before x was, by the list behind it or the column's meaning."""
        if self.either is None:
            return
        number, self_reps = self.either, self.reps
        self.either = None
        if len(self_reps) > 1:
            if pair_means == "sets_reps" or float(number) == len(self_reps):
                self.count = _whole(number)
            elif (len(self_reps) == 2 and "/" in self.separators) or (
                pair_means != "load_reps" and is_small(number)
            ):
                raise Unreadable("set_notation_ambiguous")
            else:
                self._has_load(number)
        elif pair_means == "load_reps":
            self._has_load(number)
        elif pair_means == "sets_reps":
            self.count = _whole(number)
        elif pair_means == "reps_load":
            self.load, self.reps = self.reps[0], [number]
        else:
            raise Unreadable("set_notation_ambiguous")

    def _has_load(self, text: str) -> None:
        if self.load is not None:
            raise Unreadable("set_notation_ambiguous")
        self.load = text


def is_small(number: str) -> bool:
    """True for a number that may well count sets, so that beside x it is no load unless somebody says so."""
    return float(number) <= MOST_COUNTED and float(number).is_integer()


def _whole(number: str) -> int:
    if not float(number).is_integer():
        raise Unreadable("set_notation_unreadable")
    return int(float(number))


def parts_of_runs(runs: list[Run], pair_means: PairMeaning) -> tuple[SetPart, ...]:
    """The single sets of all runs, in order."""
    for run in runs:
        run.settle(pair_means)
    _refuse_mixed(runs)
    parts: list[SetPart] = []
    for run in runs:
        kind = "drop" if run.drop_index else run.kind
        sets = _single_sets(run)
        for load, (reps, effort) in zip(_loads(run, len(sets)), sets, strict=True):
            parts.append(SetPart(load, reps, effort, kind, run.drop_index or 1))
    return tuple(parts)


def _loads(run: Run, n_sets: int) -> list[str]:
    if not run.loads:
        return [run.load or ""] * n_sets
    listed = [run.load or "", *run.loads]
    if len(listed) != n_sets:
        raise Unreadable("set_notation_contradiction")
    unit = re.search(r"[a-z#]+$", listed[-1])
    return [load if re.search(r"[a-z#]", load) or not unit else f"{load} {unit.group()}" for load in listed]


def _refuse_mixed(runs: list[Run]) -> None:
    """`60 8` and `60/8 70/6`: bare numbers of which some can hardly be repetitions are not read as such."""
    bare = [float(reps) for run in runs if run.load is None for reps in run.reps if reps.isdigit()]
    if len(bare) > 1 and max(bare) >= 20 and max(bare) > 2 * min(bare):
        raise Unreadable("set_notation_ambiguous")
    with_load = sum(run.load is not None for run in runs)
    if with_load not in (0, len(runs)):
        raise Unreadable("set_notation_unreadable")


def _single_sets(run: Run) -> list[tuple[str, str]]:
    sets = list(zip(run.reps, run.efforts, strict=True))
    if run.count is None or len(sets) == run.count:
        return sets
    if not 1 <= run.count <= MOST_SETS_A_ROW:
        raise Unreadable("set_notation_unreadable")
    if len(sets) == 1:
        return sets * run.count
    if len(sets) == 2 and run.separators[1] == "/":  # left and right
        return [(f"{sets[0][0]}/{sets[1][0]}", sets[0][1])] * run.count
    raise Unreadable("set_notation_contradiction")
