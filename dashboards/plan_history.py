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


def read_layouts(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """Ways to lay the version's days over the week, best first; the plan's own marked."""
    return history.ask(
        """
        select place, is_current, layout, least_days_hard, least_days_same_muscle, same_muscles,
            n_hard_neighbours, n_interfering_neighbours, n_days_moved
        from plan_layout where client_id = $client and valid_from = $valid_from order by place""",
        client=client_id,
        valid_from=valid_from,
    )


def read_changes(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """What changed against the version before."""
    return history.ask(
        """
        select kind, place, before, after, sentence, previous_valid_from
        from plan_change where client_id = $client and valid_from = $valid_from
        order by list_position(
            ['day', 'moved', 'added', 'removed', 'sets', 'repetitions', 'effort', 'rest', 'muscle'], kind),
            place""",
        client=client_id,
        valid_from=valid_from,
    )


def read_blocks(history: History, client_id: str) -> pl.DataFrame:
    """The client's blocks and what came of each, newest first."""
    return history.ask(
        "select * from block_review where client_id = $client order by valid_from desc", client=client_id
    )


def read_block_lifts(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """Strength by lift within a block, most trained first."""
    return history.ask(
        """
        select exercise_name, n_sessions, first_e1rm_kg, last_e1rm_kg, change_pct_per_week,
            change_low_pct_per_week, change_high_pct_per_week, previous_change_pct_per_week, outcome
        from block_lift where client_id = $client and valid_from = $valid_from
        order by n_sessions desc nulls last, exercise_name""",
        client=client_id,
        valid_from=valid_from,
    )


def read_block_muscles(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """Hard sets a muscle and week of a block, against its plan, the target and the block before."""
    return history.ask(
        """
        select muscle, planned_sets, done_sets, unknown_effort_sets, previous_done_sets, target_low,
            target_high
        from block_muscle where client_id = $client and valid_from = $valid_from
            and greatest(planned_sets, done_sets, unknown_effort_sets, previous_done_sets) > 0
        order by muscle""",
        client=client_id,
        valid_from=valid_from,
    )


def read_block_exercises(history: History, client_id: str, valid_from: dt.date) -> pl.DataFrame:
    """Planned exercises of a block that were done less than planned, or swapped; most missed first."""
    return history.ask(
        """
        select day, exercise_name, n_times_planned, n_times_done, n_times_swapped, swapped_for, planned_sets,
            done_sets, reps_in_range_pct, effort_in_range_pct
        from block_exercise where client_id = $client and valid_from = $valid_from
            and (done_sets < planned_sets or n_times_swapped > 0)
        order by planned_sets - done_sets desc, day, slot""",
        client=client_id,
        valid_from=valid_from,
    )
