"""Loads far from a client's own history for a lift: a slipped digit, kilograms taken for pounds.

Such sets are held with a suggestion, never corrected. Judged is a set against the client's earlier sessions
of the same lift only (no hindsight), by load and by e1RM (load × (1 + repetitions / 30), Epley 1985), so that
more load for fewer repetitions is no slip. A first session has nothing to be judged by, save the other sets
beside it. The factors are our own choice: a jump of 60 % and 12.5 kg over everything of the last sessions is
beyond what training does between two sessions, but not beyond a typing finger. Where the body is moved too,
it counts: from +5 to +15 kg on a pull-up is no jump of three times.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from pipeline.clean.cells.loads import KG_PER_LB, parse_load
from pipeline.contract.group_numbers import group_numbers

JUMP = 1.6
JUMP_AFTER_ONE_SESSION = 2.0
JUMP_AFTER_A_GAP = 2.2
GAP_DAYS = 120
LEAST_JUMP_KG = 12.5
LEAST_BESIDE, FAR_ABOVE = 3, 5  # sets of a session, and the times their median, that judge a first session
SESSIONS_BACK = 6
SEEN = 1.1  # up to a tenth above what was lifted in any earlier session is near to it
LB_IN_KG = 2.2046
BODY_KG = 70.0  # a nominal body: only the share of a jump is judged by it, nothing is computed from it
_UNITS_TAKEN_FOR_EACH_OTHER = (0.41, 0.50)
_BARS_KG = (10.0, 15.0, 20.0)
_MOST_PASSES = 12


def answered_load(answer: str, unit: str) -> float | None:
    """Kilograms of an answer such as 85, 85kg, 187.4 lb (`unit` where it names none); None for others."""
    reading = parse_load(answer)
    if reading.kind not in ("plain", "added") or reading.value is None:
        return None
    return reading.value * (KG_PER_LB if (reading.unit or unit) == "lb" else 1.0)


@dataclass(frozen=True)
class Slip:
    """An entry held: why, and the load that would fit (in the unit it was written in), if one would."""

    entry: int
    sentence: str
    suggested: float | None


def find_slips(sets: pl.DataFrame) -> list[Slip]:
    """The slips among sets with `entry`, client, exercise, `session_date`, `a_load_kg`, `a_load_basis`,
    `a_reps`, `a_set_kind`, `written_load` (the number as written). Warm-ups, bodyweight alone and missed
    attempts neither judge nor are judged.
    """
    judged = sets.filter(
        (pl.col("a_load_kg") > 0) & (pl.col("a_reps") >= 1) & (pl.col("a_set_kind") != "warm_up")
    )
    body = pl.when(pl.col("a_load_basis") == "bodyweight").then(BODY_KG).otherwise(0.0)
    judged = judged.with_columns(body.alias("body")).with_columns(
        (pl.col("a_load_kg") + pl.col("body")).alias("moved")
    )
    judged = judged.with_columns((pl.col("moved") * (1 + pl.min_horizontal("a_reps", 12) / 30)).alias("e1rm"))
    if not judged.height:
        return []
    judged = judged.with_columns(
        group_numbers(judged, ["client_id", "exercise_id"], "lift"),
        group_numbers(judged, ["client_id", "session_date"], "session"),
    )
    judged = judged.with_columns(group_numbers(judged, ["lift", "session"], "session_lift"))
    judged = judged.sort("session_lift", maintain_order=True)
    found: dict[int, Slip] = {}
    for _ in range(_MOST_PASSES):  # what is held is no history for later sessions either
        new = [slip for slip in _slips(_with_history(judged, list(found))) if slip.entry not in found]
        if not new:
            break
        found.update({slip.entry: slip for slip in new})
        # no other client's sets are judged anew
        whose = judged.filter(pl.col("entry").is_in([slip.entry for slip in new]))["client_id"].unique()
        judged = judged.filter(pl.col("client_id").is_in(whose.to_list()))
    return list(found.values())


def _with_history(judged: pl.DataFrame, held: list[int]) -> pl.DataFrame:
    """Each set with what the client's earlier sessions of the lift say, sets in `held` left out of these."""
    counts = judged.filter(~pl.col("entry").is_in(held)) if held else judged
    per_session = (
        judged.group_by("session_lift", maintain_order=True)
        .agg(
            pl.col("lift").first(),
            pl.col("session_date").first(),
            pl.col("moved").max().alias("top"),
            pl.len().alias("n_beside"),
        )
        # a session's second best set stands for it, so that its one slipped set does not judge the next sessions
        .join(_second_best(counts, "moved", "load"), on="session_lift", how="left", maintain_order="left")
        .join(_second_best(counts, "e1rm", "best"), on="session_lift", how="left", maintain_order="left")
        .join(
            counts.group_by("session_lift").agg(pl.col("moved").max().alias("seen")),
            on="session_lift",
            how="left",
            maintain_order="left",
        )
        .join(_medians(judged), on="session_lift", how="left", maintain_order="left")
        .sort("lift", "session_date")
    )
    counted = pl.col("load").is_not_null().cast(pl.Int64)
    before = [
        pl.col("load")
        .shift(1)
        .forward_fill()
        .rolling_median(SESSIONS_BACK, min_samples=1)
        .over("lift")
        .alias("usual_load"),
        pl.col("best")
        .shift(1)
        .forward_fill()
        .rolling_median(SESSIONS_BACK, min_samples=1)
        .over("lift")
        .alias("usual_best"),
        pl.col("load").shift(1).rolling_max(3, min_samples=1).over("lift").alias("last_load"),
        pl.when(pl.col("load").is_not_null())
        .then(pl.col("session_date"))
        .shift(1)
        .forward_fill()
        .over("lift")
        .alias("last_day"),
        (counted.cum_sum() - counted).over("lift").alias("n_before"),
        # three sessions outvote a slip in one of them
        pl.col("seen")
        .shift(1)
        .forward_fill()
        .rolling_median(SESSIONS_BACK, min_samples=3)
        .over("lift")
        .alias("usual_top"),
        pl.col("seen").shift(1).cum_max().forward_fill().over("lift").alias("seen"),
    ]
    history = per_session.with_columns(before).drop("load", "best", "lift", "session_date")
    is_first = pl.col("session_lift").ne_missing(pl.col("session_lift").shift(1))
    return judged.join(history, on="session_lift", how="left", maintain_order="left").with_columns(
        pl.when(~is_first).then(pl.col("moved").shift(1)).alias("load_before")
    )


def _second_best(judged: pl.DataFrame, column: str, name: str) -> pl.DataFrame:
    """The second highest value of each session of a lift, the only one where there is no other."""
    falling = judged.select("session_lift", column).sort("session_lift", column, descending=[False, True])
    best = falling.group_by("session_lift", maintain_order=True).agg(pl.col(column).slice(0, 2).last())
    return best.rename({column: name})


def _medians(judged: pl.DataFrame) -> pl.DataFrame:
    """The median of the sessions in which a load lies so far above another that it is asked for."""
    spread = judged.group_by("session_lift").agg(
        pl.len().alias("n"), pl.col("moved").min().alias("least"), pl.col("moved").max().alias("most")
    )
    wide = spread.filter((pl.col("n") >= LEAST_BESIDE) & (pl.col("most") >= FAR_ABOVE * pl.col("least")))
    sets = judged.join(wide, on="session_lift", how="semi")
    return sets.group_by("session_lift").agg(pl.col("moved").median().alias("median_beside"))


def _slips(frame: pl.DataFrame) -> list[Slip]:
    gap = (pl.col("session_date") - pl.col("last_day")).dt.total_days()
    factor = (
        pl.when(gap > GAP_DAYS)
        .then(JUMP_AFTER_A_GAP)
        .when(pl.col("n_before") == 1)
        .then(JUMP_AFTER_ONE_SESSION)
        .otherwise(JUMP)
    )
    has_history = pl.col("n_before") >= 1
    reference = pl.max_horizontal("usual_load", "last_load")
    jump = (
        has_history
        & (pl.col("moved") >= factor * reference)
        & (pl.col("e1rm") >= factor * pl.col("usual_best"))
        & ((pl.col("moved") - reference >= LEAST_JUMP_KG) | (pl.col("moved") >= 3 * reference))
        # a heavy set before lighter ones, week after week, is no jump the second time
        & (pl.col("moved") > SEEN * pl.col("seen"))
        & (pl.col("moved") >= factor * pl.col("usual_top").fill_null(0.0))
    )
    # the bar alone before the work sets is a warm-up nobody marked; ten kilograms in the middle: a lost digit
    share = pl.col("moved") / pl.col("usual_load")
    after_work = (share <= 0.15) & (pl.col("load_before") >= 0.5 * pl.col("usual_load"))
    # a tenth of the usual all session long, or of the work sets that follow, by which no bar is meant
    no_work = pl.col("top") < 0.5 * pl.col("usual_load")
    tenth = (pl.col("moved") * 10).is_between(0.85 * pl.col("top"), 1.15 * pl.col("top"))
    alone = (pl.col("n_before") >= 2) & share.is_between(0.08, 0.125) & (no_work | tenth)
    lost_digit = has_history & (after_work | (alone & ~pl.col("a_load_kg").is_in(_BARS_KG)))
    beside = (pl.col("n_beside") >= LEAST_BESIDE) & (pl.col("moved") >= FAR_ABOVE * pl.col("median_beside"))
    low, high = _UNITS_TAKEN_FOR_EACH_OTHER
    ratio = pl.col("top") / pl.col("usual_load")
    other_unit = (pl.col("n_before") >= 2) & ratio.is_between(low, high)
    lifts = _with_whole_sessions(frame.with_columns(other_unit.fill_null(value=False).alias("in_other_unit")))
    kinds = (
        pl.when(jump | beside)
        .then(pl.lit("high"))
        .when(lost_digit)
        .then(pl.lit("low"))
        .when("is_whole_session")
        .then(pl.lit("unit"))
    )
    found = lifts.with_columns(kinds.alias("slip")).filter(pl.col("slip").is_not_null())
    return [_slip(row) for row in found.iter_rows(named=True)]


def _with_whole_sessions(lifts: pl.DataFrame) -> pl.DataFrame:
    """`is_whole_session` where at least two lifts of a session, and all that have a history, are in the other
    unit."""
    suspects = lifts.filter("in_other_unit")["session"].unique()
    if not suspects.len():
        return lifts.with_columns(pl.lit(value=False).alias("is_whole_session"))
    counts = (
        lifts.filter(pl.col("session").is_in(suspects.to_list()))
        .group_by("session")
        .agg(
            pl.col("exercise_id").filter(pl.col("in_other_unit")).n_unique().alias("n_other"),
            pl.col("exercise_id").filter(pl.col("n_before") >= 2).n_unique().alias("n_known"),
        )
    )
    is_whole = (pl.col("n_other") >= 2) & (pl.col("n_other") == pl.col("n_known"))
    return lifts.join(counts, on="session", how="left", maintain_order="left").with_columns(
        (pl.col("in_other_unit") & is_whole.fill_null(value=False)).alias("is_whole_session")
    )


def _slip(row: Mapping[str, object]) -> Slip:
    load = float(row["a_load_kg"])  # type: ignore[arg-type]
    usual = row["usual_load"] if row["usual_load"] is not None else row["median_beside"]
    usual_kg = float(usual) - float(row["body"])  # type: ignore[arg-type]
    written = row.get("written_load")
    number = float(written) if isinstance(written, int | float) else load
    ratio = load / usual_kg if usual_kg else 0.0
    suggested: float | None = None
    if 8 <= ratio <= 12.5:
        suggested = number / 10
    elif 0.08 <= ratio <= 0.125:
        suggested = number * 10
    elif 1.9 <= ratio <= 2.5:
        suggested = round(number / LB_IN_KG, 1)
    elif row["slip"] == "unit":
        suggested = round(number * LB_IN_KG, 1)
    sentence = f"{load:g} kg is {ratio:.1f} times the {usual_kg:.1f} kg this client usually lifts here; " + (
        "it may be a slipped digit."
        if row["slip"] != "unit" and not 1.9 <= ratio <= 2.5
        else "kilograms and pounds may have been mixed up."
    )
    return Slip(int(row["entry"]), sentence, suggested)  # type: ignore[call-overload]
