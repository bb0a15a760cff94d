"""The coach's word is kept: the notes store."""

from __future__ import annotations

import datetime as dt
import stat
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pytest

from pipeline import notes
from pipeline.errors import WorkspaceError
from pipeline.notes import NotesStore

WEEK = dt.date(2025, 6, 23)


@pytest.fixture
def store(tmp_path: Path) -> NotesStore:
    return NotesStore(tmp_path / "notes.duckdb")


def test_reading_before_anything_was_written_gives_nothing_and_makes_no_file(store: NotesStore) -> None:
    assert store.read_reviewed(WEEK) == {}
    assert store.read_notes() == []
    assert store.read_follow_ups() == []
    assert not store.path.exists()


def test_a_reviewed_mark_holds_for_its_week_only_and_can_be_taken_back(store: NotesStore) -> None:
    store.mark_reviewed(["c001", "c002"], WEEK, "plateau")
    store.mark_reviewed(["c001"], WEEK, "plateau")
    assert set(store.read_reviewed(WEEK)) == {"c001", "c002"}
    assert store.read_reviewed(WEEK + dt.timedelta(weeks=1)) == {}
    store.unmark_reviewed(["c001"], WEEK)
    assert set(store.read_reviewed(WEEK)) == {"c002"}


def test_notes_come_back_word_for_word_and_newest_first(store: NotesStore) -> None:
    store.write_note("c001", WEEK, "first")
    store.write_note("c001", WEEK, "'; drop table note; -- 🏋️ <b>x</b>")
    assert [note.body for note in store.read_notes("c001")] == ["'; drop table note; -- 🏋️ <b>x</b>", "first"]
    assert store.read_notes("c002") == []


def test_a_note_without_words_is_refused(store: NotesStore) -> None:
    with pytest.raises(ValueError, match="needs words"):
        store.write_note("c001", WEEK, "  ")


def test_a_note_taken_back_is_no_longer_shown_but_stays_in_the_file(store: NotesStore) -> None:
    note_id = store.write_note("c001", WEEK, "call on Monday")
    store.end_note(note_id)
    assert store.read_notes() == []
    with duckdb.connect(str(store.path)) as con:
        assert con.execute("select body from note").fetchall() == [("call on Monday",)]


def test_follow_ups_are_listed_soonest_first_until_they_are_done(store: NotesStore) -> None:
    store.write_follow_up("c001", WEEK + dt.timedelta(days=20), "later")
    soon = store.write_follow_up("c002", WEEK, "soon")
    assert [f.body for f in store.read_follow_ups()] == ["soon", "later"]
    store.end_follow_up(soon)
    assert [f.body for f in store.read_follow_ups()] == ["later"]


def test_a_months_text_is_replaced_and_taken_back_by_an_empty_one(store: NotesStore) -> None:
    store.write_month_text("c001", "2025-06", "report", "Good month.")
    store.write_month_text("c001", "2025-06", "report", "Great month.")
    store.write_month_text("c001", "2025-06", "focus", "Sleep.")
    assert store.read_month_text("c001", "2025-06") == {"report": "Great month.", "focus": "Sleep."}
    store.write_month_text("c001", "2025-06", "focus", "")
    assert store.read_month_text("c001", "2025-06") == {"report": "Great month."}


def test_forgetting_a_client_removes_every_row_on_them_and_no_other(store: NotesStore) -> None:
    store.mark_reviewed(["c001", "c002"], WEEK)
    store.end_note(store.write_note("c001", WEEK, "ended"))
    store.write_note("c002", WEEK, "stays")
    store.write_month_text("c001", "2025-06", "report", "text")
    assert store.forget_client("c001") == 3
    assert [note.body for note in store.read_notes()] == ["stays"]
    assert set(store.read_reviewed(WEEK)) == {"c002"}


def test_the_file_is_readable_by_its_owner_alone(store: NotesStore) -> None:
    store.write_note("c001", WEEK, "x")
    assert stat.S_IMODE(store.path.stat().st_mode) == 0o600


def test_a_file_of_a_newer_program_is_refused_and_left_alone(store: NotesStore) -> None:
    store.write_note("c001", WEEK, "kept")
    with duckdb.connect(str(store.path)) as con:
        con.execute("update notes_version set version = 99")
    before = store.path.read_bytes()
    with pytest.raises(WorkspaceError, match="newer version"):
        store.read_notes()
    with pytest.raises(WorkspaceError, match="newer version"):
        store.write_note("c001", WEEK, "lost?")
    assert store.path.read_bytes() == before


def test_an_older_file_is_copied_and_then_brought_up_to_date(
    store: NotesStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.write_note("c001", WEEK, "kept")
    monkeypatch.setattr(notes, "STEPS", (*notes.STEPS, ("alter table note add column mood varchar",)))
    monkeypatch.setattr(notes, "VERSION", notes.VERSION + 1)
    assert [note.body for note in store.read_notes()] == ["kept"]
    with duckdb.connect(str(store.path.with_name("notes.version-1.duckdb")), read_only=True) as con:
        found = con.execute("select version, (select count(*) from note) from notes_version").fetchall()
    assert found == [(1, 1)]
    with duckdb.connect(str(store.path), read_only=True) as con:
        found = con.execute("select version, (select count(mood) from note) from notes_version").fetchall()
    assert found == [(2, 0)]


def test_a_damaged_file_is_said_to_be_so_and_left_alone(store: NotesStore) -> None:
    store.path.write_bytes(b"not a database at all" * 100)
    with pytest.raises(WorkspaceError, match="backup"):
        store.read_notes()
    assert store.path.read_bytes().startswith(b"not a database")


def test_a_write_waits_for_another_process_that_holds_the_file(store: NotesStore) -> None:
    store.write_note("c001", WEEK, "first")
    holder = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import duckdb, sys, time\n"
            "con = duckdb.connect(sys.argv[1]); print('held', flush=True); time.sleep(0.8)",
            str(store.path),
        ],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        began = time.monotonic()
        store.write_note("c001", WEEK, "second")
        assert time.monotonic() - began > 0.2
    finally:
        holder.wait(timeout=10)
    assert len(store.read_notes()) == 2
