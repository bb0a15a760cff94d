"""Runs `update` from a page, in a process of its own, and shows its progress."""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import streamlit as st

from pipeline.workspace import Workspace

LAST_LINES = 12
NEARLY_THE_SAME_DAY = dt.timedelta(days=2)
"""Room for time zones and for "up to last night"."""
ROOT = Path(__file__).resolve().parent.parent


def update_command(workspace: Workspace, as_of: dt.date) -> list[str]:
    """The command line's own update: pages and scripts do the same thing."""
    return [
        sys.executable,
        "-m",
        "pipeline.cli",
        "update",
        str(workspace.root),
        "--as-of",
        as_of.isoformat(),
    ]


def run_update(workspace: Workspace, as_of: dt.date) -> Iterator[str | int]:
    """The update's lines as they come, then its exit code. WorkspaceError for someone who may only look."""
    workspace.refuse_reader()
    paths = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    with subprocess.Popen(
        update_command(workspace, as_of),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
        bufsize=1,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONIOENCODING": "utf-8"},
    ) as process:
        if process.stdout is not None:
            for line in process.stdout:
                if line.strip():
                    yield line.rstrip()
        yield process.wait()


def day_to_read_up_to(read_up_to: dt.date | None, published: dt.date | None, today: dt.date) -> dt.date:
    """The day an update from the page reads up to unless the coach says otherwise.

    Today as a rule. A history that was read up to an earlier day than the one it was published on is held
    there on purpose (an example, a look back): it stays there, or everyone in it would seem to have
    stopped sending logs.
    """
    if read_up_to is None or published is None or published - read_up_to <= NEARLY_THE_SAME_DAY:
        return today
    return min(read_up_to, today)


def _published_on(history_db: Path) -> dt.date | None:
    """The day the history in force was published."""
    try:
        return dt.date.fromtimestamp(history_db.stat().st_mtime)
    except OSError:
        return None


def show_update_button(
    workspace: Workspace, label: str = "Update", *, read_up_to: dt.date | None = None
) -> None:
    """The button, and while it runs the lines of the update; draws the page anew when it went well.

    `read_up_to`: the day the history in force reads up to.
    """
    if workspace.is_read_only:
        return
    today = dt.date.today()
    suggested = day_to_read_up_to(read_up_to, _published_on(workspace.history_db), today)
    with st.container(horizontal=True, vertical_alignment="bottom", horizontal_alignment="right"):
        chosen = st.date_input(
            "Read up to",
            value=suggested,
            key=f"update_as_of_{suggested}",
            format="YYYY-MM-DD",
            width=150,
            help="Today as a rule. An earlier day shows how things stood then; rows dated later count as "
            "in the future."
            + ("" if suggested == today else " The history here is held at this day; choose today to go on."),
        )
        pressed = st.button(label, key="update", type="primary", help="Read what has come in since last time")
    if said := st.session_state.pop("update_said", None):
        st.success(said)
    if not pressed:
        return
    as_of = chosen if isinstance(chosen, dt.date) else today
    lines: list[str] = []
    code = 1
    with st.status("Reading the workspace …", expanded=True) as status:
        place = st.empty()
        for said_now in run_update(workspace, as_of):
            if isinstance(said_now, int):
                code = said_now
            else:
                lines.append(said_now)
                place.code("\n".join(lines[-LAST_LINES:]), language=None)
        status.update(
            label="Updated" if code == 0 else "The update did not publish; the last history stands",
            state="complete" if code == 0 else "error",
        )
    if code == 0:
        st.session_state["update_said"] = summary_line(lines)
        st.session_state.pop("answered", None)
        st.rerun()


def summary_line(lines: list[str]) -> str:
    """The line of an update that says what was read."""
    return next((line for line in lines if line.startswith("Read ")), "Updated.")
