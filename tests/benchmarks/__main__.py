"""`python -m tests.benchmarks`: every job on folders of several sizes, a table and a JSON file.

Times are of this machine at this moment; read the ratios. Each job runs in a process of its own: wall time,
processor time of it and its children, and its peak memory.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks.check_same import check_same_results
from tests.benchmarks.made_folder import client_ids, write_folder, write_weekly_file

SIZES = (100_000, 1_000_000)
ORDER = (
    ("floor", "floor"),
    ("pandas", "pandas"),
    ("update, cold", "update"),
    ("update, nothing new", "update"),
    ("update, one weekly file", "update"),
    ("one table's model", "one_model"),
    ("roster and athlete page", "pages"),
    ("review", "review"),
    ("report", "report"),
)


def run_job(name: str, folder: Path) -> dict[str, object]:
    """Run one job in a process of its own; its times, memory and what it says of itself."""
    started = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks.jobs", name, str(folder)],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
    )
    said = process.stderr.read().decode() if process.stderr else ""
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - started
    if status:
        raise SystemExit(f"{name} failed:\n{said}")
    return {
        "wall_s": round(wall, 3),
        "cpu_s": round(usage.ru_utime + usage.ru_stime, 3),
        "peak_mb": round(usage.ru_maxrss / 1024),
        **json.loads(said.strip().splitlines()[-1]),
    }


def measure(n_sets: int, folder: Path, leave_out: Sequence[str]) -> dict[str, dict[str, object]]:
    """Every job on one folder, in order; the results of the three ways are held against each other."""
    clients = write_folder(folder, n_sets)
    found: dict[str, dict[str, object]] = {}
    for title, job in ORDER:
        if job in leave_out or title in leave_out:
            continue
        if title == "update, one weekly file":
            write_weekly_file(folder, clients[len(clients) // 2])
        found[title] = run_job(job, folder)
        sys.stderr.write(f"{n_sets:>11,}  {title:<26} {found[title]}\n")
        if title == "update, cold":
            check_same_results(folder)
    return found


_HEAD = ("sets", "job", "wall s", "cpu s", "peak MB", "× floor (wall)", "× floor (cpu)", "of cold run (wall)")


def table(results: dict[int, dict[str, dict[str, object]]]) -> str:
    """The results as a table, with ratios to the floor and to the cold run of the same size."""
    lines = [f"| {' | '.join(_HEAD)} |", "|" + "---|" * len(_HEAD)]
    for n_sets, jobs in results.items():
        floor, cold = jobs.get("floor", {}), jobs.get("update, cold", {})
        for title, one in jobs.items():
            cells = [
                f"{n_sets:,}",
                title,
                str(one["wall_s"]),
                str(one["cpu_s"]),
                str(one["peak_mb"]),
                _ratio(one["wall_s"], floor.get("wall_s"), ".1f"),
                _ratio(one["cpu_s"], floor.get("cpu_s"), ".1f"),
                _ratio(one["wall_s"], cold.get("wall_s"), ".1%"),
            ]
            lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


def _ratio(value: object, base: object, form: str) -> str:
    if isinstance(value, int | float) and isinstance(base, int | float) and base:
        return format(value / base, form)
    return ""


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--sets", type=float, nargs="+", default=SIZES, help="sizes, such as 1e5 1e6 1e7")
    parser.add_argument("--folder", type=Path, help="where to make the folders (default: a temporary one)")
    parser.add_argument("--json", type=Path, help="write the results here")
    parser.add_argument("--leave-out", nargs="*", default=[], help="jobs not to run")
    given = parser.parse_args()
    root = given.folder or Path(tempfile.mkdtemp(prefix="setwright-benchmark-"))
    results = {}
    try:
        for size in given.sets:
            n_sets = int(size)
            results[n_sets] = measure(n_sets, root / f"{n_sets}", given.leave_out)
    finally:
        if given.folder is None:
            shutil.rmtree(root, ignore_errors=True)
    sys.stdout.write(table(results) + "\n")
    if given.json:
        clients = {n: len(client_ids(n)) for n in results}
        given.json.write_text(
            json.dumps({"clients": clients, "results": results}, indent=1), encoding="utf-8"
        )


if __name__ == "__main__":
    main()
