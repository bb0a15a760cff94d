"""What clients answer: bodyweight as a line, sleep, soreness, motivation and stress as rows of figures."""

from __future__ import annotations

import altair as alt
import polars as pl

from dashboards.charts.context import NO_SPANS, Drawing, Say, Width, date_axis, layer_spans, week_columns
from dashboards.units import Unit, columns_from_kg

ANSWER_LABELS = {
    "sleep_h": "Sleep, h",
    "sleep_quality": "Sleep quality",
    "soreness": "Soreness",
    "motivation": "Motivation",
    "stress": "Stress",
    "waist_cm": "Waist, cm",
}


def plot_bodyweight(
    check_ins: pl.DataFrame,
    *,
    spans: pl.DataFrame = NO_SPANS,
    unit: Unit = "kg",
    say: Say = str,
    width: Width = "container",
    height: int = 130,
) -> Drawing:
    """Bodyweight as it was sent in, and its mean over the last seven days.

    check_ins: `check_in` rows of one client (check_in_date, bodyweight_kg).
    """
    weighed = (
        columns_from_kg(check_ins.filter(pl.col("bodyweight_kg").is_not_null()), ["bodyweight_kg"], unit)
        .sort("check_in_date")
        .select("check_in_date", "bodyweight_kg")
    )
    drawn = weighed.with_columns(
        pl.col("bodyweight_kg").rolling_mean_by("check_in_date", window_size="7d").alias("seven_day_mean")
    )
    title = f"{say('Bodyweight')}, {unit}"
    axis_y = alt.Y(
        "bodyweight_kg:Q",
        title=title,
        scale=alt.Scale(zero=False, nice=True, padding=8),
        axis=alt.Axis(tickCount=4),
    )
    return Drawing(
        [
            *layer_spans(spans, say),
            alt.Chart(drawn)
            .mark_line(style="trace")
            .encode(x=date_axis("check_in_date"), y=alt.Y("seven_day_mean:Q", title=title)),
            alt.Chart(drawn)
            .mark_point(style="measure")
            .encode(
                x=alt.X("check_in_date:T"),
                y=axis_y,
                tooltip=[
                    alt.Tooltip("check_in_date:T", title=say("Day")),
                    alt.Tooltip("bodyweight_kg:Q", title=f"{say('Bodyweight')}, {unit}", format=".1f"),
                    alt.Tooltip("seven_day_mean:Q", title=say("Seven-day mean"), format=".1f"),
                ],
            ),
        ],
        width,
        height,
    )


def plot_check_ins(
    check_ins: pl.DataFrame,
    *,
    say: Say = str,
    width: Width = "container",
    row_height: int = 22,
) -> Drawing:
    """The answers of check-ins by week: a row a question, the week's mean as a figure, darker where higher.

    check_ins: `check_in` rows of one client with a `week_start` (sleep_h, sleep_quality, soreness,
    motivation, stress, waist_cm). The shade runs from the client's own lowest to own highest answer: it
    compares a client with themselves and judges nothing.
    """
    labels = {column: say(label) for column, label in ANSWER_LABELS.items()}
    asked = [column for column in labels if column in check_ins.columns]
    weekly = (
        check_ins.unpivot(on=asked, index="week_start", variable_name="question", value_name="answer")
        .drop_nulls("answer")
        .group_by("week_start", "question")
        .agg(pl.col("answer").mean())
        .with_columns(
            pl.col("question").replace_strict(labels, default="").alias("label"),
            (
                (pl.col("answer") - pl.col("answer").min().over("question"))
                / (pl.col("answer").max().over("question") - pl.col("answer").min().over("question"))
            )
            .fill_nan(0.5)
            .alias("own_range"),
        )
        .sort("week_start", "label")
    )
    present = set(weekly["label"].to_list())
    order = [label for label in labels.values() if label in present]
    place = {
        "x": week_columns(),
        "y": alt.Y("label:N", sort=order, title=None),
        "tooltip": [
            alt.Tooltip("label:N", title=say("Question")),
            alt.Tooltip("week_start:T", title=say("Week from")),
            alt.Tooltip("answer:Q", title=say("Mean answer"), format=".1f"),
        ],
    }
    base = alt.Chart(weekly)
    shade = alt.Color("own_range:Q", scale=alt.Scale(domain=[0, 1], range="heatmap"), legend=None)
    return Drawing(
        [
            base.mark_rect(style="day_cell").encode(color=shade, **place),
            base.mark_text(style="cell_figure").encode(text=alt.Text("answer:Q", format=".3~g"), **place),
        ],
        width,
        max(row_height * len(order), row_height),
    )
