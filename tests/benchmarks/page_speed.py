"""`python -m tests.benchmarks.page_speed WORKSPACE`: how long each page takes at thousands of clients.

The published history of WORKSPACE (the demo's, say) is multiplied to the size asked for; then every page is run
by Streamlit's test runner, in one process a page, in processor seconds (of all threads): the first of all, which
pays for imports; opened, the median of runs that ask the history everything; drawn again, as after a press,
when the history's answers are known. With `--browser` each
page is opened in Chromium as well, and timed from the address to the last thing drawn.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

PAGES = Path(__file__).resolve().parents[2] / "dashboards" / "pages"
RUNS = 5
PATIENCE_S = 120
COLUMNS = ("page", "first of all", "opened", "drawn again", "opened, wall")
BROWSER_COLUMN = "in Chromium, wall"


def addresses(workspace: Path) -> dict[str, tuple[str, dict[str, str]]]:
    """What is measured: a title, the page and its query. An athlete in the middle of the roster."""
    from dashboards.history import open_history, read_roster, read_weeks
    from pipeline.workspace import open_workspace

    history = open_history(open_workspace(workspace).published_history())
    weeks = read_weeks(history)
    roster = read_roster(history, weeks[0])
    client = str(roster["client_id"][roster.height // 2])
    past = weeks[min(20, len(weeks) - 1)].isoformat()
    return {
        "roster": ("roster", {}),
        "roster, a past week": ("roster", {"week": past}),
        "athlete": ("athlete", {"client": client}),
        "athlete, a past week": ("athlete", {"client": client, "week": past}),
        "plan": ("plan", {"client": client}),
        "data, questions": ("data", {"section": "questions"}),
        "data, files": ("data", {"section": "files"}),
        "data, refused": ("data", {"section": "refused"}),
        "data, spellings": ("data", {"section": "spellings"}),
        "reports": ("reports", {"client": client}),
    }


def time_page(name: str, query: dict[str, str]) -> dict[str, float]:
    """Seconds of a page's first run and of the median of the next, in this process."""
    from streamlit.testing.v1 import AppTest

    from dashboards.history import open_history
    from pipeline.workspace import open_workspace

    history = open_history(open_workspace(Path(os.environ["SETWRIGHT_WORKSPACE"])).published_history())

    def run(*, is_new: bool = True) -> tuple[float, float]:
        if is_new:
            history.forget_answers()
        test = AppTest.from_file(str(PAGES / f"{name}.py"), default_timeout=PATIENCE_S)
        for key, value in query.items():
            test.query_params[key] = value
        cpu, wall = time.process_time(), time.perf_counter()
        test.run()
        if test.exception:
            raise RuntimeError(f"the page {name} failed: {test.exception[0].value}")
        return time.process_time() - cpu, time.perf_counter() - wall

    first, _ = run()
    times = [run() for _ in range(RUNS)]
    again = [run(is_new=False) for _ in range(RUNS)]
    return {
        "first of all": first,
        "opened": statistics.median(cpu for cpu, _ in times),
        "opened, wall": statistics.median(wall for _, wall in times),
        "drawn again": statistics.median(cpu for cpu, _ in again),
    }


def time_in_a_process(workspace: Path, name: str, query: dict[str, str]) -> dict[str, float]:
    """`time_page` in a process of its own."""
    code = (
        "import json, sys; from tests.benchmarks.page_speed import time_page; "
        "print(json.dumps(time_page(sys.argv[1], json.loads(sys.argv[2]))))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, name, json.dumps(query)],
        env={**os.environ, "SETWRIGHT_WORKSPACE": str(workspace)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        check=True,
    )
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def time_in_browser(workspace: Path, places: dict[str, tuple[str, dict[str, str]]]) -> dict[str, float]:
    """Seconds from asking for an address in Chromium to the page drawn whole; the median of three."""
    from urllib.parse import urlencode

    from playwright.sync_api import sync_playwright

    from dashboards.browser import find_chromium
    from dashboards.launch import served

    found = {}
    with served(workspace) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        for title, (name, query) in places.items():
            where = f"{address}/{'' if name == 'roster' else name}?{urlencode(query)}"

            def opened(where: str = where) -> float:
                page.goto("about:blank")
                start = time.perf_counter()
                page.goto(where)
                page.wait_for_selector(".sw-title", timeout=PATIENCE_S * 1000)
                page.wait_for_selector(
                    '.stApp[data-test-script-state="notRunning"]', timeout=PATIENCE_S * 1000
                )
                page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
                return time.perf_counter() - start

            found[title] = _median_after_first(opened)
        browser.close()
    return found


def _median_after_first(measure: Callable[[], float]) -> float:
    measure()
    return statistics.median(measure() for _ in range(3))


def table(found: dict[str, dict[str, float]]) -> str:
    """The times as a table."""
    columns = [*COLUMNS, *([BROWSER_COLUMN] if BROWSER_COLUMN in next(iter(found.values())) else [])]
    lines = [f"| {' | '.join(columns)} |", "|---|" + "---:|" * (len(columns) - 1)]
    lines += [
        f"| {title} | {' | '.join(f'{times[column]:.2f}' for column in columns[1:])} |"
        for title, times in found.items()
    ]
    return "\n".join(lines)


def main() -> None:
    """The command."""
    from tests.benchmarks.many_clients import count_of, size_for, workspace_of

    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.page_speed", description=__doc__)
    parser.add_argument("workspace", type=Path, help="a workspace with a published history, to multiply")
    parser.add_argument("--clients", type=float, default=2_000, help="at least that many clients")
    parser.add_argument("--sets", type=float, default=1e7, help="at least that many sets")
    parser.add_argument("--folder", type=Path, help="keep the multiplied history here, and use one there is")
    parser.add_argument("--browser", action="store_true", help="also in Chromium")
    given = parser.parse_args()
    source = (given.workspace / "history.duckdb").resolve()
    with tempfile.TemporaryDirectory(prefix="setwright-pages-") as temporary:
        folder = given.folder or Path(temporary)
        if not (folder / "history.duckdb").exists():
            workspace_of(source, folder, size_for(source, int(given.clients), int(given.sets)))
        clients, sets = count_of(folder / "history.duckdb")
        sys.stdout.write(f"{clients:,} clients, {sets:,} sets\n\n")
        places = addresses(folder)
        found = {}
        for title, (name, query) in places.items():
            found[title] = time_in_a_process(folder, name, query)
            sys.stderr.write(f"{title}: {found[title]}\n")
        if given.browser:
            for title, wall in time_in_browser(folder, places).items():
                found[title][BROWSER_COLUMN] = wall
        sys.stdout.write(table(found) + "\n")


if __name__ == "__main__":
    main()
