"""What lies behind and above a time line: deloads, breaks, changes of plan, the chosen week."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

import altair as alt
import polars as pl

Say = Callable[[str], str]
Width = int | Literal["container"]

SPAN_LABELS = {
    "deload": "Deload",
    "break": "Break",
    "illness": "Illness",
    "travel": "Travel",
    "holiday": "Holiday",
    "return": "Return",
    "other": "Excused",
}
NO_SPANS = pl.DataFrame(schema={"date_from": pl.Date, "date_to": pl.Date, "kind": pl.String})
NO_CHANGES = pl.DataFrame(schema={"change_date": pl.Date, "label": pl.String})


def date_axis(field: str) -> alt.X:
    """A time axis without a title: dates explain themselves."""
    return alt.X(field, type="temporal", title=None, axis=alt.Axis(tickCount=8))


def stack(layers: Sequence[alt.Chart], width: Width, height: int) -> alt.LayerChart:
    """The layers as one chart, first at the back."""
    # given at once: `properties` would copy every layer again
    if width == "container":
        # only the width gives way: `height` stays the plot's own, as in print
        fit = alt.AutoSizeParams(type="fit-x", contains="padding")
        return alt.LayerChart(layer=list(layers), width=width, height=height, autosize=fit)
    return alt.LayerChart(layer=list(layers), width=width, height=height)


def layer_spans(spans: pl.DataFrame, say: Say) -> list[alt.Chart]:
    """Shaded spans with their word on top. `spans`: date_from, date_to (both included), kind."""
    if spans.is_empty():
        return []
    drawn = spans.select(
        "date_from",
        "kind",
        (pl.col("date_to") + pl.duration(days=1)).cast(pl.Date).alias("date_end"),
        pl.col("kind")
        .replace_strict({kind: say(label) for kind, label in SPAN_LABELS.items()}, default=say("Excused"))
        .alias("label"),
    )
    base = alt.Chart(drawn)
    # a break may overlap a deload: its word stands a line lower
    upper, lower = "datum.kind == 'deload'", "datum.kind != 'deload'"
    place = {
        "x": alt.X("date_from:T", title=None),
        "tooltip": [
            alt.Tooltip("label:N", title=say("What")),
            alt.Tooltip("date_from:T", title=say("From")),
        ],
    }
    return [
        base.mark_rect(style="span").encode(x2=alt.X2("date_end"), **place),
        base.transform_filter(upper)
        .mark_text(style="span_label")
        .encode(text=alt.Text("label:N"), y=alt.value(2), **place),
        base.transform_filter(lower)
        .mark_text(style="span_label")
        .encode(text=alt.Text("label:N"), y=alt.value(15), **place),
    ]


def layer_changes(changes: pl.DataFrame, say: Say) -> list[alt.Chart]:
    """A rule where a plan version begins, with its name. `changes`: change_date, label."""
    if changes.is_empty():
        return []
    # neighbours stand on two lines, so that their words do not run into each other
    drawn = changes.with_columns((pl.int_range(pl.len()) % 2 == 1).alias("is_raised"))
    base = alt.Chart(drawn)
    place = {
        "x": alt.X("change_date:T", title=None),
        "tooltip": [
            alt.Tooltip("label:N", title=say("Plan")),
            alt.Tooltip("change_date:T", title=say("From")),
        ],
    }
    return [
        base.mark_rule(style="change").encode(**place),
        base.transform_filter("!datum.is_raised")
        .mark_text(style="change_label")
        .encode(text=alt.Text("label:N"), y=alt.value("height"), **place),
        base.transform_filter("datum.is_raised")
        .mark_text(style="change_label", dy=-15)
        .encode(text=alt.Text("label:N"), y=alt.value("height"), **place),
    ]
