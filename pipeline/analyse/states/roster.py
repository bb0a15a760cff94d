"""`roster_review`: the roster as of the last complete week, in order of urgency."""

from __future__ import annotations

import json

import duckdb
import polars as pl

from pipeline.analyse.states.options import suggest_options
from pipeline.contract.records import RECENT_PAIN_DAYS

BASE_URGENCY = {
    "over_reaching": 70.0,
    "no_recent_log": 60.0,
    "off_plan": 55.0,
    "plateau": 40.0,
    "returning": 25.0,
    "not_enough_data": 15.0,
    "steady": 10.0,
    "planned_deload": 5.0,
    "progressing": 0.0,
}
"""Order of the states [P]: harm first, then silence, then what is not done, then what has stalled."""
LOOK_FROM = 35.0
WARNING_URGENCY = 98.0
"""A warning sign comes before any state: it is for licensed medical care, not for coaching."""
NAMES = {
    "progressing": "progressing",
    "plateau": "plateau",
    "over_reaching": "accumulated fatigue",
    "off_plan": "off plan",
    "planned_deload": "planned lighter week",
    "returning": "returning",
    "steady": "steady",
    "not_enough_data": "not enough data",
    "no_recent_log": "no recent log",
}

_FACTS = f"""
with last_week as (select max(week_start) as week_start from calendar where is_complete_week),
as_of as (select as_of, recent_log_days from setting),
logs as (
  select client_id, max(session_date) as last_log_date from logged_set, as_of
  where session_date <= as_of group by client_id
),
pain as (
  select p.client_id, count(*) as n_pain_notes, bool_or(coalesce(p.is_warning_sign, false)) as has_warning
  from pain_note as p, as_of
  where p.session_date > as_of - {RECENT_PAIN_DAYS} and p.session_date <= as_of group by p.client_id
),
waiting as (
  select q.client_id, sum(q.n_rows_waiting) as n_waiting from open_question as q group by q.client_id
),
sets_done as (
  -- without any effort logged hard sets are unknown, not none
  select l.client_id,
    case when count(l.rir) > 0 then count(*) filter (where l.rir <= s.hard_set_max_rir) end as hard_sets
  from logged_set as l, setting as s, last_week as w
  where l.set_kind = 'work' and l.session_date between w.week_start and w.week_start + 6
  group by l.client_id
),
roster as (
  select client_id from client union select client_id from logged_set where client_id is not null
)
select
  r.client_id, coalesce(c.name, r.client_id) as name, w.week_start, a.recent_log_days,
  l.last_log_date, date_diff('day', l.last_log_date, a.as_of) as days_since_log,
  coalesce(p.n_pain_notes, 0) as n_pain_notes, coalesce(p.has_warning, false) as has_warning,
  coalesce(q.n_waiting, 0) as n_waiting, h.hard_sets,
from roster as r
cross join last_week as w
cross join as_of as a
left join client as c on c.client_id = r.client_id
left join logs as l on l.client_id = r.client_id
left join pain as p on p.client_id = r.client_id
left join waiting as q on q.client_id = r.client_id
left join sets_done as h on h.client_id = r.client_id
"""  # noqa: S608 a constant


def urgency() -> pl.Expr:
    """0 leave alone … 100 talk today: the state's base, how sure, how long, pain, silence, a change."""
    base = pl.col("state").replace_strict(BASE_URGENCY, default=0.0, return_dtype=pl.Float64)
    serious = base >= 40
    sure = pl.when(serious).then(15 * (pl.col("confidence").fill_null(0.5) - 0.5)).otherwise(0.0)
    fresh = pl.when(serious & (pl.col("weeks_in_state") <= 1)).then(6.0).otherwise(0.0)
    weeks = pl.min_horizontal(pl.col("weeks_in_state").fill_null(0), pl.lit(8))
    lasting = pl.when(serious).then(weeks * 0.75).otherwise(0.0)
    pain = pl.when(pl.col("n_pain_notes") > 0).then(20.0).otherwise(0.0)
    first = pl.when(pl.col("has_warning")).then(WARNING_URGENCY).otherwise(0.0)
    waiting = pl.when(pl.col("n_waiting") > 0).then(3.0).otherwise(0.0)
    total = base + sure + fresh + lasting + pain + waiting
    return pl.max_horizontal(total, first + total / 100).clip(0, 100).round(1)


def _what_changed() -> pl.Expr:
    name = pl.col("state").replace_strict(NAMES, default="", return_dtype=pl.String)
    before = pl.col("previous_state").replace_strict(NAMES, default="", return_dtype=pl.String)
    return (
        pl.when(pl.col("previous_state").is_null() | (pl.col("previous_state") == pl.col("state")))
        .then(pl.lit(""))
        .otherwise(pl.format("From {} to {}.", before, name))
    )


_MUSCLES = """
with sets as (
  select m.client_id, m.muscle, m.target_low,
    m.fractional_hard_sets + coalesce(m.unknown_effort_sets, 0) as n_sets,
    date_diff('day', m.week_start, l.week_start) // 7 as weeks_ago
  from muscle_week as m
  cross join (select max(week_start) as week_start from calendar where is_complete_week) as l
),
spans as (
  select client_id, muscle, max(target_low) as target_low,
    coalesce(sum(n_sets) filter (where weeks_ago between 0 and 2), 0) / 3e0 as lately,
    coalesce(sum(n_sets) filter (where weeks_ago between 3 and 10), 0) / 8e0 as before,
  from sets where weeks_ago between 0 and 10
  group by client_id, muscle
)
select client_id,
  arg_max(muscle, lately - before) filter (where lately - before >= 2 and before > 0) as more_muscle,
  max(lately - before) filter (where lately - before >= 2 and before > 0) as more_sets,
  arg_max(muscle, target_low - lately) filter (where target_low - lately >= 1) as less_muscle,
  max(target_low - lately) filter (where target_low - lately >= 1) as less_sets,
from spans
group by client_id
"""
"""For each client the muscle whose weekly sets grew most against the eight weeks before, and the one
furthest below the least weekly sets aimed at. Sets of unknown effort count: the question is how much work."""


def reason_with_waiting() -> pl.Expr:
    """What waits for an answer may have been done: said where a reason rests on what is missing."""
    rests_on_gaps = pl.col("state").is_in(["off_plan", "no_recent_log"]) & (pl.col("n_waiting") > 0)
    waiting = pl.format(
        "{} {} of this client's records wait for an answer, so part of it may have been done.",
        pl.col("reason"),
        pl.col("n_waiting"),
    )
    return pl.when(rests_on_gaps).then(waiting).otherwise(pl.col("reason"))


def in_order_of_urgency(roster: pl.DataFrame) -> pl.DataFrame:
    """Rows of `roster_review` in their order, those that need a look first, with their `place` in it."""
    return roster.sort(
        ["needs_a_look", "urgency", "confidence", "name", "client_id"],
        descending=[True, True, True, False, False],
        nulls_last=True,
    ).with_columns(place=pl.int_range(1, pl.len() + 1))


def build_roster_review(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """One row a client of the roster or of the logs, those without a single log included."""
    facts: pl.DataFrame = con.sql(_FACTS).pl()
    weeks: pl.DataFrame = (
        con.sql("""
        select client_id, week_start, state, since_week, weeks_in_state, confidence, reasons as reason,
          n_sessions,
          lag(state) over (partition by client_id order by week_start) as previous_state
        from client_week
        qualify row_number() over (partition by client_id order by week_start desc) = 1
    """)
        .pl()
        .drop("week_start")
    )
    signals: pl.DataFrame = con.sql("""
        select client_id, attendance_4, sets_done_4, slope_raw, plan_sets, strain_2, n_answers, dose_3,
          bodyweight_slope, n_bodyweights, reserve_change_2, reserve_lifts_2, plan_age, top_bests_6,
          missed_4
        from client_signal
        qualify row_number() over (partition by client_id order by week_start desc) = 1
    """).pl()
    frame = (
        facts.join(weeks, on="client_id", how="left")
        .join(signals, on="client_id", how="left")
        .join(con.sql(_MUSCLES).pl(), on="client_id", how="left")
        .with_columns(
            state=pl.col("state").fill_null(
                pl.when(pl.col("last_log_date").is_null())
                .then(pl.lit("no_recent_log"))
                .otherwise(pl.lit("not_enough_data"))
            ),
            reason=pl.col("reason").fill_null(
                pl.when(pl.col("last_log_date").is_null())
                .then(pl.lit("No log has come in yet."))
                .otherwise(pl.lit("The first week is not over yet."))
            ),
        )
        .with_columns(urgency=urgency(), what_changed=_what_changed(), reason=reason_with_waiting())
        .with_columns(
            needs_a_look=(pl.col("urgency") >= LOOK_FROM) | (pl.col("n_pain_notes") > 0),
            attendance_pct=100 * pl.col("attendance_4"),
            set_completion_pct=100 * pl.col("sets_done_4"),
            slope_pct_per_week=pl.col("slope_raw"),
            planned_sets=pl.col("plan_sets"),
        )
    )
    frame = in_order_of_urgency(frame)
    options = [json.dumps(suggest_options(row), ensure_ascii=False) for row in frame.iter_rows(named=True)]
    return frame.with_columns(options=pl.Series(options, dtype=pl.String)).select(
        "place",
        "client_id",
        "name",
        "week_start",
        "state",
        "since_week",
        "weeks_in_state",
        "confidence",
        "reason",
        "urgency",
        "needs_a_look",
        "previous_state",
        "what_changed",
        "last_log_date",
        "days_since_log",
        "n_sessions",
        "attendance_pct",
        "set_completion_pct",
        "hard_sets",
        "planned_sets",
        "slope_pct_per_week",
        "n_waiting",
        "n_pain_notes",
        "options",
    )
