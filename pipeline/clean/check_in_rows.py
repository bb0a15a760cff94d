"""Check-ins: a client's dated answers on bodyweight, sleep, soreness and the like; days that are excused."""

from __future__ import annotations

import re
from datetime import date, timedelta

from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.cells.loads import KG_PER_LB, parse_unit
from pipeline.clean.coach_tables import CoachRow, CoachTable, read_rows
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.roster_rows import parse_day
from pipeline.contract.sheets import SourceFile

_BOUNDS = {
    "sleep_h": (0, 24),
    "sleep_quality": (0, 10),
    "soreness": (0, 10),
    "motivation": (0, 10),
    "stress": (0, 10),
    "waist_cm": (30, 250),
}
_BODYWEIGHT_KG = (20, 350)
_NOT_EXCUSED = {"no", "n", "false", "0", "nein", "non", "-", "trained", "ok", ""}
_KINDS = (
    ("illness", r"ill|sick|flu|cold|fever|covid|krank|malad|enferm|malat"),
    ("travel", r"travel|trip|flight|work trip|reise|voyage|viaje|viaggio"),
    ("holiday", r"holiday|vacation|urlaub|vacance|vacacion|ferie|christmas|easter"),
)


def read_check_ins(source: SourceFile, known: Knowledge, kept: CoachTable) -> list[dict[str, object]]:
    """`check_in` rows of one file; a cell that cannot be read is noted, the rest of its row kept."""
    rows: list[dict[str, object]] = []
    for row in read_rows(source, "check_in", ("check_in_date",), kept):
        check_in = _check_in(source, row, known, kept)
        if check_in is not None:
            rows.append(check_in)
    return rows


def _check_in(
    source: SourceFile, row: CoachRow, known: Knowledge, kept: CoachTable
) -> dict[str, object] | None:
    person = known.roster.resolve(row.text("client_id") or None, source.source_file, row.source_sheet)
    if not person.client_id:
        kept.reject(
            source.source_file,
            row,
            "client_id",
            row.text("client_id") or source.source_file,
            "client_unknown",
        )
        return None
    profile = known.profiles.get(person.client_id)
    day = parse_day(row.text("check_in_date"), (profile.date_order if profile else "") or known.default_order)
    if day is None:
        blank = is_blank(row.text("check_in_date"))
        kept.reject(
            source.source_file,
            row,
            "check_in_date",
            row.text("check_in_date"),
            "date_missing" if blank else "date_unreadable",
        )
        return None
    if day > known.as_of:
        kept.reject(source.source_file, row, "check_in_date", row.text("check_in_date"), "date_in_future")
        return None
    values: dict[str, object] = {name: _bounded(row, name, source.source_file, kept) for name in _BOUNDS}
    values["bodyweight_kg"] = _bodyweight(
        row, profile.unit if profile else "", source.source_file, known, kept
    )
    excused = row.text("excused")
    values["excused"] = None if fold(excused) in _NOT_EXCUSED else excused
    values["note"] = row.text("note") or None
    if all(value is None for value in values.values()):
        kept.reject(source.source_file, row, "", row.raw_text, "check_in_empty")
        return None
    return {
        "client_id": person.client_id,
        "check_in_date": day,
        **values,
        "source_file": source.source_file,
        "source_sheet": row.source_sheet,
        "source_row": row.source_row,
    }


def _bounded(row: CoachRow, name: str, source_file: str, kept: CoachTable) -> float | None:
    text = row.text(name)
    if is_blank(text):
        return None
    match = re.fullmatch(r"(\d{1,3}(?:[.,]\d+)?) ?(?:h|hrs?|hours?|cm|/ ?(?:5|10))?", fold(text))
    value = parse_number(match.group(1)) if match else None
    low, high = _BOUNDS[name]
    if value is None or not low <= value <= high:
        kept.reject(source_file, row, name, text, "value_unreadable", is_part=True)
        return None
    return value


def _bodyweight(
    row: CoachRow, unit: str, source_file: str, known: Knowledge, kept: CoachTable
) -> float | None:
    text = row.text("bodyweight")
    if is_blank(text):
        return None
    match = re.fullmatch(r"(\d{2,3}(?:[.,]\d+)?) ?([a-z]+)?\.?", fold(text))
    value = parse_number(match.group(1)) if match else None
    said = parse_unit(match.group(2) or "") if match else ""
    unit = (
        said or row.units.get("bodyweight", "") or parse_unit(row.text("unit")) or unit or known.default_unit
    )
    kilograms = None if value is None or not unit else value * KG_PER_LB if unit == "lb" else value
    if kilograms is None or not _BODYWEIGHT_KG[0] <= kilograms <= _BODYWEIGHT_KG[1]:
        kept.reject(source_file, row, "bodyweight_kg", text, "value_unreadable", is_part=True)
        return None
    return kilograms


def excused_spans(check_ins: list[dict[str, object]]) -> list[dict[str, object]]:
    """Excused days as `excused_span` rows; days in a row of the same kind are one span."""
    spans: list[dict[str, object]] = []
    for row in sorted(
        (r for r in check_ins if r["excused"]), key=lambda r: (str(r["client_id"]), str(r["check_in_date"]))
    ):
        day, kind = row["check_in_date"], kind_of_excuse(str(row["excused"]))
        last = spans[-1] if spans else None
        if (
            last
            and isinstance(day, date)
            and last["client_id"] == row["client_id"]
            and last["kind"] == kind
            and isinstance(last["date_to"], date)
            and day - last["date_to"] <= timedelta(days=1)
        ):
            last["date_to"] = day
            continue
        spans.append(
            {
                "client_id": row["client_id"],
                "date_from": day,
                "date_to": day,
                "kind": kind,
                "source": f"check_ins/{row['source_file']} row {row['source_row']}",
            }
        )
    return spans


def kind_of_excuse(text: str) -> str:
    """illness, travel, holiday or other, by the words of an excuse."""
    folded = fold(text)
    return next((kind for kind, pattern in _KINDS if re.search(rf"\b(?:{pattern})", folded)), "other")
