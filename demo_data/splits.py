"""The coach's training splits: which exercises on which day, how many sets, in which role."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

Role = Literal["main", "accessory", "isolation", "timed"]

# repetition range, repetitions in reserve aimed at, rest in seconds, by role [P]
ROLE_REPS: dict[Role, tuple[int, int]] = {
    "main": (5, 8),
    "accessory": (8, 12),
    "isolation": (10, 15),
    "timed": (1, 1),
}
ROLE_RIR: dict[Role, int] = {"main": 2, "accessory": 2, "isolation": 1, "timed": 3}
ROLE_REST_S: dict[Role, int] = {"main": 180, "accessory": 120, "isolation": 75, "timed": 60}


@dataclass(frozen=True)
class Slot:
    """A planned exercise; `alternatives` are lift ids that may stand in."""

    lift_id: str
    role: Role
    sets: int
    superset: str = ""
    alternatives: tuple[str, ...] = ()


@dataclass(frozen=True)
class Day:
    """A training day on a weekday, 1 Monday … 7 Sunday."""

    name: str
    weekday: int
    slots: tuple[Slot, ...]


_ROLES: dict[str, Role] = {"m": "main", "a": "accessory", "i": "isolation", "t": "timed"}


def _day(name: str, weekday: int, text: str) -> Day:
    """A day from lines such as `back_squat m3` or `dumbbell_curl i3 A hammer_curl`.

    The words are the lift, role and sets, the superset (. for none), the alternatives.
    """
    slots = []
    for line in text.strip().splitlines():
        lift_id, code, *rest = line.split()
        superset = rest[0] if rest and rest[0] != "." else ""
        others = tuple(rest[1:])
        slots.append(Slot(lift_id, _ROLES[code[0]], int(code[1:]), superset, others))
    return Day(name, weekday, tuple(slots))


UPPER_LOWER = (
    _day(
        "Upper A",
        1,
        """bench_press m4
        barbell_row m4 . seated_cable_row
        dumbbell_shoulder_press a3 . overhead_press
        lat_pulldown a3 . pull_up
        lateral_raise i3 A
        triceps_pushdown i3 A""",
    ),
    _day(
        "Lower A",
        2,
        """back_squat m4 . front_squat
        romanian_deadlift a3
        leg_press a3
        leg_curl i3
        standing_calf_raise i3""",
    ),
    _day(
        "Upper B",
        4,
        """overhead_press m3
        lat_pulldown a4 . pull_up
        incline_dumbbell_press a3
        seated_cable_row a3
        dumbbell_curl i3 A hammer_curl
        face_pull i3 A""",
    ),
    _day(
        "Lower B",
        5,
        """deadlift m3
        leg_press a3
        leg_extension i3
        leg_curl i3
        plank t3""",
    ),
)
FULL_BODY = (
    _day(
        "Day 1",
        1,
        """back_squat m3
        bench_press m3
        seated_cable_row a3 . one_arm_dumbbell_row
        lateral_raise i3 A
        plank t3 A""",
    ),
    _day(
        "Day 2",
        3,
        """deadlift m3
        overhead_press m3
        lat_pulldown a3
        leg_curl i3
        dumbbell_curl i2""",
    ),
    _day(
        "Day 3",
        5,
        """leg_press a3
        dumbbell_bench_press a3
        one_arm_dumbbell_row a3
        romanian_deadlift a3
        triceps_pushdown i2""",
    ),
)
BEGINNER = (
    _day(
        "Session A",
        1,
        """goblet_squat a3
        push_up a3
        lat_pulldown a3
        romanian_deadlift a3
        plank t2""",
    ),
    _day(
        "Session B",
        3,
        """leg_press a3
        dumbbell_bench_press a3
        seated_cable_row a3
        lateral_raise i2
        leg_curl i2""",
    ),
    _day(
        "Session C",
        5,
        """goblet_squat a3
        dumbbell_shoulder_press a3
        one_arm_dumbbell_row a3
        hip_thrust a3
        dumbbell_curl i2""",
    ),
)
STRENGTH = (
    _day(
        "Squat day",
        1,
        """back_squat m5
        romanian_deadlift a3
        leg_press a3
        leg_curl i3""",
    ),
    _day(
        "Bench day",
        2,
        """bench_press m5
        barbell_row a4
        dip a3
        lateral_raise i3
        triceps_pushdown i3""",
    ),
    _day(
        "Deadlift day",
        4,
        """deadlift m4
        front_squat a3
        chin_up a3
        leg_extension i3""",
    ),
    _day(
        "Press day",
        6,
        """overhead_press m4
        close_grip_bench_press a3
        pull_up a4
        face_pull i3
        hammer_curl i3""",
    ),
)
HOME_AND_MACHINES = (
    _day(
        "Monday",
        1,
        """leg_press a3
        chest_press_machine a3
        assisted_pull_up a3
        leg_curl i3
        band_pull_apart i2""",
    ),
    _day(
        "Wednesday",
        3,
        """goblet_squat a3
        dumbbell_shoulder_press a3
        seated_cable_row a3
        lateral_raise i2
        plank t2""",
    ),
    _day(
        "Saturday",
        6,
        """leg_press a3
        dumbbell_bench_press a3
        lat_pulldown a3
        hip_thrust a3
        band_pull_apart i2""",
    ),
)
GLUTE_FOCUS = (
    _day(
        "Lower 1",
        1,
        """hip_thrust m4
        bulgarian_split_squat a3
        leg_curl i3
        leg_extension i3""",
    ),
    _day(
        "Upper 1",
        2,
        """dumbbell_bench_press a3
        lat_pulldown a4
        lateral_raise i4 A
        dumbbell_curl i3 A""",
    ),
    _day(
        "Lower 2",
        4,
        """back_squat m4
        romanian_deadlift a4
        leg_press a3
        standing_calf_raise i3""",
    ),
    _day(
        "Upper 2",
        6,
        """dumbbell_shoulder_press a3
        seated_cable_row a4
        push_up a3
        face_pull i3 A
        triceps_pushdown i3 A""",
    ),
)
MORNINGS = tuple(
    replace(
        day,
        slots=tuple(
            replace(slot, lift_id="quay_wall_row") if slot.lift_id == "one_arm_dumbbell_row" else slot
            for slot in day.slots
        ),
    )
    for day in FULL_BODY
)
SPLITS: dict[str, tuple[Day, ...]] = {
    "Upper/Lower": UPPER_LOWER,
    "Full body": FULL_BODY,
    "Mornings": MORNINGS,
    "First steps": BEGINNER,
    "Strength four": STRENGTH,
    "Home and machines": HOME_AND_MACHINES,
    "Glutes and shoulders": GLUTE_FOCUS,
}
