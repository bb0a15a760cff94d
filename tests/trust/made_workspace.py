"""A small workspace of invented people: own files, shared files, a workbook, plans, check-ins, notes, answers."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
from pathlib import Path

import duckdb

from pipeline.notes import NotesStore

AS_OF = dt.date(2026, 6, 28)
WEEK = dt.date(2026, 6, 22)
PEOPLE = {"ines": "Ines Quandt", "bram": "Bram Oduya", "tove": "Tove Halvari"}
SECRET = "knee ached after the third set"
"""A client's words, that no log, error or message may repeat."""
LIFTS = ("Back Squat", "Bench Press", "Deadlift")
SHARED = "group/june.csv"


def log_rows(client_id: str, n_weeks: int = 6, note: str = "") -> list[list[str]]:
    """Three lifts a week, three sets each, up to the as-of day."""
    rows = []
    for week in range(n_weeks):
        day = AS_OF - dt.timedelta(days=7 * (n_weeks - 1 - week) + 3)
        for n, lift in enumerate(LIFTS):
            rows += [
                [
                    client_id,
                    day.isoformat(),
                    lift,
                    str(number),
                    str(60 + 20 * n + 2 * week),
                    "8",
                    note if number == 3 else "",
                ]
                for number in (1, 2, 3)
            ]
    return rows


def as_csv(rows: list[list[str]]) -> str:
    """The rows below a header that names the unit."""
    buffer = io.StringIO()
    writer = csv.writer(buffer)
    writer.writerow(["client", "date", "exercise", "set", "load (kg)", "reps", "notes"])
    writer.writerows(rows)
    return buffer.getvalue()


def make_workspace(root: Path, *, with_notes: bool = True) -> Path:
    """Make it and return its path; nothing is published yet."""
    for folder in ("inbox/ines", "inbox/bram", "inbox/group", "plans", "check_ins"):
        (root / folder).mkdir(parents=True)
    (root / "workspace.toml").write_text('[defaults]\nunit = "kg"\ndate_order = "ymd"\n', encoding="utf-8")
    (root / "clients.csv").write_text(
        "client_id,name,status,unit,bodyweight_kg,notes\n"
        + "".join(f"{key},{name},intermediate,kg,80,\n" for key, name in PEOPLE.items()),
        encoding="utf-8",
    )
    (root / "answers.csv").write_text(
        "kind,client_id,source_file,raw_text,answer,answered_on\n"
        "exercise,ines,,Beinding,leg_press,2026-05-01\nexercise,,,Drücken,bench_press,2026-05-01\n",
        encoding="utf-8",
    )
    (root / "inbox/ines/log.csv").write_text(as_csv(log_rows("ines", note=SECRET)), encoding="utf-8")
    (root / "inbox/bram/log.csv").write_text(as_csv(log_rows("bram")), encoding="utf-8")
    together = [row for pair in zip(log_rows("ines", 3), log_rows("tove", 3), strict=True) for row in pair]
    for row in together:
        row[1] = (dt.date.fromisoformat(row[1]) - dt.timedelta(days=1)).isoformat()
    (root / "inbox" / SHARED).write_text(as_csv(together), encoding="utf-8")
    plan = ["client_id,plan,valid_from,day,exercise,sets,rep_low,rep_high"]
    plan += [f"{key},base,2026-05-18,A,{lift},3,6,10" for key in PEOPLE for lift in LIFTS]
    (root / "plans/all.csv").write_text("\n".join(plan) + "\n", encoding="utf-8")
    check_ins = ["client_id,date,bodyweight_kg,sleep"]
    check_ins += [f"{key},2026-06-{day:02d},80,7" for key in PEOPLE for day in (7, 14, 21)]
    (root / "check_ins/form.csv").write_text("\n".join(check_ins) + "\n", encoding="utf-8")
    if with_notes:
        store = NotesStore(root / "notes.duckdb")
        store.write_note("ines", WEEK, "Zwiebelturm: call about sleep")
        store.write_note("bram", WEEK, "wants to train with Ines Quandt")
        store.mark_reviewed(["ines", "bram"], WEEK, "steady")
        store.write_follow_up("ines", WEEK, "ask about the knee")
        store.write_month_text("ines", "2026-06", "report", "A good month.")
    return root


def digest(root: Path) -> tuple[int, int, int]:
    """What the published history says, every block of every table read: sets, their hash, rows in all."""
    with duckdb.connect(str((root / "history.duckdb").resolve()), read_only=True) as con:
        tables = [row[0] for row in con.execute("select table_name from duckdb_tables()").fetchall()]
        n_rows = 0
        for table in tables:
            count, _ = con.execute(f'select count(*), bit_xor(hash(t)) from "{table}" t').fetchall()[0]
            n_rows += count if table not in ("file_ledger", "validation_result") else 0
        sets, of_sets = con.execute("select count(*), bit_xor(hash(s)) from logged_set s").fetchall()[0]
    return int(sets), int(of_sets or 0), n_rows


def coachs_word(root: Path) -> tuple[object, ...]:
    """Everything the coach and the clients wrote: files by their bytes, notes by their rows."""
    files = sorted(
        path
        for name in ("inbox", "plans", "check_ins")
        for path in (root / name).rglob("*")
        if path.is_file()
    )
    files += [root / name for name in ("workspace.toml", "clients.csv", "answers.csv")]
    store = NotesStore(root / "notes.duckdb")
    return (
        [
            (path.relative_to(root).as_posix(), hashlib.sha256(path.read_bytes()).hexdigest())
            for path in files
        ],
        [store.held(client) for client in PEOPLE],
    )
