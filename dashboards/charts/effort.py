"""Whether the same work costs more: repetitions in reserve at one load and one number of repetitions."""

from __future__ import annotations

import altair as alt
import polars as pl

from dashboards.charts.context import NO_SPANS, Drawing, Say, Width, date_axis, layer_spans
from dashboards.units import Unit, columns_from_kg

LEAST_DAYS = 3
MOST_LINES = 4


def read_matched_work(sets: pl.DataFrame, unit: Unit = "kg") -> pl.DataFrame:
    """Mean RIR by day for the loads and repetitions a client repeated most: work (label), session_date, rir.

    sets: `logged_set` rows of one client and lift (session_date, set_kind, load_kg, reps, rir). Only working
    sets with known load, repetitions and effort, and only work done on at least three days, the four
    commonest at most: fewer points say nothing, more lines cannot be told apart.
    """
    known = sets.filter(
        (pl.col("set_kind") == "work")
        & pl.col("load_kg").is_not_null()
        & pl.col("rir").is_not_null()
        & (pl.col("reps") > 0)
    )
    shown = columns_from_kg(known, ["load_kg"], unit)
    daily = shown.group_by("load_kg", "reps", "session_date").agg(pl.col("rir").mean())
    repeated = (
        daily.group_by("load_kg", "reps")
        .agg(pl.len().alias("n_days"), pl.col("session_date").max().alias("last"))
        .filter(pl.col("n_days") >= LEAST_DAYS)
        .sort(["n_days", "last", "load_kg", "reps"], descending=True)
        .head(MOST_LINES)
    )
    return (
        daily.join(repeated, on=["load_kg", "reps"])
        .with_columns(
            pl.format(
                "{} {} × {}",
                pl.col("load_kg").round(1).map_elements(lambda x: f"{x:g}", return_dtype=pl.String),
                pl.lit(unit),
                pl.col("reps"),
            ).alias("work")
        )
        .sort("load_kg", "reps", "session_date")
        .select("work", "load_kg", "reps", "session_date", "rir")
    )


def plot_effort_at_matched_work(
    sets: pl.DataFrame,
    *,
    spans: pl.DataFrame = NO_SPANS,
    unit: Unit = "kg",
    say: Say = str,
    width: Width = "container",
    height: int = 170,
) -> Drawing:
    """RIR over time at the same load and repetitions; a falling line means the same work costs more.

    sets: `logged_set` rows of one client and lift; see `read_matched_work` for what is drawn.
    """
    matched = read_matched_work(sets, unit)
    place = {
        "x": date_axis("session_date"),
        "y": alt.Y("rir:Q", title=say("Repetitions in reserve"), scale=alt.Scale(zero=True, nice=True)),
        "color": alt.Color("work:N", title=None, sort=None),
        "shape": alt.Shape("work:N", title=None, sort=None),
        "tooltip": [
            alt.Tooltip("session_date:T", title=say("Session")),
            alt.Tooltip("work:N", title=say("Work")),
            alt.Tooltip("rir:Q", title=say("In reserve"), format=".1~f"),
        ],
    }
    base = alt.Chart(matched)
    return Drawing(
        [
            *layer_spans(spans, say),
            base.mark_line(style="trace").encode(x=place["x"], y=place["y"], detail=alt.Detail("work:N")),
            base.mark_point(style="matched").encode(**place),
        ],
        width,
        height,
    )
