"""The roster's month as a sheet: one row a client, figures as numbers."""

from __future__ import annotations

from dashboards.report.roster import RosterFacts
from dashboards.report.sheets import Cell, WorkbookFile
from dashboards.report.words import Words


def make_roster_workbook(facts: RosterFacts, words: Words) -> bytes:
    """The workbook's bytes; the same input gives the same bytes."""
    book = WorkbookFile(
        words.text("roster.heading", month=words.month_name(facts.month.first)), facts.known_until
    )
    sheet = book.add_sheet(
        words.text("roster.title"),
        [
            words.text(f"roster.{key}")
            for key in (
                "client",
                "state",
                "sessions_done",
                "sessions_due",
                "completion_pct",
                "hard_sets",
                "unknown_sets",
                "strength",
                "slope_low",
                "slope_high",
                "bests",
                "last_log",
                "pain_notes",
                "waiting",
            )
        ],
    )
    for line in facts.lines:
        cells: list[Cell] = [
            line.name,
            words.text(f"state_name.{line.state}"),
            line.n_done,
            line.n_due,
            line.set_completion_pct,
            line.hard_sets_per_week,
            line.unknown_effort_sets_per_week,
            line.slope_pct,
            line.slope_low_pct,
            line.slope_high_pct,
            line.n_bests,
            line.last_log,
            line.n_pain_notes,
            line.n_waiting,
        ]
        sheet.add(cells)
    care = book.add_sheet(words.text("sheet.care"), [words.text("care.heading")])
    care.add([words.text("roster.care")])
    return book.close()
