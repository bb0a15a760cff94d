"""Next week's sheet for a client: one row a planned set, targets beside it, empty cells for what was done.

Filled in and sent back, `update` reads it like any log: its headers are words the reader knows, its exercise
names those of the catalogue, its dates are full, its unit stands in the header, and rows left empty are no
set.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import duckdb

from pipeline.spreadsheet_text import defused

KG_PER_LB = 0.45359237
_DAY_NAMES = {"Mon": 0, "Tue": 1, "Wed": 2, "Thu": 3, "Fri": 4, "Sat": 5, "Sun": 6}


@dataclass(frozen=True)
class SheetRow:
    """One planned set: where it belongs and what to aim at, as texts; `seconds` for timed holds."""

    day: str
    session_date: date | None
    exercise_name: str
    set_number: int
    target: str
    remark: str
    is_timed: bool


@dataclass(frozen=True)
class WeekSheet:
    """A client's sheet; loads are asked in `unit`."""

    client_id: str
    name: str
    unit: str
    rows: tuple[SheetRow, ...]

    @property
    def headers(self) -> list[str]:
        """Column headers, each of which the log reader knows; the last two are for the client's eyes."""
        seconds = ["Seconds"] if any(row.is_timed for row in self.rows) else []
        return [
            "Client",
            "Date",
            "Exercise",
            "Set",
            f"Load ({self.unit})",
            "Reps",
            *seconds,
            "RIR",
            "Notes",
            "Day",
            "Target",
            "Coach",
        ]


def read_week_sheet(con: duckdb.DuckDBPyConnection, client_id: str) -> WeekSheet:
    """The sheet of a client from `next_target`; without rows where no plan is in force next week."""
    found = con.execute(
        "select name, unit, (select mode(load_unit) from logged_set s where s.client_id = c.client_id)"
        " from client c"
        " where client_id = ?",
        [client_id],
    ).fetchone()
    name, stated, logged = found or (client_id, None, None)
    unit = stated or logged or "kg"
    reader = con.execute(
        "select * from next_target where client_id = ? order by planned_date nulls last, day, slot",
        [client_id],
    )
    columns = [column[0] for column in reader.description]
    targets = [dict(zip(columns, row, strict=True)) for row in reader.fetchall()]
    dates = _proposed_dates(con, client_id, targets)
    rows = [row for target in targets for row in _rows(target, unit, dates)]
    rows.sort(key=lambda row: row.session_date or date.max)
    return WeekSheet(client_id, name or client_id, unit, tuple(rows))


def _proposed_dates(
    con: duckdb.DuckDBPyConnection, client_id: str, targets: Sequence[dict[str, Any]]
) -> dict[str, date]:
    """Dates for days the plan leaves open: those of the layout that keeps them furthest apart."""
    if all(target["planned_date"] for target in targets):
        return {}
    row = con.execute(
        "select l.layout, s.as_of, s.first_day_of_week from plan_layout l, setting s where l.client_id = ?"
        " and l.place = 1 and l.valid_from <= s.as_of + 7 order by l.valid_from desc limit 1",
        [client_id],
    ).fetchone()
    if row is None:
        return {}
    layout, as_of, first_weekday = row
    start = as_of + timedelta(days=1)
    start += timedelta(days=((first_weekday or 1) - start.isoweekday()) % 7)
    dates = {}
    for part in layout.split(" · "):
        weekday, _, day = part.partition(" ")
        dates[day] = start + timedelta(days=(_DAY_NAMES[weekday] - start.weekday()) % 7)
    return dates


def _rows(target: dict[str, Any], unit: str, dates: dict[str, date]) -> list[SheetRow]:
    text = target_text(target, unit)
    day = target["day"] + (f" · {target['superset']}" if target["superset"] else "")
    remark = " ".join(filter(None, [target["reason"], target["note"]]))
    is_timed = target["rule"] == "timed"
    return [
        SheetRow(
            day,
            target["planned_date"] or dates.get(target["day"]),
            target["exercise_name"],
            number,
            text,
            remark if number == 1 else "",
            is_timed,
        )
        for number in range(1, (target["sets"] or 0) + 1)
    ]


def target_text(target: dict[str, Any], unit: str) -> str:
    """`80 kg, 5 to 8 reps, 2 in reserve`; what is not known is left out."""
    parts = []
    load = target["target_load_kg"]
    if load is not None:
        is_a_hand = target["load_basis"] == "per_hand" and target.get("implements") != 1
        parts.append(_load_text(load, target["load_basis"], unit) + (" a hand" if is_a_hand else ""))
    elif target["rule"] in ("pain", "warning_sign"):
        return "talk to your coach first"
    low, high = target["target_rep_low"], target["target_rep_high"]
    if low is not None:
        parts.append(f"{low} reps" if high in (None, low) else f"{low} to {high} reps")
    shortest, longest = target["target_duration_low_s"], target["target_duration_high_s"]
    if shortest is not None:
        parts.append(f"{shortest:g} s" if longest in (None, shortest) else f"{shortest:g} to {longest:g} s")
    if target["target_rir"] is not None:
        parts.append(f"{target['target_rir']:g} in reserve")
    return ", ".join(parts)


def _load_text(load_kg: float, load_basis: str | None, unit: str) -> str:
    if load_kg == 0 and load_basis in ("bodyweight", "assistance"):
        return "bodyweight"
    value = abs(load_kg) / (KG_PER_LB if unit == "lb" else 1.0)
    text = f"{value:.2f}".rstrip("0").rstrip(".") + f" {unit}"
    return text + {"assistance": " of assistance", "bodyweight": " added"}.get(load_basis or "", "")


def write_week_sheet(sheet: WeekSheet, path: Path) -> None:
    """Write the sheet as .csv or .xlsx by the path's ending; OSError where it cannot be written."""
    draft = path.with_name(f".{path.name}.new")
    try:
        if path.suffix.lower() == ".csv":
            _write_csv(sheet, draft)
        else:
            _write_xlsx(sheet, draft)
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def _cells(sheet: WeekSheet, row: SheetRow) -> list[str | int | date | None]:
    values: dict[str, str | int | date | None] = {
        "Client": sheet.client_id,
        "Date": row.session_date,
        "Exercise": row.exercise_name,
        "Set": row.set_number,
        "Day": row.day,
        "Target": row.target,
        "Coach": row.remark or None,
    }
    return [values.get(header) for header in sheet.headers]


def _write_csv(sheet: WeekSheet, path: Path) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as handle:
        writer = csv.writer(handle)
        writer.writerow(sheet.headers)
        for row in sheet.rows:
            writer.writerow(["" if cell is None else defused(str(cell)) for cell in _cells(sheet, row)])


def _write_xlsx(sheet: WeekSheet, path: Path) -> None:
    import xlsxwriter

    book = xlsxwriter.Workbook(
        str(path), {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    )
    page = book.add_worksheet("Next week")
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "vcenter"})
    plain = book.add_format({"valign": "top"})
    day = book.add_format({"num_format": "ddd yyyy-mm-dd", "align": "left", "valign": "top"})
    fill_in = book.add_format({"bg_color": "#FFF8DC", "border": 1, "border_color": "#BBBBBB"})
    wrapped = book.add_format({"text_wrap": True, "valign": "top", "font_color": "#444444"})
    widths = {
        "Client": 10,
        "Date": 15,
        "Exercise": 26,
        "Set": 5,
        "Reps": 7,
        "Seconds": 9,
        "RIR": 6,
        "Notes": 26,
        "Day": 14,
        "Target": 32,
        "Coach": 60,
    }
    to_fill = [h for h in sheet.headers if h.startswith("Load") or h in ("Reps", "Seconds", "RIR", "Notes")]
    for c, header in enumerate(sheet.headers):
        page.write_string(0, c, header, head)
        page.set_column(c, c, widths.get(header, 11))
    for r, row in enumerate(sheet.rows, 1):
        for c, (header, cell) in enumerate(zip(sheet.headers, _cells(sheet, row), strict=True)):
            if header in to_fill:
                page.write_blank(r, c, None, fill_in)
            elif isinstance(cell, date):
                page.write_datetime(r, c, cell, day)
            elif isinstance(cell, int):
                page.write_number(r, c, cell, plain)
            elif cell is not None:
                page.write_string(r, c, cell, wrapped if header in ("Target", "Coach") else plain)
    last = max(len(sheet.rows), 1)
    for header, low, high in (("Reps", 0, 200), ("RIR", 0, 10)):
        column = sheet.headers.index(header)
        page.data_validation(
            1,
            column,
            last,
            column,
            {
                "validate": "decimal",
                "criteria": "between",
                "minimum": low,
                "maximum": high,
                "ignore_blank": True,
                "error_message": f"{header} is a number from {low} to {high}.",
            },
        )
    page.freeze_panes(1, 3)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(0)
    book.close()
