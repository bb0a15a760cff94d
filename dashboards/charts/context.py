"""What lies behind and above a time line: deloads, breaks, changes of plan, the chosen week."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import altair as alt
import polars as pl
import polars.selectors as cs

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


def week_columns() -> alt.X:
    """Weeks side by side as the columns of a grid, each named by its first day."""
    return alt.X(
        "week_start:O",
        timeUnit="yearmonthdate",
        title=None,
        axis=alt.Axis(format="%-d %b", labelAngle=0, labelOverlap=True),
    )


def at_x(place: float | str) -> alt.XValue:
    """So many pixels from the left; `width`: at the right edge. `alt.value` would build Altair's whole schema."""
    return alt.XValue(place)  # type: ignore[no-untyped-call]


def at_y(place: float | str) -> alt.YValue:
    """So many pixels from the top; `height`: at the bottom."""
    return alt.YValue(place)  # type: ignore[no-untyped-call]


@dataclass(frozen=True)
class Drawing:
    """Layers over one another, first at the back; each frame is written out once however many draw it.

    What a page's charts cost is mostly Altair's own layering: it copies every layer twice and puts each
    layer's rows through all of its steps. Layers are built by Altair here and put together as they are.
    """

    layers: Sequence[alt.Chart]
    width: Width
    height: int

    def to_dict(self, *, validate: bool = True) -> dict[str, Any]:
        """The Vega-Lite specification with its rows; `validate` holds it against the schema."""
        spec, frames = self.parts(validate=validate)
        return {**spec, "datasets": {name: frame.to_dicts() for name, frame in frames.items()}}

    def parts(self, *, validate: bool = False) -> tuple[dict[str, Any], dict[str, pl.DataFrame]]:
        """The specification in the look in force without rows, and the frames it names."""
        frames: dict[int, tuple[str, pl.DataFrame]] = {}
        layers = []
        for layer in self.layers:
            name, _ = frames.setdefault(id(layer.data), (f"rows_{len(frames) + 1}", layer.data))
            by_name = layer.copy(deep=False)
            by_name.data = alt.NamedData(name=name)
            layers.append(by_name.to_dict(validate=validate, context={"top_level": False}))
        spec: dict[str, Any] = {
            "$schema": alt.SCHEMA_URL,
            "layer": layers,
            "width": self.width,
            "height": self.height,
        }
        if self.width == "container":
            # only the width gives way: `height` stays the plot's own, as in print
            spec["autosize"] = {"type": "fit-x", "contains": "padding"}
        if validate:
            alt.LayerChart.validate(spec)
        if look := alt.theme.get():
            spec["config"] = dict(look())["config"]
        return spec, {name: _as_drawn(frame) for name, frame in frames.values()}


def _as_drawn(frame: pl.DataFrame) -> pl.DataFrame:
    """A frame as Vega-Lite reads it: days as midnight of the reader's own clock, no NaN."""
    return frame.with_columns(
        cs.date().cast(pl.Datetime).dt.to_string("%Y-%m-%dT%H:%M:%S"), cs.float().fill_nan(None)
    )


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
        .encode(text=alt.Text("label:N"), y=at_y(2), **place),
        base.transform_filter(lower)
        .mark_text(style="span_label")
        .encode(text=alt.Text("label:N"), y=at_y(15), **place),
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
        .encode(text=alt.Text("label:N"), y=at_y("height"), **place),
        base.transform_filter("datum.is_raised")
        .mark_text(style="change_label", dy=-15)
        .encode(text=alt.Text("label:N"), y=at_y("height"), **place),
    ]
