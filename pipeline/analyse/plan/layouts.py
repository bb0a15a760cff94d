"""Which weekdays suit a split: every way to lay its days over the week, scored and sorted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, permutations

from pipeline.analyse.plan.demand import Demand, interference, is_hard_session, neighbours, shared_sets
from pipeline.analyse.plan.versions import WEEKDAYS, PlanDay

EVERY_DAY = (1, 2, 3, 4, 5, 6, 7)


@dataclass(frozen=True)
class SplitShape:
    """What matters of a split for its layout, by place of its days: hard or not, shared sets and muscles.

    `overlap[i][j]`: sets that days i and j share; `muscles[i][j]`: muscles both train directly (recovering
    slowly); `interferes[i][j]`: whether they interfere on following days; `kind[i]`: the first day with the
    same exercises and sets.
    """

    is_hard: tuple[bool, ...]
    overlap: tuple[tuple[float, ...], ...]
    muscles: tuple[tuple[tuple[str, ...], ...], ...]
    interferes: tuple[tuple[bool, ...], ...]
    kind: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.is_hard)


@dataclass(frozen=True)
class Layout:
    """One way to lay the days: their weekdays by place, and how far apart things come to lie.

    The least days count round the week's end. None: there is no such pair.
    """

    weekdays: tuple[int, ...]
    least_days_hard: int | None
    least_days_same_muscle: int | None
    same_muscles: tuple[str, ...]
    n_hard_neighbours: int
    n_interfering_neighbours: int
    strain: float

    @property
    def merit(self) -> tuple[float, ...]:
        """Sorts layouts, the best first: interfering neighbours, days between the same muscles, days between
        hard sessions, hard neighbours, then the sum over all pairs of sessions of what they share over the
        square of the days between (to the set: less is no reason to move a day)."""
        return (
            self.n_interfering_neighbours,
            -(self.least_days_same_muscle or 7),
            -(self.least_days_hard or 7),
            self.n_hard_neighbours,
            round(self.strain),
        )

    def is_clearly_better(self, other: Layout) -> bool:
        """Better in what a coach would move a day for: interference or days between the same muscles."""
        return self.merit[:2] < other.merit[:2]


def split_shape(days: Sequence[PlanDay], demand: Demand) -> SplitShape:
    """The shape of a split; a pair of days is looked at once."""
    hard = tuple(is_hard_session(day, demand) for day in days)
    pairs = {(i, j): interference(days[i], days[j], demand) for i, j in combinations(range(len(days)), 2)}

    def both(i: int, j: int) -> bool:
        return hard[i] and hard[j] and bool(pairs[min(i, j), max(i, j)])

    n = range(len(days))
    return SplitShape(
        hard,
        tuple(tuple(0.0 if i == j else shared_sets(days[i], days[j], demand) for j in n) for i in n),
        tuple(tuple(() if i == j else pairs[min(i, j), max(i, j)].muscles for j in n) for i in n),
        tuple(tuple(i != j and both(i, j) for j in n) for i in n),
        tuple(next(k for k in n if days[k].exercises == days[i].exercises) for i in n),
    )


def score_layout(shape: SplitShape, weekdays: tuple[int, ...]) -> Layout:
    """How far apart hard sessions and sessions of the same muscles lie on these weekdays."""
    hard_gaps, muscle_gaps = [], []
    strain = 0.0
    for i, j in combinations(range(len(weekdays)), 2):
        apart = abs(weekdays[i] - weekdays[j])
        gap = min(apart, 7 - apart)
        if gap == 0:
            raise ValueError(f"weekdays {weekdays!r} has two sessions on one day")
        if shape.is_hard[i] and shape.is_hard[j]:
            hard_gaps.append(gap)
        if shape.muscles[i][j]:
            muscle_gaps.append((gap, shape.muscles[i][j]))
        strain += shape.overlap[i][j] / gap**2
    following = [(i, j) for i, j, gap in neighbours(weekdays) if gap == 1]
    least = min((gap for gap, _ in muscle_gaps), default=None)
    muscles = dict.fromkeys(m for gap, names in muscle_gaps if gap == least for m in names)
    return Layout(
        weekdays,
        min(hard_gaps, default=None),
        least,
        tuple(muscles),
        sum(shape.is_hard[i] and shape.is_hard[j] for i, j in following),
        sum(shape.interferes[i][j] for i, j in following),
        strain,
    )


@lru_cache(maxsize=512)
def best_layouts(
    shape: SplitShape,
    current: tuple[int, ...] | None = None,
    allowed: tuple[int, ...] = EVERY_DAY,
    most: int = 3,
) -> tuple[Layout, ...]:
    """Which layouts of a split keep hard sessions and sessions of the same muscles furthest apart?

    Every way to lay the days on the allowed weekdays is tried (7 days: 5,040). Layouts that are the same but
    for the day they begin on, or for two equal days exchanged, count once: the one that moves the fewest days
    of the current layout, then the one with the fewest weekend days. At most `most`, the best first. None
    where there are more days than weekdays.
    """
    best: dict[tuple[int, ...], Layout] = {}
    ranks: dict[tuple[int, ...], tuple[object, ...]] = {}
    for weekdays in permutations(allowed, len(shape)):
        turned = _as_cycle(shape, weekdays)
        rank = _rank_among_turned(weekdays, current)
        if turned not in ranks or rank < ranks[turned]:
            ranks[turned] = rank
            best[turned] = (
                score_layout(shape, weekdays) if turned not in best else _turned(best[turned], weekdays)
            )
    ordered = sorted(best, key=lambda turned: (best[turned].merit, ranks[turned]))
    return tuple(best[turned] for turned in ordered[:most])


def _as_cycle(shape: SplitShape, weekdays: tuple[int, ...]) -> tuple[int, ...]:
    """The kinds of day round the week (-1: rest), begun where they sort first."""
    week = [-1] * 7
    for place, weekday in enumerate(weekdays):
        week[weekday - 1] = shape.kind[place]
    return min(tuple(week[start:] + week[:start]) for start in range(7))


def _turned(layout: Layout, weekdays: tuple[int, ...]) -> Layout:
    """The same layout begun on another day: all gaps stay."""
    return Layout(
        weekdays,
        layout.least_days_hard,
        layout.least_days_same_muscle,
        layout.same_muscles,
        layout.n_hard_neighbours,
        layout.n_interfering_neighbours,
        layout.strain,
    )


def _rank_among_turned(weekdays: tuple[int, ...], current: tuple[int, ...] | None) -> tuple[object, ...]:
    moved = n_moved(weekdays, current) or 0
    return moved, sum(day >= 6 for day in weekdays), weekdays


def n_moved(weekdays: tuple[int, ...], current: tuple[int, ...] | None) -> int | None:
    """Days that lie on another weekday than now; None where the plan names no weekdays."""
    return None if current is None else sum(a != b for a, b in zip(weekdays, current, strict=True))


def layout_text(weekdays: tuple[int, ...], names: Sequence[str]) -> str:
    """`Mon Upper A · Tue Lower A`, in order of the week."""
    in_order = sorted(zip(weekdays, names, strict=True))
    return " · ".join(f"{WEEKDAYS[weekday - 1]} {name}" for weekday, name in in_order)
