"""The words of a state: the sentence a coach reads and what would change it.

"Pattern consistent with accumulated fatigue" is as far as the words go (Meeusen et al. 2013: which kind of
over-reaching it was is known only after recovery).
"""

from __future__ import annotations

import polars as pl

from pipeline.analyse.states.evidence import evidence_json
from pipeline.analyse.states.phrases import (
    ATTENDANCE_TEXT,
    CHANGE_TEXT,
    SLOPE_TEXT,
    STRAIN_TEXT,
    by_state,
    count,
    signed,
    whole,
)

POSSIBLE = 0.3
UNSURE = 0.5
"""Chance of a plateau from which a steady week names it as possible, and below which a plateau is called
unsure. In the laboratory it holds for steady weeks as stated, up to one in two."""
_POSSIBLE = (
    pl.when(
        (pl.col("bodyweight_slope") > -0.35)
        & (pl.col("plateau_chance") >= POSSIBLE)
        & (pl.col("plateau_chance") < UNSURE)
    )
    .then(pl.format(" A plateau is possible, about {} %.", whole(100 * pl.col("plateau_chance"))))
    .otherwise(pl.lit(""))
)

REASONS: dict[str, pl.Expr] = {
    "progressing": pl.format("Strength is rising: {}.", SLOPE_TEXT),
    "plateau": pl.format(
        "No progress beyond measurement error: {}; the heaviest load rose in about {} % of lift "
        "weeks of the last six.{}",
        SLOPE_TEXT,
        whole(100 * pl.col("top_bests_6")),
        pl.when(pl.col("plateau_chance") < UNSURE)
        .then(pl.lit(" It may still be slow progress: the two look alike for weeks."))
        .otherwise(pl.lit("")),
    ),
    "over_reaching": pl.concat_str(
        pl.lit("Pattern consistent with accumulated fatigue: "),
        CHANGE_TEXT,
        pl.when(pl.col("reserve_lifts_2") > 0)
        .then(pl.format(", {} repetitions in reserve", signed(pl.col("reserve_change_2") / 2.5)))
        .otherwise(pl.lit("")),
        pl.when(pl.col("n_answers") > 0).then(pl.lit("; ") + STRAIN_TEXT).otherwise(pl.lit("")),
        pl.lit("."),
    ),
    "off_plan": pl.format("The plan is not being done: {}.", ATTENDANCE_TEXT),
    "planned_deload": pl.concat_str(
        pl.when(pl.col("break_days") >= 4)
        .then(pl.lit("A break was announced: "))
        .when(pl.col("excused_days") >= 4)
        .then(pl.lit("Training was excused: "))
        .otherwise(pl.lit("The plan is lighter on purpose: ")),
        count(
            pl.max_horizontal("deload_days", "light_plan_days", "break_days", "excused_days"), "day", "days"
        ),
        pl.lit(" of this week."),
    ),
    "returning": pl.format(
        "Back after {} without a session; figures below the old level are expected for a while.",
        count(pl.col("gap_days"), "day", "days"),
    ),
    "steady": pl.concat_str(
        pl.when(pl.col("bodyweight_slope") <= -0.35)
        .then(
            pl.format("Holding while bodyweight falls {} % a week: ", signed(pl.col("bodyweight_slope"), 2))
        )
        .otherwise(pl.lit("Neither clear progress nor a clear standstill: ")),
        SLOPE_TEXT,
        pl.lit("."),
        _POSSIBLE,
    ),
    "not_enough_data": pl.format(
        "Too little to tell a trend: {} with a log, {} of the last eight weeks to compare.",
        count(pl.col("weeks_logged"), "week", "weeks"),
        count(pl.col("n_points").fill_null(0), "lift week", "lift weeks"),
    ),
    "no_recent_log": pl.format("Nothing logged for {}.", count(pl.col("days_since_log"), "day", "days")),
}

WOULD_CHANGE: dict[str, pl.Expr] = {
    "progressing": pl.lit("Eight weeks whose pooled slope cannot be told from zero."),
    "plateau": pl.lit(
        "New bests on several lifts, or a pooled slope whose interval lies above zero; a new block "
        "or range starts the comparison afresh."
    ),
    "over_reaching": pl.lit(
        "Two weeks back at the usual level at the usual effort; a lighter week in the plan "
        "is then shown as planned."
    ),
    "off_plan": pl.lit("Two weeks with at least 80 % of the planned sessions and 75 % of the planned sets."),
    "planned_deload": pl.lit("The end of the lighter stretch in the plan."),
    "returning": pl.lit("Two to four weeks of sessions, the longer the pause the more."),
    "steady": pl.lit("A slope that clearly leaves zero, or several weeks without a best."),
    "not_enough_data": pl.lit("At least four weeks with a log and the same lifts in them."),
    "no_recent_log": pl.lit("A new log, or an excuse for the days."),
}


def word_states(frame: pl.DataFrame) -> pl.DataFrame:
    """Adds `reasons`, `evidence` and `would_change` to rows with `state` and the signals."""
    blank = pl.col(
        "slope_raw",
        "slope_se",
        "n_lifts",
        "shown_bests_6",
        "top_bests_6",
        "shown_change_2",
        "shown_breadth_2",
        "bodyweight_slope",
        "gap_days",
        "return_days",
        "weeks_logged",
        "dose_3",
        "strain_2",
        "reserve_change_2",
        "n_points",
        "stall_chance",
        "slump_chance",
        "own_rate",
    )
    return frame.with_columns(blank.fill_null(0)).with_columns(
        reasons=by_state(REASONS).fill_null("No figures for this week."),
        evidence=evidence_json().fill_null("[]"),
        would_change=by_state(WOULD_CHANGE),
    )
