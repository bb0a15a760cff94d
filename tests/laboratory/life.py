"""What happens to a simulated client: blocks, deloads, breaks, illness, cuts, weeks off plan, log gaps.

All of it is drawn before any training is simulated; a kind of dynamics (`dynamics`) then says what it does
to strength. Rates are our own assumptions, wide on purpose; where a figure has a source it is named.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

Span = tuple[int, int]
"""First and last day, counted from the client's first."""

STYLES = ("double_progression", "percent", "top_set", "autoregulated", "rising_reps")


@dataclass
class Life:
    """A client's traits and the course of events; spans are in days."""

    client_id: str
    status: str
    style: str
    n_days: int
    n_sessions_week: int
    unit: str
    bodyweight_kg: float
    gain_per_week: float
    noise_day: float
    noise_lift: float
    effort: str
    effort_bias: float
    effort_noise: float
    has_check_ins: bool
    check_in_response: float
    check_in_days: int
    has_plan: bool
    blocks: list[int] = field(default_factory=list)
    deloads: list[Span] = field(default_factory=list)
    deloads_in_plan: bool = True
    own_deloads: list[Span] = field(default_factory=list)
    breaks: list[tuple[int, int, bool]] = field(default_factory=list)
    illnesses: list[tuple[int, int, bool]] = field(default_factory=list)
    cuts: list[Span] = field(default_factory=list)
    stalls: list[Span] = field(default_factory=list)
    strains: list[Span] = field(default_factory=list)
    off_plan: list[tuple[int, int, str]] = field(default_factory=list)
    log_gaps: list[Span] = field(default_factory=list)
    sandbagging: list[Span] = field(default_factory=list)
    more_sets: list[Span] = field(default_factory=list)

    def days(self, spans: list[Span]) -> np.ndarray:
        """Mask of the days inside the spans."""
        mask = np.zeros(self.n_days, dtype=bool)
        for first, last in spans:
            mask[max(first, 0) : last + 1] = True
        return mask

    def away(self) -> np.ndarray:
        """Days without training: breaks and illness."""
        return self.days([(a, b) for a, b, _ in (*self.breaks, *self.illnesses)])


class _Diary:
    """Places spans so that they do not collide."""

    def __init__(self, rng: np.random.Generator, n_days: int) -> None:
        self.rng, self.n_days = rng, n_days
        self.taken = np.zeros(n_days, dtype=bool)

    def place(self, length: int, margin: int, earliest: int) -> Span | None:
        for _ in range(30):
            if self.n_days - length - earliest <= 7:
                return None
            first = int(self.rng.integers(earliest, self.n_days - length))
            low, high = max(first - margin, 0), min(first + length + margin, self.n_days)
            if not self.taken[low:high].any():
                self.taken[first : first + length] = True
                return first, first + length - 1
        return None

    def several(self, per_year: float, shortest: int, longest: int, margin: int, earliest: int) -> list[Span]:
        n = int(self.rng.poisson(per_year * self.n_days / 365))
        spans = [
            self.place(int(self.rng.integers(shortest, longest + 1)), margin, earliest) for _ in range(n)
        ]
        return sorted(span for span in spans if span is not None)


GAIN = {"novice": (0.008, 0.0025), "intermediate": (0.0045, 0.0013), "advanced": (0.0025, 0.0008)}
"""Mean and spread of weekly gain (log units) while getting on. Competing lifters' totals rise by about 0.2 to
0.3 % a week with a spread above the mean (public meet records); minimal-dose trainees 30–50 % in year one."""


def draw_life(rng: np.random.Generator, client_id: str, weeks: int) -> Life:
    """A client's life of `weeks` weeks."""
    n_days = weeks * 7
    status = str(rng.choice(["novice", "intermediate", "advanced"], p=[0.3, 0.45, 0.25]))
    mean, spread = GAIN[status]
    n_week = int(rng.choice([2, 3, 4, 5, 6], p=[0.1, 0.3, 0.35, 0.2, 0.05]))
    effort = str(rng.choice(["none", "rir", "rpe", "last_set", "patchy"], p=[0.3, 0.3, 0.2, 0.1, 0.1]))
    life = Life(
        client_id=client_id,
        status=status,
        style=str(rng.choice(STYLES)),
        n_days=n_days,
        n_sessions_week=n_week,
        unit=str(rng.choice(["kg", "lb"], p=[0.7, 0.3])),
        bodyweight_kg=float(np.clip(rng.normal(78, 13), 48, 130)),
        gain_per_week=float(max(rng.normal(mean, spread), 0.0007)),
        noise_day=float(rng.uniform(0.003, 0.015)),
        noise_lift=float(rng.uniform(0.006, 0.022)),
        effort=effort,
        effort_bias=float(rng.normal(-0.5, 0.9)),
        effort_noise=float(rng.uniform(0.3, 1.1)),
        has_check_ins=bool(rng.random() < 0.6),
        check_in_response=float(rng.choice([0.0, 0.5, 1.0, 1.5], p=[0.15, 0.3, 0.35, 0.2])),
        check_in_days=int(rng.choice([1, 3, 7])),
        has_plan=bool(rng.random() < 0.92),
    )
    diary = _Diary(rng, n_days)
    life.breaks = [(a, b, bool(rng.random() < 0.5)) for a, b in diary.several(0.8, 10, 24, 3, 42)]
    life.stalls = diary.several(1.1, 42, 112, 7, 28)
    life.strains = diary.several(0.8, 10, 30, 7, 35)
    life.cuts = diary.several(0.3, 42, 84, 7, 42)
    life.off_plan = [
        (a, b, str(rng.choice(["sessions", "sets"], p=[0.7, 0.3])))
        for a, b in diary.several(0.5, 21, 56, 7, 28)
    ]
    # what follows may fall into any of the above
    aside = _Diary(rng, n_days)
    life.illnesses = [(a, b, bool(rng.random() < 0.5)) for a, b in aside.several(0.7, 4, 9, 7, 21)]
    life.log_gaps = aside.several(0.3, 8, 25, 7, 28)
    life.more_sets = aside.several(1.0, 14, 35, 3, 21)
    life.sandbagging = aside.several(0.3, 21, 56, 7, 28)
    life.blocks = _draw_blocks(rng, n_days)
    _place_deloads(rng, life)
    return life


def _draw_blocks(rng: np.random.Generator, n_days: int) -> list[int]:
    starts, day = [0], 0
    while True:
        day += 7 * int(rng.integers(5, 15))
        if day >= n_days - 14:
            return starts
        starts.append(day)


def _place_deloads(rng: np.random.Generator, life: Life) -> None:
    """A week every five or six (surveys: 6.4 ± 1.7 days every 5.6 ± 2.3 weeks), or none."""
    if rng.random() < 0.3:
        return
    life.deloads_in_plan = bool(rng.random() < 0.85)
    away = life.away()
    day = 7 * int(rng.integers(4, 9))
    while day < life.n_days - 7:
        if not away[max(day - 7, 0) : day + 14].any():
            (life.deloads if life.deloads_in_plan else life.own_deloads).append((day, day + 6))
        day += 7 * int(np.clip(round(rng.normal(6, 2)), 3, 12))
