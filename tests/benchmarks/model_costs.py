"""`python -m tests.benchmarks.model_costs WORKSPACE [--client ID …] [--json FILE] [--keep FILE]`: what each
model costs.

Runs every model again on a copy of a workspace's published history, as an update does once the records are
in: processor seconds and peak memory (as far as Linux tells) of each step, dearest first.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from pipeline.model import history_tables
from pipeline.model.history_tables import empty_models, open_history_tables
from pipeline.run import models
from pipeline.workspace import open_workspace


class Costs:
    """Processor seconds and peak memory by step: each step lasts until the next one begins."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.peak_mb: dict[str, int] = {}
        self._step = ""
        self._started = time.process_time()

    def begin(self, step: str) -> None:
        """End the step before and begin this one."""
        now = time.process_time()
        if self._step:
            self.seconds[self._step] = self.seconds.get(self._step, 0.0) + now - self._started
            self.peak_mb[self._step] = max(self.peak_mb.get(self._step, 0), _peak_mb())
        _forget_peak()
        self._step, self._started = step, time.process_time()

    def around(self, step: str, function: Callable[..., None]) -> Callable[..., None]:
        """The function as a step of its own."""

        def timed(*given: object, **named: object) -> None:
            self.begin(step)
            function(*given, **named)
            self.begin("between steps")

        return timed


def _peak_mb() -> int:
    status = Path("/proc/self/status")
    if not status.exists():
        return 0
    lines = [line for line in status.read_text(encoding="ascii").splitlines() if line.startswith("VmHWM")]
    return int(lines[0].split()[1]) // 1024 if lines else 0


def _forget_peak() -> None:
    reset = Path("/proc/self/clear_refs")
    if reset.exists():
        reset.write_text("5", encoding="ascii")


def measure(history: Path, clients: list[str] | None) -> Costs:
    """Make every model of a history (in place) again, of these clients or of all."""
    costs = Costs()
    names = ("take_part", "give_part", "retract_models")
    plain = {name: getattr(history_tables, name) for name in names}
    for name, function in plain.items():
        setattr(history_tables, name, costs.around(f"({name.replace('_', ' ')})", function))
    try:
        with open_history_tables(history) as con:
            if clients is None:
                empty_models(con)
            costs.begin("loading the program")
            models.run_all_models(con, clients, lambda _stage, name: costs.begin(name))
            costs.begin("(closing)")
    finally:
        for name, function in plain.items():
            setattr(history_tables, name, function)
    costs.begin("")
    return costs


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.model_costs", description=__doc__)
    parser.add_argument("workspace", type=Path)
    parser.add_argument("--client", nargs="+", help="make these clients' models only")
    parser.add_argument("--json", type=Path, help="write the figures here")
    parser.add_argument("--keep", type=Path, help="keep the history made here")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="setwright-models-") as folder:
        copy = given.keep or Path(folder) / "history.duckdb"
        shutil.copyfile(open_workspace(given.workspace).published_history(), copy)
        costs = measure(copy, given.client)
    total = sum(costs.seconds.values())
    sys.stdout.write(f"| step | cpu s | peak MB |\n|---|---:|---:|\n| all | {total:.2f} | |\n")
    for step, seconds in sorted(costs.seconds.items(), key=lambda item: -item[1]):
        sys.stdout.write(f"| {step} | {seconds:.2f} | {costs.peak_mb[step]} |\n")
    if given.json:
        given.json.write_text(
            json.dumps({"seconds": costs.seconds, "peak_mb": costs.peak_mb}), encoding="utf-8"
        )


if __name__ == "__main__":
    main()
