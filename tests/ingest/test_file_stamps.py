"""A file that stayed the same is not read again; one that changed in any way is."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from pipeline import folder_files
from pipeline.folder_files import FileStamp, stamp_file


def _settled(stamp: FileStamp) -> FileStamp:
    """As if it had been looked at long after the file was changed."""
    return FileStamp(*stamp.looks, stamp.changed_ns + 10_000_000_000, stamp.content_hash)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "log.csv"
    path.write_text("Date,Exercise\n", encoding="utf-8")
    return path


def test_a_file_that_looks_the_same_is_not_opened(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = _settled(stamp_file(log))

    def open_nothing(*_: object) -> int:
        raise AssertionError("the file was opened")

    monkeypatch.setattr(folder_files.os, "open", open_nothing)
    assert stamp_file(log, before) is before


def test_a_file_changed_right_before_it_was_looked_at_is_read_again(log: Path) -> None:
    before = stamp_file(log)
    assert stamp_file(log, before) is not before
    assert stamp_file(log, before).content_hash == before.content_hash


def test_other_bytes_of_the_same_length_and_time_are_seen(log: Path) -> None:
    before = _settled(stamp_file(log))
    stat = log.stat()
    time.sleep(0.02)
    log.write_text("Datum,Ubungen\n", encoding="utf-8")
    os.utime(log, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert log.stat().st_size == before.size
    assert stamp_file(log, before).content_hash != before.content_hash


def test_a_pipe_or_a_missing_file_has_a_stamp_and_holds_nobody_up(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    assert stamp_file(tmp_path / "pipe.csv").content_hash.startswith("no file")
    assert stamp_file(tmp_path / "none.csv").content_hash.startswith("unreadable")


def test_a_missing_file_is_the_same_missing_file_in_a_folder_that_has_moved(tmp_path: Path) -> None:
    here, there = (stamp_file(tmp_path / name / "answers.csv").content_hash for name in ("here", "there"))
    assert here == there
