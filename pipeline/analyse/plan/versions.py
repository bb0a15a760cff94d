"""Plan versions as the audit sees them: days in order of the week, exercises with their muscles."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import duckdb

SMALL_PATTERNS = ("isolation", "core")
NO_STRENGTH_PATTERNS = ("conditioning", "other")
OPEN_REPS = 100
LIGHT_PHASES = ("deload", "taper")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class ExerciseFacts:
    """What the catalogue says of an exercise; `muscles` maps muscle to credit (1 direct, 0.5 indirect)."""

    exercise_id: str
    name: str
    pattern: str = "other"
    implement: str = "other"
    load_basis: str = "total"
    is_one_sided: bool = False
    is_timed: bool = False
    muscles: Mapping[str, float] = field(default_factory=dict)

    @property
    def is_multi_joint(self) -> bool:
        """A lift over several joints: neither single-joint nor core work, nor conditioning."""
        return self.pattern not in SMALL_PATTERNS and self.pattern not in NO_STRENGTH_PATTERNS

    @property
    def direct(self) -> tuple[str, ...]:
        """Muscles trained directly."""
        return tuple(muscle for muscle, credit in self.muscles.items() if credit >= 1)


@dataclass(frozen=True)
class PlannedExercise:
    """One planned exercise. `superset` is the label of its group, "" for none; seconds and repetitions as
    planned."""

    facts: ExerciseFacts
    slot: int
    sets: int
    rep_low: int | None = None
    rep_high: int | None = None
    target_rir: float | None = None
    superset: str = ""
    rest_s: float | None = None
    alternatives: tuple[str, ...] = ()
    duration_low_s: float | None = None
    duration_high_s: float | None = None
    tempo_s: float | None = None

    @property
    def name(self) -> str:
        """Name shown."""
        return self.facts.name

    def is_hard(self, max_rir: float) -> bool:
        """Whether its sets count as hard: RIR at most `max_rir`, or not stated."""
        return self.target_rir is None or self.target_rir <= max_rir


@dataclass(frozen=True)
class PlanDay:
    """A training day; `weekday` 1 Monday … 7 Sunday, None: any day. The same day on two weekdays stands
    twice."""

    name: str
    weekday: int | None
    exercises: tuple[PlannedExercise, ...]

    def direct_sets(self, max_rir: float) -> dict[str, float]:
        """Hard sets of exercises that train a muscle directly, by muscle."""
        return self._sets(max_rir, at_least=1.0)

    def fractional_sets(self, max_rir: float) -> dict[str, float]:
        """Hard sets × credit, by muscle."""
        return self._sets(max_rir, at_least=0.0)

    def _sets(self, max_rir: float, at_least: float) -> dict[str, float]:
        sets: dict[str, float] = {}
        for exercise in self.exercises:
            if exercise.is_hard(max_rir):
                for muscle, credit in exercise.facts.muscles.items():
                    if credit > 0 and credit >= at_least:
                        sets[muscle] = sets.get(muscle, 0.0) + exercise.sets * credit
        return sets


@dataclass(frozen=True)
class PlanVersion:
    """One version of a client's plan. `days` stand in order of the week, days without a weekday last; `goal`
    and `status` (novice, intermediate, advanced) are the client's, "" where not known."""

    client_id: str
    plan: str
    valid_from: date
    valid_to: date | None
    phase: str
    days: tuple[PlanDay, ...]
    goal: str = ""
    status: str = ""

    @property
    def is_light(self) -> bool:
        """A deload or taper."""
        return any(word in self.phase for word in LIGHT_PHASES)

    @property
    def is_break(self) -> bool:
        """An announced break: no training is planned."""
        return self.phase == "break" or not self.days

    @property
    def weekdays(self) -> tuple[int, ...] | None:
        """Weekdays of the days, None where a day names none or two days share one."""
        found = tuple(day.weekday for day in self.days if day.weekday is not None)
        return found if len(found) == len(self.days) == len(set(found)) else None

    @property
    def has_weekdays(self) -> bool:
        """Whether any day names a weekday."""
        return any(day.weekday is not None for day in self.days)

    @property
    def n_sets(self) -> int:
        """Working sets of the week."""
        return sum(exercise.sets for day in self.days for exercise in day.exercises)

    def weekly_sets(self, max_rir: float) -> tuple[dict[str, float], dict[str, float]]:
        """Direct and fractional hard sets a week, by muscle."""
        return (
            add_up(day.direct_sets(max_rir) for day in self.days),
            add_up(day.fractional_sets(max_rir) for day in self.days),
        )


def add_up(parts: Iterable[Mapping[str, float]]) -> dict[str, float]:
    """The sum of several maps from muscle to sets."""
    total: dict[str, float] = {}
    for part in parts:
        for muscle, sets in part.items():
            total[muscle] = total.get(muscle, 0.0) + sets
    return total


def superset_group(label: str | None) -> str:
    """The group of a superset label: A1 and A2 are A, 1a and 1b are 1; "" for none."""
    bare = re.sub(r"[^a-z0-9]", "", (label or "").lower())
    lettered = re.fullmatch(r"([a-z]+)\d+", bare) or re.fullmatch(r"(\d+)[a-z]", bare)
    return lettered.group(1).upper() if lettered else bare.upper()


def parse_tempo(text: str | None) -> float | None:
    """Seconds of one repetition of a tempo such as 3-1-1-0, 3110 or 3-1-X (X: as fast as possible, 1 s)."""
    parts = re.findall(
        r"\d+|[xX]", (text or "") if re.search(r"[^0-9xX]", text or "") else " ".join(text or "")
    )
    if not 3 <= len(parts) <= 4 or any(part.isdigit() and int(part) > 20 for part in parts):
        return None
    return float(sum(1 if part in "xX" else int(part) for part in parts)) or None


def read_catalogue(con: duckdb.DuckDBPyConnection) -> dict[str, ExerciseFacts]:
    """Facts of every exercise by id, from `exercise` and `exercise_muscle`."""
    muscles: dict[str, dict[str, float]] = {}
    for exercise_id, muscle, credit in con.execute(
        "select exercise_id, muscle, credit from exercise_muscle where credit > 0"
        " order by credit desc, muscle"
    ).fetchall():
        muscles.setdefault(exercise_id, {})[muscle] = credit
    return {
        row[0]: ExerciseFacts(
            row[0],
            row[1] or row[0],
            row[2] or "other",
            row[3] or "other",
            row[4] or "total",
            bool(row[5]),
            bool(row[6]),
            muscles.get(row[0], {}),
        )
        for row in con.execute(
            "select exercise_id, exercise_name, pattern, implement, load_basis, is_one_sided,"
            " is_timed from exercise"
        ).fetchall()
    }


def read_versions(con: duckdb.DuckDBPyConnection) -> list[PlanVersion]:
    """Every plan version, by client and first day, from `plan_slot`, `client` and the catalogue."""
    catalogue = read_catalogue(con)
    clients = {
        client_id: (goal, status)
        for client_id, goal, status in con.execute(
            "select client_id, coalesce(goal, ''), coalesce(status, '') from client"
        ).fetchall()
    }
    reader = con.execute(
        "select client_id, coalesce(plan, '') as plan, valid_from, valid_to, coalesce(phase, '') as phase,"
        " day, weekday, slot, exercise_id, exercise_name, sets, rep_low, rep_high, target_rir, superset,"
        " rest_s, alternatives, duration_low_s, duration_high_s, tempo from plan_slot"
        " order by client_id, valid_from, plan, coalesce(weekday, 8), day, slot, source_row"
    )
    columns = [column[0] for column in reader.description]
    rows = [dict(zip(columns, row, strict=True)) for row in reader.fetchall()]
    groups: dict[tuple[str, date, str], list[dict[str, Any]]] = {}
    for row in rows:
        groups.setdefault((row["client_id"], row["valid_from"], row["plan"]), []).append(row)
    return [_version(key, group, catalogue, clients) for key, group in groups.items()]


def _version(
    key: tuple[str, date, str],
    rows: list[dict[str, Any]],
    catalogue: Mapping[str, ExerciseFacts],
    clients: Mapping[str, tuple[str, str]],
) -> PlanVersion:
    client_id, valid_from, plan = key
    ends = [row["valid_to"] for row in rows if row["valid_to"] is not None]
    days: dict[tuple[int | None, str], list[PlannedExercise]] = {}
    for row in rows:
        if row["exercise_id"] and (row["sets"] or 0) > 0 and row["phase"] != "break":
            days.setdefault((row["weekday"], row["day"]), []).append(_exercise(row, catalogue))
    return PlanVersion(
        client_id,
        plan,
        valid_from,
        max(ends) if ends else None,
        min(row["phase"] for row in rows),
        tuple(PlanDay(name, weekday, tuple(exercises)) for (weekday, name), exercises in days.items()),
        *clients.get(client_id, ("", "")),
    )


def _stated_end(row: Mapping[str, Any]) -> int | None:
    """The upper end of the range; none where the plan says 8+ (kept as 8 to 100)."""
    high: int | None = row["rep_high"]
    return None if high is not None and high >= OPEN_REPS and high != row["rep_low"] else high


def _exercise(row: Mapping[str, Any], catalogue: Mapping[str, ExerciseFacts]) -> PlannedExercise:
    facts = catalogue.get(row["exercise_id"]) or ExerciseFacts(row["exercise_id"], row["exercise_name"] or "")
    alternatives = tuple(part.strip() for part in (row["alternatives"] or "").split(";") if part.strip())
    return PlannedExercise(
        facts,
        row["slot"] or 1,
        row["sets"],
        row["rep_low"],
        _stated_end(row),
        row["target_rir"],
        superset_group(row["superset"]),
        row["rest_s"],
        alternatives,
        row["duration_low_s"],
        row["duration_high_s"],
        parse_tempo(row["tempo"]),
    )
