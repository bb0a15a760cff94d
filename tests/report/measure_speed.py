"""How fast reports are made, against the bare time of their charts and typesetting.

`python -m tests.report.measure_speed WORKSPACE YYYY-MM` writes every client's PDF in this one process, after
one report to warm up, and prints processor seconds a report: all of it, the part inside the chart engine
(vl-convert) and the part inside the typesetting engine (Typst). Processor time, not wall time: it does not
change with what else the machine does.
"""

from __future__ import annotations

import argparse
import contextlib
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import typst
import vl_convert

from dashboards.history import open_history, read_clients
from dashboards.report import write_report
from pipeline.workspace import open_workspace


@contextlib.contextmanager
def timed(module: Any, name: str, spent: dict[str, float]) -> Iterator[None]:
    """Add the processor time of every call of `module.name` to `spent[name]`."""
    inner: Callable[..., Any] = getattr(module, name)

    def outer(*arguments: Any, **named: Any) -> Any:
        begun = time.process_time()
        try:
            return inner(*arguments, **named)
        finally:
            spent[name] = spent.get(name, 0.0) + time.process_time() - begun

    with mock.patch.object(module, name, outer):
        yield


def measure(workspace: Path, month: str) -> str:
    """The figures in a few lines."""
    place = open_workspace(workspace)
    history = place.published_history()
    clients = read_clients(open_history(history))["client_id"].to_list()
    spent: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:

        def write(client_id: str, number: int) -> None:
            write_report(history, place.notes_db, client_id, month, Path(folder) / f"{number}.pdf")

        write(clients[0], 0)
        with timed(vl_convert, "vegalite_to_svg", spent), timed(typst, "compile", spent):
            begun, begun_wall = time.process_time(), time.perf_counter()
            for number, client_id in enumerate(clients):
                write(client_id, number)
            total, wall = time.process_time() - begun, time.perf_counter() - begun_wall
    charts, setting = spent.get("vegalite_to_svg", 0.0), spent.get("compile", 0.0)
    n = len(clients)
    return (
        f"{n} reports in {total:.1f} s of processor time ({wall:.1f} s on the clock): "
        f"{n / total:.2f} a second and core\n"
        f"  charts {charts / n:.3f} s, typesetting {setting / n:.3f} s, all else "
        f"{(total - charts - setting) / n:.3f} s a report\n"
        f"  {total / (charts + setting):.2f} times the bare time of charts and typesetting\n"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.report.measure_speed", description=__doc__)
    parser.add_argument("workspace", type=Path)
    parser.add_argument("month")
    asked = parser.parse_args()
    sys.stdout.write(measure(asked.workspace, asked.month))
