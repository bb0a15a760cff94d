"""How strong: one lift's e1RM with its interval, and all lifts pooled into one line."""

from __future__ import annotations

import altair as alt
import polars as pl

from dashboards.charts.context import (
    NO_CHANGES,
    NO_SPANS,
    Drawing,
    Say,
    Width,
    date_axis,
    layer_changes,
    layer_spans,
)
from dashboards.units import Unit, columns_from_kg

BEST_LABELS = {
    "load": "Heaviest load",
    "reps_at_load": "Most repetitions at a load",
    "e1rm": "e1RM",
    "volume": "Volume load",
}


def plot_e1rm_trend(
    trend: pl.DataFrame,
    sessions: pl.DataFrame,
    *,
    spans: pl.DataFrame = NO_SPANS,
    changes: pl.DataFrame = NO_CHANGES,
    bests: pl.DataFrame | None = None,
    unit: Unit = "kg",
    say: Say = str,
    width: Width = "container",
    height: int = 250,
) -> Drawing:
    """e1RM of one lift: sessions as points, the level as a line, its 90 % interval as a band.

    trend: `strength_trend` rows of one client and lift (week_start, level_kg, level_low_kg, level_high_kg);
      the level is drawn at the week's last day, since that is when it was known; with a `level_kind` of
      lower_bound (no set with a known effort) as a dashed line.
    sessions: `exercise_session` rows of the same (session_date, best_e1rm_kg, e1rm_low_kg, e1rm_high_kg,
      e1rm_kind, best_load_kg, best_reps, best_rir). A lower bound (effort unknown) is an open triangle.
    spans: date_from, date_to, kind; changes: change_date, label; bests: `personal_best` rows of the lift,
      marked on that day's estimate.
    """
    loads = [
        "level_kg",
        "level_low_kg",
        "level_high_kg",
        "best_e1rm_kg",
        "e1rm_low_kg",
        "e1rm_high_kg",
        "best_load_kg",
    ]
    levels = columns_from_kg(trend, loads, unit).with_columns(
        (pl.col("week_start") + pl.duration(days=6)).cast(pl.Date).alias("known_on")
    )
    points = columns_from_kg(sessions, loads, unit).filter(pl.col("best_e1rm_kg").is_not_null())
    axis_y = alt.Y(
        "best_e1rm_kg:Q", title=f"e1RM, {unit}", scale=alt.Scale(zero=False, nice=True, padding=12)
    )
    band = (
        alt.Chart(levels)
        .mark_area(style="band")
        .encode(
            x=date_axis("known_on"),
            y=alt.Y("level_low_kg:Q", title=f"e1RM, {unit}"),
            y2=alt.Y2("level_high_kg"),
        )
    )
    is_bound = pl.col("level_kind").fill_null("point") == "lower_bound"
    if "level_kind" not in levels.columns:
        is_bound = pl.lit(value=False)
    line_place = {
        "x": alt.X("known_on:T"),
        "y": alt.Y("level_kg:Q"),
        "tooltip": [
            alt.Tooltip("known_on:T", title=say("Week to")),
            alt.Tooltip("level_kg:Q", title=say("Level"), format=".1f"),
            alt.Tooltip("level_low_kg:Q", title=say("90 % from"), format=".1f"),
            alt.Tooltip("level_high_kg:Q", title=say("90 % to"), format=".1f"),
        ],
    }
    known_level = alt.Chart(levels.filter(~is_bound))
    bound_level = alt.Chart(levels.filter(is_bound))
    told = [
        alt.Tooltip("session_date:T", title=say("Session")),
        alt.Tooltip("best_e1rm_kg:Q", title=f"e1RM, {unit}", format=".1f"),
        alt.Tooltip("best_load_kg:Q", title=f"{say('Load')}, {unit}", format=".4~f"),
        alt.Tooltip("best_reps:Q", title=say("Repetitions")),
        alt.Tooltip("best_rir:Q", title=say("In reserve"), format=".1~f"),
    ]
    place = {"x": alt.X("session_date:T"), "y": axis_y, "tooltip": told}
    known = alt.Chart(points.filter(pl.col("e1rm_kind") != "lower_bound"))
    bound = alt.Chart(points.filter(pl.col("e1rm_kind") == "lower_bound"))
    layers = [
        *layer_spans(spans, say),
        *layer_changes(changes, say),
        band,
        known.mark_rule(style="estimate_error").encode(
            x=alt.X("session_date:T"), y=alt.Y("e1rm_low_kg:Q"), y2=alt.Y2("e1rm_high_kg:Q")
        ),
        known_level.mark_line(style="level").encode(**line_place),
        bound_level.mark_line(style="level_bound").encode(**line_place),
        bound.mark_point(style="at_least").encode(**place),
        known.mark_point(style="estimate").encode(**place),
    ]
    if bests is not None:
        layers.append(_layer_bests(bests, points, unit, say))
    return Drawing(layers, width, height)


def _layer_bests(bests: pl.DataFrame, points: pl.DataFrame, unit: Unit, say: Say) -> alt.Chart:
    """Open diamonds on the days of bests; those on days without an estimate have nowhere to stand."""
    kinds = {kind: say(label) for kind, label in BEST_LABELS.items()}
    marked = (
        bests.with_columns(pl.col("kind").replace_strict(kinds, default="").alias("what"))
        .group_by("best_date")
        .agg(pl.col("what").unique().sort().str.join(", "))
        .join(points.select("session_date", "best_e1rm_kg"), left_on="best_date", right_on="session_date")
        .sort("best_date")
    )
    drawn: alt.Chart = (
        alt.Chart(marked)
        .mark_point(style="best")
        .encode(
            x=alt.X("best_date:T"),
            y=alt.Y("best_e1rm_kg:Q"),
            tooltip=[
                alt.Tooltip("best_date:T", title=say("Best on")),
                alt.Tooltip("what:N", title=say("Best in")),
                alt.Tooltip("best_e1rm_kg:Q", title=f"e1RM, {unit}", format=".1f"),
            ],
        )
    )
    return drawn


def plot_strength_line(
    weeks: pl.DataFrame,
    *,
    spans: pl.DataFrame = NO_SPANS,
    changes: pl.DataFrame = NO_CHANGES,
    say: Say = str,
    width: Width = "container",
    height: int = 200,
) -> Drawing:
    """All lifts pooled: strength index (100: the client's first weeks) with its 90 % interval.

    weeks: `client_strength_week` rows of one client (week_start, strength_index, index_low, index_high,
    n_lifts), drawn at the week's last day.
    """
    drawn = weeks.with_columns((pl.col("week_start") + pl.duration(days=6)).cast(pl.Date).alias("known_on"))
    title = say("Strength, all lifts (first weeks = 100)")
    start = pl.DataFrame({"start": [100.0]}) if drawn.height else pl.DataFrame(schema={"start": pl.Float64})
    return Drawing(
        [
            *layer_spans(spans, say),
            *layer_changes(changes, say),
            alt.Chart(start).mark_rule(style="reference").encode(y=alt.Y("start:Q")),
            alt.Chart(drawn)
            .mark_area(style="band")
            .encode(
                x=date_axis("known_on"),
                y=alt.Y("index_low:Q", title=title, scale=alt.Scale(zero=False, nice=True, padding=8)),
                y2=alt.Y2("index_high"),
            ),
            # a line of one week is no line
            alt.Chart(drawn.head(1) if drawn.height == 1 else drawn.clear())
            .mark_point(style="level_point")
            .encode(x=alt.X("known_on:T"), y=alt.Y("strength_index:Q")),
            alt.Chart(drawn)
            .mark_line(style="level")
            .encode(
                x=alt.X("known_on:T"),
                y=alt.Y("strength_index:Q"),
                tooltip=[
                    alt.Tooltip("known_on:T", title=say("Week to")),
                    alt.Tooltip("strength_index:Q", title=say("Strength"), format=".1f"),
                    alt.Tooltip("index_low:Q", title=say("90 % from"), format=".1f"),
                    alt.Tooltip("index_high:Q", title=say("90 % to"), format=".1f"),
                    alt.Tooltip("n_lifts:Q", title=say("Lifts")),
                ],
            ),
        ],
        width,
        height,
    )
