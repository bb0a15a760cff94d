"""The exercises of the demo: how strong people are at them, how loads step, how clients spell them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Basis = Literal["barbell", "dumbbell", "stack", "bodyweight", "assisted", "pin", "band", "timed"]


@dataclass(frozen=True)
class Lift:
    """One exercise. `ratio` is the e1RM of an ordinary trained client as a share of bodyweight.

    `share` is the part of bodyweight that is moved, `step_kg` and `step_lb` the usual load step (per hand
    for dumbbells). `spellings` are ordinary ways of writing it, the first the most usual.
    """

    lift_id: str
    ratio: float
    basis: Basis
    step_kg: float
    step_lb: float
    spellings: tuple[str, ...]
    share: float = 0.0
    is_one_sided: bool = False


def _lift(
    lift_id: str,
    ratio: float,
    basis: Basis,
    step_kg: float,
    step_lb: float,
    *spellings: str,
    share: float = 0.0,
    is_one_sided: bool = False,
) -> Lift:
    return Lift(lift_id, ratio, basis, step_kg, step_lb, spellings, share, is_one_sided)


LIFTS: dict[str, Lift] = {
    lift.lift_id: lift
    for lift in (
        _lift("back_squat", 1.45, "barbell", 2.5, 5, "Back Squat", "Squat", "BB Squat", "back squats"),
        _lift("front_squat", 1.15, "barbell", 2.5, 5, "Front Squat", "Front squats"),
        _lift(
            "bench_press", 1.05, "barbell", 2.5, 5, "Bench Press", "Bench", "BB Bench", "Barbell Bench Press"
        ),
        _lift("incline_bench_press", 0.85, "barbell", 2.5, 5, "Incline Bench Press", "Incline Bench"),
        _lift("deadlift", 1.75, "barbell", 2.5, 5, "Deadlift", "DL", "Conventional Deadlift", "deadlifts"),
        _lift(
            "romanian_deadlift", 1.25, "barbell", 2.5, 5, "Romanian Deadlift", "RDL", "RDLs", "Romanian DL"
        ),
        _lift("overhead_press", 0.68, "barbell", 2.5, 5, "Overhead Press", "OHP", "Standing Overhead Press"),
        _lift(
            "barbell_row", 0.95, "barbell", 2.5, 5, "Barbell Row", "BB Row", "Bent Over Row", "Bent-over row"
        ),
        _lift("hip_thrust", 1.70, "barbell", 5, 10, "Hip Thrust", "Barbell Hip Thrust", "Hip thrusts"),
        _lift(
            "close_grip_bench_press",
            0.90,
            "barbell",
            2.5,
            5,
            "Close-Grip Bench Press",
            "CGBP",
            "Close grip bench",
        ),
        _lift(
            "dumbbell_bench_press",
            0.40,
            "dumbbell",
            2,
            5,
            "Dumbbell Bench Press",
            "DB Bench",
            "DB Bench Press",
        ),
        _lift(
            "incline_dumbbell_press",
            0.35,
            "dumbbell",
            2,
            5,
            "Incline Dumbbell Press",
            "Incline DB Press",
            "Incl. DB Press",
        ),
        _lift(
            "dumbbell_shoulder_press", 0.28, "dumbbell", 2, 5, "Dumbbell Shoulder Press", "DB Shoulder Press"
        ),
        _lift(
            "one_arm_dumbbell_row",
            0.45,
            "dumbbell",
            2,
            5,
            "One-Arm Dumbbell Row",
            "1-arm DB row",
            "Single Arm DB Row",
            is_one_sided=True,
        ),
        _lift(
            "bulgarian_split_squat",
            0.34,
            "dumbbell",
            2,
            5,
            "Bulgarian Split Squat",
            "BSS",
            "Bulgarian split squats",
            is_one_sided=True,
        ),
        _lift("goblet_squat", 0.48, "dumbbell", 2, 5, "Goblet Squat", "Goblet squats"),
        _lift(
            "lateral_raise",
            0.16,
            "dumbbell",
            1,
            2.5,
            "Lateral Raise",
            "DB Lateral Raise",
            "Lat raises",
            "Side raise",
        ),
        _lift("dumbbell_curl", 0.23, "dumbbell", 1, 2.5, "Dumbbell Curl", "DB Curl", "DB curls"),
        _lift("hammer_curl", 0.24, "dumbbell", 1, 2.5, "Hammer Curl", "Hammer curls"),
        _lift("lat_pulldown", 0.95, "stack", 2.5, 5, "Lat Pulldown", "Lat Pull-down", "Pulldown"),
        _lift("seated_cable_row", 0.95, "stack", 2.5, 5, "Seated Cable Row", "Cable Row", "Seated row"),
        _lift("quay_wall_row", 0.42, "stack", 2.5, 5, "Quay Wall Row", "Wall row", "QWR", is_one_sided=True),
        _lift("leg_press", 2.60, "stack", 5, 10, "Leg Press", "Leg press (45°)", "legpress"),
        _lift("leg_curl", 0.62, "stack", 2.5, 5, "Leg Curl", "Lying Leg Curl", "Ham curl"),
        _lift("leg_extension", 0.85, "stack", 2.5, 5, "Leg Extension", "Leg Ext", "Leg extensions"),
        _lift(
            "triceps_pushdown",
            0.45,
            "stack",
            1.25,
            2.5,
            "Triceps Pushdown",
            "Tricep Pushdown",
            "Rope pushdown",
        ),
        _lift("face_pull", 0.38, "stack", 1.25, 2.5, "Face Pull", "Facepulls", "Face pulls"),
        _lift("cable_fly", 0.24, "stack", 1.25, 2.5, "Cable Fly", "Cable flyes", "Cable Flys"),
        _lift(
            "standing_calf_raise", 1.30, "stack", 5, 10, "Standing Calf Raise", "Calf Raise", "Calf raises"
        ),
        _lift("pull_up", 1.28, "bodyweight", 2.5, 5, "Pull-up", "Pull Up", "Pullups", share=1.0),
        _lift("chin_up", 1.32, "bodyweight", 2.5, 5, "Chin-up", "Chins", "Chin up", share=1.0),
        _lift("dip", 1.42, "bodyweight", 2.5, 5, "Dip", "Dips", "Bar dips", share=1.0),
        _lift("push_up", 0.90, "bodyweight", 0, 0, "Push-up", "Push ups", "Pushups", share=0.64),
        _lift(
            "assisted_pull_up", 1.05, "assisted", 5, 10, "Assisted Pull-up", "Assisted pull ups", share=1.0
        ),
        _lift("chest_press_machine", 0.90, "pin", 1, 1, "Machine Chest Press", "Chest press machine"),
        _lift("band_pull_apart", 0.0, "band", 0, 0, "Band Pull-Apart", "Band pull aparts"),
        _lift("plank", 0.0, "timed", 5, 5, "Plank", "Planks", "Front plank"),
    )
}
