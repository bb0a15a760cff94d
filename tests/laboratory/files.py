"""Writes a simulated roster as a workspace: csv logs, plans and check-ins, and the truth beside it."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from tests.laboratory.roster import Roster
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
