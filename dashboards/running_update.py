"""Runs `update` from a page, in a process of its own, and shows its progress."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator

import streamlit as st

from pipeline.workspace import Workspace

LAST_LINES = 12


def update_command(workspace: Workspace) -> list[str]:
    """The command line's own update: pages and scripts do the same thing."""
    return [sys.executable, "-m", "pipeline.cli", "update", str(workspace.root)]


def run_update(workspace: Workspace) -> Iterator[str | int]:
    """The update's lines as they come, then its exit code."""
    with subprocess.Popen(
        update_command(workspace),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
        bufsize=1,
    ) as process:
        if process.stdout is not None:
            for line in process.stdout:
                if line.strip():
                    yield line.rstrip()
        yield process.wait()


def show_update_button(workspace: Workspace, label: str = "Read new files (update)") -> None:
    """The button, and while it runs the lines of the update; draws the page anew when it went well."""
    if said := st.session_state.pop("update_said", None):
        st.success(said)
    if not st.button(label, key="update", type="primary"):
        return
    lines: list[str] = []
    code = 1
    with st.status("Reading the workspace …", expanded=True) as status:
        place = st.empty()
        for said_now in run_update(workspace):
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
        st.session_state["update_said"] = lines[-1] if lines else "Updated."
        st.rerun()
