"""The demo read by a whole update: every planted defect has the fate its list says, every file its counts."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from demo_data.roster import AS_OF
from pipeline.commands.demo import make_demo
from pipeline.commands.review import command as review
from pipeline.update import update
from pipeline.workspace import open_workspace

pytestmark = pytest.mark.slow
DEMO = Path(__file__).parents[2] / "demo_data"
TABLES = {
    "loaded": "logged_set",
    "duplicate": "duplicate_row",
    "rejected": "rejected_row",
    "waiting": "waiting_row",
    "ignored": "ignored_row",
}


def listed(name: str) -> list[dict[str, str]]:
    """Rows of one of the demo's lists."""
    with (DEMO / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


DEFECTS = [row for row in listed("planted.csv") if row["what"] == "defect"]


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's workspace, updated."""
    folder = tmp_path_factory.mktemp("demo") / "workspace"
    make_demo(folder)
    update(open_workspace(folder), AS_OF)
    return folder


@pytest.fixture(scope="module")
def history(root: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """The published history of the demo."""
    workspace = open_workspace(root)
    with duckdb.connect(str(workspace.published_history()), read_only=True) as con:
        yield con


def fates_of(con: duckdb.DuckDBPyConnection, row: dict[str, str]) -> set[str]:
    """The fates of a planted record, or of all records where the file is refused or planted whole."""
    area, name = row["file"].split("/", 1)
    place: list[Any] = [area, name]
    where = "source_area = ? and source_file = ?"
    if row["row"]:
        where += " and (source_row is null or coalesce(source_sheet, '') = ? and source_row = ?)"
        place += [row["sheet"], int(row["row"])]
    found = set()
    for fate, table in TABLES.items():
        # of a check-in one answer may be refused while the others are kept
        whole = " and (not is_part or source_area <> 'inbox')" if fate == "rejected" else ""
        sql = f"select 1 from {table} where {where}{whole} limit 1"
        if con.execute(sql, place).fetchone():
            found.add(fate)
    return found


@pytest.mark.parametrize("row", DEFECTS, ids=lambda r: f"{r['story']}-{r['file']}-{r['row']}")
def test_a_planted_defect_has_the_fate_that_its_list_says(
    history: duckdb.DuckDBPyConnection, row: dict[str, str]
) -> None:
    found = fates_of(history, row)
    expected = {row["expected_fate"], *filter(None, row["also_right"].split(";"))}
    if not found:  # a lock file is no record at all
        assert "ignored" in expected
        assert Path(row["file"]).name.startswith("~$")
        return
    assert found <= expected, f"{row['story']}: {row['reason']}"


@pytest.mark.parametrize("expected", listed("expected_files.csv"), ids=lambda r: r["source_file"])
def test_the_records_of_a_demo_file_come_to_what_is_listed(
    history: duckdb.DuckDBPyConnection, expected: dict[str, str]
) -> None:
    counts = ("n_records", "n_loaded", "n_duplicate", "n_rejected", "n_waiting", "n_ignored")
    sql = f"select {', '.join(counts)} from file_ledger where is_current"
    found = history.execute(
        f"{sql} and source_area = 'inbox' and source_file = ?", [expected["source_file"]]
    ).fetchall()
    assert found == [tuple(int(expected[name]) for name in counts)]


def test_every_file_of_the_demos_inbox_is_listed(history: duckdb.DuckDBPyConnection) -> None:
    names = history.execute("select source_file from file_ledger where source_area = 'inbox'").fetchall()
    assert {name for (name,) in names} == {row["source_file"] for row in listed("expected_files.csv")}


def test_only_what_is_planted_is_refused_in_the_demo(history: duckdb.DuckDBPyConnection) -> None:
    refused = history.execute(
        "select source_area || '/' || source_file, coalesce(source_row, 0) from rejected_row"
        " where source_area in ('inbox', 'check_ins')"
    ).fetchall()
    planted = {(row["file"], int(row["row"] or 0)) for row in DEFECTS}
    # a header and nothing below it is planted by its row and refused whole
    planted |= {(row["file"], 0) for row in DEFECTS if row["story"] == "file with a header only"}
    assert set(refused) <= planted


def test_the_readme_shows_what_the_review_prints(root: Path) -> None:
    readme = (DEMO.parent / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"begins like this:\n\n```\n(.*?)```", readme, re.DOTALL)
    assert shown is not None
    printed = CliRunner().invoke(review, [str(root)], env={"COLUMNS": "100"}, catch_exceptions=False).output
    assert printed.replace(str(root), "demo").startswith(shown.group(1))


@pytest.mark.parametrize("page", ["athlete", "plan"])
def test_a_clients_page_draws_for_every_client(
    page: str, root: Path, history: duckdb.DuckDBPyConnection, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SETWRIGHT_WORKSPACE", str(root))
    script = str(DEMO.parent / "dashboards" / "pages" / f"{page}.py")
    broken = {}
    for (client_id,) in history.execute("select client_id from client order by client_id").fetchall():
        drawn = AppTest.from_file(script, default_timeout=60)
        drawn.query_params["client"] = client_id
        drawn.run()
        said = [str(one.value) for one in drawn.error] + [str(one.value) for one in drawn.exception]
        if said:
            broken[client_id] = said
    assert broken == {}
