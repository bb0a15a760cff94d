"""Runs updates that are to die: a process that has imported everything once forks a child for each.

    python tests/trust/nursery.py        one order a line on stdin, one answer a line on stdout, as JSON

An order names the workspace, the day, and how the child ends: `after_s` seconds, or before its n-th step that
touches the disk (`at_step`), both by SIGKILL, or not at all. `file_limit` caps the size of any file it writes,
`at_once` runs several of the same order side by side.
"""

from __future__ import annotations

import datetime as dt
import importlib
import json
import os
import resource
import select
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
_CHANGES = {
    "os.rename", "os.remove", "os.symlink", "os.link", "os.mkdir", "os.rmdir", "os.chmod", "os.truncate",
    "os.utime", "shutil.rmtree", "shutil.copyfile", "os.listdir", "os.scandir",
}  # fmt: skip


_HEAVY = (
    "great_expectations", "openpyxl", "scipy.stats", "pipeline.analyse", "pipeline.cli", "pipeline.commands.update",
    "pipeline.publish.result_page", "pipeline.update",
)  # fmt: skip


class Nursery:
    """The process, from the outside."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, str(Path(__file__).resolve())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        self._answer()

    def _answer(self) -> dict[str, Any]:
        line = self._process.stdout.readline() if self._process.stdout else ""
        if not line:
            raise RuntimeError("the nursery ended")
        return dict(json.loads(line))

    def run(self, workspace: Path, as_of: dt.date, **ending: Any) -> dict[str, Any]:
        """Run one update; `code` (−9: killed), `seconds`, `steps` taken, `said` on stderr."""
        if self._process.stdin is None:
            raise RuntimeError("the nursery has no ears")
        self._process.stdin.write(
            json.dumps({"workspace": str(workspace), "as_of": str(as_of), **ending}) + "\n"
        )
        self._process.stdin.flush()
        return self._answer()

    def run_at_once(self, workspace: Path, as_of: dt.date, n: int) -> list[dict[str, Any]]:
        """Run several updates of one workspace side by side."""
        return list(self.run(workspace, as_of, at_once=n)["runs"])

    def close(self) -> None:
        """End it."""
        if self._process.stdin:
            self._process.stdin.close()
        self._process.wait(timeout=20)


def _child(order: dict[str, Any], answers: int) -> None:
    """One update, as the command line runs it; never returns."""
    os.dup2(answers, 2)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    if order.get("file_limit"):
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (order["file_limit"],) * 2)
    n_steps = 0

    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal n_steps
        is_write = (
            event == "open" and isinstance(arguments[2], int) and arguments[2] & (os.O_WRONLY | os.O_RDWR)
        )
        if event in _CHANGES or is_write:
            n_steps += 1
            if n_steps == order.get("at_step"):
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(watch)
    from pipeline.cli import main

    code = 0
    try:
        main(["update", order["workspace"], "--as-of", order["as_of"], "--quiet"])
    except SystemExit as err:
        code = int(err.code or 0)
    os.write(2, f"\nsteps {n_steps}".encode())
    os._exit(code)


def _raise_child(order: dict[str, Any]) -> dict[str, Any]:
    ear, mouth = os.pipe()
    began = time.monotonic()
    pid = os.fork()
    if pid == 0:
        os.close(ear)
        _child(order, mouth)
    os.close(mouth)
    said, status = b"", None
    ends_at = began + float(order.get("after_s") or 1e9)
    while status is None:
        if time.monotonic() >= ends_at:
            os.kill(pid, signal.SIGKILL)
            _, status = os.waitpid(pid, 0)
        elif select.select([ear], [], [], min(max(ends_at - time.monotonic(), 0), 0.02))[0]:
            said += os.read(ear, 65536)
        # the end of the child counts, not that of the pipe: a process it began may hold that a little longer
        if status is None:
            ended, found = os.waitpid(pid, os.WNOHANG)
            status = found if ended else None
    while select.select([ear], [], [], 0)[0] and (piece := os.read(ear, 65536)):
        said += piece
    os.close(ear)
    text, _, steps = said.decode("utf-8", "replace").rpartition("\nsteps ")
    return {
        "code": os.waitstatus_to_exitcode(status),
        "seconds": time.monotonic() - began,
        "steps": int(steps) if steps.isdigit() else 0,
        "said": (text if steps.isdigit() else said.decode("utf-8", "replace")).strip(),
    }


def main() -> None:
    """Import, say so, and serve."""
    for name in _HEAVY:
        importlib.import_module(name)
    sys.stdout.write("{}\n")
    sys.stdout.flush()
    for line in sys.stdin:
        order = json.loads(line)
        if order.get("at_once"):
            with ThreadPoolExecutor(order["at_once"]) as pool:
                answer: dict[str, Any] = {"runs": list(pool.map(_raise_child, [order] * order["at_once"]))}
        else:
            answer = _raise_child(order)
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
