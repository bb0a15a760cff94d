"""The coach's summary of a month: every client on a line, for the team and nobody else."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import duckdb

from dashboards.report.blocks import Block, Document, table, text, tiles
from dashboards.report.facts import DONE_OUTCOMES
from dashboards.report.month import Month
from dashboards.report.query import rows
from dashboards.report.read_facts import TARGETS_FRESH_DAYS, read_settings
from dashboards.report.words import Words
from pipeline.errors import SetwrightError

Weekly = tuple[float | None, float | None, float | None]

STATE_ORDER = (
    "over_reaching",
    "plateau",
    "off_plan",
    "no_recent_log",
    "returning",
    "not_enough_data",
    "planned_deload",
    "steady",
    "progressing",
    "none",
)


@dataclass(frozen=True)
class RosterLine:
    """A client's month in figures; empty where nothing is known."""

    client_id: str
    name: str
    state: str
    n_done: int
    n_due: int
    set_completion_pct: float | None
    hard_sets_per_week: float | None
    unknown_effort_sets_per_week: float | None
    slope_pct: float | None
    slope_low_pct: float | None
    slope_high_pct: float | None
    n_bests: int
    last_log: date | None
    n_pain_notes: int
    n_waiting: int
    has_warning_sign: bool = False


@dataclass(frozen=True)
class RosterFacts:
    """The roster's month, as known at its end."""

    month: Month
    known_until: date
    as_of: date
    lines: tuple[RosterLine, ...]


def read_roster(con: duckdb.DuckDBPyConnection, month: Month) -> RosterFacts:
    """Every client's figures of the month, those to look at first; SetwrightError for a future month."""
    as_of: date = read_settings(con)["as_of"]
    if month.first > as_of:
        raise SetwrightError(
            f"The history reads up to {as_of}, before {month.key} began.",
            "Add the newer logs to the inbox and run setwright update.",
        )
    until = min(month.last, as_of)
    planned = _planned_counts(con, month, until)
    weekly = _weekly(con, month, as_of)
    by_client = _figures_by_client(con, month, until)
    is_fresh = as_of <= month.last + timedelta(TARGETS_FRESH_DAYS)
    lines = []
    for row in rows(con, "select client_id, name from client order by client_id"):
        client_id = row["client_id"]
        found = by_client.get(client_id, {})
        done, due = planned.get(client_id, (0, 0))
        completion, hard_sets, unknown_sets = weekly.get(client_id, (None, None, None))
        lines.append(
            RosterLine(
                client_id,
                row["name"] or client_id,
                found.get("state") or "none",
                done,
                due,
                completion,
                hard_sets,
                unknown_sets,
                found.get("slope"),
                found.get("slope_low"),
                found.get("slope_high"),
                found.get("n_bests") or 0,
                found.get("last_log"),
                found.get("n_pain") or 0,
                (found.get("n_waiting") or 0) if is_fresh else 0,
                bool(found.get("has_warning_sign")),
            )
        )
    lines.sort(
        key=lambda line: (
            not line.has_warning_sign,
            STATE_ORDER.index(line.state),
            line.name.casefold(),
            line.client_id,
        )
    )
    return RosterFacts(month, until, as_of, tuple(lines))


def _planned_counts(con: duckdb.DuckDBPyConnection, month: Month, until: date) -> dict[str, tuple[int, int]]:
    """Planned sessions done and due, by the same days as in the clients' reports."""
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for row in rows(
        con,
        """
        select client_id, week_start, coalesce(session_date, planned_date) as on_date, outcome
        from planned_session where week_start between ? and ?
        """,
        month.first - timedelta(6),
        until,
    ):
        on = row["on_date"]
        if not (month.first <= on <= until if on else month.owns_week(row["week_start"])):
            continue
        if row["outcome"] in (None, "excused", "open"):
            continue
        counts[row["client_id"]][0] += row["outcome"] in DONE_OUTCOMES
        counts[row["client_id"]][1] += 1
    return {client_id: (done, due) for client_id, (done, due) in counts.items()}


def _weekly(con: duckdb.DuckDBPyConnection, month: Month, as_of: date) -> dict[str, Weekly]:
    """Set completion (weighted by planned sets), hard and unknown sets a week, over the full weeks."""
    found = rows(
        con,
        """
        with weeks as (
          select distinct week_start from calendar where week_end between ? and ?
        ),
        excused_week as (
          select client.client_id, calendar.week_start
          from client
          cross join calendar
          group by client.client_id, calendar.week_start
          having bool_and(exists (
            select 1 from excused_span
            where excused_span.client_id = client.client_id
              and calendar.day between excused_span.date_from and excused_span.date_to
          ))
        ),
        trained as (
          select
            client_id, week_start, sum(n_hard_sets) as hard_sets,
            sum(n_unknown_effort_sets) as unknown_sets
          from session_summary group by client_id, week_start
        )
        select
          client.client_id, weeks.week_start, trained.hard_sets, trained.unknown_sets,
          adherence.set_completion_pct,
          adherence.planned_sets,
          (select min(s.week_start) from session_summary as s where s.client_id = client.client_id)
            as first_week
        from client
        cross join weeks
        left join trained on trained.client_id = client.client_id and trained.week_start = weeks.week_start
        left join adherence_week as adherence
          on adherence.client_id = client.client_id and adherence.week_start = weeks.week_start
        left join excused_week
          on excused_week.client_id = client.client_id and excused_week.week_start = weeks.week_start
        where excused_week.client_id is null or trained.hard_sets is not null
        """,
        month.first,
        as_of,
    )
    by_client: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in found:
        if (
            month.owns_week(row["week_start"])
            and row["first_week"]
            and row["week_start"] >= row["first_week"]
        ):
            by_client[row["client_id"]].append(row)
    weekly: dict[str, Weekly] = {}
    for client_id, weeks in by_client.items():
        with_plan = [w for w in weeks if w["set_completion_pct"] is not None]
        weights = [w["planned_sets"] or 1 for w in with_plan]
        completion = (
            sum(w["set_completion_pct"] * weight for w, weight in zip(with_plan, weights, strict=True))
            / sum(weights)
            if with_plan
            else None
        )
        weekly[client_id] = (
            completion,
            sum(w["hard_sets"] or 0 for w in weeks) / len(weeks),
            sum(w["unknown_sets"] or 0 for w in weeks) / len(weeks),
        )
    return weekly


def _figures_by_client(
    con: duckdb.DuckDBPyConnection, month: Month, until: date
) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = defaultdict(dict)
    last_week = until - timedelta(6)
    queries: list[tuple[str, tuple[object, ...]]] = [
        (
            "select client_id, max_by(state, week_start) as state from client_week where week_start <= ? "
            "group by client_id",
            (last_week,),
        ),
        (
            "select client_id, max_by(slope_pct_per_week, week_start) as slope, "
            "max_by(slope_low_pct_per_week, week_start) as slope_low, "
            "max_by(slope_high_pct_per_week, week_start) as slope_high "
            "from client_strength_week where week_start between ? and ? and slope_pct_per_week is not null "
            "group by client_id",
            (month.first - timedelta(6), last_week),
        ),
        (
            "select client_id, count(distinct (exercise_id, kind, "
            "case when kind = 'reps_at_load' then load_kg end)) as n_bests "
            "from personal_best where best_date between ? and ? group by client_id",
            (month.first, until),
        ),
        (
            "select client_id, max(session_date) as last_log from session_summary where session_date <= ? "
            "group by client_id",
            (until,),
        ),
        (
            "select client_id, count(*) as n_pain, "
            "bool_or(coalesce(is_warning_sign, false)) as has_warning_sign "
            "from pain_note where session_date between ? and ? group by client_id",
            (month.first, until),
        ),
        ("select client_id, n_waiting from roster_review", ()),
    ]
    for sql, values in queries:
        for row in rows(con, sql, *values):
            found[row["client_id"]].update(row)
    return found


def make_roster_summary(facts: RosterFacts, words: Words, *, paper: str) -> Document:
    """The summary as a document: one page for a roster of some forty clients, more for a larger one."""
    month = words.month_name(facts.month.first)
    done, due = sum(line.n_done for line in facts.lines), sum(line.n_due for line in facts.lines)
    states = Counter(line.state for line in facts.lines)
    by_state = [
        words.text(
            "roster.by_state", state=words.text(f"state_name.{state}"), number=words.number(states[state])
        )
        for state in STATE_ORDER
        if states[state]
    ]
    share = words.percent(100 * done / due, 1) if due else words.text("number.none")
    blocks: list[Block] = [
        text(words.text("roster.explain"), "small"),
        tiles(
            [
                (
                    words.text("roster.client_tile"),
                    words.number(len(facts.lines)),
                    words.text("roster.client_tile_small"),
                ),
                (words.text("tile.sessions"), words.number(done), words.text("tile.sessions_of", due)),
                (words.text("roster.share"), share, words.text("roster.share_small")),
                (
                    words.text("tile.bests"),
                    words.number(sum(line.n_bests for line in facts.lines)),
                    words.text("tile.bests_small"),
                ),
            ]
        ),
        text("  ·  ".join(by_state)),
        table(
            [
                (words.text("roster.client"), "left"),
                (words.text("roster.state"), "left"),
                (words.text("roster.sessions"), "right"),
                (words.text("roster.completion"), "right"),
                (words.text("roster.hard_sets"), "right"),
                (words.text("roster.strength"), "right"),
                (words.text("roster.bests"), "right"),
                (words.text("roster.last_log"), "right"),
                (words.text("roster.look"), "left"),
            ],
            [_cells(line, words) for line in facts.lines],
            words.text("roster.table"),
            dense=True,
        ),
        text(words.text("roster.care"), "small"),
    ]
    known = "report.known_until" if facts.as_of >= facts.month.last else "report.month_open"
    return Document(
        language=words.language,
        paper=paper,
        title=words.text("roster.heading", month=month),
        heading=words.text("roster.title"),
        subheading=month,
        footer=words.text(known, date=words.full_day(facts.known_until)),
        page_text=words.text("report.page"),
        missing_glyphs=words.text("report.missing_glyphs"),
        blocks=tuple(blocks),
        images={},
    )


def _cells(line: RosterLine, words: Words) -> list[str]:
    none = words.text("number.none")
    strength = none
    if line.slope_pct is not None:
        strength = words.signed(line.slope_pct, 1)
        if line.slope_low_pct is not None and line.slope_high_pct is not None:
            strength = words.text(
                "roster.strength_figure",
                slope=strength,
                low=words.signed(line.slope_low_pct, 1),
                high=words.signed(line.slope_high_pct, 1),
            )
    look = [words.text("roster.warning_mark")] if line.has_warning_sign else []
    if line.n_pain_notes:
        look.append(words.text("roster.pain_mark", line.n_pain_notes))
    if line.n_waiting:
        look.append(words.text("roster.waiting_mark", line.n_waiting))
    return [
        line.name,
        words.text(f"state_name.{line.state}"),
        words.text("roster.done_of_due", done=words.number(line.n_done), due=words.number(line.n_due))
        if line.n_due
        else none,
        words.percent(line.set_completion_pct) if line.set_completion_pct is not None else none,
        _hard_sets(line, words),
        strength,
        words.number(line.n_bests) if line.n_bests else none,
        words.day(line.last_log) if line.last_log else none,
        ", ".join(look) or none,
    ]


def _hard_sets(line: RosterLine, words: Words) -> str:
    """Hard sets a week; sets whose effort nobody wrote down stand beside them, since they may be hard too."""
    if line.hard_sets_per_week is None:
        return words.text("number.none")
    figure = words.fixed(line.hard_sets_per_week, 1)
    if not line.unknown_effort_sets_per_week:
        return figure
    return words.text(
        "roster.hard_sets_figure", hard=figure, unknown=words.fixed(line.unknown_effort_sets_per_week, 1)
    )
