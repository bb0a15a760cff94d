"""Files that cannot be read: each refused whole with the reason that fits, the others go on."""

from __future__ import annotations

import gzip
import io
import os
import zipfile
from pathlib import Path

import openpyxl
import pytest

from pipeline.folder_files import list_files
from pipeline.ingest.read_files import read_file, read_folder
from tests.inbox_reading import read_inbox, read_log, read_sources

GOOD = "Date,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\n"


def workbook(rows: list[list[object]]) -> bytes:
    """A workbook of one sheet."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


LOG = workbook([["Date", "Exercise", "kg", "Reps"], ["2026-03-02", "Bench Press", 60, 8]])


def encrypted_zip() -> bytes:
    """A zip whose one entry says that it is encrypted."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("xl/workbook.xml", "x")
    data = bytearray(buffer.getvalue())
    data[6] |= 1
    data[data.index(b"PK\x01\x02") + 8] |= 1
    return bytes(data)


def zip_of(name: str, content: bytes) -> bytes:
    """A zip with one entry."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return buffer.getvalue()


OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600
PICTURE = b"\x89PNG\r\n\x1a\n" + b"\x00" * 100
REFUSED = [
    pytest.param("log.csv", b"", "file_empty", id="empty"),
    pytest.param("log.csv", b" \r\n\t\n", "file_empty", id="only blanks"),
    pytest.param("log.csv", b"\xef\xbb\xbf", "file_empty", id="only a mark"),
    pytest.param("log.xlsx", b"", "file_empty", id="empty workbook file"),
    pytest.param("log.xlsx", workbook([]), "file_empty", id="workbook without a cell"),
    pytest.param("log.csv", b"Date,Exercise,kg,Reps\n", "file_header_only", id="header only"),
    pytest.param("log.xlsx", workbook([["Date", "Exercise", "kg", "Reps"]]), "file_header_only", id="header"),
    pytest.param("log.csv", b"dear coach, all fine\nsee you\n", "file_no_sets", id="a letter"),
    pytest.param("log.txt", b"shopping: eggs, oats\n", "file_no_sets", id="a shopping list"),
    pytest.param("log.xlsx", LOG[: len(LOG) // 2], "file_truncated", id="workbook cut in the middle"),
    pytest.param("log.xlsx", LOG[:-30], "file_truncated", id="workbook cut at the end"),
    pytest.param("log.csv", GOOD.encode("utf-16")[:-1], "file_truncated", id="cut inside a character"),
    pytest.param("log.xlsx", encrypted_zip(), "file_encrypted", id="encrypted archive"),
    pytest.param("log.xlsx", OLD_OFFICE, "file_encrypted", id="password or old format"),
    pytest.param("log.xlsx", GOOD.encode(), "file_misnamed", id="text called workbook"),
    pytest.param("log.xlsx", zip_of("letter.txt", b"hi"), "file_misnamed", id="zip called workbook"),
    pytest.param("log.csv", LOG, "file_misnamed", id="workbook called csv"),
    pytest.param("log.csv", PICTURE, "file_misnamed", id="picture called csv"),
    pytest.param("log.txt", b"%PDF-1.7\n...", "file_misnamed", id="PDF called txt"),
    pytest.param("log.csv", b"<!DOCTYPE html><html><table>", "file_misnamed", id="web page called csv"),
    pytest.param("log.csv", gzip.compress(GOOD.encode()), "file_misnamed", id="archive called csv"),
    pytest.param("log.csv", GOOD.encode() + b"\x00\x00" + GOOD.encode(), "file_nul_bytes", id="NUL bytes"),
    pytest.param("log.csv", ",".join(["x"] * 1_001).encode(), "file_too_wide", id="very wide"),
    pytest.param("log.csv", b"Date,Note\n1," + b"x" * 40_000, "cell_too_long", id="very long cell"),
    pytest.param("log.xlsx", workbook([["x"] * 1_001]), "file_too_wide", id="very wide sheet"),
    pytest.param("scan.jpg", b"\xff\xd8\xff\xe0abc", "file_kind_unknown", id="picture"),
    pytest.param("log.pdf", b"%PDF-1.7", "file_kind_unknown", id="PDF"),
    pytest.param("log.xls", OLD_OFFICE, "file_kind_unknown", id="old workbook"),
    pytest.param("log.docx", zip_of("word/document.xml", b"x"), "file_kind_unknown", id="letter"),
    pytest.param("log.xlsx", zip_of("xl/big.xml", b"0" * 120_000_000), "file_too_large", id="zip bomb"),
]


@pytest.mark.parametrize(("name", "data", "reason"), REFUSED)
def test_a_file_that_cannot_be_read_is_refused_whole_and_the_others_go_on(
    name: str, data: bytes, reason: str
) -> None:
    read = read_inbox({f"anna/{name}": data, "anna/good.csv": GOOD})
    rows = read.cleaned.tables.rejected_row.to_dicts()
    assert [(r["source_file"], r["source_row"], r["reason_code"]) for r in rows] == [
        (f"anna/{name}", None, reason)
    ]
    assert rows[0]["message"].endswith(".")
    assert rows[0]["suggestion"].endswith(".")
    assert read.amounts == [(60.0, 8)]
    assert read.accounts.faults == ()
    ledger = {row["source_file"]: row for row in read.accounts.ledger.to_dicts()}[f"anna/{name}"]
    assert (ledger["outcome"], ledger["n_rejected"]) == ("refused", ledger["n_records"])
    assert ledger["n_records"] >= 1


def test_a_cell_of_the_longest_length_a_spreadsheet_holds_is_read() -> None:
    read = read_log("Date,Exercise,kg,Reps,Note\n2026-03-02,Bench Press,60,8," + "x" * 32_000 + "\n")
    assert read.amounts == [(60.0, 8)]


def test_a_text_without_an_ending_in_its_name_is_read() -> None:
    assert read_log(GOOD, "anna/log").amounts == [(60.0, 8)]


def test_capitals_in_the_ending_do_not_matter() -> None:
    assert read_log(GOOD, "anna/LOG.CSV").amounts == [(60.0, 8)]


def test_lock_files_and_hidden_files_are_left_out(tmp_path: Path) -> None:
    for name in ("~$log.xlsx", ".hidden.csv", ".git/config", "Thumbs.db", "a/.DS_Store", "a/log.csv"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(GOOD)
    assert [p.relative_to(tmp_path).as_posix() for p in list_files(tmp_path)] == ["a/log.csv"]


def test_files_come_in_the_order_of_their_paths_however_deep(tmp_path: Path) -> None:
    for name in ("b.csv", "a/z.csv", "a/y/x.csv", "c.csv"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(GOOD)
    names = [source.source_file for source in read_folder(tmp_path, "inbox")]
    assert names == ["a/y/x.csv", "a/z.csv", "b.csv", "c.csv"]


def test_a_link_out_of_the_inbox_is_refused_and_its_content_not_read(tmp_path: Path) -> None:
    inbox, outside = tmp_path / "inbox", tmp_path / "secret.csv"
    inbox.mkdir()
    outside.write_text(GOOD)
    (inbox / "log.csv").symlink_to(outside)
    (source,) = read_folder(inbox, "inbox")
    assert source.refusal is not None
    assert (source.refusal.reason_code, source.content_hash) == ("file_outside_inbox", "")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_permission_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(GOOD)
    path.chmod(0)
    refusal = read_file(path, tmp_path, "inbox").refusal
    assert refusal is not None
    assert refusal.reason_code == "file_unreadable"


def test_a_link_to_nothing_is_refused(tmp_path: Path) -> None:
    (tmp_path / "log.csv").symlink_to(tmp_path / "gone.csv")
    (source,) = read_folder(tmp_path, "inbox")
    assert source.refusal is not None
    assert source.refusal.reason_code == "file_unreadable"


def test_the_hash_is_that_of_the_bytes() -> None:
    first, second, third = read_sources({"a.csv": GOOD, "b.csv": GOOD, "c.csv": GOOD + "\n"})
    assert first.content_hash == second.content_hash != third.content_hash
