"""What must hold for any file whatever: nothing raises, nothing is lost, no set comes out of nothing."""

from __future__ import annotations

import random
import re
import unicodedata

from pipeline.clean.cells.loads import KG_PER_LB
from pipeline.clean.reasons import reasons
from pipeline.contract.records import LOGGED_SET
from tests.fuzz import files
from tests.inbox_reading import Knowledge, ReadInbox, knowledge, read_inbox

KINDS = ("bytes", "table", "workbook", "notes", "damaged log", "damaged workbook")


def one_case(kind: str, seed: int) -> None:
    """Make the file of a kind and seed, read it, and check what holds for all files."""
    rng = random.Random(f"{kind}-{seed}")
    name, data = _file(kind, rng)
    known = knowledge(unit=rng.choice(("kg", "lb", "")), order=rng.choice(("dmy", "mdy", "")))
    check(name, data, known)


def _file(kind: str, rng: random.Random) -> tuple[str, bytes]:
    folder = rng.choice(("anna/", "anna/", ""))
    match kind:
        case "bytes":
            return f"{folder}log{rng.choice(files.SUFFIXES)}", files.random_bytes(rng)
        case "table":
            separator = rng.choice(",;\t|")
            return f"{folder}log.csv", files.as_text(
                files.messy_table(rng), separator, quote=rng.random() < 0.8
            )
        case "workbook":
            return f"{folder}log.xlsx", files.as_workbook(rng, files.messy_table(rng))
        case "notes":
            lines = [" ".join(filter(None, row)) for row in files.messy_table(rng)]
            return f"{folder}log.txt", "\n".join(lines).encode()
    rows, _ = files.good_log(rng)
    if kind == "damaged workbook":
        data = bytearray(files.as_workbook(rng, rows))
        for _ in range(rng.randrange(1, 30)):
            data[rng.randrange(len(data))] = rng.randrange(256)
        return f"{folder}log.xlsx", bytes(data)
    data_text = files.as_text(rows, ",")
    for damage in rng.sample(list(files.DAMAGES.values()), k=rng.randrange(1, 4)):
        data_text = damage(rng, data_text) if _fits(damage, data_text) else data_text
    return f"{folder}log.csv", data_text


def _fits(damage: files.Damage, data: bytes) -> bool:
    if not data.strip():
        return False
    try:
        data.decode()
    except UnicodeDecodeError:
        return damage is not files.DAMAGES["other encoding"]
    return True


def check(name: str, data: bytes, known: Knowledge) -> ReadInbox:
    """Read one file and check everything that holds for all files."""
    read = read_inbox({name: data}, known)
    assert read.accounts.faults == (), read.accounts.faults
    fates = read.fates
    assert fates["records"] == sum(n for fate, n in fates.items() if fate != "records"), fates
    tables = read.cleaned.tables
    for row in tables.rejected_row.to_dicts():
        assert row["reason_code"] in reasons() or row["source_row"] is None, row
        assert row["message"], row
        assert row["suggestion"], row
    asked = {question["question_id"] for question in read.questions}
    assert set(tables.waiting_row["question_id"]) == asked
    _check_sets(read)
    again = read_inbox({name: data}, known)
    assert again.sets == read.sets, "the same file gives other sets the second time"
    return read


def _check_sets(read: ReadInbox) -> None:
    """No set without figures that stand in its record (or a title, header or heading above it)."""
    texts = {
        (sheet.source_sheet, row["source_row"]): " ".join(str(row[c]) for c in sheet.columns if row[c])
        for source in read.sources
        for sheet in source.sheets
        for row in sheet.cells.iter_rows(named=True)
    }
    needed = [column.name for column in LOGGED_SET.columns if column.required]
    for row in read.sets:
        for name in needed:
            assert row[name] is not None, (name, row)
        figures = _figures(texts[row["source_sheet"], row["source_row"]])
        # a count may be said as a word (failed), a sum of clusters, or one side of two
        if row["reps"] not in (None, 0) and row["set_kind"] != "rest_pause":
            assert _stands(float(row["reps"]), figures), ("reps", row)
        load = row["load_kg"]
        if load:
            written = abs(load) / (KG_PER_LB if row["load_unit"] == "lb" else 1.0)
            bars = (0.0, 15.0, 20.0, 45.0)
            made = [
                written,
                written * 2,
                *((written - bar) / 2 for bar in bars),
                *(written - b for b in bars),
            ]
            assert any(_stands(value, figures) for value in made) or written in bars, ("load", row)


def _figures(text: str) -> set[float]:
    folded = unicodedata.normalize("NFKC", text)
    found = re.findall(r"\d+(?:[.,]\d+)?|[.,]\d+", folded) + re.findall(r"\d+", folded)
    halves = {float(n) + 0.5 for n in re.findall(r"(\d+)\s?(?:½|1⁄2)", folded)}
    return {float(n.replace(",", ".")) for n in found} | halves | {0.5}


def _stands(value: float, figures: set[float]) -> bool:
    return any(abs(value - figure) < 1e-6 * max(1.0, abs(figure)) for figure in figures)
