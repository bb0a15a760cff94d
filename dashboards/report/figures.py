"""The report's charts: the dashboard's own chart functions, drawn as vectors without a browser."""

from __future__ import annotations

import contextvars
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import vl_convert

from dashboards import theme
from dashboards.charts import Drawing, plot_bodyweight, plot_e1rm_trend, plot_muscle_week, plot_strength_line
from dashboards.charts.context import SPAN_LABELS
from dashboards.charts.muscles import MUSCLE_LABELS
from dashboards.report.facts import Lift, MonthFacts
from dashboards.report.words import Words

FONT = "Source Sans Pro"
CHART_FONTS = f"{FONT}, sans-serif"  # a web page is read where the first may be missing
FONT_FOLDER = Path(str(files("font_source_sans_pro"))) / "files"
HISTORY_WEEKS = 16  # what a chart shows: enough to see a trend, few enough to read on paper
MOST_LIFTS_DRAWN = 4
LEAST_WEIGHINGS = 3

FULL_WIDTH = 600  # pixels of plot, so that the print comes out at about 8.5 points everywhere
SCREEN_WIDTH = 400  # the same chart where it may be read on a phone
HALF_WIDTH = 262
MUSCLE_WIDTH = 266
BESIDE_WIDTH = 310


@dataclass(frozen=True)
class Figure:
    """A chart as SVG, with the words that stand for it where it cannot be seen."""

    svg: str
    title: str
    alt: str
    caption: str = ""


def draw_figures(
    con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words, *, for_screen: bool = False
) -> dict[str, list[Figure]]:
    """The month's charts by section: strength, lifts, muscles, bodyweight. None is drawn of nothing."""
    spans = _read_spans(con, facts)
    figures: dict[str, list[Figure]] = {"strength": [], "lifts": [], "muscles": [], "bodyweight": []}
    shown = [lift for lift in facts.lifts if lift.now is not None]
    if len(shown) > 1:
        figures["strength"] = _strength_figure(
            con, facts, words, spans, SCREEN_WIDTH if for_screen else FULL_WIDTH
        )
    for lift in shown[:MOST_LIFTS_DRAWN]:
        figures["lifts"].append(_lift_figure(con, facts, lift, words, spans))
    if facts.muscles:
        figures["muscles"] = [_muscle_figure(con, facts, words)]
    figures["bodyweight"] = _bodyweight_figure(con, facts, words, spans)
    return figures


def draw(make: Callable[[], Drawing], words: Words) -> str:
    """The chart that `make` returns, as SVG in the print look, labels in the language's way."""

    def printed() -> dict[str, Any]:
        theme.use("print", font=CHART_FONTS)
        spec: dict[str, Any] = make().to_dict(validate=False)
        return spec

    # a context of its own: the look of a page that is being shown must not change
    spec = contextvars.copy_context().run(printed)
    _localise_figures(spec, words)
    spec["config"] = {
        **spec.get("config", {}),
        "aria": False,  # the words beside the figure speak for it
        "background": None,
        "axisTemporal": {"format": _axis_date_format(words), "labelSeparation": 9},
    }
    _register_fonts()
    svg: str = vl_convert.vegalite_to_svg(
        spec,
        allowed_base_urls=[],
        format_locale=_number_locale(words),
        time_format_locale=_date_locale(words),
    )
    return svg


def say(words: Words) -> Callable[[str], str]:
    """Turns a chart's English label into the report's language; a label without a message stays English."""
    known = {label: words.text(f"muscle.{muscle}") for muscle, label in MUSCLE_LABELS.items()}
    for kind, label in SPAN_LABELS.items():
        named = words.text(f"span.{kind}")
        known[label] = named[:1].upper() + named[1:]

    def said(label: str) -> str:
        key = f"chart.{label}"
        return known.get(label) or (words.text(key) if words.has(key) else label)

    return said


def _localise_figures(spec: dict[str, Any], words: Words) -> None:
    """Write the figures that a chart carries as text with the language's decimal sign."""
    decimal = _number_locale(words)["decimal"]
    for rows_of_chart in spec.get("datasets", {}).values():
        for row in rows_of_chart:
            if isinstance(row.get("figure"), str):
                row["figure"] = row["figure"].replace(".", decimal)


@lru_cache(maxsize=1)
def _register_fonts() -> None:
    vl_convert.register_font_directory(str(FONT_FOLDER))


def _strength_figure(
    con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words, spans: pl.DataFrame, width: int
) -> list[Figure]:
    weeks = _read(
        con,
        """
        select week_start, strength_index, index_low, index_high, n_lifts from client_strength_week
        where client_id = ? and week_start between ? and ? and strength_index is not null order by week_start
        """,
        facts.client.client_id,
        _chart_from(facts),
        facts.known_until - timedelta(6),
    )
    if weeks.height < 2:
        return []
    svg = draw(lambda: plot_strength_line(weeks, spans=spans, say=say(words), width=width, height=100), words)
    first, last = weeks["strength_index"][0], weeks["strength_index"][-1]
    return [
        Figure(
            svg,
            words.text("strength.all_lifts"),
            words.text("strength.all_lifts_alt", first=words.number(first, 1), last=words.number(last, 1)),
        )
    ]


def _lift_figure(
    con: duckdb.DuckDBPyConnection, facts: MonthFacts, lift: Lift, words: Words, spans: pl.DataFrame
) -> Figure:
    client_id, first = facts.client.client_id, _chart_from(facts)
    trend = _read(
        con,
        """
        select week_start, level_kg, level_low_kg, level_high_kg from strength_trend
        where client_id = ? and exercise_id = ? and week_start between ? and ? and level_kg is not null
        order by week_start
        """,
        client_id,
        lift.exercise_id,
        first,
        facts.known_until - timedelta(6),
    )
    sessions = _read(
        con,
        """
        select
          session_date, best_e1rm_kg, e1rm_low_kg, e1rm_high_kg, e1rm_kind, best_load_kg, best_reps, best_rir
        from exercise_session
        where client_id = ? and exercise_id = ? and session_date between ? and ?
        order by session_date
        """,
        client_id,
        lift.exercise_id,
        first,
        facts.known_until,
    )
    bests = _read(
        con,
        """
        select best_date, kind from personal_best
        where client_id = ? and exercise_id = ? and best_date between ? and ? order by best_date, kind
        """,
        client_id,
        lift.exercise_id,
        facts.month.first,
        facts.known_until,
    )
    svg = draw(
        lambda: plot_e1rm_trend(
            trend,
            sessions,
            spans=spans,
            bests=bests,
            unit="lb" if words.unit == "lb" else "kg",
            say=say(words),
            width=HALF_WIDTH,
            height=98,
        ),
        words,
    )
    level = lift.now
    return Figure(
        svg,
        lift.exercise_name,
        words.text(
            "strength.lift_alt",
            lift=lift.exercise_name,
            verdict=words.text(f"verdict.{lift.verdict}"),
            now=(
                words.text("strength.at_least", value=words.estimate(level.kg))
                if level.is_at_least
                else words.estimate(level.kg)
            )
            if level
            else "",
        ),
    )


def _muscle_figure(con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words) -> Figure:
    frequency = {
        row[0]: row[1]
        for row in con.execute(
            """
            select muscle, sum(n_sessions)::double from muscle_week
            where client_id = ? and week_start between ? and ? group by muscle
            """,
            [facts.client.client_id, facts.weeks[0], facts.weeks[-1]],
        ).fetchall()
    }
    frame = pl.DataFrame(
        [
            {
                "muscle": m.muscle,
                "fractional_hard_sets": m.hard_sets,
                "unknown_effort_sets": m.unknown_effort_sets,
                "planned_sets": m.planned_sets,
                "target_low": m.target_low,
                "target_high": m.target_high,
                "n_sessions": (frequency.get(m.muscle) or 0.0) / len(facts.weeks),
            }
            for m in facts.muscles
        ],
        schema_overrides=dict.fromkeys(("planned_sets", "target_low", "target_high"), pl.Float64),
    )
    svg = draw(lambda: plot_muscle_week(frame, say=say(words), width=MUSCLE_WIDTH, row_height=16), words)
    return Figure(
        svg, words.text("muscles.chart"), words.text("muscles.chart_alt"), words.text("muscles.chart_caption")
    )


def _bodyweight_figure(
    con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words, spans: pl.DataFrame
) -> list[Figure]:
    weighed = _read(
        con,
        """
        select check_in_date, bodyweight_kg from check_in
        where client_id = ? and check_in_date between ? and ? and bodyweight_kg is not null
        order by check_in_date
        """,
        facts.client.client_id,
        _chart_from(facts),
        facts.known_until,
    )
    if weighed.filter(pl.col("check_in_date") >= facts.month.first).height < LEAST_WEIGHINGS:
        return []
    svg = draw(
        lambda: plot_bodyweight(
            weighed,
            spans=spans,
            unit="lb" if words.unit == "lb" else "kg",
            say=say(words),
            width=BESIDE_WIDTH,
            height=86,
        ),
        words,
    )
    value = next(v for v in facts.check_ins if v.measure == "bodyweight_kg")
    return [
        Figure(
            svg,
            words.text("measure.bodyweight_kg"),
            words.text("check_ins.bodyweight_alt", value=words.load(round(value.value, 1))),
        )
    ]


def _read_spans(con: duckdb.DuckDBPyConnection, facts: MonthFacts) -> pl.DataFrame:
    """Deload weeks and excused days of the charts' time, clipped to it."""
    first, until = _chart_from(facts), facts.known_until
    return _read(
        con,
        """
        select week_start as date_from, least(week_start + 6, ?::date)::date as date_to, 'deload' as kind
        from adherence_week
        where client_id = ? and phase = 'deload' and week_start between ? and ?
        union all
        select greatest(date_from, ?::date), least(date_to, ?::date), kind
        from excused_span where client_id = ? and date_from <= ? and date_to >= ?
        order by 1
        """,
        until,
        facts.client.client_id,
        first,
        until,
        first,
        until,
        facts.client.client_id,
        until,
        first,
    )


def _read(con: duckdb.DuckDBPyConnection, sql: str, *values: object) -> pl.DataFrame:
    frame: pl.DataFrame = con.sql(sql, params=list(values)).pl()
    return frame


def _chart_from(facts: MonthFacts) -> date:
    return min(facts.month.first, facts.known_until - timedelta(weeks=HISTORY_WEEKS))


def _axis_date_format(words: Words) -> str:
    """The language's day-and-month pattern (MMM d, d. MMM …) in the axis's own notation."""
    pattern = str(words.locale.datetime_skeletons["MMMd"].pattern)
    return re.sub(r"M+", "%b", re.sub(r"d+", "%-d", pattern)).replace("'", "")


def _number_locale(words: Words) -> dict[str, Any]:
    symbols = words.locale.number_symbols.get("latn", words.locale.number_symbols)
    return {
        "decimal": symbols.get("decimal", "."),
        "thousands": symbols.get("group", ","),
        "grouping": [3],
        "currency": ["", ""],
        "minus": "−",
    }


def _date_locale(words: Words) -> dict[str, Any]:
    days, months = words.locale.days["stand-alone"], words.locale.months["format"]
    week = (6, 0, 1, 2, 3, 4, 5)  # that notation's weeks begin on Sunday
    return {
        "dateTime": "%x %X",
        "date": "%d.%m.%Y",
        "time": "%H:%M:%S",
        "periods": ["AM", "PM"],
        "days": [str(days["wide"][day]) for day in week],
        "shortDays": [str(days["abbreviated"][day]) for day in week],
        "months": [str(months["wide"][month]) for month in range(1, 13)],
        "shortMonths": [str(months["abbreviated"][month]) for month in range(1, 13)],
    }
