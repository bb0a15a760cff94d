"""`python -m tests.benchmarks.spark_growth HISTORY …`: what the models cost on Spark, for histories of several sizes.

Each history is copied, emptied of what models made, and filled again on Spark in local mode, in a process of
its own. Processor seconds are those of the whole tree of processes: this program, Spark, its Python workers.
Peak memory is the largest sum of what they held at once.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import duckdb

from pipeline.contract import TABLES
from pipeline.model import history_tables
from pipeline.run.models import GIVEN
from pipeline.run.spark.models import run_all_models_on_spark
from pipeline.run.spark.parquet_tables import has_client
from pipeline.spark_settings import SparkSettings, with_options

_TICK = os.sysconf("SC_CLK_TCK")
_PAGE = os.sysconf("SC_PAGE_SIZE")
_STEPS = {
    "writing records as Parquet": "records out",
    "statistics, group by group": "statistics",
    "checking what was computed": "checks",
    "reading the tables back": "tables in",
}


def tree(root: int) -> tuple[float, int]:
    """Processor seconds and bytes held of a process and all below it."""
    parents: dict[int, int] = {}
    costs: dict[int, tuple[float, int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            parents[int(entry.name)] = int(fields[1])
            costs[int(entry.name)] = (sum(map(int, fields[11:15])) / _TICK, int(fields[21]) * _PAGE)
    mine = {root}
    while more := {child for child, parent in parents.items() if parent in mine} - mine:
        mine |= more
    known = [costs[one] for one in mine if one in costs]
    return sum(one for one, _ in known), sum(one for _, one in known)


class Watch:
    """Costs of this process and all below it, by step."""

    def __init__(self) -> None:
        self.peak, self.steps, self._step, self._begin = 0, dict[str, float](), "start", 0.0
        threading.Thread(target=self._look, daemon=True).start()

    def _look(self) -> None:
        while True:
            self.peak = max(self.peak, tree(os.getpid())[1])
            time.sleep(0.5)

    def show(self, stage: str, what: str) -> None:
        """Progress: another step begins."""
        step = _STEPS.get(what, {"model": "SQL models", "end": "end"}.get(stage, self._step))
        if step != self._step:
            now = tree(os.getpid())[0]
            self.steps[self._step] = round(now - self._begin, 1)
            self._step, self._begin = step, now


def multiply(con: duckdb.DuckDBPyConnection, copies: int) -> None:
    """Have every client train `copies` times, under other names."""
    for name in GIVEN:
        if has_client(TABLES[name]):
            con.execute(
                f"insert into out.{name} by name select its.* replace (client_id || '+' || n as client_id)"
                f" from out.{name} as its, range(1, ?) as numbers (n)",
                [copies],
            )


def measure(history: Path, copies: int, options: list[str], folder: Path) -> dict[str, object]:
    """Fill a copy of a history on Spark; what it cost."""
    copy = folder / "history.duckdb"
    shutil.copyfile(history.resolve(), copy)
    with history_tables.open_history_tables(copy) as con:
        history_tables.empty_models(con)
        multiply(con, copies)
        n_sets, n_clients = con.execute(
            "select count(*), count(distinct client_id) from out.logged_set"
        ).fetchall()[0]
        watch, started = Watch(), time.perf_counter()
        findings = run_all_models_on_spark(
            con, with_options(SparkSettings(master="local[2]"), options), folder, watch.show
        )
        watch.show("end", "the end")
    return {
        "n_sets": n_sets,
        "n_clients": n_clients,
        "wall_s": round(time.perf_counter() - started, 1),
        "cpu_s": round(sum(watch.steps.values()), 1),
        "peak_mb": round(watch.peak / 1e6),
        "failed": sum(one.n_failed for one in findings if one.check.severity == "stop"),
        **watch.steps,
    }


def main() -> None:
    """The command: one history a process."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.spark_growth", description=__doc__)
    parser.add_argument("histories", type=Path, nargs="+")
    parser.add_argument("--copies", type=int, default=1, help="how often each client is there")
    parser.add_argument("--spark", action="append", default=[], help="as of setwright update")
    given = parser.parse_args()
    if len(given.histories) == 1:
        with tempfile.TemporaryDirectory() as folder:
            sys.stdout.write(
                json.dumps(measure(given.histories[0], given.copies, given.spark, Path(folder))) + "\n"
            )
        return
    for history in given.histories:
        options = ["--copies", str(given.copies)]
        options += [word for one in given.spark for word in ("--spark", one)]
        subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.spark_growth", str(history), *options], check=True
        )


if __name__ == "__main__":
    main()
