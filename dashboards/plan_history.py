"""A client's plans for the pages: versions, days, planned sets a muscle, findings, what came of them."""

from __future__ import annotations

import datetime as dt

import polars as pl

from dashboards.history import History


def read_versions(history: History, client_id: str) -> pl.DataFrame:
    """Plan versions, newest first: plan, valid_from, valid_to (the day before the next where left open)."""
    return history.ask(
        """
        with version as (
            select
                valid_from, max(valid_to) as valid_to, string_agg(distinct plan, ', ') as plan,
                string_agg(distinct phase, ', ') as phases, count(distinct day) as n_days,
                sum(sets) as n_sets
            from plan_slot where client_id = $client group by valid_from
        )
        select
            coalesce(plan, 'Plan') as plan, valid_from, phases, n_days, n_sets::double as n_sets,
            coalesce(valid_to, (lead(valid_from) over (order by valid_from) - 1)::date) as valid_to
        from version order by valid_from desc""",
        client=client_id,
    )


def read_slots(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """The planned exercises of a version in order of the week."""
    return history.ask(
        """
        select plan, phase, day, weekday, slot, exercise_id, exercise_name, exercise_text, sets, rep_low,
            rep_high,
            target_rir, superset, rest_s, alternatives, source_file, source_row
        from plan_slot where client_id = $client and valid_from = $valid_from
        order by phase, coalesce(weekday, 8), day, slot""",
        client=client_id,
        valid_from=valid_from,
    )


def read_planned_muscles(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """Planned sets a muscle and week of a version's first phase that is no deload, as `muscle_week` rows."""
    return history.ask(
        """
        with slot as (
            select * from plan_slot where client_id = $client and valid_from = $valid_from
        ),
        training_phase as (
            -- a version that is all deload is shown as that
            select arg_min(phase, (is_light, phase)) as phase
            from (select coalesce(phase, '') as phase, coalesce(phase, '') in ('deload', 'break') as is_light
                from slot)
        )
        select
            m.muscle, sum(s.sets * m.credit)::double as fractional_hard_sets,
            0.0::double as unknown_effort_sets,
            null::double as planned_sets, max(t.target_low) as target_low, max(t.target_high) as target_high,
            count(distinct s.day) filter (m.credit >= 1) as n_sessions
        from slot s
        join training_phase p on coalesce(s.phase, '') = p.phase
        join exercise_muscle m on m.exercise_id = s.exercise_id
        left join muscle_target t on t.muscle = m.muscle
        where m.credit > 0
        group by m.muscle order by m.muscle""",
        client=client_id,
        valid_from=valid_from,
    )


def read_findings(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """Findings about a version, those to look at first."""
    return history.ask(
        """
        select rule, severity, place, figure, unit, sentence, source
        from plan_audit where client_id = $client and (valid_from = $valid_from or valid_from is null)
        order by list_position(['look', 'consider', 'fine'], severity), rule, place""",
        client=client_id,
        valid_from=valid_from,
    )


def read_blocks(history: History, client_id: str) -> pl.DataFrame:
    """Each version and what was logged while it held: attendance, sets, pooled strength at both ends."""
    return history.ask(
        """
        with version as (
            select valid_from, max(valid_to) as stated_end, string_agg(distinct plan, ', ') as plan,
                string_agg(distinct phase, ', ') as phases
            from plan_slot where client_id = $client group by valid_from
        ),
        block as (
            select
                plan, valid_from, phases,
                least(
                    coalesce(stated_end, (lead(valid_from) over (order by valid_from) - 1)::date, as_of),
                    as_of
                ) as last_day
            from version, (select as_of from setting)
        ),
        attended as (
            select
                b.valid_from, count(*) as n_weeks, sum(a.n_done) as n_done,
                sum(a.n_planned) - coalesce(sum(a.n_excused), 0) as n_planned,
                sum(least(a.done_sets, a.planned_sets)) as done_sets, sum(a.planned_sets) as planned_sets
            from block b
            join adherence_week a on a.client_id = $client
                and a.week_start >= b.valid_from - 6 and a.week_start + 6 <= b.last_day
            group by b.valid_from
        ),
        strength as (
            select
                b.valid_from, arg_min(s.strength_index, s.week_start) as first_index,
                arg_max(s.strength_index, s.week_start) as last_index,
                arg_min((s.index_high - s.index_low) / 2, s.week_start) as first_half_width,
                arg_max((s.index_high - s.index_low) / 2, s.week_start) as last_half_width
            from block b
            join client_strength_week s on s.client_id = $client
                and s.week_start >= b.valid_from - 6 and s.week_start + 6 <= b.last_day
                and s.strength_index is not null
            group by b.valid_from
        )
        select
            b.plan, b.valid_from, b.phases, b.last_day, a.n_weeks, a.n_done::double as n_done,
            a.n_planned::double as n_planned,
            1e2 * a.n_done / nullif(a.n_planned, 0) as attendance_pct,
            1e2 * a.done_sets / nullif(a.planned_sets, 0) as set_completion_pct,
            a.done_sets::double / nullif(a.n_weeks, 0) as sets_a_week,
            s.first_index, s.last_index, 1e2 * (s.last_index / s.first_index - 1) as change_pct,
            1e2 * sqrt(s.first_half_width ** 2 + s.last_half_width ** 2) / s.first_index
                as change_half_width_pct
        from block b
        left join attended a on a.valid_from = b.valid_from
        left join strength s on s.valid_from = b.valid_from
        order by b.valid_from desc""",
        client=client_id,
    )
