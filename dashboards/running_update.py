"""Runs `update` from a page, in a process of its own, and shows its progress.

An update belongs to the workspace, not to the page that began it: it goes on when the page is left or drawn
anew, every tab shows it, and none begins a second one meanwhile.
"""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
import threading
from dataclasses import dataclass, field
from pathlib import Path

import streamlit as st

from dashboards.markup import element
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


@dataclass
class PageUpdate:
    """An update begun from a page: its process and what it has said so far."""

    process: subprocess.Popen[str]
    lines: list[str] = field(default_factory=list)
    listener: threading.Thread | None = None

    @property
    def is_over(self) -> bool:
        """Whether it has ended and everything it said has been heard."""
        return self.listener is not None and not self.listener.is_alive()

    @property
    def went_well(self) -> bool:
        return self.process.poll() == 0

    def listen(self) -> None:
        """Keep what it says until it ends."""
        if self.process.stdout is not None:
            self.lines.extend(line.rstrip() for line in self.process.stdout if line.strip())
        self.process.wait()


_updates: dict[Path, PageUpdate] = {}
_beginning = threading.Lock()


def latest_update(workspace: Workspace) -> PageUpdate | None:
    """The last update that a page of this server has begun, running or over."""
    return _updates.get(workspace.root)


def begin_update(workspace: Workspace, as_of: dt.date) -> PageUpdate:
    """Begin an update, or join the one that runs. WorkspaceError for someone who may only look."""
    workspace.refuse_reader()
    with _beginning:
        running = latest_update(workspace)
        if running is not None and not running.is_over:
            return running
        paths = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
        process = subprocess.Popen(
            update_command(workspace, as_of),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            errors="replace",
            bufsize=1,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONIOENCODING": "utf-8"},
        )
        begun = PageUpdate(process)
        begun.listener = threading.Thread(target=begun.listen, daemon=True)
        begun.listener.start()
        _updates[workspace.root] = begun
        return begun


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
    """The button, and while it runs the lines of the update; draws the page anew when it has ended.

    `read_up_to`: the day the history in force reads up to.
    """
    if workspace.is_read_only:
        return
    today = workspace.settings.today()
    suggested = day_to_read_up_to(read_up_to, _published_on(workspace.history_db), today)
    running = latest_update(workspace)
    is_running = running is not None and not running.is_over
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
        pressed = st.button(
            label,
            key="update",
            type="primary",
            disabled=is_running,
            help="An update is running." if is_running else "Read what has come in since last time",
        )
    if pressed and not is_running:
        begin_update(workspace, chosen if isinstance(chosen, dt.date) else today)
        # drawn anew, so that the button rests while it runs
        st.rerun()
    if running is None:
        return
    if is_running:
        st.session_state["watched_update"] = running.process.pid
        _show_progress(running)
    elif st.session_state.pop("watched_update", None) == running.process.pid:
        _show_result(running)


@st.fragment(run_every=1.0)
def _show_progress(running: PageUpdate) -> None:
    """What the update says; once it has ended the whole page is drawn anew."""
    if running.is_over:
        st.rerun()
    st.html(element("p", "Reading the workspace. It goes on if you leave this page.", "sw-notice"))
    if running.lines:
        st.code("\n".join(running.lines[-LAST_LINES:]), language=None)


def _show_result(ended: PageUpdate) -> None:
    if ended.went_well:
        st.html(element("div", summary_line(ended.lines), "sw-notice"))
        return
    st.html(element("div", "The update did not publish; the last history stands.", "sw-problem"))
    if ended.lines:
        st.code("\n".join(ended.lines[-LAST_LINES:]), language=None)


def summary_line(lines: list[str]) -> str:
    """The line of an update that says what was read."""
    return next((line for line in lines if line.startswith("Read ")), "Updated.")
