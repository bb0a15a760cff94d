"""A small published history for the tests of pages and charts."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from made_history import make_workspace


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of what is pressed and typed on whole pages, only that every page draws is quick."""
    for item in items:
        if item.path.name == "test_pages.py" and "draws_without_an_error" not in item.name:
            item.add_marker("slow")


@pytest.fixture(scope="session")
def kept_workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace that tests only read."""
    return make_workspace(tmp_path_factory.mktemp("kept") / "workspace")


@pytest.fixture
def workspace(kept_workspace: Path, tmp_path: Path) -> Path:
    """A workspace of its own for a test that writes."""
    folder = tmp_path / "workspace"
    shutil.copytree(kept_workspace, folder, symlinks=True)
    return folder


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch, workspace: Path) -> Path:
    """The workspace that pages show in this test."""
    monkeypatch.setitem(os.environ, "SETWRIGHT_WORKSPACE", str(workspace))
    return workspace
