"""Where a coach writes: a note, a day to come back, and the list of what stands."""

from __future__ import annotations

import datetime as dt

import streamlit as st

from dashboards.frame import Frame
from dashboards.markup import element, join, show_date


def show_scribble(frame: Frame, client_id: str, name: str) -> None:
    """The same, in a window over the roster."""

    @st.dialog(name if len(name) <= 60 else f"{name[:57]}…")
    def window() -> None:
        write_scribble(frame, client_id)

    window()


def write_scribble(frame: Frame, client_id: str) -> None:
    """Notes and follow-ups of a client, and a form for new ones."""
    for follow_up in frame.notes.read_follow_ups(client_id):
        text, act = st.columns([5, 1], vertical_alignment="center")
        text.html(
            element(
                "p",
                join(
                    [
                        element("b", f"Follow up {show_date(follow_up.due_date, year=True)}"),
                        f" {follow_up.body}",
                    ]
                ),
            )
        )
        if frame.may_write and act.button("Done", key=f"done_{follow_up.follow_up_id}"):
            frame.notes.end_follow_up(follow_up.follow_up_id)
            st.rerun()
    for note in frame.notes.read_notes(client_id)[:8]:
        text, act = st.columns([5, 1], vertical_alignment="center")
        text.html(
            element(
                "p",
                join(
                    [
                        note.body,
                        " ",
                        element("small", f"week of {show_date(note.week_start, year=True)}", "sw-note"),
                    ]
                ),
            )
        )
        if frame.may_write and act.button("Remove", key=f"end_{note.note_id}"):
            frame.notes.end_note(note.note_id)
            st.rerun()
    if not frame.may_write:
        return
    with st.form(f"scribble_{client_id}", clear_on_submit=True, border=False):
        words, day = st.columns([3, 2])
        words.text_area("New note", key=f"note_{client_id}", height=92, max_chars=4000)
        day.date_input("Follow up on (optional)", value=None, key=f"due_{client_id}", format="YYYY-MM-DD")
        # kept before anything is drawn: a second press comes with an emptied form and would win over it
        if day.form_submit_button("Keep", width="stretch", on_click=keep_scribble, args=(frame, client_id)):
            st.rerun()


def keep_scribble(frame: Frame, client_id: str) -> None:
    """Keep what the form holds: a follow-up where a day is given, a note where there are only words."""
    body, due = st.session_state[f"note_{client_id}"], st.session_state[f"due_{client_id}"]
    if isinstance(due, dt.date):
        frame.notes.write_follow_up(client_id, due, body)
    elif body.strip():
        frame.notes.write_note(client_id, frame.week, body)
