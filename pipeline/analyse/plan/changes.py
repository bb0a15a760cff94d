"""What changed from one plan version to the next, as `plan_change`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.analyse.plan.audit import with_previous
from pipeline.analyse.plan.versions import WEEKDAYS, PlannedExercise, PlanVersion, read_versions
from pipeline.analyse.plan.wording import capital, figure, muscle_word
from pipeline.contract import TABLES
from pipeline.contract.frames import frame_of


@dataclass(frozen=True)
class Change:
    """One change: its kind (a value of plan_change.kind), where, before and after as texts, the
    difference."""

    kind: str
    place: str
    before: str
    after: str
    figure: float | None
    unit: str
    sentence: str


def compare_versions(before: PlanVersion, after: PlanVersion, hard_max_rir: float) -> list[Change]:
    """What is different in `after`: days, exercises, sets, repetitions, effort, rest, weekly sets a muscle.

    An exercise is matched by day, then wherever it went; one that stands twice a day is matched in order.
    """
    return [
        *_day_changes(before, after),
        *_exercise_changes(before, after),
        *_muscle_changes(before, after, hard_max_rir),
    ]


def _day_changes(before: PlanVersion, after: PlanVersion) -> Iterator[Change]:
    old = {day.name: day for day in before.days}
    new = {day.name: day for day in after.days}
    for name, day in new.items():
        if name not in old:
            yield Change("day", name, "", _weekday(day.weekday), 1.0, "days", f"{name} is new.")
        elif day.weekday != old[name].weekday:
            was, now = _weekday(old[name].weekday), _weekday(day.weekday)
            yield Change("day", name, was, now, None, "", f"{name} moves from {was} to {now}.")
    for name, day in old.items():
        if name not in new:
            yield Change("day", name, _weekday(day.weekday), "", -1.0, "days", f"{name} is no longer there.")


def _weekday(weekday: int | None) -> str:
    return "any day" if weekday is None else WEEKDAYS[weekday - 1]


_Placed = tuple[str, PlannedExercise]


def _exercise_changes(before: PlanVersion, after: PlanVersion) -> Iterator[Change]:
    old = [(day.name, exercise) for day in before.days for exercise in day.exercises]
    new = [(day.name, exercise) for day in after.days for exercise in day.exercises]
    pairs = _paired(old, new)
    for place, exercise in new:
        was = pairs.pop(id(exercise), None)
        if was is None:
            yield Change(
                "added",
                f"{place}: {exercise.name}",
                "",
                _dose(exercise),
                float(exercise.sets),
                "sets",
                f"{place}: {exercise.name} is new ({_dose(exercise)}).",
            )
            continue
        old.remove(was)
        if was[0] != place:
            yield Change(
                "moved",
                exercise.name,
                was[0],
                place,
                None,
                "",
                f"{exercise.name} moves from {was[0]} to {place}.",
            )
        yield from _dose_changes(f"{place}: {exercise.name}", was[1], exercise)
    for place, exercise in old:
        yield Change(
            "removed",
            f"{place}: {exercise.name}",
            _dose(exercise),
            "",
            -float(exercise.sets),
            "sets",
            f"{place}: {exercise.name} is no longer there ({_dose(exercise)}).",
        )


def _paired(old: list[_Placed], new: list[_Placed]) -> dict[int, _Placed]:
    """For each new exercise, by identity, the old one it continues: the same day first, then any day."""
    free = list(old)
    pairs: dict[int, _Placed] = {}
    for same_day in (True, False):
        for place, exercise in new:
            if id(exercise) in pairs:
                continue
            match = next(
                (
                    one
                    for one in free
                    if one[1].facts.exercise_id == exercise.facts.exercise_id
                    and (one[0] == place or not same_day)
                ),
                None,
            )
            if match is not None:
                pairs[id(exercise)] = match
                free.remove(match)
    return pairs


def _dose_changes(place: str, was: PlannedExercise, now: PlannedExercise) -> Iterator[Change]:
    if was.sets != now.sets:
        yield Change(
            "sets",
            place,
            str(was.sets),
            str(now.sets),
            float(now.sets - was.sets),
            "sets",
            f"{place}: {now.sets} sets instead of {was.sets}.",
        )
    if (was.rep_low, was.rep_high) != (now.rep_low, now.rep_high):
        yield Change(
            "repetitions",
            place,
            _span(was),
            _span(now),
            _middle(now) - _middle(was),
            "repetitions",
            f"{place}: {_span(now)} repetitions instead of {_span(was)}.",
        )
    if was.target_rir != now.target_rir:
        old, new = ("no target" if rir is None else figure(rir) for rir in (was.target_rir, now.target_rir))
        known = was.target_rir is not None and now.target_rir is not None
        yield Change(
            "effort",
            place,
            old,
            new,
            (now.target_rir or 0) - (was.target_rir or 0) if known else None,
            "repetitions in reserve",
            f"{place}: {new} in reserve instead of {old}.",
        )
    if was.rest_s != now.rest_s:
        old, new = (
            "not stated" if rest is None else f"{figure(rest)} s" for rest in (was.rest_s, now.rest_s)
        )
        known = was.rest_s is not None and now.rest_s is not None
        yield Change(
            "rest",
            place,
            old,
            new,
            (now.rest_s or 0) - (was.rest_s or 0) if known else None,
            "s",
            f"{place}: rest {new} instead of {old}.",
        )


def _muscle_changes(before: PlanVersion, after: PlanVersion, hard_max_rir: float) -> Iterator[Change]:
    old, new = before.weekly_sets(hard_max_rir)[1], after.weekly_sets(hard_max_rir)[1]
    for muscle in sorted({*old, *new}):
        was, now = old.get(muscle, 0.0), new.get(muscle, 0.0)
        if was != now:
            yield Change(
                "muscle",
                muscle,
                figure(was),
                figure(now),
                now - was,
                "sets a week",
                f"{capital(muscle_word(muscle))}: {figure(now)} weekly sets instead of {figure(was)}.",
            )


def _span(exercise: PlannedExercise) -> str:
    low, high = exercise.rep_low, exercise.rep_high
    if low is None:
        return "no stated"
    return f"{low} or more" if high is None else str(low) if low == high else f"{low} to {high}"


def _middle(exercise: PlannedExercise) -> float:
    return ((exercise.rep_low or 0) + (exercise.rep_high or exercise.rep_low or 0)) / 2


def _dose(exercise: PlannedExercise) -> str:
    sets = f"{exercise.sets} {'set' if exercise.sets == 1 else 'sets'}"
    return sets if exercise.rep_low is None else f"{sets} of {_span(exercise)}"


def build_plan_change(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`plan_change`: every version against the client's training version before it."""
    row = con.execute("select hard_set_max_rir from setting").fetchone()
    hard_max_rir = float(row[0]) if row else 4.0
    rows: list[dict[str, object]] = []
    for version, previous in with_previous(read_versions(con)):
        if previous is None or version.is_break:
            continue
        rows.extend(
            {
                "client_id": version.client_id,
                "plan": version.plan or None,
                "valid_from": version.valid_from,
                "previous_valid_from": previous.valid_from,
                "kind": one.kind,
                "place": one.place,
                "before": one.before,
                "after": one.after,
                "figure": one.figure,
                "unit": one.unit or None,
                "sentence": one.sentence,
            }
            for one in compare_versions(previous, version, hard_max_rir)
        )
    return frame_of(TABLES["plan_change"], rows)
