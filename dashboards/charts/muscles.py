"""How much: weekly hard sets a muscle against the target range and the plan."""

from __future__ import annotations

import datetime as dt

import altair as alt
import polars as pl

from dashboards.charts.context import Drawing, Say, Width, at_x, week_columns

MUSCLE_LABELS = {
    "chest": "Chest",
    "front_delts": "Front delts",
    "side_delts": "Side delts",
    "rear_delts": "Rear delts",
    "triceps": "Triceps",
    "biceps": "Biceps",
    "forearms": "Forearms",
    "lats": "Lats",
    "upper_back": "Upper back",
    "traps": "Traps",
    "spinal_erectors": "Spinal erectors",
    "abs": "Abs",
    "glutes": "Glutes",
    "quads": "Quads",
    "hamstrings": "Hamstrings",
    "adductors": "Adductors",
    "abductors": "Abductors",
    "calves": "Calves",
    "hip_flexors": "Hip flexors",
    "neck": "Neck",
}
"""Muscles in the order in which they are shown, top down."""


def _named(weeks: pl.DataFrame, say: Say) -> tuple[pl.DataFrame, list[str]]:
    """`weeks` with a `label` for each muscle, and the labels present in order of the body."""
    labels = {muscle: say(label) for muscle, label in MUSCLE_LABELS.items()}
    named = weeks.with_columns(
        pl.col("muscle").replace_strict(labels, default=pl.col("muscle")).alias("label")
    )
    present = set(named["label"].to_list())
    return named, [label for label in labels.values() if label in present]


def _short(sets: pl.Expr) -> pl.Expr:
    """Sets as a figure without needless zeros."""
    return sets.round(1).map_elements(lambda value: f"{value:g}", return_dtype=pl.String)


def plot_muscle_week(
    muscles: pl.DataFrame,
    *,
    say: Say = str,
    width: Width = "container",
    row_height: int = 21,
) -> Drawing:
    """One week (or a mean of weeks) of hard sets a muscle, fractional counting.

    muscles: `muscle_week` rows, one a muscle (muscle, fractional_hard_sets, unknown_effort_sets,
    planned_sets, target_low, target_high, n_sessions). Wide pale bar: target range; solid bar: hard sets;
    dashed bar after it: sets of unknown effort; upright tick: planned sets. At the right: sets, and
    sessions a week.
    """
    named, order = _named(muscles, say)
    drawn = named.with_columns(
        pl.col("fractional_hard_sets").fill_null(0.0),
        (pl.col("fractional_hard_sets").fill_null(0.0) + pl.col("unknown_effort_sets").fill_null(0.0)).alias(
            "with_unknown"
        ),
        pl.format(
            "{}  ·  {}×",
            pl.col("fractional_hard_sets")
            .fill_null(0.0)
            .round(1)
            .map_elements(lambda sets: f"{sets:g}", return_dtype=pl.String),
            pl.col("n_sessions")
            .fill_null(0)
            .cast(pl.Float64)
            .round(1)
            .map_elements(lambda times: f"{times:g}", return_dtype=pl.String),
        ).alias("figure"),
    )
    widest = max(
        (float(v or 0) for c in ("with_unknown", "planned_sets", "target_high") for v in drawn[c].to_list()),
        default=0.0,
    )
    axis_x = alt.X(
        "fractional_hard_sets:Q",
        title=say("Hard sets a week"),
        # room at the right for the figures
        scale=alt.Scale(domain=[0, max(widest * 1.34, 5)], nice=False),
        axis=alt.Axis(tickMinStep=5, grid=True),
    )
    axis_y = alt.Y("label:N", sort=order, title=None, scale=alt.Scale(paddingInner=0.25))
    told = [
        alt.Tooltip("label:N", title=say("Muscle")),
        alt.Tooltip("fractional_hard_sets:Q", title=say("Hard sets"), format=".1~f"),
        alt.Tooltip("unknown_effort_sets:Q", title=say("Effort unknown"), format=".1~f"),
        alt.Tooltip("planned_sets:Q", title=say("Planned"), format=".1~f"),
        alt.Tooltip("target_low:Q", title=say("Target from"), format=".1~f"),
        alt.Tooltip("target_high:Q", title=say("Target to"), format=".1~f"),
        alt.Tooltip("n_sessions:Q", title=say("Sessions a week"), format=".1~f"),
    ]
    base = alt.Chart(drawn)
    thin = alt.RelativeBandSize(0.45)
    return Drawing(
        [
            base.mark_bar(style="target", height=alt.RelativeBandSize(1)).encode(
                x=alt.X("target_low:Q"), x2=alt.X2("target_high"), y=axis_y, tooltip=told
            ),
            base.transform_filter("datum.unknown_effort_sets > 0")
            .mark_bar(style="unknown", height=thin)
            .encode(x=axis_x, x2=alt.X2("with_unknown"), y=axis_y, tooltip=told),
            base.mark_bar(style="done", height=thin).encode(x=axis_x, y=axis_y, tooltip=told),
            base.mark_tick(style="planned", height=alt.RelativeBandSize(0.9)).encode(
                x=alt.X("planned_sets:Q"), y=axis_y, tooltip=told
            ),
            base.mark_text(style="figure").encode(x=at_x("width"), y=axis_y, text=alt.Text("figure:N")),
        ],
        width,
        max(row_height * len(order), row_height),
    )


def plot_muscle_history(
    weeks: pl.DataFrame,
    *,
    say: Say = str,
    width: Width = "container",
    row_height: int = 21,
    chosen: dt.date | None = None,
) -> Drawing:
    """Hard sets a muscle over many weeks, a cell each: the figure, and a small triangle outside the target.

    weeks: `muscle_week` rows (week_start, muscle, fractional_hard_sets, unknown_effort_sets, target_low,
    target_high). Triangle down: below the target range; up: above it. Sets of unknown effort stand after a
    plus; where they decide whether the target was met, the cell is outlined and takes no side. `chosen`: the
    week_start to put a frame around.
    """
    named, order = _named(weeks, say)
    sets = pl.col("fractional_hard_sets").fill_null(0.0)
    unknown = pl.col("unknown_effort_sets").fill_null(0.0)
    drawn = named.with_columns(
        sets.alias("fractional_hard_sets"),
        pl.when(unknown > 0)
        .then(pl.format("{}+{}", _short(sets), _short(unknown)))
        .otherwise(_short(sets))
        .alias("figure"),
        pl.when(pl.col("target_low").is_null() | pl.col("target_high").is_null())
        .then(pl.lit("untargeted"))
        .when((sets < pl.col("target_low")) & (sets + unknown >= pl.col("target_low")))
        .then(pl.lit("undecided"))
        .when(sets < pl.col("target_low"))
        .then(pl.lit("below"))
        .when(sets > pl.col("target_high"))
        .then(pl.lit("above"))
        .otherwise(pl.lit("within"))
        .alias("standing"),
    )
    place = {
        "x": week_columns(),
        "y": alt.Y("label:N", sort=order, title=None),
        "tooltip": [
            alt.Tooltip("label:N", title=say("Muscle")),
            alt.Tooltip("week_start:T", title=say("Week from")),
            alt.Tooltip("fractional_hard_sets:Q", title=say("Hard sets"), format=".1~f"),
            alt.Tooltip("unknown_effort_sets:Q", title=say("Effort unknown"), format=".1~f"),
            alt.Tooltip("target_low:Q", title=say("Target from"), format=".1~f"),
            alt.Tooltip("target_high:Q", title=say("Target to"), format=".1~f"),
        ],
    }
    base = alt.Chart(drawn)
    layers = [
        base.transform_filter(f"datum.standing == '{standing}'").mark_rect(style=standing).encode(**place)
        for standing in ("untargeted", "undecided", "below", "within", "above")
    ]
    layers += [
        base.transform_filter(f"datum.standing == '{standing}' && !(datum.unknown_effort_sets > 0)")
        .mark_point(style=f"{standing}_sign", xOffset=-13)
        .encode(**place)
        for standing in ("below", "above")
    ]
    layers.append(base.mark_text(style="cell_figure", xOffset=2).encode(text=alt.Text("figure:N"), **place))
    if chosen is not None:
        layers.append(
            alt.Chart(drawn.filter(pl.col("week_start") == chosen))
            .mark_rect(style="chosen_cell")
            .encode(x=place["x"], y=place["y"])
        )
    return Drawing(layers, width, max(row_height * len(order), row_height))
