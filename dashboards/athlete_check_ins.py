"""Bodyweight and check-ins on the athlete's page."""

from __future__ import annotations

import datetime as dt

import polars as pl
import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.charts import plot_bodyweight, plot_check_ins
from dashboards.charts.check_ins import ANSWER_LABELS
from dashboards.frame import show_chart
from dashboards.markup import element, join, show_date
from dashboards.units import Unit, show_load


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """The section."""
    st.html(element("h2", "Bodyweight and check-ins", "sw-section"))
    answers = athlete.check_ins()
    if answers.is_empty():
        st.html(element("p", "No check-ins in these weeks.", "sw-note"))
        return
    left, right = st.columns(2, gap="large")
    with left:
        if answers["bodyweight_kg"].drop_nulls().len() > 1:
            show_chart(
                plot_bodyweight(answers, spans=athlete.spans(), unit=unit, height=150),
                "Bodyweight by day with its seven-day mean.",
            )
        else:
            weighed = answers.drop_nulls("bodyweight_kg").to_dicts()
            said = "Bodyweight was not sent in."
            if weighed:
                only = weighed[0]
                said = f"{show_load(only['bodyweight_kg'], unit)} on {show_date(only['check_in_date'])}."
            st.html(element("p", said, "sw-note"))
    with right:
        recent = answers.filter(pl.col("week_start") > athlete.week - dt.timedelta(weeks=12))
        asked = [column for column in ANSWER_LABELS if recent[column].drop_nulls().len()]
        if asked:
            show_chart(plot_check_ins(recent), "Mean answers of check-ins by week.")
            st.html(element("p", "Mean of each week; darker is higher for this client.", "sw-note"))
        notes = answers.filter(pl.col("note").is_not_null() | pl.col("excused").is_not_null()).tail(5)
        lines = [
            element(
                "li",
                join(
                    [
                        f"{show_date(row['check_in_date'])}: ",
                        row["note"] or "",
                        element("small", f" excused: {row['excused']}" if row["excused"] else ""),
                    ]
                ),
            )
            for row in reversed(notes.to_dicts())
        ]
        if lines:
            st.html(element("ul", join(lines), "sw-options"))
