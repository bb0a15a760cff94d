"""Small plans for the tests of the audit: exercises by short name, days from a few words."""

from dataclasses import replace
from datetime import date

from pipeline.analyse.plan.findings import AuditSetting
from pipeline.analyse.plan.versions import ExerciseFacts, PlanDay, PlannedExercise, PlanVersion
from pipeline.reference.plan_rules import changed_plan_rules

EXERCISES = {
    facts.exercise_id: facts
    for facts in (
        ExerciseFacts("bench", "Bench", "horizontal_press", "barbell", muscles={"chest": 1, "triceps": 0.5}),
        ExerciseFacts(
            "press", "Press", "overhead_press", "barbell", muscles={"front_delts": 1, "triceps": 0.5}
        ),
        ExerciseFacts("row", "Row", "row", "barbell", muscles={"upper_back": 1, "biceps": 0.5}),
        ExerciseFacts("pulldown", "Pulldown", "vertical_pull", "cable", muscles={"lats": 1, "biceps": 0.5}),
        ExerciseFacts("squat", "Squat", "squat", "barbell", muscles={"quads": 1, "glutes": 0.5}),
        ExerciseFacts("hinge", "Hinge", "hip_hinge", "barbell", muscles={"hamstrings": 1, "glutes": 1}),
        ExerciseFacts("curl", "Curl", "isolation", "dumbbell", "per_hand", muscles={"biceps": 1}),
        ExerciseFacts("pushdown", "Pushdown", "isolation", "cable", muscles={"triceps": 1}),
        ExerciseFacts("fly", "Fly", "isolation", "cable", muscles={"chest": 1}),
        ExerciseFacts("raise", "Raise", "isolation", "dumbbell", "per_hand", muscles={"side_delts": 1}),
        ExerciseFacts("plank", "Plank", "core", "bodyweight", "none", is_timed=True, muscles={"abs": 1}),
        ExerciseFacts(
            "split", "Split Squat", "lunge", "dumbbell", "per_hand", is_one_sided=True, muscles={"quads": 1}
        ),
    )
}


def planned(name, sets=3, low=8, high=12, **other):
    return PlannedExercise(
        EXERCISES[name], other.pop("slot", 1), sets, low, high, other.pop("rir", 2.0), **other
    )


def plan_day(name, weekday, *exercises):
    return PlanDay(name, weekday, tuple(replace(e, slot=n) for n, e in enumerate(exercises, 1)))


def version(*days, **other):
    return PlanVersion(
        "amara",
        "Plan",
        other.pop("start", date(2026, 6, 1)),
        other.pop("end", None),
        other.pop("phase", "build"),
        tuple(days),
        other.pop("goal", ""),
        other.pop("status", ""),
    )


def setting(targets=None, previous=None, **changes):
    return AuditSetting(changed_plan_rules(changes), targets or {}, 4.0, EXERCISES, previous)
