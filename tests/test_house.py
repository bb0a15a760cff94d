"""The rules of the house, held by walking its files: who may import whom, how long a file may be, no drawers."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
STAGES = ("ingest", "clean", "validate", "model", "analyse", "publish")
GROUND = {
    "answer_check",
    "answers",
    "contract",
    "errors",
    "faults",
    "folder_files",
    "notes",
    "reference",
    "sign_in",
    "spark_settings",
    "spreadsheet_text",
    "workspace",
}
MOST_LINES = 500
DRAWERS = {"util", "utils", "helper", "helpers", "common", "misc", "tools", "stuff"}


def sources(*folders: str) -> list[Path]:
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


def imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.update({node.module, *(f"{node.module}.{alias.name}" for alias in node.names)})
    return found


def parts_of_pipeline(path: Path) -> set[str]:
    """`clean`, `contract`, `update` … of what a module imports of the pipeline."""
    return {name.split(".")[1] for name in imports(path) if name.startswith("pipeline.")}


@pytest.mark.parametrize("stage", STAGES)
def test_a_stage_imports_itself_and_the_ground_floor_only(stage: str) -> None:
    strange = {
        str(path.relative_to(ROOT)): sorted(others)
        for path in sources(f"pipeline/{stage}")
        if (others := parts_of_pipeline(path) - {stage, "__version__"} - GROUND)
    }
    assert strange == {}


def test_the_ground_floor_imports_no_stage() -> None:
    strange = {}
    for name in GROUND:
        place = ROOT / "pipeline" / name
        for path in (
            [place.with_suffix(".py")] if place.with_suffix(".py").exists() else sources(f"pipeline/{name}")
        ):
            if others := parts_of_pipeline(path) - GROUND - {"__version__"}:
                strange[str(path.relative_to(ROOT))] = sorted(others)
    assert strange == {}


def test_the_dashboards_import_only_the_ground_floor_of_the_pipeline() -> None:
    allowed = GROUND | {"__version__"}
    strange = {
        str(path.relative_to(ROOT)): sorted(others)
        for path in sources("dashboards")
        if (others := parts_of_pipeline(path) - allowed)
    }
    assert strange == {}


def test_no_file_is_a_drawer_or_too_long() -> None:
    files = sources("pipeline", "dashboards", "demo_data", "tests")
    drawers = [str(path.relative_to(ROOT)) for path in files if path.stem in DRAWERS]
    long = {
        str(path.relative_to(ROOT)): n
        for path in files
        if (n := path.read_text(encoding="utf-8").count("\n")) > MOST_LINES
    }
    assert (drawers, long) == ([], {})


def test_every_module_says_what_it_is_for() -> None:
    silent = [
        str(path.relative_to(ROOT))
        for path in sources("pipeline", "dashboards", "demo_data")
        if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert silent == []
