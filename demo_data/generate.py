"""Writes the demo workspace anew: `python -m demo_data.generate`. The same seed gives the same bytes."""

from __future__ import annotations

import shutil
from pathlib import Path

from demo_data.check_in_files import check_in_files
from demo_data.coach_files import coach_files
from demo_data.layouts import inbox_files
from demo_data.ledger import expected_files_csv, planted_csv
from demo_data.lifting import DoneSet, simulate
from demo_data.mess import plant_mess
from demo_data.paper import PaperFile, write_file
from demo_data.plan_files import plan_files
from demo_data.readme_text import readme
from demo_data.roster import CLIENTS

SEED = 20260628
HERE = Path(__file__).parent


def demo_files() -> list[PaperFile]:
    """Every file of the demo workspace, in memory."""
    logs: dict[str, list[DoneSet]] = {}
    weights: dict[str, dict[int, float]] = {}
    for client in CLIENTS:
        logs[client.client_id], weights[client.client_id] = simulate(client, SEED)
    clean = [*coach_files(), *inbox_files(logs), *plan_files(), *check_in_files(weights, SEED)]
    return plant_mess(clean, SEED)


def write_demo(target: Path = HERE) -> None:
    """Write `workspace/` and the lists beside it below `target`; an earlier workspace is replaced."""
    workspace = target / "workspace"
    if workspace.exists():
        shutil.rmtree(workspace)
    files = demo_files()
    for file in files:
        write_file(workspace, file)
    for name, text in (
        ("planted.csv", planted_csv(files)),
        ("expected_files.csv", expected_files_csv(files)),
        ("README.md", readme(files)),
    ):
        (target / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write_demo()
