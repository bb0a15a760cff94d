"""Sessions on the athlete's page, and the rows of the client's files behind each of them."""

from __future__ import annotations

import datetime as dt
from typing import Any

import polars as pl
import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.markup import Cell, Head, Html, element, join, show_date, show_figure, table
from dashboards.units import Unit, show_load, show_set_load
from dashboards.wording import SET_KINDS, TERMS


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """Every session, and the rows behind the one that is chosen."""
    st.html(element("h2", "Sessions and the rows behind them", "sw-section"))
    sessions = athlete.sessions().to_dicts()
    if not sessions:
        st.html(element("p", "No session in these weeks.", "sw-note"))
        return
    labels = {row["session_date"]: _session_label(row, unit) for row in sessions}
    _show_session(athlete, labels, unit)


@st.fragment
def _show_session(athlete: AthleteHistory, labels: dict[dt.date, str], unit: Unit) -> None:
    day = st.selectbox(
        "Session",
        list(labels),
        format_func=labels.__getitem__,
        key=f"session_{athlete.client_id}_{athlete.week}",
    )
    st.html(element("p", labels[day], "sw-print sw-part"))
    notes = athlete.session_notes(day).to_dicts()
    if notes:
        lines = [
            element(
                "li",
                join(
                    [
                        element("q", row["note"]),
                        " ",
                        element("small", f"{row['source_file']}, row {row['source_row']}"),
                    ]
                ),
            )
            for row in notes
        ]
        st.html(element("ul", join(lines), "sw-options"))
    st.html(_set_table(athlete.session_sets(day), unit))


def _session_label(row: dict[str, Any], unit: Unit) -> str:
    parts = [
        f"{row['session_date']:%a} {show_date(row['session_date'], year=True)}",
        row["planned_day"] or "not planned",
        f"{row['n_sets'] or 0} sets, {row['n_hard_sets'] or 0} hard",
    ]
    if row["volume_kg"]:
        parts.append(f"volume load {show_load(row['volume_kg'], unit, 0)}")
    if row["duration_low_min"] is not None:
        low, high = row["duration_low_min"], row["duration_high_min"]
        parts.append(
            f"{low:.0f} min" if high is None or round(low) == round(high) else f"{low:.0f}–{high:.0f} min"
        )
    return " · ".join(parts)


def _set_table(sets: pl.DataFrame, unit: Unit) -> Html:
    heads = [
        Head("Exercise"),
        Head("As written"),
        Head("Set", "", "r"),
        Head("Load", "", "r"),
        Head("As written", "", "n"),
        Head("Reps", "", "r"),
        Head("RIR", TERMS["RIR"], "r"),
        Head("Kind", "", "n"),
        Head("Note", "", "l"),
        Head("File and row", "Where this set stands in what the client sent", "l"),
    ]
    rows = [_set_cells(row, unit) for row in sets.to_dicts()]
    return table(heads, rows, caption="Sets of the session")


def _set_cells(row: dict[str, Any], unit: Unit) -> list[Cell]:
    load = (row["load_basis"] or "–").replace("_", " ")
    if row["load_kg"] is not None:
        load = show_set_load(row["load_kg"], row["load_basis"], row["implements"], unit)
    if row["implements"] == 2 and row["load_kg"] is not None and row["load_basis"] != "per_hand":
        load = f"2 × {load}"
    reps = "–" if row["reps"] is None else f"{row['reps']}{'+' if row['is_at_least'] else ''}"
    if row["reps_left"] is not None and row["reps_right"] is not None:
        reps = f"{row['reps_left']} left, {row['reps_right']} right"
    if row["duration_s"] is not None:
        reps = f"{show_figure(row['duration_s'], 0)} s"
    sheet = f" [{row['source_sheet']}]" if row["source_sheet"] else ""
    return [
        row["exercise_name"],
        element("small", row["exercise_text"] or ""),
        str(row["set_index"]),
        load,
        element("small", row["load_text"] or ""),
        reps,
        "–" if row["rir"] is None else show_figure(row["rir"]),
        SET_KINDS.get(row["set_kind"], row["set_kind"]),
        row["note"] or "",
        element("small", f"{row['source_file']}{sheet}, row {row['source_row']}"),
    ]
