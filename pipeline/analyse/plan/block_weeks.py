# ruff: noqa: S608 - the texts joined to queries are constants of this module
"""Blocks: training versions of a plan, the weeks they held, and what was planned and done in those weeks.

A plan written week by week is a version a week; such weeks on end that name the same exercises are one block.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

BLOCK_KEY = ["client_id", "plan", "valid_from"]

# the days, weeks and sessions every question below begins with
_PARTS = """
    with version as (
        select client_id, coalesce(plan, '') as plan, valid_from, max(valid_to) as valid_to,
            min(coalesce(phase, '')) as phase, list_sort(list(distinct day || '|' || exercise_id)) as content
        from plan_slot group by all
    ),
    placed_version as (
        select *,
            valid_to - valid_from <= 6
            and lag(valid_to - valid_from) over of_plan <= 6
            and lag(valid_to) over of_plan = valid_from - 1
            and lag(phase) over of_plan = phase
            and lag(content) over of_plan = content as goes_on
        from version
        window of_plan as (partition by client_id, plan order by valid_from)
    ),
    block_version as (
        select client_id, plan, valid_from, valid_to, max(case when goes_on then null else valid_from end) over (
                partition by client_id, plan order by valid_from
            ) as block_from
        from placed_version
    ),
    block_day as (
        select f.client_id, coalesce(f.plan, '') as plan, v.block_from as valid_from, f.day, f.week_start
        from plan_day_in_force f
        join block_version v on v.client_id = f.client_id and v.plan = coalesce(f.plan, '')
            and v.valid_from = f.valid_from
        where coalesce(f.phase, '') <> 'break' and coalesce(f.phase, '') not like '%deload%'
            and coalesce(f.phase, '') not like '%taper%' and f.day <= (select max(as_of) from setting)
    ),
    block_week as (
        select client_id, plan, valid_from, week_start from block_day
        where week_start in (select week_start from calendar where is_complete_week)
        group by all having count(*) >= 4
    ),
    fate as (
        select client_id, week_start, coalesce(plan, '') as plan, day, planned_date, outcome
        from planned_session where outcome in ('done', 'moved', 'missed')
    ),
    session as (
        select w.client_id, w.plan, w.valid_from, f.week_start, f.day, f.planned_date, f.outcome
        from block_week w
        join fate f on f.client_id = w.client_id and f.week_start = w.week_start and f.plan = w.plan
    ),
    item as (
        select s.client_id, s.plan, s.valid_from, e.* exclude (client_id, plan)
        from session s
        join planned_exercise e on e.client_id = s.client_id and e.week_start = s.week_start
            and coalesce(e.plan, '') = s.plan and e.day = s.day
            and e.planned_date is not distinct from s.planned_date
    )
"""
_DAYS_AND_WEEKS = _PARTS[: _PARTS.index("    fate as (")].rstrip().rstrip(",") + "\n"


@dataclass(frozen=True)
class Block:
    """A training version that held on at least one day up to the as-of day."""

    client_id: str
    plan: str
    valid_from: date
    first_day: date
    last_day: date
    is_over: bool
    n_weeks: int
    previous_from: date | None
    previous_plan: str | None

    @property
    def key(self) -> tuple[str, str, date]:
        """Client, plan and first day of the version."""
        return self.client_id, self.plan, self.valid_from

    @property
    def previous_key(self) -> tuple[str, str, date] | None:
        """The key of the client's block before."""
        if self.previous_from is None:
            return None
        return self.client_id, self.previous_plan or "", self.previous_from


def read_blocks(con: duckdb.DuckDBPyConnection) -> list[Block]:
    """The blocks of every client, by first day; over when the version holds on no day after the as-of day."""
    rows = con.execute(
        _DAYS_AND_WEEKS
        + """,
        block as (
            select client_id, plan, valid_from, min(day) as first_day, max(day) as last_day
            from block_day group by all
        ),
        stated as (
            select client_id, plan, block_from as valid_from, max(valid_to) as valid_to
            from block_version group by all
        ),
        week as (select client_id, plan, valid_from, count(*) as n_weeks from block_week group by all)
        select b.client_id, b.plan, b.valid_from, b.first_day, b.last_day,
            b.last_day < (select max(as_of) from setting)
                or coalesce(s.valid_to <= (select max(as_of) from setting), false) as is_over,
            coalesce(w.n_weeks, 0) as n_weeks,
            lag(b.valid_from) over (partition by b.client_id order by b.valid_from, b.plan) as previous_from,
            lag(b.plan) over (partition by b.client_id order by b.valid_from, b.plan) as previous_plan
        from block b
        left join stated s on s.client_id = b.client_id and s.plan = b.plan and s.valid_from = b.valid_from
        left join week w on w.client_id = b.client_id and w.plan = b.plan and w.valid_from = b.valid_from
        order by b.client_id, b.valid_from, b.plan"""
    ).fetchall()
    return [Block(*row) for row in rows]


def read_attendance(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Sessions and sets planned and done a block; excused ones and weeks without a log are in no share."""
    return pl.DataFrame(
        con.sql(
            _PARTS
            + """,
        attended as (
            select client_id, plan, valid_from, count(*) as n_planned,
                count(*) filter (outcome <> 'missed') as n_done
            from session group by all
        ),
        completed as (
            select client_id, plan, valid_from, sum(planned_sets) as planned_sets,
                sum(least(done_sets, planned_sets)) as done_sets
            from item group by all
        )
        select a.client_id, a.plan, a.valid_from, a.n_planned::bigint as n_planned,
            a.n_done::bigint as n_done, 1e2 * a.n_done / nullif(a.n_planned, 0) as attendance_pct,
            1e2 * c.done_sets / nullif(c.planned_sets, 0) as set_completion_pct
        from attended a
        left join completed c
            on c.client_id = a.client_id and c.plan = a.plan and c.valid_from = a.valid_from"""
        ).pl()
    )


def read_block_sessions(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """The best set of each lift and session within a block, deloads left out.

    Of a lift with sets of known and of unknown effort only the kind with more sessions: the two are not on
    one footing.
    """
    return pl.DataFrame(
        con.sql(
            _DAYS_AND_WEEKS
            + """,
        seen as (
            select d.client_id, d.plan, d.valid_from, o.exercise_id, x.exercise_name, o.session_date,
                o.ln_load + o.ln_factor as ln_e1rm, coalesce(o.e1rm_se_pct, 4.0) / 100 as se_ln,
                o.is_lower_bound,
                count(*) over (
                    partition by d.client_id, d.plan, d.valid_from, o.exercise_id, o.is_lower_bound
                ) as n_of_kind
            from lift_observation o
            join block_day d on d.client_id = o.client_id and d.day = o.session_date
            left join exercise x on x.exercise_id = o.exercise_id
            where not coalesce(o.is_deload, false)
        )
        select * from seen
        qualify rank() over (
            partition by client_id, plan, valid_from, exercise_id order by n_of_kind desc, is_lower_bound
        ) = 1
        order by client_id, valid_from, plan, exercise_id, session_date"""
        ).pl()
    )


def read_muscle_means(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Mean weekly sets a muscle over a block's weeks that have a log."""
    return pl.DataFrame(
        con.sql(
            _DAYS_AND_WEEKS
            + """
        select w.client_id, w.plan, w.valid_from, m.muscle,
            avg(m.planned_sets) as planned_sets, avg(m.fractional_hard_sets) as done_sets,
            avg(m.unknown_effort_sets) as unknown_effort_sets,
            max(m.target_low) as target_low, max(m.target_high) as target_high
        from block_week w
        join muscle_week m on m.client_id = w.client_id and m.week_start = w.week_start
        group by all order by all"""
        ).pl()
    )


def read_planned_exercises(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Each planned exercise of a block: times and sets planned and done, swaps, ranges kept."""
    return pl.DataFrame(
        con.sql(
            _PARTS
            + """
        select client_id, plan, valid_from, day, slot, exercise_id, max(exercise_name) as exercise_name,
            count(*)::bigint as n_times_planned,
            (count(*) filter (done_sets > 0))::bigint as n_times_done,
            (count(*) filter (done_sets > 0 and done_exercise_id <> exercise_id))::bigint as n_times_swapped,
            mode(done_exercise_name) filter (done_sets > 0 and done_exercise_id <> exercise_id)
                as swapped_for,
            sum(planned_sets)::bigint as planned_sets,
            sum(least(coalesce(done_sets, 0), planned_sets))::bigint as done_sets,
            1e2 * sum(sets_in_rep_range) / nullif(sum(done_sets) filter (rep_low is not null), 0)
                as reps_in_range_pct,
            1e2 * sum(sets_in_effort_range) / nullif(sum(sets_with_effort), 0) as effort_in_range_pct
        from item group by client_id, plan, valid_from, day, slot, exercise_id
        order by client_id, valid_from, plan, day, slot, exercise_id"""
        ).pl()
    )
