"""What a month's report states: one client's figures, read from the published history.

Everything here is kilograms, seconds and per cent; words.py turns them into the client's unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from statistics import fmean

from dashboards.report.month import Month

DONE_OUTCOMES = ("done", "moved")
CHECK_IN_MEASURES = (
    "bodyweight_kg",
    "waist_cm",
    "sleep_h",
    "sleep_quality",
    "soreness",
    "motivation",
    "stress",
)


@dataclass(frozen=True)
class Client:
    """Who the report is for."""

    client_id: str
    name: str
    unit: str
    goal: str


@dataclass(frozen=True)
class PlannedDay:
    """A planned session of the month and what became of it; `on` is empty where any day would do."""

    day: str
    phase: str
    outcome: str
    on: date | None
    week_start: date


@dataclass(frozen=True)
class Session:
    """A training day of the month."""

    on: date
    planned_day: str
    n_exercises: int
    n_sets: int
    n_hard_sets: int
    n_unknown_effort_sets: int
    volume_kg: float


@dataclass(frozen=True)
class Level:
    """An e1RM level with its 90 % interval, as known at the end of a week.

    Without an upper end it is a lower limit: no set of the lift had its effort written down.
    """

    week_start: date
    kg: float
    low_kg: float
    high_kg: float | None

    @property
    def is_at_least(self) -> bool:
        """Whether the true level may lie anywhere above."""
        return self.high_kg is None


@dataclass(frozen=True)
class Lift:
    """A lift trained this month: where it stands, where it stood, and what its trend says.

    `slope_pct` is the trend at the month's end in % a week, with its 90 % interval. The status rests on it,
    and so does the dashboard. (The two levels share sessions, so the error of their difference would have
    to be guessed.)
    """

    exercise_id: str
    exercise_name: str
    basis: str
    status: str
    n_sessions: int
    now: Level | None
    before: Level | None
    slope_pct: float | None = None
    slope_low_pct: float | None = None
    slope_high_pct: float | None = None

    @property
    def slope_error_pct(self) -> float | None:
        """Half width of the trend's 90 % interval, % a week."""
        if self.slope_low_pct is None or self.slope_high_pct is None:
            return None
        return (self.slope_high_pct - self.slope_low_pct) / 2

    @property
    def verdict(self) -> str:
        """The trend's status; `unclear` where the level moved the other way over the month."""
        if self.now is not None and self.before is not None:
            change = self.now.kg - self.before.kg
            if (self.status == "rising" and change < 0) or (self.status == "falling" and change > 0):
                return "unclear"
        return self.status


@dataclass(frozen=True)
class Best:
    """A personal best of the month."""

    on: date
    exercise_name: str
    kind: str
    value: float
    previous: float | None
    previous_on: date | None
    load_kg: float | None
    reps: int | None
    load_basis: str = ""


@dataclass(frozen=True)
class MuscleMonth:
    """A muscle's weekly hard sets, averaged over the month's complete weeks."""

    muscle: str
    hard_sets: float
    unknown_effort_sets: float
    planned_sets: float | None
    target_low: float | None
    target_high: float | None


@dataclass(frozen=True)
class CheckInValue:
    """A check-in measure: the month's average, and the average of the month before."""

    measure: str
    value: float
    before: float | None
    n_entries: int


@dataclass(frozen=True)
class Target:
    """What the progression rule proposes for an exercise next time."""

    exercise_name: str
    day: str
    sets: int | None
    load_kg: float | None
    rep_low: int | None
    rep_high: int | None
    rir: float | None
    load_basis: str = ""
    slot: int = 0
    planned_on: date | None = None


@dataclass(frozen=True)
class Excused:
    """A stretch of the month on which training was excused."""

    first: date
    last: date
    kind: str


@dataclass(frozen=True)
class MonthFacts:
    """All that a report may say about one client and month."""

    client: Client
    month: Month
    as_of: date
    known_until: date
    first_day_of_week: int
    weeks: tuple[date, ...]
    planned: tuple[PlannedDay, ...]
    sessions: tuple[Session, ...]
    excused: tuple[Excused, ...]
    deload_weeks: tuple[date, ...]
    lifts: tuple[Lift, ...]
    bests: tuple[Best, ...]
    muscles: tuple[MuscleMonth, ...]
    check_ins: tuple[CheckInValue, ...]
    targets: tuple[Target, ...]
    state: str
    has_pain_note: bool
    has_warning_sign: bool
    n_waiting: int
    last_log: date | None
    first_log: date | None
    hard_set_max_rir: float
    coach_note: str
    focus: str

    @property
    def is_month_over(self) -> bool:
        """Whether the history knows the whole month."""
        return self.as_of >= self.month.last

    def n_outcome(self, *outcomes: str) -> int:
        """Planned sessions with one of these outcomes."""
        return sum(1 for session in self.planned if session.outcome in outcomes)

    @property
    def n_due(self) -> int:
        """Planned sessions that count: neither excused nor still open."""
        return len(self.planned) - self.n_outcome("excused", "open")

    @property
    def n_done(self) -> int:
        """Planned sessions done, on their day or another."""
        return self.n_outcome(*DONE_OUTCOMES)

    @property
    def n_unplanned(self) -> int:
        """Sessions that no plan asked for."""
        planned_days = {session.on for session in self.planned if session.outcome in DONE_OUTCOMES}
        return sum(1 for session in self.sessions if session.on not in planned_days)

    @property
    def n_sets(self) -> int:
        """Sets of the month, warm-ups left out."""
        return sum(session.n_sets for session in self.sessions)

    @property
    def n_hard_sets(self) -> int:
        """Hard sets of the month."""
        return sum(session.n_hard_sets for session in self.sessions)

    @property
    def n_unknown_effort_sets(self) -> int:
        """Working sets whose effort is unknown."""
        return sum(session.n_unknown_effort_sets for session in self.sessions)

    @property
    def volume_kg(self) -> float:
        """Volume load of the month, external load, kg."""
        return sum(session.volume_kg for session in self.sessions)


def average(values: list[float]) -> float | None:
    """The mean; None of nothing."""
    return fmean(values) if values else None
