"""What the coach keeps at the top of the workspace: settings, clients, own exercises, answers."""

from __future__ import annotations

import random
from datetime import date, timedelta

from demo_data.paper import Cell, PaperFile, Record, Sheet
from demo_data.roster import CLIENTS, Client, monday_of

WORKSPACE_TOML = """\
# Runa Hallworth, strength coach at the Boathouse, Lindmouth.
# Every line may be left out; what is not stated takes the usual value.

# No unit and no date order here on purpose: half the roster writes pounds and month first.
# They stand in clients.csv, client by client; what is still open is asked.

time_zone = "Europe/London"
first_day_of_week = "monday"
report_language = "en"
paper = "a4"

[thresholds]
e1rm_equation = "epley"
e1rm_max_reps = 12        # no e1RM from sets above this many repetitions to failure
hard_set_max_rir = 4      # a set counts as hard at this many repetitions in reserve or fewer
recent_log_days = 14      # no log for longer than this is worth a message

[muscle_targets]          # weekly hard sets aimed at; muscles not named keep the usual range
side_delts = [8, 20]
glutes = [8, 20]
"""
CLIENT_COLUMNS = (
    "client_id",
    "name",
    "status",
    "unit",
    "bodyweight_kg",
    "start_date",
    "date_order",
    "tags",
    "goal",
    "notes",
)
EXERCISE_COLUMNS = (
    "exercise_id",
    "exercise_name",
    "spellings",
    "pattern",
    "implement",
    "load_basis",
    "bodyweight_share",
    "implements",
    "is_one_sided",
    "is_timed",
    "muscles",
)
ANSWER_COLUMNS = ("kind", "client_id", "source_file", "raw_text", "answer", "answered_on")
EXERCISES = (
    (
        "boathouse_sled_push",
        "Boathouse Sled Push",
        "Sled push; sled",
        "conditioning",
        "other",
        "total",
        0,
        1,
        "no",
        "no",
        "quads:1; glutes:0.5; calves:0.5",
    ),
    (
        "quay_wall_row",
        "Quay Wall Row",
        "Wall row; QWR",
        "row",
        "cable",
        "total",
        0,
        1,
        "yes",
        "no",
        "lats:1; upper_back:1; biceps:0.5",
    ),
)
ANSWERS = (
    ("exercise", "", "", "Kniebeuge", "back_squat", "2025-11-30"),
    ("exercise", "", "", "Bankdrücken", "bench_press", "2025-11-30"),
    ("exercise", "", "", "Kreuzheben", "deadlift", "2025-11-30"),
    ("exercise", "chloe", "", "Presse à cuisses", "leg_press", "2025-12-07"),
    ("exercise", "pavel", "", "Rows (bar)", "barbell_row", "2025-12-07"),
    ("client", "", "mornings.xlsx", "Oskar N.", "oskar", "2025-11-30"),
)


def _table(path: str, *rows: tuple[Cell, ...]) -> PaperFile:
    return PaperFile(path, [Sheet("", [Record(list(row)) for row in rows])])


def _since(client: Client) -> date:
    """First day with the coach: some weeks before the logs for novices, up to years for the others."""
    if client.first_week > 1:
        return monday_of(client.first_week)
    rng = random.Random(f"since:{client.client_id}")
    days = rng.randint(7, 60) if client.status == "novice" else rng.randint(90, 900)
    return monday_of(1) - timedelta(days=days)


def coach_files() -> list[PaperFile]:
    """workspace.toml, clients.csv, exercises.csv and answers.csv."""
    clients = [
        Record(
            [
                c.client_id,
                c.name,
                c.status,
                c.unit if c.profile_unit is None else c.profile_unit,
                c.bodyweight_kg,
                _since(c).isoformat(),
                c.date_order,
                c.tags,
                c.goal,
                c.notes,
            ]
        )
        for c in CLIENTS
    ]
    return [
        PaperFile("workspace.toml", [], raw=WORKSPACE_TOML.encode()),
        PaperFile("clients.csv", [Sheet("", [Record(list(CLIENT_COLUMNS)), *clients])]),
        _table("exercises.csv", EXERCISE_COLUMNS, *EXERCISES),
        _table("answers.csv", ANSWER_COLUMNS, *ANSWERS),
    ]
