"""Hard sets a muscle on the athlete's page: the week against target and plan, and the weeks before."""

from __future__ import annotations

import polars as pl
import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.charts import plot_muscle_history, plot_muscle_week
from dashboards.frame import show_chart
from dashboards.markup import element, join
from dashboards.units import Unit
from dashboards.wording import TERMS


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """The section."""
    del unit  # sets have none
    st.html(element("h2", "Hard sets a muscle", "sw-section"))
    weeks = athlete.muscle_weeks()
    if weeks.is_empty():
        st.html(element("p", "No sets in the last twelve weeks.", "sw-note"))
        return
    this_week = weeks.filter(pl.col("week_start") == athlete.week)
    trained = (
        weeks.filter(
            (pl.col("fractional_hard_sets") > 0)
            | (pl.col("planned_sets") > 0)
            | (pl.col("unknown_effort_sets") > 0)
        )["muscle"]
        .unique()
        .to_list()
    )
    left, right = st.columns([2, 3], gap="large")
    with left:
        if this_week.is_empty():
            st.html(element("p", "Nothing trained and nothing planned this week.", "sw-note"))
        else:
            shown = this_week.filter(pl.col("muscle").is_in(trained))
            show_chart(plot_muscle_week(shown), _week_in_words(shown))
            st.html(
                element(
                    "p",
                    "Bar: hard sets. Pale range: target. Tick: planned. Dashed: sets of unknown effort, not "
                    "counted. Right: sets and sessions that train the muscle directly.",
                    "sw-note",
                )
            )
    with right:
        show_chart(
            plot_muscle_history(weeks.filter(pl.col("muscle").is_in(trained)), chosen=athlete.week),
            "Hard sets a muscle in each of the last twelve weeks.",
        )
        st.html(
            element(
                "p",
                "Twelve weeks. Triangle down: below the target range; up: above it. After a plus: sets "
                "of unknown effort; outlined where they decide. " + TERMS["hard set"],
                "sw-note",
            )
        )
    if athlete.review() is not None and (observed := athlete.observations()):
        with st.expander("What went with progress and performance (observations, never causes)"):
            st.html(element("ul", join([element("li", sentence) for sentence in observed]), "sw-options"))


def _week_in_words(week: pl.DataFrame) -> str:
    low = week.filter(pl.col("fractional_hard_sets") < pl.col("target_low"))["muscle"].to_list()
    high = week.filter(pl.col("fractional_hard_sets") > pl.col("target_high"))["muscle"].to_list()

    def named(muscles: list[str]) -> str:
        return ", ".join(m.replace("_", " ") for m in muscles) or "none"

    return f"Hard sets a muscle this week. Below target: {named(low)}. Above: {named(high)}."
