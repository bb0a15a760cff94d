"""The real command in a process of its own: it connects to nobody and writes nothing elsewhere."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.update.small_roster import AS_OF, write_roster

REAL_EXAMINER = True
# runs first in every Python process below: each attempt to connect or to look up a name is written down
WATCH = """
import os, socket
def _told(name, real):
    def call(*args, **kwargs):
        if not (name == "connect" and getattr(args[0], "family", None) == socket.AF_UNIX):
            with open(os.environ["WATCHED"], "a") as handle:
                handle.write(f"{name} {args[1:] if name == 'connect' else args}\\n")
        return real(*args, **kwargs)
    return call
socket.socket.connect = _told("connect", socket.socket.connect)
socket.getaddrinfo = _told("getaddrinfo", socket.getaddrinfo)
with open(os.environ["WATCHED"] + ".started", "a") as handle:
    handle.write("1")
"""


@pytest.mark.slow
def test_an_update_connects_to_nobody_and_leaves_the_home_folder_empty(tmp_path: Path) -> None:
    home, watch = tmp_path / "home", tmp_path / "watch"
    home.mkdir()
    watch.mkdir()
    (watch / "sitecustomize.py").write_text(WATCH)
    root = write_roster(tmp_path / "roster")
    environment = {
        **os.environ,
        "HOME": str(home),
        "XDG_CACHE_HOME": str(home / "cache"),
        "PYTHONPATH": str(watch),
        "WATCHED": str(tmp_path / "watched"),
    }
    command = [
        sys.executable,
        "-m",
        "pipeline.cli",
        "update",
        str(root),
        "--as-of",
        AS_OF.isoformat(),
        "--json",
    ]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert result["n_records"] == sum(
        result[f"n_{f}"] for f in ("loaded", "duplicate", "rejected", "waiting", "ignored")
    )
    # the command and the process with great-expectations were both watched
    assert len((tmp_path / "watched.started").read_text()) >= 2
    assert not (tmp_path / "watched").exists(), (tmp_path / "watched").read_text()
    assert list(home.rglob("*")) == []
