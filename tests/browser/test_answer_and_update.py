"""A question answered with a click, the update run from the page, and the rows that waited are there."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from watching import watched

from dashboards.launch import served

pytestmark = [pytest.mark.browser, pytest.mark.slow]

AS_OF = "2025-06-29"
UPDATE_MS = 120_000


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A coach's folder with one log, in which `Press` can mean several lifts."""
    root = tmp_path / "workspace"
    (root / "inbox" / "anna").mkdir(parents=True)
    (root / "workspace.toml").write_text("", encoding="utf-8")
    (root / "clients.csv").write_text(
        "client_id,name,status,unit,date_order\nanna,Anna,novice,kg,ymd\n", encoding="utf-8"
    )
    lines = ["date,exercise,weight_kg,reps,rir"]
    for week in range(4):
        day = dt.date(2025, 6, 2) + dt.timedelta(weeks=week)
        lines += [f"{day},Bench Press,{60 + 2.5 * week},8,2"] * 3 + [f"{day},Press,{30 + week},10,2"] * 2
    (root / "inbox" / "anna" / "june.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return root


def test_an_answered_question_lets_its_rows_load(browser: Browser, workspace: Path) -> None:
    update = [sys.executable, "-m", "pipeline.cli", "update", str(workspace), "--as-of", AS_OF, "--quiet"]
    subprocess.run(update, check=True)
    with served(workspace) as address, watched(browser, address) as page:
        page.goto(f"{address}/data")
        expect(page.get_by_text("8 rows wait")).to_be_visible()
        page.get_by_role("button", name="Overhead Press").click()
        expect(page.get_by_text("1 answered")).to_be_visible()
        for part, figure in zip(("year", "month", "day"), AS_OF.split("-"), strict=True):
            page.get_by_role("spinbutton", name=f"{part}, Read up to").click()
            page.keyboard.type(figure)
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Update").click()
        expect(page.get_by_text("Read 1 files as of")).to_be_visible(timeout=UPDATE_MS)
        expect(page.get_by_text("No open question")).to_be_visible()
        expect(page.locator(".sw-sum")).to_contain_text("0 waiting")
        page.goto(f"{address}/athlete?client=anna")
        expect(page.get_by_text("Overhead Press").first).to_be_visible()
