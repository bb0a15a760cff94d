"""What is written beside the workspace: the list of what was planted, and what each log should come to."""

from __future__ import annotations

import csv
import io
from collections import Counter

from demo_data.habits import HABITS, SHARED
from demo_data.paper import Found, PaperFile, found_plants
from demo_data.roster import CLIENTS, monday_of
from demo_data.stories import STORIES

PLANTED_COLUMNS = (
    "what",
    "client_id",
    "story",
    "expected_state",
    "also_right",
    "from_week",
    "to_week",
    "file",
    "sheet",
    "row",
    "expected_fate",
    "reason",
)
FATES = ("loaded", "duplicate", "rejected", "waiting", "ignored")


def client_of(path: str) -> str:
    """The client a file belongs to by its folder; empty for shared files."""
    folder = path.split("/")[1]
    for client in CLIENTS:
        if folder in (client.client_id, client.name):
            return client.client_id
    return "chloe" if path.endswith("chloe_scale.csv") else ""


def planted_csv(files: list[PaperFile]) -> str:
    """planted.csv: first the stories, then every planted record (row empty: the whole file)."""
    rows: list[tuple[object, ...]] = [PLANTED_COLUMNS]
    for s in STORIES:
        rows.append(
            (
                "story",
                s.client_id,
                s.story,
                s.expected_state,
                s.also_right,
                monday_of(s.first_week),
                monday_of(s.last_week),
                "",
                "",
                "",
                "",
                s.note,
            )
        )
    for f in all_found(files):
        rows.append(
            (
                "defect",
                client_of(f.file),
                f.plant.defect,
                "",
                f.plant.also_right,
                "",
                "",
                f.file,
                f.sheet,
                "" if f.row is None else f.row,
                f.plant.expected_fate,
                f.plant.reason,
            )
        )
    return _csv_text(rows)


def all_found(files: list[PaperFile]) -> list[Found]:
    """Everything planted, in the order of the files."""
    return [found for file in files for found in found_plants(file)]


def expected_files_csv(files: list[PaperFile]) -> str:
    """expected_files.csv: records of each log and what should become of them, as counts that add up.

    A file that is refused whole (a picture, an empty file) counts as one record; a lock file is not read.
    """
    rows: list[tuple[object, ...]] = [("source_file", "n_records", *(f"n_{fate}" for fate in FATES))]
    for file in files:
        if file.path.startswith("inbox/") and "/~$" not in file.path:
            counts = fates_of(file)
            rows.append((file.path.removeprefix("inbox/"), sum(counts.values()), *(counts[f] for f in FATES)))
    return _csv_text(rows)


def fates_of(file: PaperFile) -> Counter[str]:
    """Records of a log by what should become of them."""
    counts: Counter[str] = Counter()
    if file.raw is not None and file.plant:
        counts[file.plant.expected_fate] += 1
    for sheet in file.sheets:
        for record in sheet.records:
            if file.plant:
                counts[file.plant.expected_fate] += 1
            elif record.plant:
                counts[record.plant.expected_fate] += 1
            else:
                counts["loaded" if record.sets else "ignored"] += 1
    return counts


def how_they_log() -> list[tuple[str, str]]:
    """Client and the way the log is kept, for the reader of README.md."""
    shapes = {
        "set_rows": "one line a set",
        "short_hand": "one line an exercise, `3x8@100`",
        "counted_rows": "one line an exercise, sets and repetitions counted",
        "notes": "phone notes",
        "set_pairs": "sets side by side, load and repetitions",
        "set_reps": "sets side by side, one load",
    }
    packs = {
        "month_files": "a file a month",
        "one_file": "one file",
        "month_sheets": "a workbook, a sheet a month",
        "week_sheets": "a workbook, a sheet a week",
    }
    told = []
    for client in CLIENTS:
        habit = HABITS["kofi" if client.client_id in SHARED else client.client_id]
        pack = "a shared workbook, a sheet a month" if client.client_id in SHARED else packs[habit.pack]
        signs = ", decimal comma" if habit.comma else ""
        effort = {"rpe": "RPE", "rir": "RIR", "none": "no effort"}[client.effort]
        told.append(
            (client.client_id, f"{pack} ({habit.ext}), {shapes[habit.shape]}, {client.unit}{signs}, {effort}")
        )
    return told


def _csv_text(rows: list[tuple[object, ...]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()
