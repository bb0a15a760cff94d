"""How demanding a session is, and whether two sessions on following days interfere."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from pipeline.analyse.plan.versions import PlanDay, PlannedExercise
from pipeline.reference.plan_rules import PlanRule


@dataclass(frozen=True)
class Demand:
    """The figures by which sessions are judged, taken from the rules hard_days_in_a_row and days_between."""

    hard_session_sets: float
    max_rir: float
    heavy_weight: float
    heavy_patterns: tuple[str, ...]
    same_muscle_sets: float
    same_pattern_max_reps: float
    quick_muscles: tuple[str, ...]
    hard_max_rir: float

    @classmethod
    def of(cls, hard_days: PlanRule, days_between: PlanRule, hard_max_rir: float) -> Demand:
        """The figures of the two rules."""
        return cls(
            hard_days.number("hard_session_sets"),
            hard_days.number("demanding_max_rir"),
            hard_days.number("heavy_pattern_weight"),
            hard_days.words("heavy_patterns"),
            hard_days.number("same_muscle_sets"),
            hard_days.number("same_pattern_max_reps"),
            days_between.words("quick_muscles"),
            hard_max_rir,
        )


@dataclass(frozen=True)
class Interference:
    """What two sessions ask of the same body: muscles trained directly in both, movements at load in both."""

    muscles: tuple[str, ...]
    patterns: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.muscles or self.patterns)


def demanding_sets(day: PlanDay, demand: Demand) -> float:
    """Sets of multi-joint lifts near failure; squats, hinges and Olympic lifts count `heavy_weight` times."""
    return sum(
        exercise.sets * (demand.heavy_weight if exercise.facts.pattern in demand.heavy_patterns else 1.0)
        for exercise in day.exercises
        if exercise.facts.is_multi_joint and exercise.is_hard(demand.max_rir)
    )


def is_hard_session(day: PlanDay, demand: Demand) -> bool:
    """Whether the session's demanding sets reach the figure from which a session is hard."""
    return demanding_sets(day, demand) >= demand.hard_session_sets


def interference(one: PlanDay, other: PlanDay, demand: Demand) -> Interference:
    """The muscles and movements that both sessions tax; muscles that recover quickly are left out."""
    first, second = one.direct_sets(demand.hard_max_rir), other.direct_sets(demand.hard_max_rir)
    muscles = tuple(
        muscle
        for muscle, sets in first.items()
        if muscle not in demand.quick_muscles
        and min(sets, second.get(muscle, 0.0)) >= demand.same_muscle_sets
    )
    heavy_too = {e.facts.pattern for e in other.exercises if _is_at_load(e, demand)}
    patterns = dict.fromkeys(e.facts.pattern for e in one.exercises if _is_at_load(e, demand))
    return Interference(muscles, tuple(pattern for pattern in patterns if pattern in heavy_too))


def _is_at_load(exercise: PlannedExercise, demand: Demand) -> bool:
    return (
        exercise.facts.is_multi_joint
        and exercise.is_hard(demand.max_rir)
        and exercise.rep_high is not None
        and exercise.rep_high <= demand.same_pattern_max_reps
    )


def shared_sets(one: PlanDay, other: PlanDay, demand: Demand) -> float:
    """Sets × credit that both sessions ask of the same muscles: how much they are in each other's way."""
    first, second = one.fractional_sets(demand.hard_max_rir), other.fractional_sets(demand.hard_max_rir)
    return sum(
        min(sets, second.get(muscle, 0.0))
        for muscle, sets in first.items()
        if muscle not in demand.quick_muscles
    )


def neighbours(weekdays: tuple[int, ...]) -> list[tuple[int, int, int]]:
    """Following sessions of a week that repeats: (place, place of the next one, days between), by weekday.

    Example: Monday, Tuesday, Friday: (0, 1, 1), (1, 2, 3), (2, 0, 3). One session: it comes round after 7.
    """
    order = sorted(range(len(weekdays)), key=lambda place: weekdays[place])
    if not order:
        return []
    found = [(a, b, weekdays[b] - weekdays[a]) for a, b in pairwise(order)]
    return [*found, (order[-1], order[0], weekdays[order[0]] + 7 - weekdays[order[-1]])]
