"""What the charts draw: their specifications, in both looks, on much, little and no data."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars as pl
import pytest
import vl_convert

from dashboards import charts, theme
from dashboards.athlete_history import AthleteHistory
from dashboards.charts.adherence import read_calendar_days
from dashboards.charts.effort import read_matched_work
from dashboards.history import open_history, read_weeks
from dashboards.page_style import page_css

WEEK = dt.date(2025, 6, 23)
Draw = Callable[[AthleteHistory], charts.Drawing]

DRAWN: dict[str, Draw] = {
    "e1rm": lambda a: charts.plot_e1rm_trend(
        a.lift_trend("bench_press"),
        a.lift_sessions("bench_press"),
        spans=a.spans(),
        changes=a.plan_changes(),
        bests=a.bests("bench_press"),
        width=400,
    ),
    "strength": lambda a: charts.plot_strength_line(a.strength_line(), spans=a.spans(), width=400),
    "muscle week": lambda a: charts.plot_muscle_week(
        a.muscle_weeks().filter(pl.col("week_start") == a.week), width=400
    ),
    "muscle history": lambda a: charts.plot_muscle_history(a.muscle_weeks(), chosen=a.week, width=400),
    "calendar": lambda a: charts.plot_adherence_calendar(
        a.planned_sessions(), a.sessions(), excused=a.spans(), width=400
    ),
    "bodyweight": lambda a: charts.plot_bodyweight(a.check_ins(), spans=a.spans(), width=400),
    "check-ins": lambda a: charts.plot_check_ins(a.check_ins(), width=400),
    "effort": lambda a: charts.plot_effort_at_matched_work(a.lift_sets("bench_press"), width=400),
}


@pytest.fixture(scope="module")
def athlete(kept_workspace: Path) -> AthleteHistory:
    history = open_history((kept_workspace / "history.duckdb").resolve())
    return AthleteHistory(history, "c002", read_weeks(history)[0])


@pytest.mark.slow
@pytest.mark.parametrize("name", DRAWN)
def test_a_chart_becomes_a_picture_without_a_browser(name: str, athlete: AthleteHistory) -> None:
    svg = vl_convert.vegalite_to_svg(DRAWN[name](athlete).to_dict(), vl_version="6.4", allowed_base_urls=[])
    assert svg.startswith("<svg")
    assert "NaN" not in svg


@pytest.mark.parametrize("name", DRAWN)
def test_a_client_without_rows_gives_an_empty_chart_and_no_error(name: str, athlete: AthleteHistory) -> None:
    nobody = AthleteHistory(athlete.history, "nobody", athlete.week)
    svg = vl_convert.vegalite_to_svg(DRAWN[name](nobody).to_dict(), vl_version="6.4", allowed_base_urls=[])
    assert svg.startswith("<svg")


@pytest.mark.parametrize("name", DRAWN)
def test_charts_carry_no_colour_of_their_own(name: str, athlete: AthleteHistory) -> None:
    spec = DRAWN[name](athlete).to_dict()
    drawing = json.dumps({key: spec[key] for key in spec if key not in ("config", "datasets")})
    assert "#" not in drawing.replace("$schema", "")
    assert '"fill"' not in drawing
    assert '"stroke"' not in drawing


def styles_of(node: Any) -> set[str]:
    """Every style name in a specification."""
    if isinstance(node, dict):
        own = {node["style"]} if isinstance(node.get("style"), str) else set()
        return own.union(*(styles_of(value) for value in node.values()))
    if isinstance(node, list):
        return set().union(*(styles_of(value) for value in node))
    return set()


@pytest.mark.parametrize("name", DRAWN)
def test_every_style_a_chart_names_is_in_the_theme(name: str, athlete: AthleteHistory) -> None:
    spec = DRAWN[name](athlete).to_dict()
    drawing = {key: spec[key] for key in spec if key not in ("config", "datasets")}
    assert styles_of(drawing) <= set(theme.mark_styles(theme.PALETTES["light"]))


def test_the_look_follows_the_mode_in_force(athlete: AthleteHistory) -> None:
    theme.use("dark")
    dark = DRAWN["strength"](athlete).to_dict()["config"]["style"]["level"]["color"]
    theme.use("light")
    light = DRAWN["strength"](athlete).to_dict()["config"]["style"]["level"]["color"]
    assert (dark, light) == (theme.PALETTES["dark"].main, theme.PALETTES["light"].main)


def rows_of(spec: dict[str, Any]) -> list[dict[str, Any]]:
    """All rows of all data sets of a specification."""
    return [row for rows in spec["datasets"].values() for row in rows]


def test_loads_are_drawn_in_the_clients_unit(athlete: AthleteHistory) -> None:
    trend, sessions = athlete.lift_trend("bench_press"), athlete.lift_sessions("bench_press")
    spec = charts.plot_e1rm_trend(trend, sessions, unit="lb", width=400).to_dict()
    drawn = [row["level_kg"] for row in rows_of(spec) if row.get("level_kg")]
    # 1 lb = 0.45359237 kg exactly (NIST SP 811)
    assert max(drawn) == pytest.approx(trend["level_kg"].max() / 0.45359237)
    assert "e1RM, lb" in json.dumps(spec)


def test_labels_go_through_the_readers_language(athlete: AthleteHistory) -> None:
    spec = charts.plot_muscle_week(
        athlete.muscle_weeks().filter(pl.col("week_start") == athlete.week),
        say=lambda text: f"«{text}»",
        width=400,
    ).to_dict()
    assert "«Chest»" in json.dumps(spec, ensure_ascii=False)
    assert "«Hard sets a week»" in json.dumps(spec, ensure_ascii=False)


def muscle_rows(**columns: list[Any]) -> pl.DataFrame:
    n = len(next(iter(columns.values())))
    base = {
        "week_start": [WEEK] * n,
        "muscle": ["chest", "lats", "quads", "calves", "abs"][:n],
        "fractional_hard_sets": [0.0] * n,
        "unknown_effort_sets": [0.0] * n,
        "target_low": [10.0] * n,
        "target_high": [20.0] * n,
        "n_sessions": [1] * n,
        "planned_sets": [None] * n,
    }
    return pl.DataFrame({**base, **columns})


@pytest.mark.parametrize(
    ("sets", "unknown", "standing"),
    [
        (9.5, 0.0, "below"),
        (10.0, 0.0, "within"),
        (20.0, 0.0, "within"),
        (20.5, 0.0, "above"),
        (4.0, 8.0, "undecided"),
        (4.0, 5.0, "below"),
    ],
    ids=[
        "just below",
        "at the low end",
        "at the high end",
        "just above",
        "unknown sets decide",
        "unknown sets cannot help",
    ],
)
def test_a_muscle_stands_where_its_hard_sets_put_it(sets: float, unknown: float, standing: str) -> None:
    spec = charts.plot_muscle_history(
        muscle_rows(fractional_hard_sets=[sets], unknown_effort_sets=[unknown]), width=400
    ).to_dict()
    assert {row["standing"] for row in rows_of(spec)} == {standing}


def test_a_muscle_without_a_target_takes_no_side() -> None:
    spec = charts.plot_muscle_history(muscle_rows(target_low=[None], target_high=[None]), width=400).to_dict()
    assert {row["standing"] for row in rows_of(spec)} == {"untargeted"}


def test_the_calendar_puts_a_moved_day_where_it_was_done_and_a_missed_one_where_it_was_planned() -> None:
    planned = pl.DataFrame(
        {
            "week_start": [WEEK] * 2,
            "day": ["Push", "Pull"],
            "outcome": ["moved", "missed"],
            "planned_date": [WEEK, WEEK + dt.timedelta(days=2)],
            "session_date": [WEEK + dt.timedelta(days=1), None],
            "planned_sets": [10, 12],
            "done_sets": [10, 0],
        }
    )
    sessions = pl.DataFrame(
        {
            "week_start": [WEEK],
            "session_date": [WEEK + dt.timedelta(days=5)],
            "planned_day": [None],
            "n_sets": [7],
        },
        schema_overrides={"planned_day": pl.String},
    )
    days = read_calendar_days(planned, sessions).select("outcome", "day_date").rows()
    assert days == [
        ("moved", WEEK + dt.timedelta(days=1)),
        ("missed", WEEK + dt.timedelta(days=2)),
        ("unplanned", WEEK + dt.timedelta(days=5)),
    ]


@pytest.mark.parametrize(
    ("weeks_shown", "stands_on", "in_week"),
    [(2, 7, 1), (1, 6, 0)],
    ids=["its week is shown", "its week is not shown"],
)
def test_a_session_done_over_the_weeks_edge_stands_where_it_was_done_or_planned(
    weeks_shown: int, stands_on: int, in_week: int
) -> None:
    sunday, monday = WEEK + dt.timedelta(days=6), WEEK + dt.timedelta(days=7)
    planned = pl.DataFrame(
        {"week_start": [WEEK], "day": ["Legs"], "outcome": ["moved"], "planned_date": [sunday],
         "session_date": [monday], "planned_sets": [9], "done_sets": [9]}
    )  # fmt: skip
    sessions = pl.DataFrame(
        {"week_start": [monday], "session_date": [monday], "planned_day": ["Legs"], "n_sets": [9]}
    )
    [mark] = read_calendar_days(planned, sessions.head(weeks_shown - 1)).to_dicts()
    assert mark["day_date"] == WEEK + dt.timedelta(days=stands_on)
    assert mark["week_start"] == WEEK + dt.timedelta(weeks=in_week)
    assert mark["what"] == f"Legs, done on {monday.day} {monday:%b}"


def test_a_week_without_a_plan_keeps_its_place_in_the_calendar() -> None:
    planned = pl.DataFrame(
        {
            "week_start": [WEEK, WEEK + dt.timedelta(weeks=2)],
            "day": ["Push"] * 2,
            "outcome": ["done"] * 2,
            "planned_date": [WEEK, WEEK + dt.timedelta(weeks=2)],
            "session_date": [WEEK, WEEK + dt.timedelta(weeks=2)],
            "planned_sets": [1, 1],
            "done_sets": [1, 1],
        }
    )
    sessions = pl.DataFrame(
        schema={"week_start": pl.Date, "session_date": pl.Date, "planned_day": pl.String, "n_sets": pl.Int64}
    )
    spec = charts.plot_adherence_calendar(planned, sessions, width=400).to_dict()
    weeks = {row["week_start"][:10] for row in rows_of(spec)}
    assert (WEEK + dt.timedelta(weeks=1)).isoformat() in weeks


def test_effort_is_compared_only_at_the_same_load_and_repetitions_on_three_days() -> None:
    days = [WEEK + dt.timedelta(days=d) for d in (0, 7, 14, 0, 7)]
    sets = pl.DataFrame(
        {
            "session_date": days,
            "set_kind": ["work"] * 5,
            "load_kg": [100.0, 100.0, 100.0, 90.0, 90.0],
            "reps": [5] * 5,
            "rir": [3.0, 2.0, 1.0, 3.0, 3.0],
        }
    )
    matched = read_matched_work(sets)
    assert matched["work"].unique().to_list() == ["100 kg × 5"]
    assert matched["rir"].to_list() == [3.0, 2.0, 1.0]


@pytest.mark.parametrize("mode", ["light", "dark"])
@pytest.mark.parametrize("ink", ["ink", "muted", "main", "attention"])
def test_text_stands_out_from_the_paper(mode: theme.Mode, ink: str) -> None:
    """WCAG 2.1, success criterion 1.4.3: contrast of at least 4.5 to 1 for text."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    palette = theme.PALETTES[mode]
    for paper in (palette.paper, palette.panel):
        light, dark = sorted((luminance(getattr(palette, ink)), luminance(paper)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_charts_drawn_for_the_dark_are_turned_light_on_paper() -> None:
    assert "invert(1)" in page_css(theme.PALETTES["dark"])
    assert "invert(1)" not in page_css(theme.PALETTES["light"])
