"""The one look of Setwright: colours, type and the style of every kind of mark, light, dark and print.

Charts carry no styling. They name what a mark means (`mark_line(style="level")`) and this file says how
that looks. The theme is registered once, on import; `use("dark")` changes the palette for the present
page run only, because the choice lives in a context variable and each page run has its own context.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any, Literal

import altair as alt

Mode = Literal["light", "dark", "print"]


@dataclass(frozen=True)
class Palette:
    """Colours by what they mean. Blue and ochre stay apart in every common kind of colour blindness."""

    paper: str
    panel: str
    ink: str
    muted: str
    rule: str
    main: str
    """What was done, and what goes as hoped."""
    attention: str
    """What a coach should look at."""
    quiet: str
    """What is planned, excused or merely context."""
    span: str
    """Behind deloads, breaks and other spans of days."""
    below: str
    within: str
    above: str


PALETTES: dict[Mode, Palette] = {
    "light": Palette(
        paper="#fcfcfa",
        panel="#f1f3f0",
        ink="#1f2a33",
        muted="#56646e",
        rule="#dfe3e1",
        main="#1f5f8b",
        attention="#a8500a",
        quiet="#7d8a93",
        span="#e9ecec",
        below="#f3d9b8",
        within="#d5e6f0",
        above="#9cc0d8",
    ),
    "dark": Palette(
        paper="#14191d",
        panel="#1d242a",
        ink="#e4e9ec",
        muted="#a3b0b9",
        rule="#303a42",
        main="#7db7e0",
        attention="#eaa45c",
        quiet="#8a98a2",
        span="#252e35",
        below="#5b3f1e",
        within="#1f3e52",
        above="#356a8c",
    ),
    "print": Palette(
        paper="#ffffff",
        panel="#f4f5f3",
        ink="#1f2a33",
        muted="#56646e",
        rule="#dfe3e1",
        main="#1f5f8b",
        attention="#a8500a",
        quiet="#7d8a93",
        span="#eceeee",
        below="#f3d9b8",
        within="#d5e6f0",
        above="#9cc0d8",
    ),
}

SCREEN_FONT = "Source Sans, Source Sans 3, system-ui, sans-serif"


@dataclass(frozen=True)
class Look:
    """A palette and a font family: all that a chart's appearance depends on."""

    mode: Mode = "light"
    font: str = SCREEN_FONT

    @property
    def palette(self) -> Palette:
        return PALETTES[self.mode]


_LIGHT = Look()
_look: ContextVar[Look] = ContextVar("look", default=_LIGHT)


def use(mode: Mode, font: str = SCREEN_FONT) -> Look:
    """Draw the charts that follow (in this thread or task) in `mode` and `font`."""
    look = Look(mode, font)
    _look.set(look)
    return look


def current() -> Look:
    """The look in force here."""
    return _look.get()


def mark_styles(colours: Palette) -> dict[str, dict[str, Any]]:
    """How each kind of mark looks; the keys are the `style` names that charts use."""
    p = colours
    return {
        # `color` is what Vega-Lite asks a style for; it paints lines and outlines, and fills what is filled
        # strength
        "level": {"color": p.main, "strokeWidth": 2, "strokeJoin": "round"},
        "level_bound": {"color": p.main, "strokeWidth": 1.6, "strokeDash": [5, 3]},
        "level_point": {"color": p.main, "size": 40, "filled": True, "opacity": 1},
        "band": {"color": p.main, "opacity": 0.16},
        "estimate": {
            "color": p.main,
            "stroke": p.paper,
            "strokeWidth": 0.8,
            "size": 34,
            "shape": "circle",
            "filled": True,
            "opacity": 0.85,
        },
        "at_least": {
            "color": p.main,
            "fill": p.paper,
            "strokeWidth": 1.2,
            "size": 30,
            "shape": "triangle-up",
            "opacity": 0.9,
        },
        "estimate_error": {"color": p.main, "strokeWidth": 1, "opacity": 0.25},
        "best": {"color": p.attention, "strokeWidth": 1.6, "size": 130, "shape": "diamond", "opacity": 1},
        "reference": {"color": p.quiet, "strokeDash": [2, 3], "strokeWidth": 1},
        "chosen_week": {"color": p.attention, "strokeWidth": 1.2, "strokeDash": [4, 3]},
        # context
        "span": {"color": p.span, "opacity": 1},
        "span_label": {
            "color": p.muted,
            "fontSize": 10,
            "align": "left",
            "baseline": "top",
            "dx": 3,
            "limit": 90,
        },
        "change": {"color": p.quiet, "strokeWidth": 1, "strokeDash": [1, 3]},
        "change_label": {
            "color": p.muted,
            "fontSize": 10,
            "align": "left",
            "baseline": "bottom",
            "dx": 3,
            "dy": -3,
            "limit": 130,
        },
        # weekly hard sets
        "target": {"color": p.span, "stroke": p.rule, "strokeWidth": 1, "opacity": 1},
        "done": {"color": p.main, "cornerRadiusEnd": 1},
        "unknown": {"color": p.paper, "stroke": p.main, "strokeWidth": 1, "strokeDash": [2, 2]},
        "planned": {"color": p.attention, "thickness": 2.4, "opacity": 1},
        "figure": {"color": p.ink, "fontSize": 11, "align": "right", "baseline": "middle"},
        "below": {"color": p.below, "stroke": p.paper, "strokeWidth": 1.5},
        "within": {"color": p.within, "stroke": p.paper, "strokeWidth": 1.5},
        "above": {"color": p.above, "stroke": p.paper, "strokeWidth": 1.5},
        "undecided": {"color": p.paper, "stroke": p.quiet, "strokeWidth": 0.8, "strokeDash": [2, 2]},
        "untargeted": {"color": p.panel, "stroke": p.paper, "strokeWidth": 1.5},
        "chosen_cell": {"filled": False, "color": p.ink, "strokeWidth": 1},
        "cell_figure": {"color": p.ink, "fontSize": 11, "align": "center", "baseline": "middle"},
        "below_sign": {
            "color": p.attention,
            "shape": "triangle-down",
            "size": 26,
            "filled": True,
            "opacity": 1,
        },
        "above_sign": {"color": p.main, "shape": "triangle-up", "size": 26, "filled": True, "opacity": 1},
        # adherence
        "day_cell": {"color": p.panel, "stroke": p.paper, "strokeWidth": 1.5},
        "day_excused": {"color": p.rule, "stroke": p.paper, "strokeWidth": 1.5},
        "outcome_done": {"color": p.main, "size": 74, "opacity": 1, "filled": True},
        "outcome_moved": {"color": p.main, "size": 62, "opacity": 1, "filled": True},
        "outcome_missed": {"color": p.attention, "size": 60, "strokeWidth": 2, "opacity": 1, "filled": False},
        "outcome_excused": {"color": p.quiet, "size": 50, "strokeWidth": 1.6, "opacity": 1, "filled": False},
        "outcome_open": {"color": p.quiet, "size": 34, "strokeWidth": 1.2, "opacity": 1, "filled": False},
        "outcome_unplanned": {"color": p.main, "size": 62, "strokeWidth": 1.6, "opacity": 1, "filled": False},
        # check-ins and effort
        "trace": {"color": p.quiet, "strokeWidth": 1.2, "opacity": 0.8},
        "measure": {"color": p.ink, "size": 22, "filled": True, "opacity": 0.75},
        "matched": {"size": 42, "filled": True, "opacity": 0.95},
    }


def chart_config(look: Look) -> dict[str, Any]:
    """The Vega-Lite `config` of a look."""
    p = look.palette
    font = look.font
    return {
        "background": None if look.mode != "print" else p.paper,
        "font": font,
        "padding": {"left": 8, "right": 8, "top": 6, "bottom": 2},
        "view": {"stroke": None, "continuousWidth": 520, "continuousHeight": 220},
        "style": mark_styles(p),
        "axis": {
            "domain": False,
            "ticks": False,
            "gridColor": p.rule,
            "gridWidth": 0.7,
            "labelColor": p.muted,
            "labelFont": font,
            "labelFontSize": 11,
            "labelPadding": 5,
            "titleColor": p.muted,
            "titleFont": font,
            "titleFontSize": 11,
            "titleFontWeight": "normal",
            "titlePadding": 8,
            "tickColor": p.rule,
        },
        "axisTemporal": {"format": "%-d %b", "labelSeparation": 6},
        "axisX": {
            "grid": False,
            "domain": True,
            "domainColor": p.rule,
            "labelOverlap": True,
            "titleAnchor": "end",
        },
        "axisY": {
            "titleAngle": 0,
            "titleAlign": "left",
            "titleAnchor": "end",
            "titleY": -10,
            "titleX": 0,
            "titleBaseline": "bottom",
        },
        "legend": {
            "labelColor": p.ink,
            "labelFont": font,
            "labelFontSize": 11,
            "titleColor": p.muted,
            "titleFont": font,
            "titleFontSize": 11,
            "titleFontWeight": "normal",
            "orient": "top",
            "symbolSize": 60,
        },
        "title": {
            "anchor": "start",
            "color": p.ink,
            "font": font,
            "fontSize": 13,
            "fontWeight": 600,
            "subtitleColor": p.muted,
            "subtitleFont": font,
            "subtitleFontSize": 11,
            "offset": 8,
        },
        "text": {"font": font, "color": p.ink},
        "range": {
            "category": [p.main, p.attention, p.quiet, p.ink],
            "ramp": [p.panel, p.within, p.above, p.main],
            "heatmap": [p.panel, p.within, p.above],
        },
    }


@alt.theme.register("setwright", enable=True)
def setwright_theme() -> alt.theme.ThemeConfig:
    """What Altair asks for whenever a chart becomes a specification."""
    return alt.theme.ThemeConfig(config=chart_config(current()))  # type: ignore[typeddict-item]
