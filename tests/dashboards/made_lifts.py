"""What the invented clients of the dashboard tests have in common: lifts, days, words, a row."""

from __future__ import annotations

import datetime as dt
from typing import Any

AS_OF = dt.date(2025, 6, 29)
DAYS = (("Push A", 1), ("Pull A", 3), ("Legs", 5))
LIFTS = {
    # exercise_id: (name, planned day, first e1RM kg, sets, rep_low, rep_high, direct, indirect)
    "bench_press": ("Bench press", "Push A", 90.0, 4, 5, 8, ("chest",), ("triceps", "front_delts")),
    "overhead_press": (
        "Overhead press",
        "Push A",
        60.0,
        3,
        6,
        10,
        ("front_delts",),
        ("triceps", "side_delts"),
    ),
    "lateral_raise": ("Lateral raise", "Push A", 16.0, 3, 10, 15, ("side_delts",), ()),
    "barbell_row": (
        "Barbell row",
        "Pull A",
        85.0,
        4,
        6,
        10,
        ("upper_back", "lats"),
        ("biceps", "rear_delts"),
    ),
    "biceps_curl": ("Biceps curl", "Pull A", 40.0, 3, 10, 15, ("biceps",), ()),
    "back_squat": ("Back squat", "Legs", 120.0, 4, 5, 8, ("quads",), ("glutes", "adductors")),
    "romanian_deadlift": (
        "Romanian deadlift",
        "Legs",
        110.0,
        3,
        6,
        10,
        ("glutes", "hamstrings"),
        ("spinal_erectors",),
    ),
}
REASONS = {
    "progressing": "Pooled strength rises 0.6 % a week (90 %: 0.3 to 0.9) over 9 weeks on 6 lifts.",
    "plateau": "Pooled strength flat for 7 weeks (0.0 % a week, 90 %: −0.2 to 0.2) at 96 % attendance.",
    "over_reaching": "Five of six lifts down 4.1 % in two weeks, effort up 1.2 at matched work, sleep 5.9 h.",
    "off_plan": "3 of 12 planned sessions done in four weeks; nothing excused.",
    "planned_deload": "Deload week of the plan: volume down 45 % as planned.",
    "returning": "Second week back after 18 days away; loads at 92 % of before.",
    "steady": "Strength changes by less than its error (0.1 % a week, 90 %: −0.3 to 0.5).",
    "not_enough_data": "Five sessions so far: too few to tell a trend from noise.",
    "no_recent_log": "No log for 19 days; the last came on 10 June.",
}
FIRST_NAMES = ("Mara", "Jonas", "Ines", "Tobi", "Aiko", "Leila", "Pavel", "Sunniva", "Odile", "Kofi")
LONG_NAME = "Maximiliana-Theodora von und zu Hohenschwangau-Überlingen (online, evenings, second cohort)"

Rows = dict[str, list[dict[str, Any]]]


def made_row(**columns: Any) -> dict[str, Any]:
    return columns


def phase_of(index: int) -> str:
    return "deload" if index % 6 == 5 else "build"
