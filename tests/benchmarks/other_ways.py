"""The job done two other ways, to measure against: DuckDB's least, and pandas as a careful analyst writes it.

Both read the same files and make the same weekly table: client, week, working sets, hard sets, volume load,
best e1RM (Epley, with repetitions in reserve counted as done). `floor_tables` does no more than that.
`pandas_tables` also does what an analyst would not leave out: names matched to a list, impossible values set
aside, duplicates dropped, and for each lift and week the slope of the last six weeks by least squares, muscle
by muscle sets, and sets done of those planned. It settles no questions, keeps no accounts, tells no states
and writes no targets.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tests.benchmarks.made_folder import DIALECTS, Dialect

if TYPE_CHECKING:
    import pandas as pd

HARD_SET_MAX_RIR = 4
_CATALOGUE = Path(__file__).resolve().parents[2] / "pipeline" / "reference"


def floor_tables(folder: Path, out: Path) -> None:
    """DuckDB reads every csv into a table and writes the plain weekly aggregates."""
    import duckdb

    reads = [read for dialect in DIALECTS if (read := _read_sql(folder, dialect))]
    is_hard = f"rpe >= {10 - HARD_SET_MAX_RIR}"
    with duckdb.connect(str(out)) as con:
        con.execute(f"create table sets as {' union all '.join(reads)}")
        con.execute(
            "create table week as select client_id, date_trunc('week', day)::date as week_start,"
            f" count(*) as n_working_sets, count(*) filter (where {is_hard}) as n_hard_sets,"
            " sum(load_kg * reps) as volume_kg, max(load_kg * (1 + (reps + 10 - rpe) / 30e0)) as best_e1rm_kg"
            " from sets group by all"
        )


def _read_sql(folder: Path, dialect: Dialect) -> str:
    """The query that reads all files of a dialect; "" where there are none."""
    paths = sorted((folder / "inbox").glob(f"*/{dialect.file_name}"))
    if not paths:
        return ""
    day, exercise, number, load, reps, rpe, _ = (f'"{name}"' for name in dialect.columns)
    types = {dialect.columns[0]: "DATE", dialect.columns[3]: "DOUBLE", dialect.columns[5]: "DOUBLE"}
    options = [
        f"[{', '.join(_quoted(str(path)) for path in paths)}]",
        f"delim = '{dialect.separator}'",
        "filename = true",
        f"dateformat = '{dialect.date_format}'",
        f"types = {{{', '.join(f'{_quoted(name)}: {_quoted(kind)}' for name, kind in types.items())}}}",
        *(["decimal_separator = ','"] if dialect.has_decimal_comma else []),
    ]
    columns = (
        f"{day} as day, {exercise} as exercise, {number} as set_number, {load} as load_kg, {reps} as reps"
    )
    client = "split_part(filename, '/', -2) as client_id"
    return f"select {client}, {columns}, {rpe} as rpe from read_csv({', '.join(options)})"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def pandas_tables(folder: Path, out: Path) -> None:
    """The analyst's version; tables as Parquet files below `out`."""
    import pandas as pd

    files = sorted((folder / "inbox").glob("*/*.csv"))
    sets = pd.concat([_read_one(path) for path in files], ignore_index=True)
    exercises = pd.read_csv(_CATALOGUE / "exercise.csv")
    names = exercises.set_index(exercises["exercise_name"].str.lower())["exercise_id"]
    sets["exercise_id"] = sets["exercise"].str.strip().str.lower().map(names)
    is_sound = (
        sets["exercise_id"].notna()
        & sets["day"].notna()
        & sets["load_kg"].between(-200, 1000)
        & sets["reps"].between(0, 1000)
        & (sets["rpe"].isna() | sets["rpe"].between(0, 10))
    )
    same = ["client_id", "day", "exercise_id", "set_number", "load_kg", "reps"]
    sets = sets[is_sound].drop_duplicates(same)
    sets["week_start"] = sets["day"] - pd.to_timedelta(sets["day"].dt.weekday, unit="D")
    sets["rir"] = 10 - sets["rpe"]
    sets["is_hard"] = sets["rir"] <= HARD_SET_MAX_RIR
    sets["volume_kg"] = sets["load_kg"] * sets["reps"]
    sets["e1rm_kg"] = sets["load_kg"] * (1 + (sets["reps"] + sets["rir"]) / 30)
    week = sets.groupby(["client_id", "week_start"]).agg(
        n_working_sets=("reps", "size"),
        n_hard_sets=("is_hard", "sum"),
        volume_kg=("volume_kg", "sum"),
        best_e1rm_kg=("e1rm_kg", "max"),
    )
    out.mkdir(parents=True, exist_ok=True)
    week.reset_index().to_parquet(out / "week.parquet")
    _muscles(sets, exercises).to_parquet(out / "muscle_week.parquet")
    _trends(sets).to_parquet(out / "trend.parquet")
    plan = pd.read_csv(folder / "plans" / "plans.csv")
    _adherence(sets, plan, names).to_parquet(out / "adherence.parquet")


def _read_one(path: Path) -> pd.DataFrame:
    import pandas as pd

    dialect = next(d for d in DIALECTS if (path.parent / d.file_name).exists())
    frame = pd.read_csv(path, sep=dialect.separator, decimal="," if dialect.has_decimal_comma else ".")
    frame.columns = ["day", "exercise", "set_number", "load_kg", "reps", "rpe", "notes"]
    frame["day"] = pd.to_datetime(frame["day"], format=dialect.date_format, errors="coerce")
    frame["client_id"] = path.parent.name
    return frame


def _muscles(sets: pd.DataFrame, exercises: pd.DataFrame) -> pd.DataFrame:
    import pandas as pd

    credit = pd.read_csv(_CATALOGUE / "exercise_muscle.csv")
    credit = credit[credit["exercise_id"].isin(exercises["exercise_id"])]
    by = ["client_id", "week_start", "exercise_id"]
    hard = sets[sets["is_hard"]].groupby(by).size().rename("n").reset_index()
    joined = hard.merge(credit, on="exercise_id")
    joined["sets"] = joined["n"] * joined["credit"]
    return joined.groupby(["client_id", "week_start", "muscle"])["sets"].sum().reset_index()


def _trends(sets: pd.DataFrame) -> pd.DataFrame:
    """For each lift and week the slope of the log e1RM over the last six weeks, least squares."""
    import numpy as np

    weekly = (
        sets[sets["e1rm_kg"] > 0]
        .groupby(["client_id", "exercise_id", "week_start"])["e1rm_kg"]
        .max()
        .reset_index()
    )
    lift = ["client_id", "exercise_id"]
    weekly["x"] = (weekly["week_start"] - weekly["week_start"].min()).dt.days / 7
    weekly["y"] = np.log(weekly["e1rm_kg"])
    weekly["xy"], weekly["xx"] = weekly["x"] * weekly["y"], weekly["x"] ** 2
    mean = weekly.groupby(lift)[["x", "y", "xy", "xx"]].rolling(6, min_periods=4).mean()
    mean = mean.reset_index(lift, drop=True)
    slope = (mean["xy"] - mean["x"] * mean["y"]) / (mean["xx"] - mean["x"] ** 2)
    weekly["slope_pct_per_week"] = 100 * slope
    return weekly[[*lift, "week_start", "slope_pct_per_week"]]


def _adherence(sets: pd.DataFrame, plan: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    plan["exercise_id"] = plan["exercise"].str.lower().map(names)
    planned = plan.groupby("client_id")["sets"].sum().rename("planned_sets")
    listed = plan[["client_id", "exercise_id"]].drop_duplicates()
    done = sets.merge(listed, on=["client_id", "exercise_id"])
    weekly = done.groupby(["client_id", "week_start"]).size().rename("done_sets").reset_index()
    weekly = weekly.merge(planned, on="client_id")
    weekly["set_completion_pct"] = 100 * weekly["done_sets"] / weekly["planned_sets"]
    return weekly
