"""The page of the coach's own files is true: every table it shows is read whole."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from pipeline.run.inputs import RunInputs, read_inputs
from pipeline.workspace import open_workspace

PAGE = (Path(__file__).parents[2] / "pipeline" / "clean" / "COACH_FILES.md").read_text(encoding="utf-8")
PLACES = {
    "clients.csv": "clients.csv",
    "plans/": "plans/spring.csv",
    "check_ins/": "check_ins/march.csv",
    "exercises.csv": "exercises.csv",
}
N_ROWS = {"client": 2, "plan_slot": 5, "check_in": 2}


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> RunInputs:
    """What is read of a workspace made of the page's tables."""
    root = tmp_path_factory.mktemp("page")
    (root / "workspace.toml").write_text("", encoding="utf-8")
    (root / "inbox").mkdir()
    for title, text in re.findall(r"\n## ([^\n]+)\n.*?```csv\n(.*?)```", PAGE, re.DOTALL):
        path = root / PLACES[title]
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return read_inputs(open_workspace(root), date(2026, 6, 28))


def test_nothing_on_the_page_is_refused(read: RunInputs) -> None:
    assert read.tables["rejected_row"].select("source_file", "source_row", "message").rows() == []


@pytest.mark.parametrize("table", N_ROWS)
def test_every_row_on_the_page_is_read(table: str, read: RunInputs) -> None:
    assert read.tables[table].height == N_ROWS[table]


def test_the_cells_mean_what_the_page_says(read: RunInputs) -> None:
    slots = read.tables["plan_slot"]
    assert slots["weekday"].to_list() == [1, 1, 1, 4, 1]
    assert slots["alternatives"][0] == "leg_press;hack_squat"
    assert [
        (kind, str(day)) for kind, day in read.tables["excused_span"].select("kind", "date_from").rows()
    ] == [("illness", "2026-03-15")]
    assert "harbour_row" in read.tables["exercise"]["exercise_id"].to_list()
