"""Strength on the athlete's page: the pooled line, every lift, one lift in full, effort, bests."""

from __future__ import annotations

from typing import Any

import polars as pl
import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.charts import plot_e1rm_trend, plot_effort_at_matched_work, plot_strength_line
from dashboards.charts.effort import read_matched_work
from dashboards.frame import show_chart
from dashboards.markup import (
    Cell,
    Head,
    Html,
    element,
    join,
    show_date,
    show_figure,
    show_signed,
    state_mark,
    table,
)
from dashboards.units import Unit, show_load
from dashboards.wording import BEST_KINDS, TERMS, state_word

LIFTS_SHOWN = 9
STATUS_WORDS = {
    "rising": "rising",
    "flat": "flat",
    "falling": "falling",
    "unclear": "not clear yet",
    "too_few": "too few sessions",
}


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """The section."""
    st.html(element("h2", "Strength", "sw-section"))
    lifts = athlete.lifts()
    if lifts.is_empty():
        st.html(
            element(
                "p",
                "No lift has an estimate yet: it takes sets with load, repetitions and effort, "
                "or to failure, on a lift that can be compared.",
                "sw-note",
            )
        )
        return
    spans, changes = athlete.spans(), athlete.plan_changes()
    left, right = st.columns(2, gap="large")
    with left:
        line = athlete.strength_line()
        if line.is_empty():
            st.html(element("p", "No pooled line yet.", "sw-note"))
        else:
            show_chart(
                plot_strength_line(line, spans=spans, changes=changes, height=240), _line_in_words(line)
            )
            st.html(element("p", TERMS["strength"] + " Band: 90 % interval.", "sw-note"))
    with right:
        st.html(_lift_table(lifts.head(LIFTS_SHOWN), unit))
        if lifts.height > LIFTS_SHOWN:
            with st.expander(f"{lifts.height - LIFTS_SHOWN} more lifts"):
                st.html(_lift_table(lifts.tail(-LIFTS_SHOWN), unit))
    _show_lift(athlete, lifts, spans, changes, unit)


def _line_in_words(line: pl.DataFrame) -> str:
    last = line.row(-1, named=True)
    return (
        f"Pooled strength stands at {show_figure(last['strength_index'])} "
        f"({show_figure(last['index_low'])} to {show_figure(last['index_high'])}), first weeks 100; "
        f"slope {show_signed(last['slope_pct_per_week'])} % a week."
    )


def _lift_table(lifts: pl.DataFrame, unit: Unit) -> Html:
    heads = [
        Head("Lift"),
        Head(f"e1RM, {unit}", TERMS["e1RM"], "r"),
        Head("Slope, % a week", "With its 90 % interval", "n"),
        Head("Trend", "", "n"),
        Head("State", "", "n"),
        Head("Sessions", "Sessions the trend rests on", "r"),
    ]
    rows = [_lift_cells(row, unit) for row in lifts.to_dicts()]
    return table(heads, rows, caption="Lifts")


def _lift_cells(row: dict[str, Any], unit: Unit) -> list[Cell]:
    slope: Cell = None
    if row["slope_pct_per_week"] is not None:
        slope = join(
            [
                show_signed(row["slope_pct_per_week"]),
                " ",
                element(
                    "small",
                    f"{show_signed(row['slope_low_pct_per_week'])} to "
                    f"{show_signed(row['slope_high_pct_per_week'])}",
                ),
            ]
        )
    return [
        row["exercise_name"],
        ("≥ " if row["level_kind"] == "lower_bound" else "")
        + show_load(row["level_kg"], unit).removesuffix(f" {unit}"),
        slope,
        STATUS_WORDS.get(row["status"] or "", row["status"] or "–"),
        element("span", state_mark(state_word(row["state"])), title=row["reasons"] or "")
        if row["state"]
        else None,
        row["n_exposures"],
    ]


@st.fragment
def _show_lift(
    athlete: AthleteHistory, lifts: pl.DataFrame, spans: pl.DataFrame, changes: pl.DataFrame, unit: Unit
) -> None:
    """One lift in full: estimates with their error, level, bests; effort at matched work beside."""
    names = dict(zip(lifts["exercise_id"], lifts["exercise_name"], strict=True))
    chosen = st.pills(
        "Lift in full",
        list(names),
        default=next(iter(names)),
        format_func=names.__getitem__,
        key=f"lift_{athlete.client_id}",
        required=True,
    )
    exercise_id = chosen or next(iter(names))
    st.html(element("p", names[exercise_id], "sw-print sw-part"))
    sessions = athlete.lift_sessions(exercise_id)
    bests = athlete.bests(exercise_id)
    left, right = st.columns([3, 2], gap="large")
    with left:
        trend = athlete.lift_trend(exercise_id)
        show_chart(
            plot_e1rm_trend(trend, sessions, spans=spans, changes=changes, bests=bests, unit=unit),
            f"e1RM of {names[exercise_id]} by session with its level and 90 % interval.",
        )
        basis = (
            "system load: bodyweight share and load"
            if "system" in sessions["e1rm_basis"].to_list()
            else ("external load")
        )
        st.html(
            element(
                "p",
                f"{TERMS['e1RM']} On {basis}. Open triangle: {TERMS['lower bound']} Diamond: a best.",
                "sw-note",
            )
        )
    with right:
        sets = athlete.lift_sets(exercise_id)
        if read_matched_work(sets).is_empty():
            st.html(
                element(
                    "p",
                    "Effort at matched work: the same load for the same repetitions has not been "
                    "logged with effort on three days yet.",
                    "sw-note",
                )
            )
        else:
            show_chart(
                plot_effort_at_matched_work(sets, spans=spans, unit=unit),
                f"Repetitions in reserve of {names[exercise_id]} at the same load and repetitions.",
            )
            st.html(element("p", TERMS["matched work"], "sw-note"))
        st.html(_bests(bests, unit))


def _bests(bests: pl.DataFrame, unit: Unit) -> Html:
    if bests.is_empty():
        return element("p", "No best in these weeks that beats measurement error or a load step.", "sw-note")
    lines = [
        element(
            "li",
            join(
                [
                    f"{show_date(row['best_date'])}: {BEST_KINDS.get(row['kind'], row['kind'])} ",
                    element("b", _best_value(row["value"], row["unit"], unit)),
                    element(
                        "small",
                        f" before {_best_value(row['previous_value'], row['unit'], unit)}"
                        if row["previous_value"] is not None
                        else "",
                    ),
                ]
            ),
        )
        for row in bests.head(5).to_dicts()
    ]
    return join([element("b", "Bests"), element("ul", join(lines), "sw-options")])


def _best_value(value: float, value_unit: str | None, unit: Unit) -> str:
    if value_unit == "kg":
        return show_load(value, unit)
    return f"{show_figure(value, 0)} {value_unit or ''}".strip()
