"""A client's plan: its days, sets a muscle, findings, versions side by side, and what came of each block."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import polars as pl
import streamlit as st

from dashboards.charts import plot_muscle_week
from dashboards.charts.muscles import MUSCLE_LABELS
from dashboards.choose_client import choose_client
from dashboards.frame import begin, show_cautions, show_chart
from dashboards.history import History
from dashboards.markup import (
    Cell,
    Head,
    Html,
    element,
    show_date,
    show_figure,
    show_signed,
    state_mark,
    table,
)
from dashboards.plan_blocks import show_blocks, show_changes, show_layouts
from dashboards.plan_history import (
    read_findings,
    read_planned_muscles,
    read_slots,
    read_versions,
)
from dashboards.units import Unit
from dashboards.wording import SEVERITY_WORDS, TERMS, state_word

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def show() -> None:
    frame = begin()
    client_id, name, beside = choose_client(frame, with_week=False)
    versions = read_versions(frame.history, client_id).to_dicts()
    st.html(element("h1", f"Plan of {name}", "sw-title"))
    if not versions:
        st.html(
            element(
                "p",
                "No plan was read for this client. Put one into plans/ and run update; "
                "setwright init writes a template.",
                "sw-note",
            )
        )
        return
    labels = {row["valid_from"]: _version_label(row) for row in versions}
    client = (
        frame.history.ask_row("select unit from client where client_id = $client", client=client_id) or {}
    )
    unit: Unit = "lb" if client.get("unit") == "lb" else "kg"
    chosen = beside.selectbox(
        "Version", list(labels), format_func=labels.__getitem__, key=f"version_{client_id}"
    )
    _show_findings(frame.history, client_id, chosen)
    left, right = st.columns([3, 2], gap="large")
    with left:
        _show_days(read_slots(frame.history, client_id, chosen).to_dicts())
    with right:
        _show_muscles(frame.history, client_id, chosen, labels)
    show_layouts(frame.history, client_id, chosen)
    show_changes(frame.history, client_id, chosen)
    show_blocks(frame.history, client_id, unit)
    show_cautions()


def _version_label(row: dict[str, Any]) -> str:
    end = f"to {show_date(row['valid_to'], year=True)}" if row["valid_to"] else "on"
    phase = f" ({row['phases']})" if row["phases"] else ""
    return f"{row['plan']}{phase}: from {show_date(row['valid_from'], year=True)} {end}"


def _show_findings(history: History, client_id: str, valid_from: dt.date) -> None:
    st.html(element("h2", "Findings", "sw-section"))
    findings = read_findings(history, client_id, valid_from).to_dicts()
    if not findings:
        st.html(element("p", "No rule has been run on this version, or none had anything to say.", "sw-note"))
        return
    to_show = [row for row in findings if row["severity"] != "fine"]
    fine = [row for row in findings if row["severity"] == "fine"]
    if to_show:
        st.html(_finding_table(to_show))
    else:
        st.html(element("p", "Nothing to look at in this version.", "sw-note"))
    if fine:
        with st.expander("Found fine by one rule" if len(fine) == 1 else f"Found fine by {len(fine)} rules"):
            st.html(_finding_table(fine))


def _finding_table(findings: list[dict[str, Any]]) -> Html:
    heads = [
        Head("Weight", "Look: worth a change before the plan goes out. Consider: may be meant so.", "n"),
        Head("Where"),
        Head("Finding", "", "w"),
        Head("Figure", "", "r"),
        Head("Rests on", "The practice or publication behind the rule", "l"),
    ]
    rows: list[list[Cell]] = [
        [
            state_mark(SEVERITY_WORDS.get(row["severity"] or "", state_word(row["severity"]))),
            place,
            # the place stands beside it
            _capital((row["sentence"] or "").removeprefix(f"{place}: ")),
            _figure(row),
            element("small", (row["source"] or "").replace(" [P]", "")),
        ]
        for row in findings
        for place in [MUSCLE_LABELS.get(row["place"], row["place"]) or "–"]
    ]
    return table(heads, rows, caption="Findings on the plan")


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _figure(row: dict[str, Any]) -> str:
    if row["figure"] is None:
        return ""
    unit = row["unit"] or ""
    if row["figure"] == 1:
        unit = re.sub(r"^(day|set|session|minute)s\b", r"\1", unit)
    return f"{show_figure(row['figure'])} {unit}"


def _show_days(slots: list[dict[str, Any]]) -> None:
    st.html(element("h2", "Days", "sw-section"))
    phases = list(dict.fromkeys(row["phase"] or "" for row in slots))
    shown = phases[0]
    if len(phases) > 1:
        shown = (
            st.segmented_control(
                "Phase", phases, default=phases[0], format_func=lambda p: p or "no phase", required=True
            )
            or phases[0]
        )
    slots = [row for row in slots if (row["phase"] or "") == shown]
    heads = [
        Head("Day"),
        Head("Exercise"),
        Head("Sets", "", "r"),
        Head("Reps", "", "r"),
        Head("RIR", TERMS["RIR"], "r"),
        Head("Rest", "Between sets", "r"),
    ]
    has_pairs = any(row["superset"] for row in slots)
    has_alternatives = any(row["alternatives"] for row in slots)
    if has_pairs:
        heads.append(Head("Pair", "Exercises of one letter are done in turn", "n"))
    if has_alternatives:
        heads.append(Head("May be swapped for", "", "l", drop_at="narrow"))
    rows: list[list[Cell]] = []
    before = None
    for row in slots:
        day = row["day"] + (f", {WEEKDAYS[row['weekday'] - 1]}" if row["weekday"] else "")
        name = row["exercise_name"] or row["exercise_text"] or "–"
        rest = "–" if row["rest_s"] is None else f"{row['rest_s']:.0f} s"
        cells: list[Cell] = [
            element("b", day) if day != before else "",
            name,
            row["sets"],
            _reps(row),
            row["target_rir"],
            rest,
        ]
        if has_pairs:
            cells.append(row["superset"] or "")
        if has_alternatives:
            others = (row["alternatives"] or "").replace(";", ", ").replace("_", " ")
            cells.append(element("small", others))
        rows.append(cells)
        before = day
    st.html(table(heads, rows, caption="Planned exercises by day"))


def _reps(row: dict[str, Any]) -> str:
    low, high = row["rep_low"], row["rep_high"]
    if low is None and high is None:
        return "–"
    return f"{low}–{high}" if low is not None and high is not None and low != high else f"{low or high}"


def _show_muscles(history: History, client_id: str, valid_from: dt.date, labels: dict[dt.date, str]) -> None:
    st.html(element("h2", "Planned sets a muscle and week", "sw-section"))
    planned = read_planned_muscles(history, client_id, valid_from)
    if planned.is_empty():
        st.html(element("p", "The plan names no exercise whose muscles are known.", "sw-note"))
        return
    show_chart(plot_muscle_week(planned), "Planned sets a muscle and week against the target range.")
    st.html(
        element(
            "p",
            "Bar: planned sets, 1 direct and 0.5 indirect. Pale range: target. Right: sets, and days "
            "that train the muscle directly.",
            "sw-note",
        )
    )
    others = [day for day in labels if day != valid_from]
    if others:
        other = st.selectbox(
            "Compare with",
            [None, *others],
            key=f"other_{client_id}_{valid_from}",
            format_func=lambda day: "no other version" if day is None else labels[day],
        )
        if other is not None:
            st.html(_comparison(planned, read_planned_muscles(history, client_id, other)))


def _comparison(this: pl.DataFrame, other: pl.DataFrame) -> Html:
    """Planned sets a muscle of two versions, and the difference."""
    mine = dict(zip(this["muscle"], this["fractional_hard_sets"], strict=True))
    theirs = dict(zip(other["muscle"], other["fractional_hard_sets"], strict=True))
    rows: list[list[Cell]] = []
    for muscle, label in MUSCLE_LABELS.items():
        if muscle in mine or muscle in theirs:
            a, b = mine.get(muscle, 0.0), theirs.get(muscle, 0.0)
            rows.append([label, show_figure(b), show_figure(a), show_signed(a - b) if a != b else "same"])
    heads = [Head("Muscle"), Head("Other", "", "r"), Head("This", "", "r"), Head("Change", "", "r")]
    return table(heads, rows, caption="Planned sets of two versions")


show()
