"""Whether the plan was done: a calendar of planned days and what became of each."""

from __future__ import annotations

import altair as alt
import polars as pl

from dashboards.charts.context import NO_SPANS, Drawing, Say, Width, week_columns

OUTCOME_LABELS = {
    "done": "Done",
    "moved": "Done on another day",
    "missed": "Missed",
    "no_log": "Nothing came in",
    "excused": "Excused",
    "open": "Still open",
    "unplanned": "Not planned",
}
OUTCOME_SHAPES = {
    "done": "circle",
    "moved": "triangle-right",
    "missed": "M-.8,-.8L.8,.8M.8,-.8L-.8,.8",
    "no_log": "M-.9,0L.9,0",
    "excused": "square",
    "open": "circle",
    "unplanned": "diamond",
}
"""A shape of its own for each outcome, so that the calendar reads without colour."""

_STYLES = {
    "done": "outcome_done",
    "moved": "outcome_moved",
    "missed": "outcome_missed",
    "no_log": "outcome_missed",
    "excused": "outcome_excused",
    "open": "outcome_open",
    "unplanned": "outcome_unplanned",
}
WEEKDAY_LABELS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
ANY_DAY = "Any day"


def read_calendar_days(planned: pl.DataFrame, sessions: pl.DataFrame, say: Say = str) -> pl.DataFrame:
    """A row for each mark of the calendar: week_start, day_date (may be empty), outcome, what, sets.

    planned: `planned_session` rows; sessions: `session_summary` rows, of which those without a
    `planned_day` were trained though no plan asked for them. A session done over the week's edge stands in
    the week in which it was done, and where that is not among those shown, on the day it was planned for.
    """
    known_weeks = pl.concat([planned["week_start"], sessions["week_start"]]).unique()
    done_on = pl.when(pl.col("outcome").is_in(["done", "moved"])).then(pl.col("session_date"))
    weeks_off = (done_on - pl.col("week_start")).dt.total_days().floordiv(7).fill_null(0)
    done_week = (pl.col("week_start") + pl.duration(weeks=weeks_off)).cast(pl.Date)
    is_shown = done_week.is_in(known_weeks.implode())
    asked = planned.select(
        pl.when(is_shown).then(done_week).otherwise("week_start").alias("week_start"),
        pl.coalesce(pl.when(is_shown).then(done_on), "planned_date").alias("day_date"),
        "outcome",
        pl.when(weeks_off != 0)
        .then(pl.format("{}, {} {}", "day", pl.lit(say("done on")), done_on.dt.strftime("%-d %b")))
        .otherwise("day")
        .alias("what"),
        pl.format("{} / {}", pl.col("done_sets").fill_null(0), pl.col("planned_sets").fill_null(0)).alias(
            "sets"
        ),
    )
    unplanned = sessions.filter(pl.col("planned_day").is_null()).select(
        "week_start",
        pl.col("session_date").alias("day_date"),
        pl.lit("unplanned").alias("outcome"),
        pl.lit("").alias("what"),
        pl.col("n_sets").cast(pl.String).fill_null("").alias("sets"),
    )
    return pl.concat([asked, unplanned], how="vertical_relaxed").sort("week_start", "day_date", "what")


def plot_adherence_calendar(
    planned: pl.DataFrame,
    sessions: pl.DataFrame,
    *,
    excused: pl.DataFrame = NO_SPANS,
    first_day_of_week: int = 1,
    say: Say = str,
    width: Width = "container",
    row_height: int = 22,
) -> Drawing:
    """Weeks across, weekdays down, a shape for what became of each planned day.

    planned: `planned_session` rows of one client (week_start, day, planned_date, session_date, outcome,
    planned_sets, done_sets); sessions: `session_summary` rows of the same weeks (week_start, session_date,
    planned_day, n_sets); excused: date_from, date_to, shaded. A planned day without a weekday that was not
    done stands in the row "Any day". A day that was moved stands where it was done.
    """
    names = [say(WEEKDAY_LABELS[(first_day_of_week - 1 + i) % 7]) for i in range(7)]
    marks = read_calendar_days(planned, sessions, say)
    weekday = ((pl.col("day_date").dt.weekday() - first_day_of_week) % 7).cast(pl.Int64)
    marks = marks.with_columns(
        weekday.replace_strict(dict(enumerate(names)), default=say(ANY_DAY), return_dtype=pl.String).alias(
            "weekday"
        ),
        pl.col("outcome")
        .replace_strict({outcome: say(label) for outcome, label in OUTCOME_LABELS.items()}, default="")
        .alias("label"),
    )
    rows = names + ([say(ANY_DAY)] if (marks["weekday"] == say(ANY_DAY)).any() else [])
    cells = pl.DataFrame({"offset": list(range(len(rows))), "weekday": rows})
    week = pl.col("week_start")
    # weeks without a mark keep their place: a gap must look like one
    weeks = (
        marks.select(week)
        if marks.is_empty()
        else marks.select(pl.date_range(week.min(), week.max(), "1w").alias("week_start"))
    )
    grid = weeks.join(cells, how="cross").with_columns(
        (pl.col("week_start") + pl.duration(days=1) * pl.col("offset")).cast(pl.Date).alias("day_date")
    )
    spared = grid.filter(pl.col("offset") < 7).join_where(
        excused.select("date_from", "date_to"),
        pl.col("day_date") >= pl.col("date_from"),
        pl.col("day_date") <= pl.col("date_to"),
    )
    place = {
        "x": week_columns(),
        "y": alt.Y("weekday:N", sort=rows, title=None),
    }
    told = [
        alt.Tooltip("day_date:T", title=say("Day")),
        alt.Tooltip("label:N", title=say("What became of it")),
        alt.Tooltip("what:N", title=say("Planned day")),
        alt.Tooltip("sets:N", title=say("Sets done / planned")),
    ]
    base = alt.Chart(marks)
    layers = [
        alt.Chart(grid).mark_rect(style="day_cell").encode(**place),
        alt.Chart(spared).mark_rect(style="day_excused").encode(**place),
    ]
    present = set(marks["outcome"].to_list())
    layers += [
        base.transform_filter(f"datum.outcome == '{outcome}'")
        .mark_point(style=style, shape=OUTCOME_SHAPES[outcome])
        .encode(tooltip=told, **place)
        for outcome, style in _STYLES.items()
        if outcome in present
    ]
    return Drawing(layers, width, row_height * len(rows))
