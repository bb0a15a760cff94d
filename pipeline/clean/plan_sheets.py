"""Sheets of a workbook that plan what other sheets log."""

from __future__ import annotations

from pipeline.clean.cells.folding import fold
from pipeline.clean.entries import Unfolded
from pipeline.clean.headers import parse_side
from pipeline.clean.session_dates import date_in_name
from pipeline.contract.sheets import Sheet

_ALSO = (
    "training plan",
    "workout plan",
    "trainingsplan",
    "template",
    "vorlage",
    "scheda",
    "plan d entrainement",
)


def set_plans_aside(unfolded: list[tuple[Sheet, Unfolded]]) -> None:
    """A sheet called a plan, without a single day, beside a sheet with days: its records are a plan, no sets."""
    logs = [sheet for sheet, result in unfolded if result.entries["date_text"].drop_nulls().len()]
    for sheet, result in unfolded:
        has_day = result.entries["date_text"].drop_nulls().len() or date_in_name(sheet.source_sheet)
        if not logs or not result.entries.height or has_day or not _is_plan(sheet.source_sheet):
            continue
        result.ignored.update(dict.fromkeys(result.entries["source_row"].to_list(), "plan"))
        result.entries = result.entries.clear()


def _is_plan(name: str) -> bool:
    return parse_side(name) == ("planned", "") or fold(name).strip() in _ALSO
