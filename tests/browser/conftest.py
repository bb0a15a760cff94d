"""The pages in a real browser; every fault on the console is a failure."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "dashboards"))

from made_history import make_workspace
from watching import PATIENCE_MS, watched

from dashboards.browser import find_chromium
from dashboards.launch import served

# the first page of a server pays for its imports, on a busy machine for long
expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A headless Chromium, closed behind each file: tests of other folders open their own."""
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=find_chromium(), args=["--no-sandbox"])
        yield one
        one.close()


@pytest.fixture(scope="session")
def made_workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with a small made history."""
    return make_workspace(tmp_path_factory.mktemp("browser") / "workspace")


@pytest.fixture(scope="session")
def site(made_workspace: Path) -> Iterator[str]:
    """Its pages, served."""
    with served(made_workspace) as address:
        yield address


@pytest.fixture
def page(browser: Browser, site: str) -> Iterator[Page]:
    """A watched page on the made history."""
    with watched(browser, site) as one:
        yield one
