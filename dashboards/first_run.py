"""What a coach sees before there is anything to see."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards.history import History, has_files, read_counts, read_run
from dashboards.markup import Html, count_words, element, show_date
from dashboards.running_update import show_update_button
from pipeline.workspace import Workspace

_STEPS = (
    ("clients.csv", "One line a client: client_id, name, status, unit, bodyweight_kg, start_date."),
    ("inbox/", "The logs as clients send them: csv, tsv, xlsx or plain text, in folders or not."),
    ("plans/", "Plans, one row a planned exercise, with the days they are valid from and to."),
    ("check_ins/", "Bodyweight, sleep, soreness, motivation, with dates. May stay empty."),
)


def show_first_run(workspace: Workspace) -> None:
    """No history yet: what to put where, what is already there, and the button that begins."""
    n_logs = _count_files(workspace)
    st.html(element("h1", "Nothing has been read yet", "sw-title"))
    st.html(
        element(
            "p",
            "Setwright reads a folder that you keep. Put in what you have; it asks about what it "
            "cannot know, and leaves your files as they are.",
            "sw-lead",
        )
    )
    items = "".join(f"<li><b>{escape(name)}</b> {escape(words)}</li>" for name, words in _STEPS)
    st.html(Html(f'<ul class="sw-options">{items}</ul>'))
    st.html(element("p", f"Folder: {workspace.root}. Files in the inbox: {n_logs}.", "sw-note"))
    if n_logs:
        show_update_button(workspace, "Read the folder")
    else:
        st.html(element("p", "Put the first log into the inbox, then open this page again.", "sw-notice"))
    st.html(element("p", "To look around first, run in a terminal:  setwright demo", "sw-note"))


def show_no_weeks(workspace: Workspace, history: History) -> None:
    """A history without a complete week: say what was read and where the rest may be."""
    if not has_files(history):
        show_first_run(workspace)
        return
    run = read_run(history)
    counts = read_counts(history)
    st.html(element("h1", "No complete week yet", "sw-title"))
    st.html(
        element(
            "p",
            f"{count_words(run.get('n_files') or 0, 'file', 'files')} with "
            f"{count_words(run.get('n_sets') or 0, 'set', 'sets')} were read up to "
            f"{show_date(run.get('as_of'), year=True)}. The roster begins with the first week that is over.",
            "sw-lead",
        )
    )
    if counts["n_questions"]:
        asked = (
            f"{count_words(counts['n_questions'], 'question waits', 'questions wait')} for you, and "
            f"{count_words(counts['n_waiting'], 'row', 'rows')} with them: answer on the page Data, "
            "then update."
        )
        st.html(element("p", asked, "sw-notice"))
    else:
        st.html(element("p", "What was refused, and why, stands on the page Data.", "sw-note"))
    show_update_button(workspace, read_up_to=run.get("as_of"))


def _count_files(workspace: Workspace, most: int = 100_000) -> int:
    """Files in the inbox, hidden ones left out."""
    n_files = 0
    if workspace.inbox.is_dir():
        for path in workspace.inbox.rglob("*"):
            n_files += path.is_file() and not path.name.startswith(".")
            if n_files >= most:
                break
    return n_files
