"""README.md of the demo: the scenario, then tables made from what was planted."""

from __future__ import annotations

from itertools import groupby

from demo_data.ledger import all_found, how_they_log
from demo_data.paper import PaperFile
from demo_data.roster import CLIENTS, monday_of
from demo_data.stories import STORIES

HEAD = """\
# The demo: a coach's folder in the last week of June

Runa Hallworth coaches at the Boathouse, a two-room gym on the quay of Lindmouth, a town that does not exist.
Eight of her twenty-four clients train there, three of them in a morning group that shares one workbook; the
others train far away and send what they keep: a file a month, one workbook with a sheet a week, pounds,
decimal commas, notes from a phone. The folder runs from Monday 2025-11-17 to Sunday 2026-06-28 (32 weeks),
and it is Sunday evening: who needs a look? Coach, gym, town, clients and every figure are invented.

`workspace/` is made by `python -m demo_data.generate` from a fixed seed; the same seed gives the same bytes.
Change the modules here, never the files. `planted.csv` lists every planted story and defect for tests,
`expected_files.csv` how many records each log has and what should become of them.

How the lifting is simulated stands in `lifting.py`: strength grows by training age (novices mostly 0.4 to
0.9 % a week, intermediates 0.15 to 0.35, advanced 0.1 to 0.25), days and lifts scatter so that a session's
e1RM errs by 2.5 to 4 %, effort is reported with a bias and noise, loads move by double progression, a deload
is about 60 % of the sets at 88 % of the load.
"""


def readme(files: list[PaperFile]) -> str:
    """The whole text of README.md."""
    return "\n".join((HEAD, _clients(), _stories(), _defects(files)))


def _table(*rows: tuple[str, ...]) -> str:
    head, *body = rows
    lines = [head, tuple("---" for _ in head), *body]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def _clients() -> str:
    habits = dict(how_they_log())
    rows = [(c.client_id, c.name, c.status, c.split, habits[c.client_id]) for c in CLIENTS]
    return "## Clients, and how they log\n\n" + _table(("id", "name", "training age", "split", "log"), *rows)


def _stories() -> str:
    rows = []
    for s in STORIES:
        state = s.expected_state + (f" ({s.also_right.replace(';', ', ')} would do)" if s.also_right else "")
        weeks = f"{monday_of(s.first_week)} to {monday_of(s.last_week)} ({s.first_week} to {s.last_week})"
        rows.append((s.client_id, s.story, weeks, state, s.note))
    head = (
        "## Planted stories\n\nWeeks are given by their Mondays and counted from 1 to 32. The state holds "
        "for most weeks of the span and for its last one; where a careful reader could say something else, "
        "that stands beside it.\n\n"
    )
    return head + _table(("client", "story", "weeks", "what the review should say", "why"), *rows)


def _defects(files: list[PaperFile]) -> str:
    rows = []
    found = all_found(files)
    for (file, sheet, defect, fate), part in groupby(
        found, key=lambda f: (f.file, f.sheet, f.plant.defect, f.plant.expected_fate)
    ):
        group = list(part)
        numbers = [f.row for f in group if f.row is not None]
        where = "whole file" if not numbers else _span(numbers)
        also = f" (or {group[0].plant.also_right})" if group[0].plant.also_right else ""
        place = f"{file}, sheet {sheet}" if sheet and file.startswith("inbox/") else file
        rows.append((f"`{place}`", where, defect, fate + also, group[0].plant.reason))
    head = (
        "## Planted defects\n\nRows are counted from 1 in the file or sheet, header and blank lines "
        "included. All other sets should load.\n\n"
    )
    return head + _table(("file", "row", "what", "what should become of it", "why"), *rows)


def _span(numbers: list[int]) -> str:
    first, last = numbers[0], numbers[-1]
    if first == last:
        return str(first)
    return f"{first} to {last}" if last - first == len(numbers) - 1 else ", ".join(map(str, numbers))
