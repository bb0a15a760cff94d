"""A small workspace whose clients each keep another kind of log: every layout, every kind of question."""

from __future__ import annotations

import io
from datetime import date, datetime, timedelta
from pathlib import Path

import openpyxl

AS_OF = date(2026, 6, 28)
FIRST = date(2026, 3, 2)
CLIENTS = (
    "anna",
    "ben",
    "cleo",
    "dan",
    "eva",
    "finn",
    "gina",
    "hal",
    "ivy",
    "jon",
    "kim",
    "lea",
    "mo",
    "nell",
)
HEAD = "Date,Exercise,kg,Reps\n"
TWO_LIFTS = "2026-03-02,Bench Press,60,8\n2026-03-02,Bench Press,60,7\n2026-03-02,Squat,100,5\n"


def day(n: int) -> str:
    """The nth training day, one a week."""
    return (FIRST + timedelta(days=7 * n)).isoformat()


def grid() -> bytes:
    """A workbook with dates across."""
    book = openpyxl.Workbook()
    book.active.append(["Exercise", datetime(2026, 3, 2), datetime(2026, 3, 9)])
    book.active.append(["Bench Press", "60x8", "62.5x8"])
    book.active.append(["Squat", "100x5,5", None])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def bench(loads: list[float]) -> str:
    """A week a load, two sets each."""
    return HEAD + "".join(f"{day(n)},Bench Press,{load:g},5\n" * 2 for n, load in enumerate(loads))


GERMAN = "Datum;Übung;Result\n2.3.2026;Bankdrücken;3x8@62,5\n2.3.2026;Kniebeuge;100x5,5,4\n"
SIDE_BY_SIDE = (
    "Date\tExercise\tSet 1 kg\tSet 1 reps\tSet 2 kg\tSet 2 reps\n2026-03-02\tSquat\t100\t5\t102.5\t5\n"
)
NOTES = "Mon 2 March 2026\nBench press 60x8, 60x7 felt good\nSquat\n100x5\nknee hurts a bit today\n"
SLIP = bench([80, 80, 82.5, 82.5, 85]) + f"{day(5)},Bench Press,850,5\n{day(6)},Bench Press,85,5\n"

# file → content, with the number of sets that load at once
FILES: dict[str, tuple[str | bytes, int]] = {
    "anna/set rows.csv": ("Date,Exercise,Set,Weight (kg),Reps,RPE\n2026-03-02,Bench Press,1,60,8,8\n", 1),
    "ben/exercise rows.csv": (GERMAN, 6),
    "cleo/set columns.tsv": (SIDE_BY_SIDE, 2),
    "dan/grid.xlsx": (grid(), 4),
    "eva/notes.txt": (NOTES, 3),
    "finn/carried.csv": (HEAD + "2026-03-02,Bench Press,60,8\n,,60,7\n,Squat,100,5\n,Total,1400,\n", 3),
    "gina/slip.csv": (SLIP, 11),
    "hal/first.csv": (bench([250]), 2),
    "ivy/unsure.csv": (HEAD + "2026-03-02,Press,40,8\n2026-03-02,Squat,60,5\n", 1),
    "jon/good.csv": (HEAD + TWO_LIFTS, 3),
    "jon/broken.xlsx": (b"PK\x03\x04 broken", 0),
    "jon/empty.csv": (b"", 0),
    "jon/photo.csv": (b"\x89PNG\r\n\x1a\nxxxx", 0),
    "kim/march.csv": (HEAD + TWO_LIFTS, 3),
    "kim/march corrected.csv": (HEAD + TWO_LIFTS, 0),
    "kim/march_b.csv": (HEAD + TWO_LIFTS.replace("60,7", "60,6"), 0),
    "lea/pasted.csv": (HEAD + TWO_LIFTS + "2026-03-09,Squat,100,5\n" + TWO_LIFTS, 4),
    "mo/no unit.csv": ("Date,Exercise,Weight,Reps\n2026-03-02,Bench Press,135,8\n", 0),
    "nell/jump.csv": (bench([80, 80, 82.5, 100]), 8),
    "someone.csv": (HEAD + "2026-03-02,Deadlift,120,5\n", 0),
}


def write_roster(root: Path) -> Path:
    """The workspace at `root`; mo's unit stays open, all others log kilograms."""
    units = {"mo": ""}
    rows = [f"{c},{c.title()},intermediate,{units.get(c, 'kg')},80,dmy" for c in CLIENTS]
    root.mkdir(parents=True)
    (root / "clients.csv").write_text(
        "client_id,name,status,unit,bodyweight_kg,date_order\n" + "\n".join(rows) + "\n", encoding="utf-8"
    )
    for name, (content, _) in FILES.items():
        path = root / "inbox" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return root
