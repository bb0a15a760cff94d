"""The plan and the log on the athlete's page: calendar, the week down to the set, check-ins, sessions."""

from __future__ import annotations

import datetime as dt
from typing import Any

import polars as pl
import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.charts import plot_adherence_calendar, plot_bodyweight, plot_check_ins
from dashboards.charts.adherence import OUTCOME_LABELS
from dashboards.charts.check_ins import ANSWER_LABELS
from dashboards.frame import show_chart
from dashboards.markup import Cell, Head, Html, element, join, show_date, show_figure, table
from dashboards.units import Unit, show_load
from dashboards.wording import SET_KINDS, TERMS

CALENDAR_WEEKS = 16


def show(athlete: AthleteHistory, unit: Unit) -> None:
    """The sections."""
    _show_adherence(athlete)
    _show_week(athlete, unit)
    _show_check_ins(athlete, unit)
    _show_sessions(athlete, unit)


def _show_adherence(athlete: AthleteHistory) -> None:
    st.html(element("h2", "Plan and attendance", "sw-section"))
    planned, sessions = athlete.planned_sessions(), athlete.sessions()
    if planned.is_empty() and sessions.is_empty():
        st.html(element("p", "No plan and no session in these weeks.", "sw-note"))
        return
    since = athlete.week - dt.timedelta(weeks=CALENDAR_WEEKS - 1)
    left, right = st.columns([3, 2], gap="large")
    with left:
        excused = athlete.spans().filter(pl.col("kind") != "deload")
        show_chart(
            plot_adherence_calendar(
                planned.filter(pl.col("week_start") >= since),
                sessions.filter(pl.col("week_start") >= since),
                excused=excused,
                first_day_of_week=athlete.week.isoweekday(),
            ),
            "Calendar of planned sessions and what became of each.",
        )
        st.html(
            element(
                "p",
                "Disc: done. Triangle: done on another day. Cross: missed. Dash: nothing came in that week. "
                "Open square: excused. Open diamond: trained though not planned. Shaded days: excused.",
                "sw-note",
            )
        )
    with right:
        st.html(_adherence_table(athlete.adherence()))


def _adherence_table(weeks: pl.DataFrame) -> Html:
    if weeks.is_empty():
        return element("p", "Nothing was planned in the last four weeks.", "sw-note")
    rows = weeks.to_dicts()
    heads = [Head("Last four weeks")] + [Head(show_date(row["week_start"]), "", "r") for row in rows]

    def pct(column: str) -> list[Cell]:
        return ["–" if row[column] is None else f"{row[column]:.0f} %" for row in rows]

    def count(column: str) -> list[Cell]:
        return [row[column] for row in rows]

    def term(label: str, explained: str) -> Html:
        return element("span", label, "sw-term", explained)

    body: list[list[Cell]] = [
        ["Phase of the plan", *[row["phase"] or "–" for row in rows]],
        [
            term("Sessions done / planned", TERMS["attendance"]),
            *[f"{row['n_done'] or 0} / {row['n_planned'] or 0}" for row in rows],
        ],
        ["Moved, swapped", *[f"{row['n_moved'] or 0}, {row['n_swapped'] or 0}" for row in rows]],
        ["Excused", *count("n_excused")],
        ["Not planned", *count("n_unplanned")],
        [term("Set completion", TERMS["set completion"]), *pct("set_completion_pct")],
        ["Repetitions in range", *pct("reps_in_range_pct")],
        [
            term("Load in range", "Within 5 % of the client's own last comparable session, or above."),
            *pct("load_in_range_pct"),
        ],
        [
            term("Effort in range", "Within 1 RIR of the target, of sets with effort."),
            *pct("effort_in_range_pct"),
        ],
        [term("Relative dose", TERMS["relative dose intensity"]), *pct("relative_dose_intensity_pct")],
    ]
    return table(heads, body, caption="Adherence of the last four weeks")


def _show_week(athlete: AthleteHistory, unit: Unit) -> None:
    """The week, planned against done, down to the exercise; what is proposed for next time."""
    planned = athlete.planned_exercises().to_dicts()
    st.html(element("h2", f"Week of {show_date(athlete.week)}: planned and done", "sw-section"))
    if not planned:
        st.html(element("p", "No plan holds in this week.", "sw-note"))
        return
    targets: dict[tuple[Any, Any], dict[str, Any]] = {}
    if athlete.review() is not None:
        targets = {(row["day"], row["exercise_id"]): row for row in athlete.next_targets().to_dicts()}
    if (withheld := _reason_for_all(targets)) is not None:
        st.html(element("p", f"Next time: {withheld}", "sw-notice"))
        targets = {}
    heads = [
        Head("Day", "", "n"),
        Head("Planned"),
        Head("Sets × reps @ RIR", TERMS["RIR"], "n"),
        Head("Done", "Another exercise in its place is a swap", "n"),
        Head("Sets", "", "r"),
        Head("In range", "Sets within the repetition range", "r"),
    ]
    if targets:
        heads.append(Head("Next time", "What the progression rule proposes, and why", "w"))
    rows = [_planned_cells(row, targets, unit) for row in planned]
    st.html(table(heads, rows, caption="Planned and done"))


def _reason_for_all(targets: dict[tuple[Any, Any], dict[str, Any]]) -> str | None:
    """The one reason why nothing is proposed at all, where there is one: said once, not a row each."""
    reasons = {row["reason"] for row in targets.values()}
    nothing = all(
        row["target_load_kg"] is None
        and row["target_rep_low"] is None
        and row["target_duration_low_s"] is None
        for row in targets.values()
    )
    return str(reasons.pop()) if targets and nothing and len(reasons) == 1 else None


def _planned_cells(
    row: dict[str, Any], targets: dict[tuple[Any, Any], dict[str, Any]], unit: Unit
) -> list[Cell]:
    reps = _range(row["rep_low"], row["rep_high"])
    effort = "" if row["target_rir"] is None else f" @ {show_figure(row['target_rir'])}"
    swapped = row["done_exercise_id"] not in (None, row["exercise_id"])
    done: Cell = (
        _not_done(row["outcome"])
        if not row["done_sets"]
        else join(
            [
                show_date(row["session_date"]),
                f", swapped for {row['done_exercise_name'] or row['done_exercise_id']}" if swapped else "",
            ]
        )
    )
    cells: list[Cell] = [
        row["day"],
        row["exercise_name"] or row["exercise_id"] or "–",
        f"{show_figure(row['planned_sets'])} × {reps}{effort}",
        done,
        f"{row['done_sets'] or 0} / {row['planned_sets'] or 0}",
        f"{row['sets_in_rep_range'] or 0} / {row['done_sets'] or 0}",
    ]
    if targets:
        target = targets.get((row["day"], row["exercise_id"]))
        cells.append(_target(target, unit))
    return cells


def _not_done(outcome: str | None) -> Html:
    """Why a planned exercise has no sets: missed is one thing, excused or nothing sent in another."""
    if outcome in ("excused", "no_log", "open"):
        return element("span", OUTCOME_LABELS[outcome].lower(), "sw-quiet")
    return element("span", "left out" if outcome in ("done", "moved") else "missed", "sw-attention")


def _target(target: dict[str, Any] | None, unit: Unit) -> Cell:
    """What is proposed: load and repetitions, repetitions alone, or seconds; and why."""
    if target is None:
        return None
    if target["target_duration_low_s"] is not None:
        proposed = f"{_range(target['target_duration_low_s'], target['target_duration_high_s'])} s"
    elif target["target_load_kg"] is None and target["target_rep_low"] is None:
        return element("small", target["reason"] or "nothing proposed")
    else:
        proposed = f"{_range(target['target_rep_low'], target['target_rep_high'])}"
        if target["target_load_kg"] is not None:
            proposed = f"{_load(target['target_load_kg'], target['load_basis'], unit)} × {proposed}"
    return join([element("b", proposed), " ", element("small", target["reason"] or "")])


def _load(load_kg: float, load_basis: str | None, unit: Unit) -> str:
    """A load as one says it: with bodyweight, of assistance, a hand, or plain."""
    shown = show_load(abs(load_kg), unit)
    if load_basis in ("bodyweight", "assistance"):
        if load_kg == 0:
            return "bodyweight"
        return f"{shown} added" if load_kg > 0 else f"{shown} of assistance"
    return f"{shown} a hand" if load_basis == "per_hand" else show_load(load_kg, unit)


def _range(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "–"
    if low == high or high is None or low is None:
        return show_figure(low if low is not None else high)
    return f"{show_figure(low)}–{show_figure(high)}"


def _show_check_ins(athlete: AthleteHistory, unit: Unit) -> None:
    st.html(element("h2", "Bodyweight and check-ins", "sw-section"))
    answers = athlete.check_ins()
    if answers.is_empty():
        st.html(element("p", "No check-ins in these weeks.", "sw-note"))
        return
    left, right = st.columns(2, gap="large")
    with left:
        if answers["bodyweight_kg"].drop_nulls().len() > 1:
            show_chart(
                plot_bodyweight(answers, spans=athlete.spans(), unit=unit, height=150),
                "Bodyweight by day with its seven-day mean.",
            )
        else:
            weighed = answers.drop_nulls("bodyweight_kg").to_dicts()
            said = "Bodyweight was not sent in."
            if weighed:
                only = weighed[0]
                said = f"{show_load(only['bodyweight_kg'], unit)} on {show_date(only['check_in_date'])}."
            st.html(element("p", said, "sw-note"))
    with right:
        recent = answers.filter(pl.col("week_start") > athlete.week - dt.timedelta(weeks=12))
        asked = [column for column in ANSWER_LABELS if recent[column].drop_nulls().len()]
        if asked:
            show_chart(plot_check_ins(recent), "Mean answers of check-ins by week.")
            st.html(element("p", "Mean of each week; darker is higher for this client.", "sw-note"))
        notes = answers.filter(pl.col("note").is_not_null() | pl.col("excused").is_not_null()).tail(5)
        lines = [
            element(
                "li",
                join(
                    [
                        f"{show_date(row['check_in_date'])}: ",
                        row["note"] or "",
                        element("small", f" excused: {row['excused']}" if row["excused"] else ""),
                    ]
                ),
            )
            for row in reversed(notes.to_dicts())
        ]
        if lines:
            st.html(element("ul", join(lines), "sw-options"))


def _show_sessions(athlete: AthleteHistory, unit: Unit) -> None:
    """Every session, and the rows behind the one that is chosen."""
    st.html(element("h2", "Sessions and the rows behind them", "sw-section"))
    sessions = athlete.sessions().to_dicts()
    if not sessions:
        st.html(element("p", "No session in these weeks.", "sw-note"))
        return
    labels = {row["session_date"]: _session_label(row, unit) for row in sessions}
    day = st.selectbox(
        "Session",
        list(labels),
        format_func=labels.__getitem__,
        key=f"session_{athlete.client_id}_{athlete.week}",
    )
    notes = athlete.session_notes(day).to_dicts()
    if notes:
        lines = [
            element(
                "li",
                join(
                    [
                        element("q", row["note"]),
                        " ",
                        element("small", f"{row['source_file']}, row {row['source_row']}"),
                    ]
                ),
            )
            for row in notes
        ]
        st.html(element("ul", join(lines), "sw-options"))
    st.html(_set_table(athlete.session_sets(day), unit))


def _session_label(row: dict[str, Any], unit: Unit) -> str:
    parts = [
        f"{row['session_date']:%a} {show_date(row['session_date'], year=True)}",
        row["planned_day"] or "not planned",
        f"{row['n_sets'] or 0} sets, {row['n_hard_sets'] or 0} hard",
    ]
    if row["volume_kg"]:
        parts.append(f"volume load {show_load(row['volume_kg'], unit, 0)}")
    if row["duration_low_min"] is not None:
        low, high = row["duration_low_min"], row["duration_high_min"]
        parts.append(
            f"{low:.0f} min" if high is None or round(low) == round(high) else f"{low:.0f}–{high:.0f} min"
        )
    return " · ".join(parts)


def _set_table(sets: pl.DataFrame, unit: Unit) -> Html:
    heads = [
        Head("Exercise"),
        Head("As written"),
        Head("Set", "", "r"),
        Head("Load", "", "r"),
        Head("As written", "", "n"),
        Head("Reps", "", "r"),
        Head("RIR", TERMS["RIR"], "r"),
        Head("Kind", "", "n"),
        Head("Note", "", "l"),
        Head("File and row", "Where this set stands in what the client sent", "l"),
    ]
    rows = [_set_cells(row, unit) for row in sets.to_dicts()]
    return table(heads, rows, caption="Sets of the session")


def _set_cells(row: dict[str, Any], unit: Unit) -> list[Cell]:
    load = (row["load_basis"] or "–").replace("_", " ")
    if row["load_kg"] is not None:
        load = _load(row["load_kg"], row["load_basis"], unit)
    if row["implements"] == 2 and row["load_kg"] is not None and row["load_basis"] != "per_hand":
        load = f"2 × {load}"
    reps = "–" if row["reps"] is None else f"{row['reps']}{'+' if row['is_at_least'] else ''}"
    if row["reps_left"] is not None and row["reps_right"] is not None:
        reps = f"{row['reps_left']} left, {row['reps_right']} right"
    if row["duration_s"] is not None:
        reps = f"{show_figure(row['duration_s'], 0)} s"
    sheet = f" [{row['source_sheet']}]" if row["source_sheet"] else ""
    return [
        row["exercise_name"],
        element("small", row["exercise_text"] or ""),
        str(row["set_index"]),
        load,
        element("small", row["load_text"] or ""),
        reps,
        "–" if row["rir"] is None else show_figure(row["rir"]),
        SET_KINDS.get(row["set_kind"], row["set_kind"]),
        row["note"] or "",
        element("small", f"{row['source_file']}{sheet}, row {row['source_row']}"),
    ]
