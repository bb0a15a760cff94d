"""How long a planned session lasts, as a range, and what supersets save."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.analyse.plan.versions import PlanDay, PlannedExercise
from pipeline.reference.plan_rules import PlanRule


@dataclass(frozen=True)
class SessionLength:
    """Least and most minutes, and the same were nothing paired."""

    low_min: float
    high_min: float
    unpaired_low_min: float
    unpaired_high_min: float

    @property
    def middle_min(self) -> float:
        """Middle of the range."""
        return (self.low_min + self.high_min) / 2


def paired_groups(day: PlanDay) -> dict[str, list[PlannedExercise]]:
    """Superset label → its exercises, where there are at least two."""
    groups: dict[str, list[PlannedExercise]] = {}
    for exercise in day.exercises:
        if exercise.superset:
            groups.setdefault(exercise.superset, []).append(exercise)
    return {label: members for label, members in groups.items() if len(members) > 1}


def session_length(day: PlanDay, rule: PlanRule) -> SessionLength:
    """How long does this session last?

        warm-up + Σ sets × (repetitions × tempo + rest) + transitions

    in minutes; the rest of paired exercises counts `paired_rest_share` (a half: Iversen et al. 2021). Low
    end: least repetitions, quick tempo, short warm-up and transitions; a planned rest is taken as planned at
    both ends. One side at a time: both sides' repetitions count. Example: one exercise, 3 × 8–12, rest 120 s,
    by the usual figures: 5 + 3 × (8 × 3 + 120)/60 = 12.2 to 10 + 3 × (12 × 4 + 120)/60 = 18.4.
    """
    paired = {exercise.slot for members in paired_groups(day).values() for exercise in members}
    share = rule.number("paired_rest_share")
    ends = []
    for end in ("low", "high"):
        work = sum(e.sets * set_s(e, rule, end) for e in day.exercises)
        rest = sum(e.sets * rest_s(e, rule, end) for e in day.exercises)
        saved = sum(e.sets * rest_s(e, rule, end) * (1 - share) for e in day.exercises if e.slot in paired)
        fixed = rule.number(f"warm_up_{end}_min") + rule.number(f"transition_{end}_min") * max(
            len(day.exercises) - 1, 0
        )
        ends.append((fixed + (work + rest - saved) / 60, fixed + (work + rest) / 60))
    (low, unpaired_low), (high, unpaired_high) = ends
    return SessionLength(low, high, unpaired_low, unpaired_high)


def set_s(exercise: PlannedExercise, rule: PlanRule, end: str) -> float:
    """Seconds under one set, at the low or high end."""
    if exercise.facts.is_timed or (exercise.rep_low is None and exercise.duration_low_s is not None):
        planned = exercise.duration_low_s if end == "low" else exercise.duration_high_s
        seconds = planned if planned is not None else rule.number(f"hold_{end}_s")
    else:
        planned_reps = exercise.rep_low if end == "low" else exercise.rep_high or exercise.rep_low
        reps = planned_reps or (8 if end == "low" else 12)
        seconds = reps * (exercise.tempo_s or rule.number(f"rep_{end}_s"))
    return seconds * (2 if exercise.facts.is_one_sided else 1)


def rest_s(exercise: PlannedExercise, rule: PlanRule, end: str) -> float:
    """Seconds of rest after one set: as planned, else the usual range."""
    return exercise.rest_s if exercise.rest_s is not None else rule.number(f"rest_{end}_s")


def pairing_saves_min(one: PlannedExercise, other: PlannedExercise, rule: PlanRule) -> float:
    """Minutes saved by doing two exercises in turn, for the sets both have; rests as planned or in the
    middle.

    Example: 3 sets with 75 s and 3 with 75 s, half the rest saved: 3 × 75 s = 3.75 min.
    """

    def middle(exercise: PlannedExercise) -> float:
        return (rest_s(exercise, rule, "low") + rest_s(exercise, rule, "high")) / 2

    sets = min(one.sets, other.sets)
    return sets * (middle(one) + middle(other)) * (1 - rule.number("paired_rest_share")) / 60
