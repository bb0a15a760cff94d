"""Writes the demo workspace anew: `python -m demo_data.generate`. The same seed gives the same bytes."""

from __future__ import annotations

import shutil
from pathlib import Path

from demo_data.check_in_files import check_in_files
from demo_data.coach_files import coach_files
from demo_data.layouts import inbox_files
from demo_data.lifting import DoneSet, simulate
from demo_data.paper import PaperFile, write_file
from demo_data.plan_files import plan_files
from demo_data.roster import CLIENTS

SEED = 20260628
HERE = Path(__file__).parent


def demo_files(seed: int = SEED) -> list[PaperFile]:
    """Every file of the demo workspace, in memory."""
    logs: dict[str, list[DoneSet]] = {}
    weights: dict[str, dict[int, float]] = {}
    for client in CLIENTS:
        logs[client.client_id], weights[client.client_id] = simulate(client, seed)
    return [*coach_files(), *inbox_files(logs), *plan_files(), *check_in_files(weights, seed)]


def write_demo(target: Path = HERE, seed: int = SEED) -> None:
    """Write `workspace/` below `target`; an earlier one is replaced."""
    workspace = target / "workspace"
    if workspace.exists():
        shutil.rmtree(workspace)
    for file in demo_files(seed):
        write_file(workspace, file)


if __name__ == "__main__":
    write_demo()
