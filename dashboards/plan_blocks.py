"""The lower half of the plan page: other layouts of the week, changes to the version before, blocks."""

from __future__ import annotations

import datetime as dt
from typing import Any

import streamlit as st

from dashboards.charts.muscles import MUSCLE_LABELS
from dashboards.history import History
from dashboards.markup import (
    Cell,
    Head,
    Html,
    count_words,
    element,
    join,
    show_date,
    show_figure,
    show_signed,
    table,
)
from dashboards.plan_history import (
    read_block_exercises,
    read_block_lifts,
    read_block_muscles,
    read_blocks,
    read_changes,
    read_layouts,
)
from dashboards.units import Unit, show_load
from dashboards.wording import TERMS

LAYOUTS_SHOWN = 4
PARTS = ("", "low_", "high_")
"""A figure's columns: itself and the ends of its interval."""
OUTCOME_WORDS = {
    "stronger": "stronger", "weaker": "weaker", "no_clear_change": "no clear change",
    "too_little": "too little to tell",
}  # fmt: skip


def show_layouts(history: History, client_id: str, valid_from: dt.date) -> None:
    """Other ways to lay the days over the week."""
    layouts = read_layouts(history, client_id, valid_from).to_dicts()
    st.html(element("h2", "The days laid over the week", "sw-section"))
    if not layouts:
        st.html(element("p", "No layout was worked out for this version.", "sw-note"))
        return
    shown = layouts[:LAYOUTS_SHOWN] + [row for row in layouts[LAYOUTS_SHOWN:] if row["is_current"]]
    heads = [
        Head("#", "1 keeps hard sessions and sessions of the same muscles furthest apart", "r"),
        Head("Layout", "", "w"),
        Head("Hard sessions apart", "Least days from one hard session to the next", "r"),
        Head("Same muscle apart", "Least days until a muscle is trained directly again", "n"),
        Head("Hard days in a row", "Of those, pairs whose lifts interfere", "r"),
        Head("Days moved", "Training days on another weekday than now", "r"),
    ]
    st.html(table(heads, [_layout_cells(row) for row in shown], caption="Layouts of the week"))


def _layout_cells(row: dict[str, Any]) -> list[Cell]:
    layout: Cell = row["layout"]
    if row["is_current"]:
        layout = join([row["layout"], " ", element("small", "as planned now")])
    muscles = (row["same_muscles"] or "").replace("_", " ")
    same = join([_days(row["least_days_same_muscle"]), " ", element("small", muscles)])
    in_a_row = f"{row['n_hard_neighbours'] or 0}"
    if row["n_interfering_neighbours"]:
        in_a_row += f", {row['n_interfering_neighbours']} interfere"
    return [str(row["place"]), layout, _days(row["least_days_hard"]), same, in_a_row, row["n_days_moved"]]


def _days(n_days: int | None) -> str:
    return "–" if n_days is None else count_words(n_days, "day", "days")


def show_changes(history: History, client_id: str, valid_from: dt.date) -> None:
    """What changed against the version before."""
    changes = read_changes(history, client_id, valid_from).to_dicts()
    if not changes:
        return
    before = show_date(changes[0]["previous_valid_from"], year=True)
    with st.expander(f"{count_words(len(changes), 'change', 'changes')} against the version of {before}"):
        heads = [
            Head("What", "", "n"), Head("Where", "", "n"), Head("Before"), Head("Now"), Head("In words", "", "w"),
        ]  # fmt: skip
        rows: list[list[Cell]] = [
            [
                row["kind"],
                (row["place"] or "–").replace("_", " "),
                row["before"] or "–",
                row["after"] or "–",
                element("small", row["sentence"] or ""),
            ]
            for row in changes
        ]
        st.html(table(heads, rows, caption="Changes of the plan"))


def show_blocks(history: History, client_id: str, unit: Unit) -> None:
    """Did the block work? Each against the one before; one of them lift by lift."""
    st.html(element("h2", "What came of each block", "sw-section"))
    blocks = read_blocks(history, client_id).to_dicts()
    if not blocks:
        st.html(element("p", "No block has a complete week yet.", "sw-note"))
        return
    heads = [
        Head("Block"),
        Head("Days", "", "n"),
        Head("Weeks", "Complete weeks of the block", "r"),
        Head("Sessions", "Planned sessions done, of those planned and not excused", "r"),
        Head("Set completion", TERMS["set completion"], "r"),
        Head("Strength, % a week", "Lifts pooled, with its 90 % interval", "n"),
        Head("Against the block before", "Difference in % a week, with its 90 % interval", "n"),
        Head("Outcome", "", "n"),
    ]
    st.html(table(heads, [_block_cells(row) for row in blocks], caption="Blocks"))
    st.html(
        element("p", "An observation, not proof: other things changed in those weeks as well.", "sw-note")
    )
    labels = {
        row["valid_from"]: f"{row['plan']}, from {show_date(row['valid_from'], year=True)}" for row in blocks
    }
    chosen = st.selectbox(
        "Block in full", list(labels), format_func=labels.__getitem__, key=f"block_{client_id}", width=420
    )
    left, right = st.columns(2, gap="large")
    with left:
        st.html(_lift_table(read_block_lifts(history, client_id, chosen).to_dicts(), unit))
    with right:
        st.html(_muscle_table(read_block_muscles(history, client_id, chosen).to_dicts()))
        st.html(_shortfall_table(read_block_exercises(history, client_id, chosen).to_dicts()))


def _muscle_table(muscles: list[dict[str, Any]]) -> Html:
    if not muscles:
        return element("p", "No set of this block counts for a muscle.", "sw-note")
    heads = [
        Head("Hard sets a muscle and week", TERMS["hard set"]),
        Head("Planned", "", "r"),
        Head("Done", "After a plus: sets of unknown effort, not counted", "r"),
        Head("Block before", "Done, in the block before", "r"),
        Head("Target", TERMS["target"], "r"),
        Head("Standing", "Done, against the target", "n"),
    ]
    by_muscle = {row["muscle"]: row for row in muscles}
    order = [muscle for muscle in MUSCLE_LABELS if muscle in by_muscle]
    order += [muscle for muscle in by_muscle if muscle not in MUSCLE_LABELS]
    return table(heads, [_muscle_cells(by_muscle[muscle]) for muscle in order], caption="Hard sets a muscle")


def _muscle_cells(row: dict[str, Any]) -> list[Cell]:
    done, unknown = row["done_sets"] or 0.0, row["unknown_effort_sets"] or 0.0
    low, high = row["target_low"], row["target_high"]
    standing = ""
    if low is not None and done < low:
        # with effort logged, it might have been enough
        standing = "below" if done + unknown < low else ""
    elif high is not None and done > high:
        standing = "above"
    told: Cell = show_figure(done)
    if unknown:
        told = join([show_figure(done), element("small", f" +{show_figure(unknown)}")])
    return [
        MUSCLE_LABELS.get(row["muscle"], str(row["muscle"]).replace("_", " ")),
        show_figure(row["planned_sets"]),
        told,
        show_figure(row["previous_done_sets"]),
        "–" if low is None else f"{show_figure(low)}–{show_figure(high)}",
        element("span", standing, "sw-attention") if standing == "below" else standing,
    ]


def _interval(value: float | None, low: float | None, high: float | None) -> Cell:
    if value is None:
        return None
    return join([show_signed(value), " ", element("small", f"{show_signed(low)} to {show_signed(high)}")])


def _block_cells(row: dict[str, Any]) -> list[Cell]:
    days = f"{show_date(row['valid_from'])} – {show_date(row['last_day'], year=True)}"
    return [
        row["plan"] or "–",
        days if row["is_over"] else join([days, " ", element("small", "still on")]),
        row["n_weeks"],
        f"{row['n_done'] or 0} / {row['n_planned'] or 0}",
        "–" if row["set_completion_pct"] is None else f"{row['set_completion_pct']:.0f} %",
        _interval(*(row[f"change_{part}pct_per_week"] for part in PARTS)),
        _interval(*(row[f"difference_{part}pct_per_week"] for part in PARTS)),
        OUTCOME_WORDS.get(row["outcome"], row["outcome"]),
    ]


def _lift_table(lifts: list[dict[str, Any]], unit: Unit) -> Html:
    if not lifts:
        return element("p", "No lift of this block has an estimate.", "sw-note")
    heads = [
        Head("Lift"),
        Head("Sessions", "Deloads left out", "r"),
        Head(f"e1RM, {unit}", "Of the fitted line, first and last session", "r"),
        Head("% a week", "With its 90 % interval", "n"),
        Head("Block before", "% a week", "r"),
        Head("Outcome", "", "n"),
    ]
    rows: list[list[Cell]] = [
        [
            row["exercise_name"],
            row["n_sessions"],
            f"{_bare(row['first_e1rm_kg'], unit)} → {_bare(row['last_e1rm_kg'], unit)}",
            _interval(*(row[f"change_{part}pct_per_week"] for part in PARTS)),
            show_signed(row["previous_change_pct_per_week"]),
            OUTCOME_WORDS.get(row["outcome"], row["outcome"]),
        ]
        for row in lifts
    ]
    return table(heads, rows, caption="Lifts of the block")


def _bare(load_kg: float | None, unit: Unit) -> str:
    return show_load(load_kg, unit).removesuffix(f" {unit}")


def _shortfall_table(exercises: list[dict[str, Any]]) -> Html:
    if not exercises:
        return element("p", "Every planned exercise of this block was done in full.", "sw-note")
    heads = [
        Head("Done less than planned, or swapped"),
        Head("Times", "Done, of times planned", "r"),
        Head("Sets", "Done, of sets planned", "r"),
        Head("Reps in range", "", "r"),
        Head("Swapped for", "", "l"),
    ]
    rows: list[list[Cell]] = [
        [
            join([row["exercise_name"] or "–", " ", element("small", row["day"] or "")]),
            f"{row['n_times_done'] or 0} / {row['n_times_planned'] or 0}",
            f"{show_figure(row['done_sets'], 0)} / {show_figure(row['planned_sets'], 0)}",
            "–" if row["reps_in_range_pct"] is None else f"{row['reps_in_range_pct']:.0f} %",
            f"{row['swapped_for'] or '–'} ({row['n_times_swapped']})" if row["n_times_swapped"] else "",
        ]
        for row in exercises
    ]
    return table(heads, rows, caption="Plan against done")
