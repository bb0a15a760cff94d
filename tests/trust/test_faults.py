"""Killed, out of room, locked out, damaged, out of date: the history stays whole and the coach's word is kept."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from click.testing import CliRunner
from kills import run_kills
from made_workspace import AS_OF, PEOPLE, SECRET, WEEK, as_csv, coachs_word, digest, log_rows
from nursery import Nursery

from dashboards.history import open_history
from pipeline.answers import write_answer
from pipeline.cli import setwright
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.faults import in_a_sentence
from pipeline.ingest.read_files import read_file, read_folder
from pipeline.keep.backup import check_backup
from pipeline.notes import NotesStore
from pipeline.run import build_history, inbox
from pipeline.update import update
from pipeline.workspace import VERSION, open_workspace

THE_NEXT_DAY = AS_OF + dt.timedelta(days=1)
"""A day on which everything is read again: where nothing is new, an update has nothing to do."""


def said_well(said: str) -> bool:
    """One sentence for a person: no traceback, none of the clients' words."""
    return (
        said.startswith("setwright: ")
        and "Traceback" not in said
        and len(said.splitlines()) == 1
        and SECRET not in said
        and not any(name in said for name in PEOPLE.values())
    )


@pytest.mark.slow
def test_an_update_killed_at_any_moment_leaves_the_old_history_or_the_new_and_the_next_one_heals(
    nursery: Nursery, tmp_path: Path
) -> None:
    n_killed = 0
    for seed in (20, 21, 22):  # an update may end before its moment has come; then there are more
        tally = run_kills(tmp_path / f"w{seed}", nursery, moments=4, steps=4, seed=seed)
        assert tally.faults == []
        n_killed += tally.n_killed
        if n_killed >= 6:
            break
    assert n_killed >= 6


# ---- the disk -----------------------------------------------------------------------------------


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of its own with 40 MB, where this machine lets us make one."""
    place = tmp_path / "disk"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", str(place)], capture_output=True, check=False
    )
    if made.returncode:
        pytest.skip("no file system can be mounted here; the limit on file size is tested instead")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=False)


def fill(disk: Path, leave_bytes: int) -> Path:
    """Fill a disk up but for `leave_bytes`."""
    filler = disk / "filler"
    with filler.open("wb") as handle:
        handle.write(b"\1" * max(shutil.disk_usage(disk).free - leave_bytes, 0))
    return filler


@pytest.mark.parametrize(
    "leave_bytes",
    [0, pytest.param(200_000, marks=pytest.mark.slow), pytest.param(2_000_000, marks=pytest.mark.slow)],
)
def test_on_a_full_disk_the_old_history_stands_and_room_heals(
    leave_bytes: int, small_disk: Path, published: Path, nursery: Nursery
) -> None:
    root = Path(shutil.copytree(published, small_disk / "w", symlinks=True))
    # sets of days, loads and lifts that were seen before: only the disk is under test
    days_before = [
        [*r[:1], str(dt.date.fromisoformat(r[1]) - dt.timedelta(days=1)), *r[2:]] for r in log_rows("bram", 3)
    ]
    (root / "inbox/bram/later.csv").write_text(as_csv(days_before))
    word, before = coachs_word(root), digest(root)
    filler = fill(small_disk, leave_bytes)
    found = nursery.run(root, AS_OF)
    assert found["code"] == 1
    assert said_well(found["said"])
    assert "full" in found["said"]
    assert (coachs_word(root), digest(root)) == (word, before)
    filler.unlink()
    assert nursery.run(root, AS_OF)["code"] == 0
    assert digest(root)[0] == before[0] + 27


def test_on_a_full_disk_an_answer_and_a_note_are_kept_whole_or_not_at_all(
    small_disk: Path, published: Path
) -> None:
    root = Path(shutil.copytree(published, small_disk / "w", symlinks=True))
    word = coachs_word(root)
    fill(small_disk, 0)
    store = NotesStore(root / "notes.duckdb")
    try:
        store.write_note("bram", WEEK, "x" * 200_000)
        n_expected = 1
    except Exception as err:  # noqa: BLE001 any error will do if the notes are whole
        n_expected = 0
        assert "full" in str(in_a_sentence(err))
    kept = [note for note in store.read_notes("bram") if note.body.startswith("xxx")]
    assert len(kept) == n_expected
    if n_expected == 0:
        assert coachs_word(root) == word


def test_under_a_limit_on_file_size_the_old_history_stands(workspace: Path, nursery: Nursery) -> None:
    word, before = coachs_word(workspace), digest(workspace)
    found = nursery.run(workspace, THE_NEXT_DAY, file_limit=700_000)
    assert found["code"] == 1
    assert said_well(found["said"])
    assert (coachs_word(workspace), digest(workspace)) == (word, before)
    assert nursery.run(workspace, AS_OF)["code"] == 0


@pytest.fixture
def write_protected(workspace: Path) -> Iterator[Path]:
    """The workspace where nothing may be written, for an administrator neither."""
    if os.geteuid():
        workspace.chmod(0o555)
        yield workspace
        workspace.chmod(0o755)
        return
    for options in (["--bind"], ["-o", "remount,bind,ro"]):
        command = ["mount", *options, *([str(workspace)] if options == ["--bind"] else []), str(workspace)]
        if subprocess.run(command, capture_output=True, check=False).returncode:
            pytest.skip("nothing can be mounted here, and an administrator may write everywhere")
    yield workspace
    subprocess.run(["umount", "-l", str(workspace)], check=False)


def test_a_write_protected_folder_is_said_to_be_so_and_can_be_read(
    write_protected: Path, nursery: Nursery
) -> None:
    word, before = coachs_word(write_protected), digest(write_protected)
    found = nursery.run(write_protected, THE_NEXT_DAY)
    assert found["code"] == 1
    assert said_well(found["said"])
    assert "cannot be written" in found["said"]
    assert CliRunner().invoke(setwright, ["review", str(write_protected)]).exit_code == 0
    with pytest.raises(SetwrightError):
        write_answer(open_workspace(write_protected), "unit-1234567890", "kg")
    assert (coachs_word(write_protected), digest(write_protected)) == (word, before)


# ---- files that move while they are read --------------------------------------------------------


WRITER = """
import sys
with open(sys.argv[1], "ab", buffering=0) as file:
    while True:
        file.write(b"x" * 1000)
"""


@pytest.mark.slow
def test_a_file_that_is_written_while_it_is_read_is_refused_and_read_the_next_time(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(b"x" * 60_000_000)
    writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)])
    try:
        give_up_at = time.monotonic() + 30
        while path.stat().st_size == 60_000_000:
            assert time.monotonic() < give_up_at
        found = read_file(path, tmp_path, "inbox")
    finally:
        writer.kill()
        writer.wait()
    assert found.refusal is not None
    assert found.refusal.reason_code == "file_changing"
    again = read_file(path, tmp_path, "inbox")
    assert again.refusal is not None
    assert again.refusal.reason_code == "cell_too_long", "the next time it is read, and found to be no log"


def test_a_file_that_vanishes_between_listing_and_reading_is_refused_by_name(tmp_path: Path) -> None:
    for name in ("a.csv", "b.csv"):
        (tmp_path / name).write_text(as_csv(log_rows("ines")), encoding="utf-8")
    reading = read_folder(tmp_path, "inbox")
    assert next(reading).refusal is None
    (tmp_path / "b.csv").unlink()
    gone = next(reading)
    assert gone.source_file == "b.csv"
    assert gone.refusal is not None
    assert gone.refusal.reason_code == "file_unreadable"


@pytest.mark.slow
@pytest.mark.parametrize("step", ["list_files", "read_file"])
def test_a_file_away_at_one_step_of_an_update_is_read_by_the_next(
    workspace: Path, tmp_path: Path, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    undisturbed = Path(shutil.copytree(workspace, tmp_path / "undisturbed", symlinks=True))
    path, away = workspace / "inbox/bram/log.csv", workspace / "inbox/.away.csv"
    module: ModuleType = {"list_files": build_history, "read_file": inbox}[step]
    take = getattr(module, step)

    def while_away(*args: Any) -> Any:
        path.rename(away)
        found = take(*args)
        found = list(found) if step == "list_files" else found
        away.rename(path)
        return found

    with monkeypatch.context() as patch:
        patch.setattr(module, step, while_away)
        update(open_workspace(workspace), THE_NEXT_DAY)
    update(open_workspace(undisturbed), THE_NEXT_DAY)
    assert digest(workspace) != digest(undisturbed), "the file was away"
    update(open_workspace(workspace), THE_NEXT_DAY)
    assert digest(workspace) == digest(undisturbed)


def test_files_that_come_and_go_during_an_update_do_not_break_it(workspace: Path, nursery: Nursery) -> None:
    before = digest(workspace)
    is_over = threading.Event()

    def move() -> None:
        path, away = workspace / "inbox/bram/log.csv", workspace / "inbox/.away.csv"
        while not is_over.is_set():
            path.rename(away)
            time.sleep(0.002)
            away.rename(path)
            time.sleep(0.002)

    mover = threading.Thread(target=move)
    mover.start()
    try:
        found = nursery.run(workspace, THE_NEXT_DAY)
    finally:
        is_over.set()
        mover.join()
    assert (found["code"], found["said"]) == (0, "")
    digest(workspace)
    assert nursery.run(workspace, AS_OF)["code"] == 0
    assert digest(workspace) == before


# ---- side by side -------------------------------------------------------------------------------


def test_of_updates_at_once_one_publishes_and_the_others_say_so(workspace: Path, nursery: Nursery) -> None:
    before = digest(workspace)
    runs = nursery.run_at_once(workspace, THE_NEXT_DAY, 3)
    codes = sorted(run["code"] for run in runs)
    assert codes[0] == 0
    assert set(codes) <= {0, 1}
    for run in runs:
        if run["code"]:
            assert said_well(run["said"])
            assert "running" in run["said"]
    assert 1 in codes
    assert digest(workspace)[:2] == before[:2]


def test_whoever_reads_the_old_history_reads_it_whole_while_new_ones_are_published(
    workspace: Path, nursery: Nursery
) -> None:
    place = open_workspace(workspace)
    old = open_history(place.published_history())
    n_sets = old.ask_row("select count(*) as n from logged_set")
    is_over, seen, faults = threading.Event(), [0], []

    def read() -> None:
        while not is_over.is_set():
            try:
                assert old.ask_row("select count(*) as n from logged_set") == n_sets
                fresh = open_history(open_workspace(workspace).published_history())
                assert fresh.ask_row("select count(*) as n from client") == {"n": len(PEOPLE)}
                seen[0] += 1
            except Exception as err:  # noqa: BLE001 whatever a reader meets is a fault
                faults.append(repr(err))
                return

    readers = [threading.Thread(target=read) for _ in range(2)]
    for reader in readers:
        reader.start()
    try:
        for n_days in (1, 2, 3):
            assert nursery.run(workspace, AS_OF + dt.timedelta(days=n_days))["code"] == 0
    finally:
        is_over.set()
        for reader in readers:
            reader.join()
    assert faults == []
    assert seen[0] > 10


# ---- damage -------------------------------------------------------------------------------------


def cut(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def overwrite(path: Path) -> None:
    path.write_bytes(b"no database at all" * 500)


def flip_blocks(path: Path) -> None:
    with path.open("rb+") as handle:
        for place in range(12_288, path.stat().st_size, 40_000):
            handle.seek(place)
            handle.write(os.urandom(64))


def remove(path: Path) -> None:
    path.unlink()


def empty(path: Path) -> None:
    os.truncate(path, 0)


@pytest.mark.parametrize("damage", [cut, overwrite, flip_blocks, remove, empty], ids=lambda d: d.__name__)
def test_a_damaged_history_is_said_to_be_so_and_the_next_update_heals(
    damage, workspace: Path, nursery: Nursery
) -> None:
    word, before = coachs_word(workspace), digest(workspace)
    damage((workspace / "history.duckdb").resolve())
    found = subprocess.run(
        [sys.executable, "-m", "pipeline.cli", "review", str(workspace)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if found.returncode:  # a flipped block may lie where the review does not read
        assert said_well(found.stderr.strip())
    looked = CliRunner().invoke(setwright, ["doctor", str(workspace)])
    assert "WRONG" in looked.output or "Nothing has been published" in looked.output
    assert nursery.run(workspace, AS_OF)["code"] == 0
    assert (coachs_word(workspace), digest(workspace)) == (word, before)


def test_a_history_that_rots_without_a_trace_is_found_by_the_doctor_and_made_anew(
    workspace: Path, nursery: Nursery
) -> None:
    before = digest(workspace)
    path = (workspace / "history.duckdb").resolve()
    times = (path.stat().st_atime_ns, path.stat().st_mtime_ns)
    flip_blocks(path)
    os.utime(path, ns=times)
    assert "WRONG" in CliRunner().invoke(setwright, ["doctor", str(workspace)]).output
    CliRunner().invoke(setwright, ["doctor", str(workspace), "--mend"])
    assert nursery.run(workspace, AS_OF)["code"] == 0
    assert digest(workspace) == before
    assert "whole" in CliRunner().invoke(setwright, ["doctor", str(workspace)]).output


@pytest.mark.parametrize("damage", [cut, overwrite, flip_blocks, empty], ids=lambda d: d.__name__)
def test_damaged_notes_stop_no_update_and_come_back_from_a_backup(
    damage, workspace: Path, nursery: Nursery, tmp_path: Path
) -> None:
    notes = NotesStore(workspace / "notes.duckdb")
    held = [notes.held(client) for client in PEOPLE]
    runner = CliRunner()
    kept = runner.invoke(setwright, ["backup", str(workspace), "--out", str(tmp_path / "b.zip")])
    assert kept.exit_code == 0, kept.output
    damage(notes.path)
    spoiled = notes.path.read_bytes()
    looked = runner.invoke(setwright, ["doctor", str(workspace)])
    if damage is not empty:  # an empty file is one that was never written
        assert "WRONG" in looked.output
    assert nursery.run(workspace, THE_NEXT_DAY)["code"] == 0
    assert notes.path.read_bytes() == spoiled
    assert (
        runner.invoke(setwright, ["restore", str(tmp_path / "b.zip"), str(tmp_path / "again")]).exit_code == 0
    )
    again = NotesStore(tmp_path / "again" / "notes.duckdb")
    assert [again.held(client) for client in PEOPLE] == held


@pytest.mark.slow
def test_a_damaged_cache_is_rebuilt(workspace: Path, nursery: Nursery) -> None:
    before = digest(workspace)
    kept = {"lock", "version"}
    for path in (workspace / ".setwright").rglob("*"):
        if path.is_file() and path.name not in kept and path.parent.name != "history":
            overwrite(path)
    assert nursery.run(workspace, AS_OF)["code"] == 0
    assert digest(workspace) == before


# ---- clocks and versions ------------------------------------------------------------------------


def test_a_clock_moved_back_loses_nothing_once_it_is_right_again(workspace: Path, nursery: Nursery) -> None:
    word, before = coachs_word(workspace), digest(workspace)
    assert nursery.run(workspace, AS_OF - dt.timedelta(days=40))["code"] == 0
    assert digest(workspace)[0] < before[0]
    assert nursery.run(workspace, AS_OF)["code"] == 0
    assert (coachs_word(workspace), digest(workspace)) == (word, before)


def test_an_older_workspace_is_backed_up_and_brought_up_to_date(workspace: Path, nursery: Nursery) -> None:
    word, before = coachs_word(workspace), digest(workspace)
    (workspace / ".setwright/version").unlink()
    (workspace / "notes.duckdb").chmod(0o644)
    assert nursery.run(workspace, THE_NEXT_DAY)["code"] == 0
    assert (workspace / ".setwright/version").read_text().strip() == str(VERSION)
    copies = list((workspace / "backups").glob("before version*.zip"))
    assert len(copies) == 1
    assert {"notes.duckdb", "answers.csv", "clients.csv"} <= {
        part.path for part in check_backup(copies[0]).parts
    }
    assert stat.S_IMODE((workspace / "notes.duckdb").stat().st_mode) == 0o600
    assert (coachs_word(workspace), digest(workspace)[:2]) == (word, before[:2])


def test_an_update_killed_while_it_brings_a_workspace_up_to_date_is_taken_up_again(
    workspace: Path, nursery: Nursery
) -> None:
    word = coachs_word(workspace)
    for step in (3, 6, 9, 12):
        (workspace / ".setwright/version").unlink(missing_ok=True)
        nursery.run(workspace, THE_NEXT_DAY, at_step=step)
        assert coachs_word(workspace) == word
    assert nursery.run(workspace, THE_NEXT_DAY)["code"] == 0
    assert (workspace / ".setwright/version").read_text().strip() == str(VERSION)


@pytest.mark.parametrize("command", ["update", "review", "questions", "doctor", "backup", "report"])
def test_a_workspace_of_a_newer_version_is_refused_and_left_alone(command: str, workspace: Path) -> None:
    (workspace / ".setwright/version").write_text("99\n")
    before = {path: path.stat().st_mtime_ns for path in workspace.rglob("*")}
    more = ["--client", "ines", "--month", "2026-06"] if command == "report" else []
    result = CliRunner().invoke(setwright, [command, str(workspace), *more])
    assert isinstance(result.exception, WorkspaceError)
    assert "newer setwright" in str(result.exception)
    assert {path: path.stat().st_mtime_ns for path in workspace.rglob("*")} == before


# ---- what is said -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "err",
    [
        ValueError(f"cannot parse {SECRET!r} of Ines Quandt"),
        KeyError("Ines Quandt"),
        OSError(28, "No space left on device", "/home/coach/Ines Quandt/notes"),
        PermissionError(13, "Permission denied", "/w/notes.duckdb"),
        MemoryError(),
        RuntimeError(SECRET),
    ],
    ids=lambda err: type(err).__name__,
)
def test_an_unforeseen_error_is_one_sentence_without_what_was_read(err: Exception) -> None:
    said = str(in_a_sentence(err))
    assert SECRET not in said
    assert "Ines" not in said
    assert said.endswith(".") or "doctor" in said
    assert "\n" not in said
