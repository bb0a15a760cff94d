"""A coach's folder of any size: clients with two years of logs and a plan each, in several dialects.

Seeded, so that two calls give the same bytes. Loads rise by a slow trend with noise, repetitions and effort
follow; 80 sets a client and week in four sessions of five lifts. What is measured is the common path: clean
tidy files with a few remarks, not the messy ones (`tests/clean` holds those).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import polars as pl

WEEKS = 104
LAST_SUNDAY = date(2026, 6, 28)
SETS_A_WEEK = 80
SETS_A_CLIENT = WEEKS * SETS_A_WEEK


@dataclass(frozen=True)
class Lift:
    """A lift as the catalogue names it, a beginning load, and the step it is loaded in."""

    name: str
    start_kg: float
    step_kg: float


# four days of five lifts; loads are round numbers of our own
DAYS: tuple[tuple[Lift, ...], ...] = (
    (
        Lift("Back Squat", 80, 2.5),
        Lift("Bench Press", 65, 2.5),
        Lift("Barbell Row", 60, 2.5),
        Lift("Leg Curl", 35, 2.5),
        Lift("Face Pull", 18, 2.5),
    ),
    (
        Lift("Deadlift", 100, 2.5),
        Lift("Overhead Press", 40, 2.5),
        Lift("Lat Pulldown", 55, 2.5),
        Lift("Leg Extension", 45, 2.5),
        Lift("Barbell Curl", 25, 2.5),
    ),
    (
        Lift("Front Squat", 60, 2.5),
        Lift("Incline Bench Press", 50, 2.5),
        Lift("Seated Cable Row", 50, 2.5),
        Lift("Standing Calf Raise", 60, 5),
        Lift("Triceps Pushdown", 25, 2.5),
    ),
    (
        Lift("Romanian Deadlift", 80, 2.5),
        Lift("Close-Grip Bench Press", 55, 2.5),
        Lift("Pendlay Row", 55, 2.5),
        Lift("Hip Thrust", 90, 5),
        Lift("Preacher Curl", 22, 2.5),
    ),
)
SETS_A_LIFT = 4
REMARKS = ("felt good", "slow last rep", "new belt", "gym was full")


@dataclass(frozen=True)
class Dialect:
    """One shape of tidy log; the file name tells them apart."""

    file_name: str
    columns: tuple[str, ...]
    separator: str
    date_format: str
    has_decimal_comma: bool = False


DIALECTS = (
    Dialect(
        "training.csv", ("Date", "Exercise", "Set", "Weight (kg)", "Reps", "RPE", "Notes"), ",", "%Y-%m-%d"
    ),
    Dialect("log.csv", ("date", "exercise", "set", "load kg", "reps", "rpe", "notes"), ",", "%d %b %Y"),
    Dialect(
        "tagebuch.csv",
        ("Datum", "Übung", "Satz", "Gewicht (kg)", "Wdh", "RPE", "Notiz"),
        ";",
        "%d.%m.%Y",
        True,
    ),
)


def client_ids(n_sets: int) -> list[str]:
    """As many clients as make about `n_sets`, at least one."""
    return [f"client_{n:05d}" for n in range(1, max(1, round(n_sets / SETS_A_CLIENT)) + 1)]


def dialect_of(client_id: str) -> Dialect:
    """The shape of a client's log."""
    return DIALECTS[int(client_id[-5:]) % len(DIALECTS)]


def made_sets(client_id: str, first_week: int = 0, n_weeks: int = WEEKS) -> pl.DataFrame:
    """The sets of a client's weeks: day, exercise, set, load_kg, reps, rpe, notes."""
    random = np.random.default_rng([int(client_id[-5:]), first_week])
    person = np.random.default_rng(int(client_id[-5:]))
    strength, gain = person.uniform(0.6, 1.6), person.uniform(0.0005, 0.004)
    begin = LAST_SUNDAY - timedelta(days=7 * WEEKS - 1)
    lifts = [lift for day in DAYS for lift in day]
    n = len(lifts) * SETS_A_LIFT
    weeks = np.repeat(np.arange(first_week, first_week + n_weeks), n)
    lift = np.tile(np.repeat(np.arange(len(lifts)), SETS_A_LIFT), n_weeks)
    weekday = np.array([0, 1, 3, 4])[lift // len(DAYS[0])]
    days = np.datetime64(begin, "D") + weeks * 7 + weekday
    start = np.array([x.start_kg for x in lifts])[lift] * strength
    step = np.array([x.step_kg for x in lifts])[lift]
    form = np.repeat(random.normal(0, 0.02, n_weeks * len(lifts)), SETS_A_LIFT)
    load = np.maximum(step, np.round(start * (1 + gain * weeks) * (1 + form) / step) * step)
    reps = np.clip(
        8 - np.tile(np.arange(SETS_A_LIFT), len(lifts) * n_weeks) // 2 + random.integers(-1, 3, len(load)),
        3,
        15,
    )
    effort = np.clip(np.round((7 + random.uniform(0, 3, len(load))) * 2) / 2, 6, 10)
    remark = random.integers(0, 60, len(load))
    return pl.DataFrame(
        {
            "day": days,
            "exercise": [lifts[i].name for i in lift],
            "set": np.tile(np.arange(1, SETS_A_LIFT + 1), len(lifts) * n_weeks),
            "load_kg": load,
            "reps": reps,
            "rpe": effort,
            "notes": [REMARKS[i] if i < len(REMARKS) else None for i in remark],
        }
    )


def write_log(path: Path, sets: pl.DataFrame, dialect: Dialect) -> None:
    """One file in its shape."""

    def number(column: str) -> pl.Expr:
        text = pl.col(column).cast(pl.String).str.replace(r"\.0$", "")
        return text.str.replace(".", ",", literal=True) if dialect.has_decimal_comma else text

    path.parent.mkdir(parents=True, exist_ok=True)
    sets.select(
        pl.col("day").dt.strftime(dialect.date_format),
        "exercise",
        "set",
        number("load_kg"),
        "reps",
        number("rpe"),
        "notes",
    ).rename(
        dict(zip(("day", "exercise", "set", "load_kg", "reps", "rpe", "notes"), dialect.columns, strict=True))
    ).write_csv(path, separator=dialect.separator)


def write_folder(root: Path, n_sets: int) -> list[str]:
    """A workspace of about `n_sets` sets below `root`; the ids of its clients. The last week is not in it."""
    clients = client_ids(n_sets)
    for folder in ("inbox", "plans", "check_ins"):
        (root / folder).mkdir(parents=True, exist_ok=True)
    (root / "workspace.toml").write_text('[defaults]\nunit = "kg"\n', encoding="utf-8")
    begin = LAST_SUNDAY - timedelta(days=7 * WEEKS - 1)
    pl.DataFrame(
        {
            "client_id": clients,
            "name": [f"Client {c[-5:]}" for c in clients],
            "status": "intermediate",
            "unit": "kg",
            "bodyweight_kg": 80.0,
            "start_date": begin.isoformat(),
            "date_order": "dmy",
        }
    ).write_csv(root / "clients.csv")
    for client in clients:
        dialect = dialect_of(client)
        write_log(root / "inbox" / client / dialect.file_name, made_sets(client, n_weeks=WEEKS - 1), dialect)
    _write_plans(root / "plans" / "plans.csv", clients, begin)
    return clients


def write_weekly_file(root: Path, client_id: str) -> Path:
    """What one client sends for the last week."""
    dialect = dialect_of(client_id)
    path = root / "inbox" / client_id / f"week {LAST_SUNDAY.isoformat()}.csv"
    write_log(path, made_sets(client_id, WEEKS - 1, 1), dialect)
    return path


def _write_plans(path: Path, clients: list[str], begin: date) -> None:
    rows = [
        (weekday, slot, lift.name)
        for weekday, day in zip((1, 2, 4, 5), DAYS, strict=True)
        for slot, lift in enumerate(day, start=1)
    ]
    slots = pl.DataFrame(rows, orient="row", schema=["weekday", "slot", "exercise"])
    pl.DataFrame({"client_id": clients}).join(slots, how="cross").select(
        "client_id",
        pl.lit("four days").alias("plan"),
        pl.lit(begin.isoformat()).alias("valid_from"),
        pl.lit("build").alias("phase"),
        pl.col("weekday").alias("day"),
        pl.col("weekday").replace_strict({1: "Mon", 2: "Tue", 4: "Thu", 5: "Fri"}).alias("weekday"),
        "slot",
        "exercise",
        pl.lit(SETS_A_LIFT).alias("sets"),
        pl.lit(6).alias("rep_low"),
        pl.lit(10).alias("rep_high"),
        pl.lit(2).alias("target_rir"),
    ).write_csv(path)
