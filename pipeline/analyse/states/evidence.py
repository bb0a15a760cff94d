"""The evidence for and against a state: each signal with its figure and what it speaks for."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.analyse.states.phrases import (
    ATTENDANCE_TEXT,
    CHANGE_TEXT,
    DOSE_TEXT,
    SLOPE_LOW,
    SLOPE_TEXT,
    SLUMP_PCT,
    SLUMP_TEXT,
    STALL_PCT,
    STALL_TEXT,
    STRAIN_TEXT,
    count,
    signed,
    whole,
)

NEVER = pl.lit(False)
USUAL_SLUMP = -4.0
"""Log odds of a slump in a week like any other."""


@dataclass(frozen=True)
class Item:
    """A piece of evidence: shown where `there`, its `text`, and for which states it speaks.

    `speaks_for` maps a state to the condition under which it speaks for that state; where the condition
    fails it speaks against. It is left out for states it says nothing about.
    """

    signal: str
    figure: pl.Expr
    unit: str
    text: pl.Expr
    there: pl.Expr
    speaks_for: dict[str, pl.Expr]


ITEMS: tuple[Item, ...] = (
    Item(
        "pooled_slope",
        pl.col("slope_raw").round(3),
        "% a week",
        SLOPE_TEXT,
        pl.col("n_lifts") > 0,
        {
            "progressing": pl.col("slope_raw") > 0,
            "plateau": pl.col("slope_raw") < 0.5 * pl.col("own_rate"),
            "over_reaching": pl.col("slope_raw") < 0,
            "steady": SLOPE_LOW < 0.1,
        },
    ),
    Item(
        "standstill",
        STALL_PCT.round(0),
        "%",
        STALL_TEXT,
        pl.col("n_lifts") > 0,
        {
            "plateau": pl.col("stall_chance") > -1,
            "progressing": pl.col("stall_chance") < 0,
            "steady": pl.col("stall_chance").abs() < 2,
        },
    ),
    Item(
        "slump",
        SLUMP_PCT.round(1),
        "%",
        SLUMP_TEXT,
        pl.col("n_lifts") > 0,
        {
            "over_reaching": pl.col("slump_chance") > USUAL_SLUMP,
            "plateau": pl.col("slump_chance") < 0,
        },
    ),
    Item(
        "new_bests",
        pl.col("shown_bests_6").round(3),
        "share of lift weeks",
        pl.format(
            "about {} % of lift weeks of the last six brought a best of that lift",
            whole(100 * pl.col("shown_bests_6")),
        ),
        pl.col("n_lifts") > 0,
        {
            "progressing": pl.col("shown_bests_6") > 0.3,
            "plateau": pl.col("shown_bests_6") <= 0.3,
            "steady": pl.col("shown_bests_6") <= 0.4,
        },
    ),
    Item(
        "loads_rising",
        pl.col("top_bests_6").round(3),
        "share of lift weeks",
        pl.format(
            "the heaviest load rose in about {} % of lift weeks of the last six",
            whole(100 * pl.col("top_bests_6")),
        ),
        pl.col("n_lifts") > 0,
        {
            "progressing": pl.col("top_bests_6") > 0.25,
            "plateau": pl.col("top_bests_6") <= 0.25,
        },
    ),
    Item(
        "recent_level",
        pl.col("shown_change_2").round(2),
        "%",
        CHANGE_TEXT,
        pl.col("shown_lifts_2") > 0,
        {
            "over_reaching": pl.col("shown_change_2") < -0.5,
            "progressing": pl.col("shown_change_2") > 0,
            "plateau": pl.col("shown_change_2").abs() < 2,
        },
    ),
    Item(
        "reserve_change",
        (pl.col("reserve_change_2") / 2.5).round(2),
        "repetitions in reserve",
        pl.format(
            "{} repetitions in reserve against the six weeks before", signed(pl.col("reserve_change_2") / 2.5)
        ),
        pl.col("reserve_lifts_2") > 0,
        {
            "over_reaching": pl.col("reserve_change_2") < 0,
            "plateau": pl.col("reserve_change_2") < 0.5,
        },
    ),
    Item(
        "check_ins",
        pl.col("strain_2").round(2),
        "standard deviations",
        STRAIN_TEXT,
        pl.col("n_answers") > 0,
        {
            "over_reaching": pl.col("strain_2") > 0.3,
        },
    ),
    Item(
        "dose",
        (100 * (pl.col("dose_3").exp() - 1)).round(1),
        "%",
        DOSE_TEXT,
        pl.col("weeks_logged") >= 6,
        {
            "over_reaching": pl.col("dose_3") > 0.05,
        },
    ),
    Item(
        "adherence",
        (100 * pl.col("attendance_4")).round(0),
        "%",
        ATTENDANCE_TEXT,
        pl.col("planned_4") > 0,
        {
            "off_plan": (pl.col("attendance_4") < 0.8) | (pl.col("sets_done_4") < 0.8),
            "plateau": pl.col("attendance_4") >= 0.8,
            "progressing": pl.col("attendance_4") >= 0.8,
        },
    ),
    Item(
        "bodyweight",
        pl.col("bodyweight_slope").round(2),
        "% a week",
        pl.format("bodyweight {} % a week", signed(pl.col("bodyweight_slope"), 2)),
        pl.col("n_bodyweights") >= 3,
        {
            "plateau": pl.col("bodyweight_slope") > -0.35,
            "steady": pl.col("bodyweight_slope") <= -0.35,
            "over_reaching": pl.col("bodyweight_slope") > -0.35,
        },
    ),
    Item(
        "planned_light_days",
        pl.max_horizontal("deload_days", "light_plan_days", "break_days"),
        "days",
        pl.format(
            "the plan is lighter on {} of the week",
            count(pl.max_horizontal("deload_days", "light_plan_days", "break_days"), "day", "days"),
        ),
        pl.max_horizontal("deload_days", "light_plan_days", "break_days") > 0,
        {"planned_deload": pl.lit(True), "over_reaching": NEVER, "off_plan": NEVER},
    ),
    Item(
        "excused_days",
        pl.col("excused_days"),
        "days",
        pl.format("training was excused on {}", count(pl.col("excused_days"), "day", "days")),
        pl.col("excused_days") > 0,
        {"planned_deload": pl.lit(True), "off_plan": NEVER, "over_reaching": NEVER},
    ),
    Item(
        "days_since_log",
        pl.col("days_since_log"),
        "days",
        pl.format("last log {} before the week's end", count(pl.col("days_since_log"), "day", "days")),
        pl.col("days_since_log") >= 5,
        {"no_recent_log": pl.lit(True)},
    ),
    Item(
        "gap",
        pl.col("gap_days"),
        "days",
        pl.format(
            "{} without a session, back for {}",
            count(pl.col("gap_days"), "day", "days"),
            count(pl.col("return_days") + 1, "day", "days"),
        ),
        pl.col("is_returning") > 0,
        {"returning": pl.lit(True), "over_reaching": NEVER, "plateau": NEVER},
    ),
    Item(
        "weeks_logged",
        pl.col("weeks_logged"),
        "weeks",
        pl.format("{} with a log so far", count(pl.col("weeks_logged"), "week", "weeks")),
        pl.col("weeks_logged") < 12,
        {
            "not_enough_data": pl.col("weeks_logged") < 6,
            "plateau": NEVER,
            "progressing": NEVER,
        },
    ),
)


def evidence_json(items: tuple[Item, ...] = ITEMS) -> pl.Expr:
    """JSON list of {signal, figure, unit, speaks, text} of the items that speak about the row's state."""
    parts = []
    for item in items:
        spoken = NEVER
        about = pl.col("state").is_in(list(item.speaks_for))
        for state, condition in item.speaks_for.items():
            spoken = pl.when(pl.col("state") == state).then(condition).otherwise(spoken)
        speaks = pl.when(spoken.fill_null(False)).then(pl.lit("for")).otherwise(pl.lit("against"))
        entry = pl.concat_str(
            pl.lit(f'{{"signal": "{item.signal}", "figure": '),
            item.figure.cast(pl.Float64).cast(pl.String),
            pl.lit(f', "unit": "{item.unit}", "speaks": "'),
            speaks,
            pl.lit('", "text": "'),
            item.text,
            pl.lit('"}'),
        )
        parts.append(pl.when(about & item.there).then(entry).otherwise(None))
    return pl.lit("[") + pl.concat_str(parts, separator=", ", ignore_nulls=True) + pl.lit("]")
