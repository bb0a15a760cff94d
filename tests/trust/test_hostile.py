"""What somebody could put into a file, a name or a folder to make the coach's machine do something."""

from __future__ import annotations

import csv
import datetime as dt
import io
import os
import re
import resource
import shutil
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import duckdb
import openpyxl
import pytest
from click.testing import CliRunner
from made_workspace import AS_OF, as_csv, digest, log_rows
from nursery import Nursery

from dashboards.report import report_file_name, write_report
from pipeline.cli import setwright
from pipeline.commands.export import write_export
from pipeline.commands.terminal_text import without_controls
from pipeline.ingest.read_files import DEEPEST, read_file, read_folder
from pipeline.ingest.workbooks import read_workbook
from pipeline.spreadsheet_text import defused
from pipeline.workspace import client_file_stem, open_workspace

FORMULAS = (
    "=cmd|'/c calc'!A0",
    "+1+cmd|x",
    "-2+3+cmd|x",
    "@SUM(1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "＝1+1",
    "－1+cmd",
)
MARKUP = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "[x](javascript:alert(1))",
    "**bold** $\\input{/etc/passwd}$",
    '#read("/etc/passwd")',
    "#let x = 1",
    "{{ 7*7 }}",
    "'; drop table client; --",
    'Robert"); delete from logged_set; --',
    "${jndi:ldap://x}",
    "%s %n {0}",
)


# ---- formulas on the way out --------------------------------------------------------------------


@pytest.mark.parametrize("text", FORMULAS)
def test_a_text_that_would_run_is_kept_from_running(text: str) -> None:
    assert defused(text) == f"'{text}"


@pytest.mark.parametrize(
    "text", ["-5", "+5.5", "-.5", "1e-3", "-1e5", "bench press", "", "a=b", "3 x 5 @ 80"]
)
def test_figures_and_plain_words_go_out_as_they_are(text: str) -> None:
    assert defused(text) == text


@pytest.fixture(scope="module")
def hostile(published: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A published workspace whose names, notes and words are formulas and markup."""
    root = Path(shutil.copytree(published, tmp_path_factory.mktemp("hostile") / "w", symlinks=True))
    texts = (*FORMULAS, *MARKUP)
    with duckdb.connect(str((root / "history.duckdb").resolve())) as con:
        con.execute("update client set name = ? where client_id = 'ines'", [" ".join(MARKUP)])
        con.execute(
            "update roster_review set name = ? where client_id = 'ines'", [MARKUP[0] + "\x1b]0;owned\x07"]
        )
        rows = con.execute("select rowid from logged_set order by rowid limit ?", [len(texts)]).fetchall()
        for text, (row,) in zip(texts, rows, strict=True):
            con.execute(
                "update logged_set set note = ?, exercise_name = ? where rowid = ?", [text, text, row]
            )
    return root


def test_an_exported_csv_holds_every_text_and_runs_none(hostile: Path, tmp_path: Path) -> None:
    write_export(open_workspace(hostile).published_history(), "logged_set", tmp_path / "sets.csv")
    with (tmp_path / "sets.csv").open(newline="", encoding="utf-8") as handle:
        notes = {row["note"] for row in csv.DictReader(handle)}
    for text in FORMULAS:
        assert f"'{text}" in notes
        assert text not in notes
    assert set(MARKUP) <= notes


def test_an_exported_workbook_holds_no_formula_and_no_link(hostile: Path, tmp_path: Path) -> None:
    write_export(open_workspace(hostile).published_history(), "logged_set", tmp_path / "sets.xlsx")
    book = openpyxl.load_workbook(tmp_path / "sets.xlsx")
    cells = [cell for row in book.active.iter_rows() for cell in row]
    assert not any(cell.data_type == "f" or cell.hyperlink for cell in cells)
    assert FORMULAS[0] in {cell.value for cell in cells}


@pytest.mark.parametrize(
    "table", ["logged_set; drop table client", "../logged_set", "logged_set where 1=1", "x"]
)
def test_a_table_that_does_not_exist_is_no_way_into_the_database(
    table: str, hostile: Path, tmp_path: Path
) -> None:
    result = CliRunner().invoke(setwright, ["export", str(hostile), table, "--out", str(tmp_path / "x.csv")])
    assert result.exit_code != 0
    assert not (tmp_path / "x.csv").exists()


def test_a_file_name_with_quotes_is_no_way_into_the_database(hostile: Path, tmp_path: Path) -> None:
    out = tmp_path / "it's '; drop table client; --.csv"
    assert write_export(open_workspace(hostile).published_history(), "client", out) > 0
    assert out.exists()


# ---- markup -------------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("file_format", ["html", "pdf", "xlsx"])
def test_a_report_shows_markup_as_text(file_format: str, hostile: Path, tmp_path: Path) -> None:
    out = tmp_path / f"r.{file_format}"
    place = open_workspace(hostile)
    write_report(place.published_history(), place.notes_db, "ines", "2026-06", out, file_format=file_format)  # type: ignore[arg-type]
    if file_format == "html":
        page = out.read_text(encoding="utf-8")
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
        assert "<script" not in page
        assert "<img src=x" not in page
        assert not re.search(r"(?:src|href)=[\"']?(?:https?:|//|javascript:)", page)
    elif file_format == "pdf":
        from pypdf import PdfReader

        text = " ".join(page.extract_text() for page in PdfReader(out).pages).replace("\n", " ")
        assert "#let x = 1" in text
        assert "root:" not in text
        assert "49" not in text.split("7*7")[0][-10:]
    else:
        book = openpyxl.load_workbook(out)
        assert not any(cell.data_type == "f" for sheet in book for row in sheet.iter_rows() for cell in row)


def test_the_page_of_what_came_in_shows_markup_as_text(workspace: Path, nursery: Nursery) -> None:
    rows = [["ines", "2026-06-20", text, "1", text, "8", text] for text in MARKUP]
    (workspace / "inbox/ines/<b>odd & 'quoted'.csv").write_text(as_csv(rows), encoding="utf-8")
    assert nursery.run(workspace, AS_OF)["code"] == 0
    page = (workspace / "reports/what came in.html").read_text(encoding="utf-8")
    for part in ("<script", "<img", "<b>", "onerror=alert(1)>"):
        assert part not in page
    assert "&lt;script&gt;" in page


def test_a_name_cannot_move_the_terminals_cursor(hostile: Path) -> None:
    result = CliRunner().invoke(setwright, ["review", str(hostile), "--all"])
    assert result.exit_code == 0
    assert "\x1b]0;" not in result.output
    assert without_controls("a\x1b[2Jb\u202ec") == "a\ufffd[2Jb\ufffdc"


def test_hostile_clients_and_files_go_through_an_update_and_lose_nothing(
    workspace: Path, nursery: Nursery
) -> None:
    n_before = digest(workspace)[0]
    names = [
        *MARKUP,
        *FORMULAS,
        "../../etc/passwd",
        "a/b\\c",
        ".hidden",
        "CON",
        "x" * 300,
        "\x00nul",
        "🏋️",
        "‮abc",
    ]
    buffer = io.StringIO()
    writer = csv.writer(buffer)
    writer.writerow(["client_id", "name", "unit", "bodyweight_kg"])
    writer.writerows([[name, name, "kg", "80"] for name in names if "\x00" not in name])
    with (workspace / "clients.csv").open("a", newline="", encoding="utf-8") as handle:
        handle.write(buffer.getvalue().split("\n", 1)[1])
    (workspace / "inbox/many.csv").write_text(
        as_csv([[name, *log_rows("x", 1)[0][1:]] for name in names if "\x00" not in name]), encoding="utf-8"
    )
    found = nursery.run(workspace, AS_OF)
    assert found["code"] == 0, found["said"]
    with open_workspace(workspace).open_history() as con:
        row = con.execute(
            "select n_records, n_loaded + n_duplicate + n_rejected + n_waiting + n_ignored from file_ledger "
            "where source_file = 'many.csv' and is_current"
        ).fetchone()
    assert row is not None
    assert row[0] == row[1]
    assert digest(workspace)[0] >= n_before
    assert sorted(path.name for path in workspace.parent.iterdir()) == ["w"]


# ---- ids as paths -------------------------------------------------------------------------------

PATHS = (
    "../../etc/passwd",
    "/etc/passwd",
    "..",
    ".",
    "a/../../b",
    "a\\..\\b",
    "con",
    "x\x00y",
    "~root",
    "-rf",
    "a b",
    "",
)


@pytest.mark.parametrize("client_id", PATHS)
def test_a_clients_id_is_never_a_path(client_id: str, tmp_path: Path) -> None:
    for made in (report_file_name(client_id, "2026-06"), f"{client_file_stem(client_id)}_next_week.csv"):
        assert Path(made).name == made
        assert made not in (".", "..")
        assert not made.startswith((".", "-", "~"))
        assert "\x00" not in made
        assert (tmp_path / made).resolve().parent == tmp_path.resolve()


def test_different_ids_get_different_files() -> None:
    assert len(
        {report_file_name(client_id, "2026-06") for client_id in (*PATHS, "a_b", "a/b", "a b")}
    ) == len({*PATHS, "a_b", "a/b", "a b"})


# ---- files --------------------------------------------------------------------------------------


def reason(path: Path, folder: Path) -> str:
    found = read_file(path, folder, "inbox")
    return found.refusal.reason_code if found.refusal else ""


def test_links_out_of_the_inbox_are_refused_and_nothing_behind_them_is_read(tmp_path: Path) -> None:
    inbox, outside = tmp_path / "inbox", tmp_path / "outside"
    inbox.mkdir()
    outside.mkdir()
    (outside / "secret.csv").write_text(as_csv(log_rows("ines")))
    (inbox / "file.csv").symlink_to(outside / "secret.csv")
    (inbox / "folder").symlink_to(outside)
    (inbox / "ring.csv").symlink_to(inbox / "ring.csv")
    (inbox / "up").symlink_to(inbox)
    (inbox / "notes.csv").symlink_to("../notes.duckdb")
    (inbox / "own.csv").write_text("a")
    (inbox / "again.csv").symlink_to("own.csv")
    found = {source.source_file: source for source in read_folder(inbox, "inbox")}
    assert {name: source.refusal.reason_code for name, source in found.items() if source.refusal} == {
        "file.csv": "file_outside_inbox",
        "folder": "file_outside_inbox",
        "ring.csv": "file_unreadable",
        "up": "folder_is_link",
        "notes.csv": "file_outside_inbox",
    }
    assert "secret.csv" not in " ".join(found)


def test_what_is_no_file_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "device.csv").symlink_to("/dev/zero")
    began = time.monotonic()
    assert reason(tmp_path / "pipe.csv", tmp_path) == "file_no_file"
    assert reason(tmp_path / "device.csv", tmp_path) == "file_outside_inbox"
    assert time.monotonic() - began < 2


def test_folders_deeper_than_any_coach_makes_are_refused_by_name(tmp_path: Path) -> None:
    deep = tmp_path
    for _ in range(DEEPEST + 5):
        deep = deep / "d"
    deep.mkdir(parents=True)
    (deep / "log.csv").write_text(as_csv(log_rows("ines")))
    found = list(read_folder(tmp_path, "inbox"))
    assert [source.refusal.reason_code for source in found if source.refusal] == ["folder_too_deep"]


def test_two_names_that_are_no_text_stay_two_files(tmp_path: Path) -> None:
    for byte in (b"\xff", b"\xfe"):
        Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + byte + b".csv")).write_text(
            as_csv(log_rows("ines", 1))
        )
    assert len({source.source_file for source in read_folder(tmp_path, "inbox")}) == 2


# ---- workbooks made to hurt ---------------------------------------------------------------------

SHEET = (
    '<?xml version="1.0"?>{before}<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    "<sheetData>{rows}</sheetData>{after}</worksheet>"
)


def workbook(rows: str = "", after: str = "", before: str = "", padding: int = 0) -> bytes:
    """A workbook with a hand-made sheet."""
    plain = io.BytesIO()
    openpyxl.Workbook().save(plain)
    made = io.BytesIO()
    with zipfile.ZipFile(plain) as source, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            data = source.read(name)
            if name == "xl/worksheets/sheet1.xml":
                data = SHEET.format(rows=rows, after=after, before=before).encode()
            target.writestr(name, data)
        if padding:
            target.writestr("xl/padding.xml", b" " * padding)
    return made.getvalue()


def cell(reference: str, text: str = "x") -> str:
    row = re.sub("[A-Z]", "", reference)
    return f'<row r="{row}"><c r="{reference}" t="inlineStr"><is><t>{text}</t></is></c></row>'


LAUGHS = "<!DOCTYPE x [" + '<!ENTITY a "ha">' + "".join(
    f'<!ENTITY {chr(98 + n)} "{"&" + chr(97 + n) + ";" * 1}{("&" + chr(97 + n) + ";") * 9}">' for n in range(9)
) + "]>"  # fmt: skip
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>'


@pytest.mark.slow
@pytest.mark.parametrize(
    ("data", "code"),
    [
        (lambda: workbook(padding=300_000_000), "file_too_large"),
        (lambda: workbook(cell("A1") + cell("ALL1048576")), "file_too_large"),
        (
            lambda: workbook(cell("A1"), '<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'),
            "file_too_large",
        ),
        (
            lambda: workbook(cell("A1"), "<mergeCells><mergeCell ref='A1:ZZ99999'/></mergeCells>"),
            "file_too_large",
        ),
        (
            lambda: workbook(cell("A1"), '<mergeCells><mergeCell ref="&#65;1:XFD1048576"/></mergeCells>'),
            "file_too_large",
        ),
        (lambda: workbook(cell("A1") + cell("XFD2")), "file_too_wide"),
        (lambda: workbook(cell("A1", "&j;"), before=LAUGHS), "file_truncated"),
        (lambda: workbook(cell("A1", "&a;"), before=OUTSIDE), "file_truncated"),
        (lambda: workbook(cell("A1", "x" * 40_000)), "cell_too_long"),
    ],
    ids=[
        "a zip that unpacks to 300 MB",
        "one cell in the last row and one in the first",
        "a merged range as wide as a sheet",
        "the same in single quotes",
        "the same spelled as an entity",
        "more columns than any log",
        "entities within entities",
        "an entity that reads a file",
        "a cell of 40,000 characters",
    ],
)
def test_a_workbook_made_to_hurt_is_refused_in_little_time_and_memory(
    data: Callable[[], bytes], code: str, tmp_path: Path
) -> None:
    (tmp_path / "log.xlsx").write_bytes(data())
    script = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (3 * 1024**3,) * 2);"
        "from pathlib import Path; from pipeline.ingest.read_files import read_file;"
        "p = Path(sys.argv[1]); r = read_file(p, p.parent, 'inbox').refusal; print(r.reason_code if r else 'read')"
    )
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "log.xlsx")],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.stdout.strip() == code, done.stderr[-500:]
    assert time.monotonic() - began < 45


@pytest.mark.slow
def test_a_big_but_honest_workbook_is_read() -> None:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    for number in range(20_000):
        sheet.append(["ines", dt.date(2026, 6, 1), "Back Squat", number % 5, 80, 8])
    data = io.BytesIO()
    book.save(data)
    found = read_workbook(data.getvalue(), "inbox", "log.xlsx", "")
    assert found.refusal is None
    assert found.n_records == 20_000


def test_a_file_larger_than_any_log_is_refused_before_it_is_read(tmp_path: Path) -> None:
    with (tmp_path / "log.csv").open("wb") as handle:
        handle.truncate(1024**3 + 1)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert reason(tmp_path / "log.csv", tmp_path) == "file_too_large"
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 200_000


@pytest.mark.slow
def test_ten_thousand_small_files_are_read_in_reasonable_time(tmp_path: Path) -> None:
    text = as_csv(log_rows("ines", 1)[:3])
    for number in range(10_000):
        folder = tmp_path / f"{number % 100:03d}"
        folder.mkdir(exist_ok=True)
        (folder / f"{number}.csv").write_text(text)
    began = time.process_time()
    assert sum(source.n_records for source in read_folder(tmp_path, "inbox")) == 40_000
    assert time.process_time() - began < 30
