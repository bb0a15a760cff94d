"""A small invented history that fills the contract's tables, for tests of pages and charts.

`make_workspace` writes a workspace whose published history holds `n_clients` clients over `n_weeks` weeks.
Seeded: the same arguments give the same history. The figures hang together as far as a page can tell, but
no pipeline made them: tests of the computations belong elsewhere.
"""

from __future__ import annotations

import datetime as dt
import json
import random
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

import duckdb
import polars as pl
from made_client import add_client
from made_lifts import AS_OF, LIFTS, LONG_NAME, Rows, made_row

from pipeline.contract import TABLES

__all__ = ["AS_OF", "LONG_NAME", "make_workspace"]

NEEDS_LOOK = ("over_reaching", "plateau", "off_plan", "no_recent_log")


def make_workspace(
    root: Path,
    *,
    n_clients: int = 9,
    n_weeks: int = 26,
    seed: int = 7,
    long_names: bool = False,
    weeks_of_sets: int | None = None,
) -> Path:
    """A workspace at `root` with a published history; `weeks_of_sets` limits the weeks that have raw sets."""
    store = root / ".setwright"
    for folder in (root / "inbox", root / "plans", root / "check_ins", root / "reports", store):
        folder.mkdir(parents=True, exist_ok=True)
    (root / "workspace.toml").write_text('unit = "kg"\n', encoding="utf-8")
    rows = make_rows(n_clients, n_weeks, random.Random(seed), long_names, weeks_of_sets)
    write_history(store / "history-made.duckdb", rows)
    link = root / "history.duckdb"
    link.unlink(missing_ok=True)
    link.symlink_to(Path(".setwright") / "history-made.duckdb")
    return root


def write_history(path: Path, rows: Rows) -> None:
    """Every table of the contract in a new database, those of `rows` filled."""
    path.unlink(missing_ok=True)
    with duckdb.connect(str(path)) as con:
        for table in TABLES.values():
            con.execute(table.create_sql())
            if rows.get(table.name):
                frame = pl.DataFrame(rows[table.name], infer_schema_length=None)
                con.register("made", frame.to_arrow())
                con.execute(f"insert into {table.name} by name select * from made")
                con.unregister("made")


def make_rows(
    n_clients: int, n_weeks: int, rng: random.Random, long_names: bool, weeks_of_sets: int | None
) -> Rows:
    """The rows of every table, by table name."""
    rows: Rows = defaultdict(list)
    last_week = AS_OF - dt.timedelta(days=6)
    weeks = [last_week - dt.timedelta(weeks=n_weeks - 1 - i) for i in range(n_weeks)]
    _add_catalogue(rows, weeks)
    for number in range(n_clients):
        add_client(rows, number, weeks, rng, long_names, weeks_of_sets or n_weeks)
    _add_roster(rows)
    _add_files(rows, n_clients)
    return rows


def _add_catalogue(rows: Rows, weeks: list[dt.date]) -> None:
    for exercise_id, (name, _, _, _, _, _, direct, indirect) in LIFTS.items():
        rows["exercise"].append(
            made_row(
                exercise_id=exercise_id,
                exercise_name=name,
                pattern="other",
                implement="barbell",
                load_basis="total",
                bodyweight_share=0.0,
                implements=1,
                is_one_sided=False,
                is_timed=False,
                is_e1rm_lift=True,
                is_coach_own=False,
            )
        )
        for credit, muscles in ((1.0, direct), (0.5, indirect)):
            rows["exercise_muscle"] += [
                made_row(exercise_id=exercise_id, muscle=m, credit=credit) for m in muscles
            ]
    muscles = dict.fromkeys(r["muscle"] for r in rows["exercise_muscle"])
    rows["muscle_target"] = [
        made_row(muscle=m, target_low=3.0, target_high=4.5, source="made") for m in muscles
    ]
    rows["setting"].append(
        made_row(
            as_of=AS_OF,
            e1rm_equation="epley",
            e1rm_max_reps=12,
            hard_set_max_rir=4.0,
            first_day_of_week=1,
            bar_kg=20.0,
            recent_log_days=14,
        )
    )
    for week in weeks:
        for day in _days(week, 7):
            rows["calendar"].append(
                made_row(
                    day=day,
                    week_start=week,
                    week_end=week + dt.timedelta(days=6),
                    weekday=day.isoweekday(),
                    is_complete_week=True,
                )
            )
    rows["pipeline_run"].append(
        made_row(as_of=AS_OF, version="0.1.0", rules_version="1", n_files=12, n_records=4100, n_sets=3900)
    )


def _days(start: dt.date, n: int) -> Iterable[dt.date]:
    return (start + dt.timedelta(days=i) for i in range(n))


def _add_roster(rows: Rows) -> None:
    """The last week's review of each client, most urgent first."""
    of_client = {r["client_id"]: r for r in rows["client_week"]}
    before = {
        r["client_id"]: r
        for r in rows["client_week"]
        if r["week_start"] < of_client[r["client_id"]]["week_start"]
    }
    names = {r["client_id"]: r["name"] for r in rows["client"]}
    order = sorted(
        of_client.values(), key=lambda r: (r["state"] not in NEEDS_LOOK, r["state"], r["client_id"])
    )
    for place, week in enumerate(order, start=1):
        client_id, state = week["client_id"], week["state"]
        previous = before.get(client_id, {}).get("state")
        last = max(
            (r["session_date"] for r in rows["session_summary"] if r["client_id"] == client_id), default=None
        )
        rows["roster_review"].append(
            made_row(
                place=place,
                client_id=client_id,
                name=names[client_id],
                week_start=week["week_start"],
                state=state,
                since_week=week["since_week"],
                weeks_in_state=week["weeks_in_state"],
                confidence=week["confidence"],
                reason=week["reasons"],
                urgency=max(0.0, 100.0 - place),
                needs_a_look=state in NEEDS_LOOK,
                previous_state=previous,
                what_changed="" if previous == state else f"Was {previous or 'new'} last week.",
                last_log_date=last,
                days_since_log=(AS_OF - last).days if last else None,
                n_sessions=week["n_sessions"],
                attendance_pct=92.0,
                set_completion_pct=88.0,
                hard_sets=21.0,
                planned_sets=24.0,
                slope_pct_per_week=0.2,
                n_waiting=3 if client_id == "c002" else 0,
                n_pain_notes=sum(r["client_id"] == client_id for r in rows["pain_note"]),
                options=json.dumps(
                    [
                        made_row(
                            option="Talk about sleep and food", because="sleep fell by an hour in two weeks"
                        ),
                        made_row(option="Hold the loads for a week", because="five of six lifts are down"),
                    ]
                ),
            )
        )


def _add_files(rows: Rows, n_clients: int) -> None:
    rows["file_ledger"].append(
        made_row(
            source_area="inbox",
            source_file="c001/june.csv",
            content_hash="a" * 64,
            first_seen_date=AS_OF,
            is_current=True,
            outcome="read",
            message="",
            layout="set rows",
            n_records=90,
            n_loaded=80,
            n_duplicate=2,
            n_rejected=3,
            n_waiting=3,
            n_ignored=2,
            n_sets=80,
        )
    )
    rows["file_ledger"].append(
        made_row(
            source_area="inbox",
            source_file="c002/broken.xlsx",
            content_hash="b" * 64,
            first_seen_date=AS_OF,
            is_current=True,
            outcome="refused",
            message="The workbook is cut short and cannot be opened.",
            n_records=0,
            n_loaded=0,
            n_duplicate=0,
            n_rejected=0,
            n_waiting=0,
            n_ignored=0,
            n_sets=0,
        )
    )
    for row in range(3):
        rows["rejected_row"].append(
            made_row(
                source_area="inbox",
                source_file="c001/june.csv",
                source_row=30 + row,
                column_name="reps",
                raw_text="2025-06-20,Bench press,80,8O",
                reason_code="reps_not_a_number",
                message="The repetitions '8O' are not a number.",
                suggestion="Perhaps 80, with a letter O for the zero?",
            )
        )
        rows["waiting_row"].append(
            made_row(
                question_id="q-press",
                source_area="inbox",
                source_file="c001/june.csv",
                source_row=50 + row,
                raw_text="2025-06-21,Press,50,8",
                message="Which exercise 'Press' is has to be answered first.",
            )
        )
    rows["open_question"].append(
        made_row(
            question_id="q-press",
            kind="exercise",
            client_id="c002" if n_clients > 1 else "c001",
            source_file="c001/june.csv",
            raw_text="Press",
            question="Which exercise does 'Press' stand for?",
            choices=json.dumps(
                [
                    made_row(value="bench_press", label="Bench press"),
                    made_row(value="overhead_press", label="Overhead press"),
                ]
            ),
            suggested="bench_press",
            n_rows_waiting=3,
        )
    )
    rows["validation_result"].append(
        made_row(
            rule_id="load_in_bounds",
            checked_table="logged_set",
            column_name="load_kg",
            severity="row",
            meaning="A load is between −200 and 700 kg.",
            n_checked=3900,
            n_failed=0,
        )
    )
    rows["name_resolution"].append(
        made_row(
            client_id="c001",
            exercise_text="benchpres",
            exercise_id="bench_press",
            exercise_name="Bench press",
            how="close spelling",
            score=94.0,
            n_rows=12,
        )
    )
