"""One week on the athlete's page: planned against done down to the set, and what is proposed next."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import Any

import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.charts.adherence import OUTCOME_LABELS
from dashboards.markup import Cell, Head, Html, element, join, show_date, show_figure, table
from dashboards.units import Unit, show_set_load
from dashboards.wording import SET_KINDS, TERMS

Row = dict[str, Any]


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """The section."""
    planned = athlete.planned_exercises().to_dicts()
    st.html(element("h2", f"Week of {show_date(athlete.week)}: planned and done", "sw-section"))
    if not planned:
        st.html(element("p", "No plan holds in this week.", "sw-note"))
        return
    targets: dict[tuple[Any, Any], Row] = {}
    if athlete.review() is not None:
        targets = {(row["day"], row["exercise_id"]): row for row in athlete.next_targets().to_dicts()}
    reason = _reason_for_all(targets)
    if reason is not None:
        st.html(element("p", f"Next time: {reason}", "sw-notice"))
        targets = {} if all(_proposes_nothing(row) for row in targets.values()) else targets
    heads = [
        Head("Day", "The planned day, and the day it was done"),
        Head("Planned"),
        Head("Sets × reps @ RIR", TERMS["RIR"], "n"),
        Head("Sets", "Done / planned", "r"),
        Head("In range", "Sets within the repetition range / sets done", "r"),
        Head("What was done", "Load × repetitions set by set, then repetitions in reserve", "l"),
    ]
    if targets:
        heads.append(Head("Next time", "What the progression rule proposes, and why", "w"))
    done = share_out(planned, athlete.week_sets(planned).to_dicts())
    rows: list[list[Cell]] = []
    day_before: tuple[Any, Any] | None = None
    for row, sets in zip(planned, done, strict=True):
        day = (row["day"], row["session_date"])
        rows.append(
            _planned_cells(
                row, sets, targets, unit, week=athlete.week, is_new_day=day != day_before, said=reason
            )
        )
        day_before = day
    st.html(table(heads, rows, caption="Planned and done"))


def share_out(planned: list[Row], sets: list[Row]) -> list[list[list[Row]]]:
    """The sets of each planned exercise, drops of a set together, in the order of `planned`.

    Where an exercise stands twice on one day, each gets as many as were counted for it, the last the rest.
    """
    waiting: dict[tuple[Any, Any], list[list[Row]]] = defaultdict(list)
    for one in sets:
        of_exercise = waiting[one["session_date"], one["exercise_id"]]
        is_drop = (one["drop_index"] or 1) > 1
        if is_drop and of_exercise and of_exercise[-1][0]["set_index"] == one["set_index"]:
            of_exercise[-1].append(one)
        else:
            of_exercise.append([one])
    last_for = {_done_as(row): number for number, row in enumerate(planned)}
    shares = []
    for number, row in enumerate(planned):
        left = waiting[_done_as(row)]
        n_sets = len(left) if last_for[_done_as(row)] == number else int(row["done_sets"] or 0)
        shares.append(left[:n_sets] if row["done_sets"] else [])
        if row["done_sets"]:
            del left[:n_sets]
    return shares


def _done_as(row: Row) -> tuple[Any, Any]:
    return row["session_date"], row["done_exercise_id"] or row["exercise_id"]


def _proposes_nothing(row: Row) -> bool:
    return (
        row["target_load_kg"] is None
        and row["target_rep_low"] is None
        and row["target_duration_low_s"] is None
    )


def _reason_for_all(targets: dict[tuple[Any, Any], Row]) -> str | None:
    """The one reason for what is proposed everywhere, where there is one: said once, not a row each."""
    reasons = {row["reason"] for row in targets.values()}
    return str(reasons.pop()) if len(targets) > 1 and len(reasons) == 1 and None not in reasons else None


def _planned_cells(
    row: Row,
    sets: list[list[Row]],
    targets: dict[tuple[Any, Any], Row],
    unit: Unit,
    *,
    week: dt.date,
    is_new_day: bool,
    said: str | None,
) -> list[Cell]:
    effort = "" if row["target_rir"] is None else f" @ {show_figure(row['target_rir'])}"
    day: Cell = ""
    if is_new_day:
        day = join([element("b", row["day"] or "–"), " ", _done_on(row["session_date"], week)])
    cells: list[Cell] = [
        day,
        row["exercise_name"] or row["exercise_id"] or "–",
        f"{show_figure(row['planned_sets'])} × {_range(row['rep_low'], row['rep_high'])}{effort}",
        f"{row['done_sets'] or 0} / {row['planned_sets'] or 0}",
        None if row["rep_low"] is None else f"{row['sets_in_rep_range'] or 0} / {row['done_sets'] or 0}",
        _done(row, sets, unit),
    ]
    if targets:
        cells.append(_target(targets.get((row["day"], row["exercise_id"])), unit, said))
    return cells


def _done_on(day: dt.date | None, week: dt.date) -> Html:
    """The day it was done, with its weekday and a word where it lies outside the week."""
    if day is None:
        return Html("")
    shown = element("small", f"{day:%a} {show_date(day)}")
    if week <= day <= week + dt.timedelta(days=6):
        return shown
    word = "in the week after" if day > week else "in the week before"
    return join([shown, " ", element("small", word, "sw-attention")])


def _done(row: Row, sets: list[list[Row]], unit: Unit) -> Cell:
    if not row["done_sets"]:
        return _not_done(row["outcome"])
    told = [set_list(sets, unit)]
    if row["done_exercise_id"] not in (None, row["exercise_id"]):
        told.insert(0, element("b", f"{row['done_exercise_name'] or row['done_exercise_id']} instead: "))
    return join(told)


def set_list(sets: list[list[Row]], unit: Unit) -> Html:
    """Sets as one says them: `120 kg × 5, 5, 4 · 110 kg × 6`, then `RIR 2, 1, –`."""
    loads: list[tuple[str, list[str]]] = []
    for parts in sets:
        kind = SET_KINDS.get(parts[0]["set_kind"], "") if len(parts) == 1 else "drop set"
        text = " + ".join(
            _one_set(part, unit) if number else _count(part) for number, part in enumerate(parts)
        )
        text = f"{text} ({kind})" if kind and kind != "timed" else text
        load = _load_of(parts[0], unit)
        if loads and loads[-1][0] == load:
            loads[-1][1].append(text)
        else:
            loads.append((load, [text]))
    told = " · ".join(f"{load} × {', '.join(texts)}" if load else ", ".join(texts) for load, texts in loads)
    effort = [parts[0]["rir"] for parts in sets]
    if all(rir is None for rir in effort):
        return element("span", told)
    said = "RIR " + ", ".join("–" if rir is None else show_figure(rir) for rir in effort)
    return join([told, " ", element("small", said)])


def _load_of(one: Row, unit: Unit) -> str:
    if one["load_kg"] is None:
        return (one["load_basis"] or "").replace("_", " ")
    if one["duration_s"] is not None and one["load_kg"] == 0:
        return ""
    return show_set_load(one["load_kg"], one["load_basis"], one["implements"], unit)


def _one_set(one: Row, unit: Unit) -> str:
    return f"{_load_of(one, unit)} × {_count(one)}"


def _count(one: Row) -> str:
    """Repetitions, both sides where they differ, or seconds."""
    if one["duration_s"] is not None:
        return f"{show_figure(one['duration_s'], 0)} s"
    if one["reps_left"] is not None and one["reps_right"] is not None:
        return f"{one['reps_left']} | {one['reps_right']}"
    return "–" if one["reps"] is None else f"{one['reps']}{'+' if one['is_at_least'] else ''}"


def _not_done(outcome: str | None) -> Html:
    """Why a planned exercise has no sets: missed is one thing, excused or nothing sent in another."""
    if outcome in ("excused", "no_log", "open"):
        return element("span", OUTCOME_LABELS[outcome].lower(), "sw-quiet")
    return element("span", "left out" if outcome in ("done", "moved") else "missed", "sw-attention")


def _target(target: Row | None, unit: Unit, said: str | None) -> Cell:
    """What is proposed: load and repetitions, repetitions alone, or seconds; and why, unless `said`."""
    if target is None:
        return None
    if target["target_duration_low_s"] is not None:
        proposed = f"{_range(target['target_duration_low_s'], target['target_duration_high_s'])} s"
    elif _proposes_nothing(target):
        return element("small", target["reason"] or "nothing proposed")
    else:
        proposed = f"{_range(target['target_rep_low'], target['target_rep_high'])}"
        if target["target_load_kg"] is not None:
            load = show_set_load(target["target_load_kg"], target["load_basis"], target["implements"], unit)
            proposed = f"{load} × {proposed}"
        else:
            proposed += " repetitions"
    why = "" if said is not None else target["reason"] or ""
    return join(
        [element("b", proposed), " ", element("small", why, "sw-clamp", why if len(why) > 160 else "")]
    )


def _range(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "–"
    if low == high or high is None or low is None:
        return show_figure(low if low is not None else high)
    return f"{show_figure(low)}–{show_figure(high)}"
