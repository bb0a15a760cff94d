"""The words and figures behind a state: one sentence, the evidence for and against, what would change it.

All of it is built as polars expressions over columns of signals, so that a large roster's history is worded
in seconds. "Pattern consistent with accumulated fatigue" is as far as the words go (Meeusen et al. 2013:
which kind of over-reaching it was is known only after recovery).
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

NEVER = pl.lit(False)


def signed(column: pl.Expr, digits: int = 1) -> pl.Expr:
    """A number with its sign, true minus sign, fixed rounding."""
    size = column.abs().round(digits)
    size = size.cast(pl.Int64).cast(pl.String) if digits == 0 else size.cast(pl.String)
    return pl.when(column.round(digits) < 0).then(pl.lit("−")).otherwise(pl.lit("+")) + size


def whole(column: pl.Expr) -> pl.Expr:
    """A number without decimals."""
    return column.round(0).cast(pl.Int64).cast(pl.String)


def count(column: pl.Expr, one: str, many: str) -> pl.Expr:
    """A count with its noun."""
    return whole(column) + pl.when(column.round(0) == 1).then(pl.lit(f" {one}")).otherwise(pl.lit(f" {many}"))


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


_LOW = pl.col("slope_raw") - 1.645 * pl.col("slope_se")
_HIGH = pl.col("slope_raw") + 1.645 * pl.col("slope_se")
SLOPE_TEXT = pl.format(
    "{} % a week over eight weeks, {} pooled (90 % interval {} to {})",
    signed(pl.col("slope_raw"), 2),
    count(pl.col("n_lifts"), "lift", "lifts"),
    signed(_LOW, 2),
    signed(_HIGH, 2),
)
USUAL_SLUMP = -4.0
"""Log odds of a slump in a week like any other."""
STALL_PCT = (100 / (1 + (-pl.col("stall_chance")).exp())).clip(1, 99)
SLUMP_PCT = (100 / (1 + (-pl.col("slump_chance")).exp())).clip(1, 99)
STALL_TEXT = pl.format(
    "by all lifts together a standstill of two weeks and more is {} % likely; while getting on this client "
    "gains about {} % a week",
    whole(STALL_PCT),
    pl.col("own_rate").round(2).cast(pl.String),
)
SLUMP_TEXT = pl.format(
    "by all lifts together it is {} % likely that strength is below the client's own line",
    whole(SLUMP_PCT),
)
CHANGE_TEXT = pl.format(
    "strength of the last two weeks {} % against the six before, {} % of it falling by more than 2 %",
    signed(pl.col("shown_change_2")),
    whole(100 * pl.col("shown_breadth_2")),
)
STRAIN_TEXT = pl.format(
    "check-ins {} standard deviations {} tired than usual",
    pl.col("strain_2").abs().round(1).cast(pl.String),
    pl.when(pl.col("strain_2") >= 0).then(pl.lit("more")).otherwise(pl.lit("less")),
)
DOSE_TEXT = pl.format(
    "sets of the last three weeks {} % against the eight before",
    signed(100 * (pl.col("dose_3").exp() - 1), 0),
)
ATTENDANCE_TEXT = pl.format(
    "{} of {} planned sessions missed in four weeks, {} % of the planned sets done",
    whole(pl.col("missed_4").fill_null(0)),
    whole(pl.col("planned_4").fill_null(0)),
    whole(100 * pl.col("sets_done_4").fill_null(pl.col("attendance_4")).fill_null(0)),
)

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
            "steady": _LOW < 0.1,
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


def by_state(choices: dict[str, pl.Expr]) -> pl.Expr:
    """The expression of the row's state; empty text for a state without one."""
    out = pl.lit("")
    for state, expression in choices.items():
        out = pl.when(pl.col("state") == state).then(expression).otherwise(out)
    return out


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


REASONS: dict[str, pl.Expr] = {
    "progressing": pl.format("Strength is rising: {}.", SLOPE_TEXT),
    "plateau": pl.format(
        "No progress beyond measurement error: {}; the heaviest load rose in about {} % of lift "
        "weeks of the last six.",
        SLOPE_TEXT,
        whole(100 * pl.col("top_bests_6")),
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
