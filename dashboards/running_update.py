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
    """The update's lines as they come, then its exit code."""
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


def show_update_button(workspace: Workspace, label: str = "Update") -> None:
    """The button, and while it runs the lines of the update; draws the page anew when it went well."""
    with st.container(horizontal=True, vertical_alignment="bottom", horizontal_alignment="right"):
        chosen = st.date_input(
            "Read up to",
            value="today",
            key="update_as_of",
            format="YYYY-MM-DD",
            width=150,
            help="Today, unless you want to see how things stood on an earlier day. Later dates count as "
            "in the future.",
        )
        pressed = st.button(label, key="update", type="primary", help="Read what has come in since last time")
    if said := st.session_state.pop("update_said", None):
        st.success(said)
    if not pressed:
        return
    as_of = chosen if isinstance(chosen, dt.date) else dt.date.today()
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
