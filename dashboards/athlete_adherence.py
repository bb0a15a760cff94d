"""Plan, attendance and load on the athlete's page: the calendar, and the last four weeks in figures."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import polars as pl
import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.charts import plot_adherence_calendar
from dashboards.frame import show_chart
from dashboards.markup import Cell, Head, Html, element, show_date, show_figure, table
from dashboards.units import Unit, show_load
from dashboards.wording import LOAD_CAUTION, TERMS

CALENDAR_WEEKS = 16

Row = dict[str, Any]


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """The section."""
    st.html(element("h2", "Plan, attendance and load", "sw-section"))
    planned, sessions = athlete.planned_sessions(), athlete.sessions()
    if planned.is_empty() and sessions.is_empty():
        st.html(element("p", "No plan and no session in these weeks.", "sw-note"))
        return
    since = athlete.week - dt.timedelta(weeks=CALENDAR_WEEKS - 1)
    left, right = st.columns([3, 2], gap="large")
    with left:
        excused = athlete.spans().filter(pl.col("kind") != "deload")
        show_chart(
            plot_adherence_calendar(
                planned.filter(pl.col("week_start") >= since),
                sessions.filter(pl.col("week_start") >= since),
                excused=excused,
                first_day_of_week=athlete.week.isoweekday(),
            ),
            "Calendar of planned sessions and what became of each.",
        )
        st.html(
            element(
                "p",
                "Disc: done. Triangle: done on another day. Cross: missed. Dash: nothing came in that week. "
                "Open square: excused. Open diamond: trained though not planned. "
                "Ring: still open, the week is not over. "
                "Shaded days: excused.",
                "sw-note",
            )
        )
    with right:
        st.html(_adherence_table(athlete.adherence()))
    with left:
        _show_load(athlete.load_weeks(), unit)


def _term(label: str, explained: str) -> Html:
    return element("span", label, "sw-term", explained)


def _by_week(weeks: pl.DataFrame, title: str, lines: list[tuple[Cell, Callable[[Row], Cell]]]) -> Html:
    """A line a measure, a column a week; a measure that no week has is left out."""
    rows = weeks.to_dicts()
    heads = [Head(title)] + [Head(show_date(row["week_start"]), "", "r") for row in rows]
    body = [[label, *[measure(row) for row in rows]] for label, measure in lines]
    body = [line for line in body if any(cell not in (None, "–") for cell in line[1:])]
    return table(heads, body, caption=title)


def _pct(column: str) -> Callable[[Row], Cell]:
    return lambda row: None if row[column] is None else f"{row[column]:.0f} %"


def _adherence_table(weeks: pl.DataFrame) -> Html:
    if weeks.is_empty():
        return element("p", "Nothing was planned in the last four weeks.", "sw-note")

    def sessions(row: Row) -> Cell:
        return f"{row['n_done'] or 0} / {row['n_planned']}" if row["n_planned"] else None

    def swaps(row: Row) -> Cell:
        return f"{row['n_moved'] or 0}, {row['n_swapped'] or 0}" if row["n_planned"] else None

    lines: list[tuple[Cell, Callable[[Row], Cell]]] = [
        ("Phase of the plan", lambda row: row["phase"]),
        (_term("Sessions done / planned", TERMS["attendance"]), sessions),
        ("Moved, swapped", swaps),
        ("Excused", lambda row: row["n_excused"] or None),
        ("Trained though not planned", lambda row: row["n_unplanned"] or None),
        (_term("Set completion", TERMS["set completion"]), _pct("set_completion_pct")),
        (_term("Repetitions in range", TERMS["repetitions in range"]), _pct("reps_in_range_pct")),
        (_term("Load in range", TERMS["load in range"]), _pct("load_in_range_pct")),
        (_term("Effort in range", TERMS["effort in range"]), _pct("effort_in_range_pct")),
        (_term("Relative dose", TERMS["relative dose intensity"]), _pct("relative_dose_intensity_pct")),
    ]
    return _by_week(weeks, "Last four weeks", lines)


def _show_load(weeks: pl.DataFrame, unit: Unit) -> None:
    """How much the weeks asked of the client, and how it was spread; a description, no forecast."""
    if weeks.is_empty():
        return
    lines: list[tuple[Cell, Callable[[Row], Cell]]] = [
        ("Training days", lambda row: row["n_sessions"]),
        (_term("Working sets", TERMS["working sets"]), lambda row: row["n_working_sets"]),
        (_term("Volume load", TERMS["volume load"]), lambda row: show_load(row["volume_kg"], unit, 0)),
        (_term("On the fullest day", TERMS["fullest day"]), _pct("hardest_day_pct")),
        (_term("Days after a training day", TERMS["back to back"]), lambda row: row["n_back_to_back"]),
        (_term("Session load", TERMS["session load"]), lambda row: _figure(row["session_load_au"], 0)),
        (_term("Monotony", TERMS["monotony"]), lambda row: _figure(row["monotony"], 2)),
        (_term("Strain", TERMS["strain"]), lambda row: _figure(row["strain_au"], 0)),
    ]
    st.html(_by_week(weeks, "Load of the week", lines))
    st.html(element("p", LOAD_CAUTION, "sw-note"))


def _figure(value: float | None, digits: int) -> Cell:
    return None if value is None else show_figure(value, digits)
