"""The whole roster in order of urgency: who needs a look, why, and what changed."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboards.frame import Frame, begin, choose_week, show_cautions, show_past_notice
from dashboards.history import read_counts, read_roster, read_run
from dashboards.live_table import live_table
from dashboards.markup import Html, element, show_date
from dashboards.navigation import go_to
from dashboards.roster_table import ORDERS, RosterRow, matches, roster_markup, roster_rows, tags_of
from dashboards.scribble import show_scribble
from dashboards.wording import state_word
from pipeline.notes import FollowUp

PAGE_SIZE = 100


def show() -> None:
    frame = begin()
    roster = roster_rows(read_roster(frame.history, frame.week))
    reviewed = frame.notes.read_reviewed(frame.week)
    notes = frame.notes.read_notes()
    follow_ups = frame.notes.read_follow_ups()
    show_headline(frame, roster, set(reviewed), follow_ups)
    show_past_notice(frame)
    chosen = choose_rows(frame, roster, set(reviewed), follow_ups)
    if not roster:
        st.html(element("p", "clients.csv names nobody and no log does.", "sw-note"))
        return
    if not chosen:
        st.html(element("p", "Nobody matches. Clear the search or a filter to see everyone.", "sw-note"))
        return
    shown = chosen[: st.session_state.get("rows_shown", PAGE_SIZE)]
    latest_note = {note.client_id: note for note in reversed(notes)}
    due = {follow_up.client_id: follow_up for follow_up in reversed(follow_ups)}
    pressed = live_table(
        roster_markup(
            shown,
            set(reviewed),
            latest_note,
            due,
            frame.week,
            frame.is_latest,
            st.session_state.get("order", "urgency"),
        ),
        key="roster_table",
    )
    if pressed is not None:
        answer_press(frame, pressed.act, pressed.of, roster)
    show_marking(frame, chosen, set(reviewed))
    if len(chosen) > len(shown) and st.button(f"Show all {len(chosen)} clients"):
        st.session_state["rows_shown"] = len(chosen)
        st.rerun()
    show_cautions()


def show_marking(frame: Frame, rows: list[RosterRow], reviewed: set[str]) -> None:
    """One press for those left by the filters who need no look; those who do are marked one by one."""
    left = [row for row in rows if row.client_id not in reviewed and not row.needs_a_look]
    if len(left) < 2 or not frame.may_write:
        return
    if st.button(f"Mark the {len(left)} who need no look as reviewed", key="mark_all"):
        by_state: dict[str, list[str]] = {}
        for row in left:
            by_state.setdefault(row.state, []).append(row.client_id)
        for state, clients in by_state.items():
            frame.notes.mark_reviewed(clients, frame.week, state)
        st.rerun()


def show_headline(
    frame: Frame, roster: list[RosterRow], reviewed: set[str], follow_ups: list[FollowUp]
) -> None:
    """How many need a look, how many wait for an answer, how far the review has come."""
    counts = read_counts(frame.history)
    run = read_run(frame.history)
    look = [row for row in roster if row.needs_a_look]
    left = sum(row.client_id not in reviewed for row in look)
    today = frame.week + dt.timedelta(days=7)
    due = sum(follow_up.due_date <= today for follow_up in follow_ups)
    facts = [
        (str(len(roster)), "client" if len(roster) == 1 else "clients"),
        (
            str(len(look)),
            ("needs a look" if len(look) == 1 else "need a look")
            + (f", {left} not reviewed yet" if left != len(look) else ""),
        ),
        (str(len(reviewed)), "reviewed this week"),
        (str(due), "follow-up due" if due == 1 else "follow-ups due"),
        (
            str(counts["n_questions"]),
            f"open question{'s' if counts['n_questions'] != 1 else ''}"
            + (f", {counts['n_waiting']:,} rows wait" if counts["n_waiting"] else ""),
        ),
    ]
    told = Html("".join(f"<span><b>{n}</b> {element('span', words)}</span>" for n, words in facts))
    left_side, right_side = st.columns([3, 1], vertical_alignment="bottom")
    with left_side:
        st.html(
            element("h1", "Roster", "sw-title")
            + element("div", told, "sw-facts")
            + element("p", f"Files read up to {show_date(run.get('as_of'), year=True)}.", "sw-note")
        )
    with right_side:
        choose_week(frame)


def choose_rows(
    frame: Frame, roster: list[RosterRow], reviewed: set[str], follow_ups: list[FollowUp]
) -> list[RosterRow]:
    """The rows left by search and filters, in the order asked for."""
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        view = st.segmented_control(
            "Show",
            ["Everyone", "Needs a look", "Not reviewed", "Follow-up due"],
            key="view",
            default="Everyone",
            label_visibility="collapsed",
        )
        text = st.text_input(
            "Search",
            placeholder="Name, reason, tag",
            key="search",
            max_chars=80,
            width=160,
            label_visibility="collapsed",
        )
        present = list(dict.fromkeys(row.state for row in roster))
        states = st.multiselect(
            "State",
            present,
            key="states",
            placeholder="Every state",
            width=130,
            label_visibility="collapsed",
            format_func=lambda s: f"{state_word(s).word} ({sum(row.state == s for row in roster)})",
        )
        plans = st.multiselect(
            "Plan",
            sorted({row.plan for row in roster if row.plan}),
            key="plans",
            placeholder="Every plan",
            width=125,
            label_visibility="collapsed",
        )
        tags = st.multiselect(
            "Tag",
            tags_of(roster),
            key="tags",
            placeholder="Every tag",
            width=115,
            label_visibility="collapsed",
        )
    due = {f.client_id for f in follow_ups if f.due_date <= frame.week + dt.timedelta(days=7)}
    left = [row for row in roster if matches(row, text, states, plans, tags)]
    if view == "Needs a look":
        left = [row for row in left if row.needs_a_look]
    elif view == "Not reviewed":
        left = [row for row in left if row.client_id not in reviewed]
    elif view == "Follow-up due":
        left = [row for row in left if row.client_id in due]
    return sorted(left, key=ORDERS[st.session_state.get("order", "urgency")])


def answer_press(frame: Frame, act: str, of: str, roster: list[RosterRow]) -> None:
    """Do what was pressed in the table."""
    known = {row.client_id: row for row in roster}
    if act == "sort" and of in ORDERS:
        st.session_state["order"] = of
        st.rerun()
    if of not in known:
        return
    if act == "open":
        go_to("athlete", client=of, **({} if frame.is_latest else {"week": frame.week.isoformat()}))
    if act == "mark" and frame.may_write:
        frame.notes.mark_reviewed([of], frame.week, known[of].state)
        st.rerun()
    if act == "unmark" and frame.may_write:
        frame.notes.unmark_reviewed([of], frame.week)
        st.rerun()
    if act == "note":
        show_scribble(frame, of, known[of].name)


show()
