"""The calibrated scores: named signals, each with a centre, a scale and a weight, summed to log odds.

The figures are in score.toml beside this file, with how they were obtained. Nothing is fitted on a
coach's machine; a coach can read every figure, and a changed figure shows in the history.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pipeline.analyse.states.panel import Grid

SCORE_FILE = Path(__file__).with_name("score.toml")
CLIP = 3.0
"""A signal further than this many scales from its centre counts as this many: no single one decides."""


@dataclass(frozen=True)
class Term:
    """A signal's part of a score: weight × (figure − centre) / scale, in log odds."""

    signal: str
    centre: float
    scale: float
    weight: float


@dataclass(frozen=True)
class Score:
    """Log odds that a state holds: `intercept` + terms, smoothed over weeks, with two thresholds.

    `memory` is the share of last week's value kept; the state starts at `enter` and ends below `leave`
    (log odds), so that it does not flicker. `slope` and `shift` map the smoothed value to the share of
    such calls that held in the laboratory (Platt 1999).
    """

    name: str
    intercept: float
    memory: float
    enter: float
    leave: float
    slope: float
    shift: float
    terms: tuple[Term, ...]

    def parts(self, signals: Mapping[str, Grid]) -> dict[str, Grid]:
        """Each term's log odds; a missing figure says nothing (0)."""
        return {
            term.signal: np.nan_to_num(
                np.clip((signals[term.signal] - term.centre) / term.scale, -CLIP, CLIP) * term.weight
            )
            for term in self.terms
        }

    def raw(self, signals: Mapping[str, Grid]) -> Grid:
        """Log odds of each client and week by that week's signals alone."""
        total = np.full(next(iter(signals.values())).shape, self.intercept)
        for part in self.parts(signals).values():
            total = total + part
        return total

    def confidence(self, smoothed: Grid) -> Grid:
        """Share of calls at this smoothed value that held, 0 to 1."""
        return 1 / (1 + np.exp(-(self.slope * smoothed + self.shift)))


def smooth(raw: Grid, memory: float) -> Grid:
    """Exponentially weighted mean along the weeks, from the first column on."""
    out = np.array(raw, dtype=float)
    for t in range(1, out.shape[1]):
        out[:, t] = memory * out[:, t - 1] + (1 - memory) * raw[:, t]
    return out


def latch(
    value: Grid, enter: float, leave: float, held: NDArray[np.bool_], lapses: bool = False
) -> NDArray[np.bool_]:
    """Where a state is on: from a column at or above `enter` until one below `leave`.

    Where `held` is true (a deload, a break) the week tells nothing: nothing is switched, or with `lapses` the
    state ends there and must reach `enter` anew, because what was compared before has been interrupted.
    """
    out = np.zeros(value.shape, dtype=bool)
    state = np.zeros(value.shape[0], dtype=bool)
    for t in range(value.shape[1]):
        now = np.where(state, value[:, t] >= leave, value[:, t] >= enter)
        state = np.where(held[:, t], state & (not lapses), now)
        out[:, t] = state
    return out


def parse_scores(text: str) -> dict[str, Score]:
    """Scores by name from the text of score.toml; KeyError naming a figure that is missing."""
    scores = {}
    for name, table in tomllib.loads(text).items():
        terms = tuple(
            Term(signal, float(centre), float(scale), float(weight))
            for signal, (centre, scale, weight) in table["signals"].items()
        )
        figures = {
            key: float(table[key]) for key in ("intercept", "memory", "enter", "leave", "slope", "shift")
        }
        scores[name] = Score(name=name, terms=terms, **figures)
    return scores


@cache
def read_scores(path: Path = SCORE_FILE) -> dict[str, Score]:
    """The shipped scores."""
    return parse_scores(path.read_text(encoding="utf-8"))
