"""Takes the README's pictures: `python -m dashboards.screenshots WORKSPACE FOLDER`.

Needs the development packages (Playwright) and a Chromium. Pictures are reduced to a palette, so that they
stay small in the repository.
"""

from __future__ import annotations

import argparse
import io
from pathlib import Path

import polars as pl
from PIL import Image
from playwright.sync_api import Page, sync_playwright

from dashboards.browser import find_chromium
from dashboards.history import open_history, read_roster, read_weeks
from dashboards.launch import served
from pipeline.workspace import open_workspace

WIDTH, HEIGHT = 1440, 900
DRAWN = {
    "roster": ".sw-live tbody tr",
    "reports": "iframe",
    "athlete": "canvas, svg.marks",
    "plan": "canvas, svg.marks",
}
"""What comes last on a page."""
COLOURS = 160
SETTLE_MS = 1500
PATIENCE_MS = 120_000


def take_screenshots(workspace: Path, folder: Path) -> list[Path]:
    """A picture of each page of the workspace, written into `folder`; their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    client = telling_client(workspace)
    shots = {
        "roster": "",
        "athlete": f"athlete?client={client}",
        "plan": f"plan?client={client}",
        "data": "data?section=questions",
        "reports": f"reports?client={client}",
    }
    written = []
    with served(workspace) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT}, color_scheme="light")
        for name, where in shots.items():
            page.goto(f"{address}/{where}")
            settle(page, DRAWN.get(name, ".sw-title"))
            written.append(write_small(page.screenshot(), folder / f"{name}.png"))
        dark = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT}, color_scheme="dark")
        dark.goto(f"{address}/{shots['athlete']}")
        settle(dark, DRAWN["athlete"])
        written.append(write_small(dark.screenshot(), folder / "athlete_dark.png"))
        browser.close()
    return written


def telling_client(workspace: Path) -> str:
    """The client whose page tells most: the most urgent one who is over-reaching, else the most urgent."""
    history = open_history(open_workspace(workspace).published_history())
    roster = read_roster(history, read_weeks(history)[0])
    telling = pl.concat([roster.filter(pl.col("state") == "over_reaching"), roster])
    return str(telling["client_id"][0])


def settle(page: Page, last: str) -> None:
    """Wait until a page has drawn everything, `last` (a selector) at the end."""
    page.wait_for_selector(".sw-title", timeout=PATIENCE_MS)
    page.wait_for_selector('.stApp[data-test-script-state="notRunning"]', timeout=PATIENCE_MS)
    page.wait_for_selector(last, timeout=PATIENCE_MS)
    page.wait_for_timeout(SETTLE_MS)


def write_small(picture: bytes, path: Path) -> Path:
    """Write a PNG with a small palette."""
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    # by coverage of the colours, so that the few words in ochre keep theirs
    small = image.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    small.save(path, optimize=True)
    return path


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m dashboards.screenshots", description=__doc__)
    parser.add_argument("workspace", type=Path)
    parser.add_argument("folder", type=Path)
    asked = parser.parse_args()
    take_screenshots(asked.workspace, asked.folder)
