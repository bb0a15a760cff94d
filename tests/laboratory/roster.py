"""A whole simulated roster: sets, plans, check-ins and the truth, as polars frames."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from tests.laboratory.dynamics import DYNAMICS, Course, spans_of
from tests.laboratory.life import Life, draw_life
from tests.laboratory.training import Trainee, Training

FIRST_DAY = date(2023, 1, 2)


@dataclass(frozen=True)
class Roster:
    """Frames of the contract's shape (only the columns that are known), and the truth.

    `truth` has a row for each true span: client_id, kind, first, last (dates). `lives` are the traits.
    """

    kind: str
    sets: pl.DataFrame
    plan: pl.DataFrame
    check_ins: pl.DataFrame
    excused: pl.DataFrame
    clients: pl.DataFrame
    truth: pl.DataFrame
    weeks: int


def _truth_rows(life: Life, course: Course) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []

    def add(kind: str, first: int, last: int) -> None:
        rows.append(
            {
                "client_id": life.client_id,
                "kind": kind,
                "first": FIRST_DAY + timedelta(days=first),
                "last": FIRST_DAY + timedelta(days=min(last, life.n_days - 1)),
            }
        )

    for a, b in course.plateaus:
        add("plateau", a, b)
    for a, b in course.strains:
        add("over_reaching", a, b)
    for a, b, _ in life.off_plan:
        if life.has_plan:
            add("off_plan", a, b)
    for a, b in (*life.deloads, *life.own_deloads):
        add("deload", a, b)
    for _, b in spans_of(life.away(), 8):
        add("returning", b + 1, b + 14)
    for a, b in life.cuts:
        add("cut", a, b)
    return rows


def _dated(rows: list[dict[str, object]], client_id: str) -> list[dict[str, object]]:
    return [{"client_id": client_id, **row} for row in rows]


def simulate(kind: str, n_clients: int, seed: int, weeks: int = 60) -> Roster:
    """A roster of `n_clients` under the dynamics `kind`; the same seed gives the same roster."""
    sets, plan, check_ins, excused, clients, truth = [], [], [], [], [], []
    for k in range(n_clients):
        rng = np.random.default_rng([seed, k, sorted(DYNAMICS).index(kind)])
        life = draw_life(rng, f"c{k:04d}", weeks)
        course = DYNAMICS[kind](rng, life)
        done: Training = Trainee(rng, life, course).run()
        sets += _dated(done.sets, life.client_id)
        plan += _dated(done.plan, life.client_id)
        check_ins += _dated(done.check_ins, life.client_id)
        excused += [
            {"client_id": life.client_id, "first": a, "last": b, "kind": w} for a, b, w in done.excused
        ]
        clients.append(
            {
                "client_id": life.client_id,
                "status": life.status,
                "unit": life.unit,
                "bodyweight_kg": life.bodyweight_kg,
                "style": life.style,
                "effort": life.effort,
                "has_check_ins": life.has_check_ins,
                "has_plan": life.has_plan,
            }
        )
        truth += _truth_rows(life, course)

    def on(column: str) -> pl.Expr:
        return (pl.lit(FIRST_DAY) + pl.duration(days=pl.col(column))).cast(pl.Date)

    span = {"client_id": pl.String, "first": pl.Int64, "last": pl.Int64, "kind": pl.String}
    check_in_schema = {
        "client_id": pl.String,
        "day": pl.Int64,
        "bodyweight_kg": pl.Float64,
        "sleep_h": pl.Float64,
        "soreness": pl.Float64,
        "motivation": pl.Float64,
        "stress": pl.Float64,
    }
    return Roster(
        kind=kind,
        sets=pl.DataFrame(sets, infer_schema_length=None).with_columns(session_date=on("day")).drop("day"),
        plan=pl.DataFrame(plan, infer_schema_length=None)
        .with_columns(valid_from=on("first"), valid_to=on("last"))
        .drop("first", "last"),
        check_ins=pl.DataFrame(check_ins, schema=check_in_schema)
        .with_columns(check_in_date=on("day"))
        .drop("day"),
        excused=pl.DataFrame(excused, schema=span)
        .with_columns(date_from=on("first"), date_to=on("last"))
        .drop("first", "last"),
        clients=pl.DataFrame(clients, infer_schema_length=None),
        truth=pl.DataFrame(truth, infer_schema_length=None),
        weeks=weeks,
    )
