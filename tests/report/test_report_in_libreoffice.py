"""The workbook opened by LibreOffice: every text and figure is there as written, and nothing computes."""

from __future__ import annotations

import csv
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from made_month import CLIENTS, FULL, HOSTILE, MONTH
from openpyxl import load_workbook

from dashboards.report import write_reports, write_roster_summary

SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
EVERY_SHEET = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1"
"""Comma, quotes, UTF-8, from the first row, cells as they are stored, all sheets."""

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(SOFFICE is None, reason="LibreOffice is not installed (Debian: libreoffice-calc)"),
]


@pytest.fixture(scope="module")
def opened(history: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], list[list[str]]]:
    """Rows of all sheets of a workbook, by its name, as LibreOffice reads them."""
    folder = tmp_path_factory.mktemp("sheets")
    write_reports(history, None, [FULL, HOSTILE], MONTH, folder, file_format="xlsx", processes=1)
    for number, path in enumerate(sorted(folder.glob("*.xlsx"))):
        path.rename(folder / f"report{number}.xlsx")
    write_roster_summary(history, MONTH, folder / "roster.xlsx", file_format="xlsx")
    done = subprocess.run(
        [
            str(SOFFICE), "--headless", f"-env:UserInstallation={(folder / 'profile').as_uri()}",
            "--convert-to", EVERY_SHEET, "--outdir", str(folder / "out"),
            *[str(path) for path in sorted(folder.glob("*.xlsx"))],
        ],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Error" not in done.stdout + done.stderr

    def rows(name: str) -> list[list[str]]:
        found: list[list[str]] = []
        for sheet in load_workbook(folder / f"{name}.xlsx").sheetnames:
            with (folder / "out" / f"{name}-{sheet}.csv").open(encoding="utf-8", newline="") as file:
                found += list(csv.reader(file))
        return found

    rows.folder = folder  # type: ignore[attr-defined]
    return rows


@pytest.mark.parametrize("name", ["report0", "report1", "roster"])
def test_every_cell_is_read_as_it_was_written(opened: Callable[[str], list[list[str]]], name: str) -> None:
    read = {cell for row in opened(name) for cell in row}
    assert not {cell for cell in read if cell.startswith(("#NAME", "#VALUE", "#REF", "Err:"))}
    book = load_workbook(opened.folder / f"{name}.xlsx")  # type: ignore[attr-defined]
    written = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
    texts = {value for value in written if isinstance(value, str) and value}
    assert texts <= read
    figures = {f"{value:g}" for value in written if isinstance(value, int) and not isinstance(value, bool)}
    assert figures <= read


def test_the_summary_names_every_client(opened: Callable[[str], list[list[str]]]) -> None:
    read = {cell for row in opened("roster") for cell in row}
    assert {client[1] for client in CLIENTS} <= read
