"""Writes a simulated roster as a workspace: csv logs, plans and check-ins, and the truth beside it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import duckdb
import polars as pl

from pipeline.update import update
from pipeline.workspace import open_workspace
from tests.laboratory.roster import FIRST_DAY, Roster
from tests.laboratory.scorer import HEAD, score_flags
from tests.laboratory.training import CATALOGUE

KG_PER_LB = 0.45359237


def write_workspace(roster: Roster, out: Path) -> None:
    """Write `roster` below `out` (made new): the files a coach would keep, and `truth.csv` next to them."""
    for folder in ("inbox", "plans", "check_ins"):
        (out / folder).mkdir(parents=True, exist_ok=False)
    (out / "workspace.toml").write_text('[defaults]\nfirst_day_of_week = "monday"\n', encoding="utf-8")
    names = pl.DataFrame({"exercise_id": list(CATALOGUE), "exercise": [row[1] for row in CATALOGUE.values()]})
    roster.clients.select(
        "client_id",
        name=pl.col("client_id"),
        status="status",
        unit="unit",
        bodyweight_kg=pl.col("bodyweight_kg").round(1),
        date_order=pl.lit("ymd"),
    ).write_csv(out / "clients.csv")
    sets = roster.sets.join(names, on="exercise_id").join(
        roster.clients.select("client_id", "unit"), on="client_id"
    )
    sets = sets.with_columns(
        load=pl.when(pl.col("unit") == "lb")
        .then(pl.col("load_kg") / KG_PER_LB)
        .otherwise(pl.col("load_kg"))
        .round(2)
    )
    for (client_id,), mine in sets.group_by("client_id", maintain_order=True):
        folder = out / "inbox" / str(client_id)
        folder.mkdir()
        mine.sort("session_date").select(
            date="session_date",
            exercise="exercise",
            set="set_index",
            load="load",
            unit="unit",
            reps="reps",
            rir="rir",
        ).write_csv(folder / "log.csv")
    plan = roster.plan.join(names, on="exercise_id").select(
        "client_id",
        "plan",
        "valid_from",
        "valid_to",
        "phase",
        "day",
        "weekday",
        "slot",
        "exercise",
        "sets",
        "rep_low",
        "rep_high",
        "target_rir",
    )
    plan.write_csv(out / "plans" / "plans.csv")
    excused = (
        roster.excused.with_columns(date=pl.date_ranges("date_from", "date_to"))
        .explode("date")
        .select("client_id", "date", excused="kind")
    )
    answers = roster.check_ins.rename({"check_in_date": "date"})
    pl.concat([answers, excused], how="diagonal").sort("client_id", "date").select(
        "client_id",
        "date",
        pl.col("bodyweight_kg").round(1),
        "sleep_h",
        "soreness",
        "motivation",
        "stress",
        "excused",
    ).write_csv(out / "check_ins" / "check_ins.csv")
    roster.truth.write_csv(out / "truth.csv")


def score_through_files(roster: Roster, out: Path) -> str:
    """Write the roster as files, run the whole pipeline on them, and score the published states."""
    write_workspace(roster, out)
    update(open_workspace(out), FIRST_DAY + timedelta(days=7 * roster.weeks - 1))
    with duckdb.connect(str(open_workspace(out).published_history()), read_only=True) as con:
        weeks = (
            con.sql("""
            select client_id, week_start + 6 as week_end, state from client_week
            order by client_id, week_start
        """)
            .pl()
            .with_columns(pl.col("week_end").cast(pl.Date))
        )
    lines = [HEAD]
    for kind in ("plateau", "over_reaching", "off_plan"):
        flags = (weeks["state"] == kind).to_numpy()
        lines.append(score_flags(weeks.drop("state"), flags, roster.truth, kind).line(kind))
    return "\n".join(lines)
