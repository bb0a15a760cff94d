"""What the tests of trust share: one process that runs updates, and a workspace that was published once."""

from __future__ import annotations

import inspect
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from made_workspace import AS_OF, make_workspace
from nursery import Nursery

from pipeline.update import update
from pipeline.workspace import open_workspace
from tests.plain_examiner import PlainExaminer


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever runs a whole update in a process of its own is slow."""
    for item in items:
        if "nursery" in inspect.signature(getattr(item, "function", str)).parameters:
            item.add_marker("slow")


@pytest.fixture(scope="session")
def nursery() -> Iterator[Nursery]:
    process = Nursery()
    yield process
    process.close()


@pytest.fixture(scope="session")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with a history; copy it (`workspace`) before changing anything."""
    root = make_workspace(tmp_path_factory.mktemp("trust") / "published")
    before = os.umask(0o077)  # as the command line sets it
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("pipeline.validate.judge.Examiner", PlainExaminer)
        update(open_workspace(root), AS_OF)
    os.umask(before)
    return root


@pytest.fixture
def workspace(published: Path, tmp_path: Path) -> Path:
    """A copy of the published workspace to do anything to."""
    return Path(shutil.copytree(published, tmp_path / "w", symlinks=True))


@pytest.fixture(autouse=True)
def rights_of_files() -> Iterator[None]:
    """The command line closes what it writes to others, for the whole process; give the tests' own back."""
    before = os.umask(0o022)
    yield
    os.umask(before)
