"""Names of exercises as clients write them, and what a careful coach reads in them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.clean.exercise_names import NameMatcher
from pipeline.reference import load_catalogue

MATCHER = NameMatcher(load_catalogue())
IDS = frozenset(load_catalogue().exercise["exercise_id"])

READ_WITH_CERTAINTY = [
    # plain names and trade usage [P]
    ("Squat", "back_squat"), ("squats", "back_squat"), ("SQUAT", "back_squat"), ("Back squat", "back_squat"),
    ("back-squat", "back_squat"), ("Barbell Back Squat", "back_squat"), ("BB squat", "back_squat"),
    ("Squat (barbell)", "back_squat"), ("Squat, back", "back_squat"), ("Back Squats 🔥", "back_squat"),
    ("comp squat", "back_squat"), ("Squat (comp)", "back_squat"), ("  squat  ", "back_squat"),
    ("Front squat", "front_squat"), ("Front Squats", "front_squat"), ("Squat (front)", "front_squat"),
    ("High bar squat", "high_bar_squat"), ("Squat (low bar)", "low_bar_squat"), ("low-bar squat", "low_bar_squat"),
    ("Paused squat", "pause_squat"), ("Squat (paused)", "pause_squat"), ("Tempo squat 3-1-1", "tempo_squat"),
    ("SSB squat", "safety_bar_squat"), ("Safety bar squats", "safety_bar_squat"), ("Hack squat", "hack_squat"),
    ("hack squat machine", "hack_squat"), ("Goblet squat", "goblet_squat"), ("DB goblet squat", "goblet_squat"),
    ("KB goblet squat", "kettlebell_goblet_squat"), ("Smith squat", "smith_squat"),
    ("Bulgarian split squats", "bulgarian_split_squat"), ("BSS", "bulgarian_split_squat"),
    ("DB BSS", "bulgarian_split_squat"), ("Rear foot elevated split squat", "bulgarian_split_squat"),
    ("Split squat", "split_squat"), ("Walking lunges", "walking_lunge"), ("DB walking lunge", "walking_lunge"),
    ("Reverse lunges", "reverse_lunge"), ("DB lunges", "dumbbell_lunge"), ("Step ups", "step_up"),
    ("step-up", "step_up"), ("Leg press", "leg_press"), ("Leg Press (45°)", "leg_press"), ("legpress", "leg_press"),
    ("45 degree leg press", "leg_press"), ("Leg press machine", "leg_press"),
    ("Single leg press", "one_leg_press"), ("Box squat", "box_squat"), ("Belt squat", "belt_squat"),
    ("Pistol squats", "pistol_squat"), ("Air squats", "bodyweight_squat"), ("Zercher squat", "zercher_squat"),
    # hinges
    ("Deadlift", "deadlift"), ("deadlifts", "deadlift"), ("Dead lift", "deadlift"), ("DL", "deadlift"),
    ("Conventional deadlift", "deadlift"), ("Deads", "deadlift"), ("BB deadlift", "deadlift"),
    ("Sumo deadlift", "sumo_deadlift"), ("Sumo DL", "sumo_deadlift"), ("Deadlift (sumo)", "sumo_deadlift"),
    ("RDL", "romanian_deadlift"), ("RDLs", "romanian_deadlift"), ("rdl's", "romanian_deadlift"),
    ("Romanian DL", "romanian_deadlift"), ("Romanian Deadlift (RDL)", "romanian_deadlift"),
    ("BB RDL", "romanian_deadlift"), ("DB RDL", "dumbbell_romanian_deadlift"),
    ("RDL w/ dumbbells", "dumbbell_romanian_deadlift"), ("SLDL", "stiff_leg_deadlift"),
    ("Stiff-legged deadlift", "stiff_leg_deadlift"), ("single leg RDL", "one_leg_romanian_deadlift"),
    ("Trap bar deadlift", "trap_bar_deadlift"), ("Hex bar DL", "trap_bar_deadlift"),
    ("Deficit deadlift", "deficit_deadlift"), ("Rack pulls", "rack_pull"), ("Good mornings", "good_morning"),
    ("Hip thrust", "hip_thrust"), ("hip thrusts", "hip_thrust"), ("Barbell hip thrust", "hip_thrust"),
    ("BB Hip-Thrust", "hip_thrust"), ("Glute bridge", "glute_bridge"), ("KB swings", "kettlebell_swing"),
    ("Back extensions", "back_extension"), ("hyperextension", "back_extension"),
    ("Cable pull through", "cable_pull_through"),
]
READ_WITH_CERTAINTY += [
    # presses
    ("Bench", "bench_press"), ("Bench press", "bench_press"), ("BP", "bench_press"), ("BB bench", "bench_press"),
    ("bb bench press", "bench_press"), ("Flat bench", "bench_press"), ("Barbell Bench Press", "bench_press"),
    ("bench-press", "bench_press"), ("benchpress", "bench_press"), ("Bench Press (Barbell)", "bench_press"),
    ("A1) Bench press", "bench_press"), ("B2. Bench", "bench_press"), ("1. Bench press", "bench_press"),
    ("Comp bench", "bench_press"), ("Bench press 💪💪", "bench_press"), ("The bench press", "bench_press"),
    ("Bench Press (paused)", "pause_bench_press"), ("2s pause bench", "pause_bench_press"),
    ("Paused bench press", "pause_bench_press"), ("CGBP", "close_grip_bench_press"),
    ("Close grip bench", "close_grip_bench_press"), ("Bench, close-grip", "close_grip_bench_press"),
    ("Incline bench", "incline_bench_press"), ("Incl. bench press", "incline_bench_press"),
    ("Incline BB bench", "incline_bench_press"), ("Decline bench press", "decline_bench_press"),
    ("DB bench", "dumbbell_bench_press"), ("Dumbbell bench press", "dumbbell_bench_press"),
    ("Bench press - dumbbell", "dumbbell_bench_press"), ("DB chest press", "dumbbell_bench_press"),
    ("Flat DB press", "dumbbell_bench_press"), ("Incline DB press", "incline_dumbbell_press"),
    ("incl DB bench", "incline_dumbbell_press"), ("Incline dumbbell press (30°)", "incline_dumbbell_press"),
    ("Smith bench press", "smith_bench_press"), ("Machine chest press", "chest_press_machine"),
    ("Chest press machine", "chest_press_machine"), ("Floor press", "floor_press"), ("OHP", "overhead_press"),
    ("Overhead press", "overhead_press"), ("OH press", "overhead_press"), ("Military press", "overhead_press"),
    ("Standing overhead press", "overhead_press"), ("Strict press", "overhead_press"),
    ("DB shoulder press", "dumbbell_shoulder_press"), ("DB OHP", "dumbbell_shoulder_press"),
    ("Seated DB shoulder press", "seated_dumbbell_press"), ("Shoulder press machine", "shoulder_press_machine"),
    ("Push press", "push_press"), ("Arnold press", "arnold_press"), ("Dips", "dip"), ("dip", "dip"),
    ("Weighted dips", "dip"), ("Assisted dips", "assisted_dip"), ("Push ups", "push_up"), ("pushups", "push_up"),
    ("Press-ups", "push_up"), ("Knee push-ups", "knee_push_up"), ("Push-ups on knees", "knee_push_up"),
    # pulls and rows
    ("Pullups", "pull_up"), ("Pull-ups", "pull_up"), ("pull up", "pull_up"), ("BW pull ups", "pull_up"),
    ("Weighted pull-ups", "pull_up"), ("Chins", "chin_up"), ("Chin-ups", "chin_up"), ("chinups", "chin_up"),
    ("Assisted pull ups", "assisted_pull_up"), ("Pull-up (assisted)", "assisted_pull_up"),
    ("Band assisted pull-ups", "band_assisted_pull_up"), ("Banded pull-ups", "band_assisted_pull_up"),
    ("Lat pulldown", "lat_pulldown"), ("Lat pull-down", "lat_pulldown"), ("lat pull downs", "lat_pulldown"),
    ("Cable lat pulldown", "lat_pulldown"), ("Lat Pulldown (wide grip)", "wide_grip_lat_pulldown"),
    ("Barbell row", "barbell_row"), ("BB rows", "barbell_row"), ("Bent over row", "barbell_row"),
    ("bent-over barbell row", "barbell_row"), ("Row (barbell)", "barbell_row"), ("Pendlay row", "pendlay_row"),
    ("DB row", "dumbbell_row"), ("One arm DB row", "one_arm_dumbbell_row"),
    ("1-arm dumbbell row", "one_arm_dumbbell_row"), ("Single-arm DB Row (left)", "one_arm_dumbbell_row"),
    ("Cable row", "seated_cable_row"), ("Seated cable rows", "seated_cable_row"), ("T bar row", "t_bar_row"),
    ("T-Bar Rows", "t_bar_row"), ("Chest supported DB row", "chest_supported_dumbbell_row"),
    ("Inverted rows", "inverted_row"), ("Face pulls", "face_pull"), ("facepull", "face_pull"),
    ("Rope face pull", "face_pull"), ("Straight arm pulldown", "straight_arm_pulldown"),
]
