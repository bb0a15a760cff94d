"""Backups that come back whole, a doctor that sees, a client's file, and a removal by which nobody else loses."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
import shutil
import zipfile
from pathlib import Path

import duckdb
import openpyxl
import pytest
from click.testing import CliRunner, Result
from made_workspace import AS_OF, PEOPLE, SHARED, WEEK, as_csv, coachs_word, digest, log_rows
from nursery import Nursery

from pipeline.cli import setwright
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.keep.backup import check_backup, read_manifest, restore_backup, write_backup
from pipeline.keep.doctor import examine
from pipeline.keep.forget import forget, interrupted, names_client, plan_removal
from pipeline.keep.holdings import find_holdings
from pipeline.keep.without_rows import without_rows
from pipeline.notes import NotesStore
from pipeline.workspace import open_workspace

NOW = dt.datetime(2026, 6, 28, 9, 0, tzinfo=dt.UTC)


def quiet(_: str) -> None:
    """Say nothing."""


def run(*arguments: object) -> Result:
    return CliRunner().invoke(setwright, [str(one) for one in arguments])


# ---- backups ------------------------------------------------------------------------------------


def test_a_backup_restores_every_file_note_and_the_history(workspace: Path, tmp_path: Path) -> None:
    word, before = coachs_word(workspace), digest(workspace)
    made = run("backup", workspace, "--out", tmp_path / "b.zip")
    assert made.exit_code == 0, made.output
    assert "read back and compared" in made.output
    assert run("restore", tmp_path / "b.zip", "--check").exit_code == 0
    again = tmp_path / "again"
    assert run("restore", tmp_path / "b.zip", again).exit_code == 0
    assert (coachs_word(again), digest(again)) == (word, before)
    assert run("review", again).exit_code == 0
    for path in again.rglob("*"):
        if not path.is_symlink():
            assert path.stat().st_mode & 0o077 == 0, path


def test_a_backup_is_never_written_over_another(workspace: Path, tmp_path: Path) -> None:
    out = tmp_path / "b.zip"
    out.write_bytes(b"mine")
    with pytest.raises(SetwrightError, match="exists"):
        write_backup(open_workspace(workspace), out, NOW)
    assert out.read_bytes() == b"mine"


@pytest.mark.parametrize("kind", ["a file", "a folder with something in it"])
def test_nothing_is_restored_over_what_is_there(kind: str, workspace: Path, tmp_path: Path) -> None:
    write_backup(open_workspace(workspace), tmp_path / "b.zip", NOW)
    target = tmp_path / "there"
    if kind == "a file":
        target.write_text("mine")
    else:
        target.mkdir()
        (target / "mine.txt").write_text("mine")
    with pytest.raises(WorkspaceError, match="not empty"):
        restore_backup(tmp_path / "b.zip", target)
    assert (target if kind == "a file" else target / "mine.txt").read_text() == "mine"


@pytest.mark.slow
def test_a_backup_damaged_anywhere_is_refused_and_nothing_is_restored(
    workspace: Path, tmp_path: Path
) -> None:
    file = tmp_path / "b.zip"
    write_backup(open_workspace(workspace), file, NOW)
    whole = file.read_bytes()
    for place in range(100, len(whole), len(whole) // 12):
        file.write_bytes(whole[:place] + bytes([whole[place] ^ 0xFF]) + whole[place + 1 :])
        try:
            check_backup(file)
        except SetwrightError:
            with pytest.raises(SetwrightError):
                restore_backup(file, tmp_path / "again")
            assert not (tmp_path / "again").exists()
        else:  # a byte that no reader looks at: what is restored is right all the same
            restore_backup(file, tmp_path / "again")
            assert coachs_word(tmp_path / "again") == coachs_word(workspace)
            shutil.rmtree(tmp_path / "again")
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(SetwrightError, match="no whole backup"):
        check_backup(file)


@pytest.mark.parametrize("name", ["../outside.txt", "/outside.txt", "inbox/../../outside.txt"])
def test_a_backup_that_names_files_outside_is_refused(name: str, workspace: Path, tmp_path: Path) -> None:
    write_backup(open_workspace(workspace), tmp_path / "b.zip", NOW)
    with zipfile.ZipFile(tmp_path / "b.zip") as archive, zipfile.ZipFile(tmp_path / "bad.zip", "w") as bad:
        manifest = json.loads(archive.read("manifest.json"))
        manifest["parts"][0]["path"] = name
        bad.writestr("manifest.json", json.dumps(manifest))
    with pytest.raises(SetwrightError, match="outside the workspace"):
        restore_backup(tmp_path / "bad.zip", tmp_path / "again")
    assert not (tmp_path / "outside.txt").exists()


def test_an_archive_that_unpacks_to_more_than_it_says_is_stopped(workspace: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "bad.zip", "w", zipfile.ZIP_DEFLATED) as bad:
        bad.writestr("inbox/a.csv", b"0" * 50_000_000)
        part = {"path": "inbox/a.csv", "entry": "inbox/a.csv", "n_bytes": 10, "sha256": "0", "modified_at": 0}
        bad.writestr("manifest.json", json.dumps(_manifest([part])))
    with pytest.raises(SetwrightError, match="damaged"):
        restore_backup(tmp_path / "bad.zip", tmp_path / "again")


def _manifest(parts: list[dict[str, object]], **changes: object) -> dict[str, object]:
    return {
        "format": 1, "made_at": "2026-06-28T09:00:00+00:00", "layout": 2, "program": "0", "history": "",
        "parts": parts, "folders": [], "left_out": [], **changes,
    }  # fmt: skip


def test_a_backup_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        archive.writestr("manifest.json", json.dumps(_manifest([], layout=99)))
    with pytest.raises(SetwrightError, match="newer setwright"):
        read_manifest(tmp_path / "b.zip")


def test_a_backup_keeps_odd_names_and_says_what_it_leaves_out(workspace: Path, tmp_path: Path) -> None:
    odd = ["manifest.json", "naïve 日本.csv", "new\nline.csv", "a" * 200 + ".csv"]
    for name in odd:
        (workspace / "inbox" / name).write_text("x")
    Path(os.fsdecode(os.fsencode(workspace / "inbox") + b"/\xff\xfe.csv")).write_text("x")
    (workspace / "inbox" / "link.csv").symlink_to("/etc/hostname")
    os.utime(workspace / "inbox" / odd[0], (0, 0))
    made = write_backup(open_workspace(workspace), tmp_path / "b.zip", NOW)
    assert made.left_out == ("inbox/link.csv: a link or no file",)
    restore_backup(tmp_path / "b.zip", tmp_path / "again")
    assert coachs_word(tmp_path / "again")[0] == [
        entry for entry in coachs_word(workspace)[0] if "link.csv" not in entry[0]
    ]


# ---- the doctor ---------------------------------------------------------------------------------


def grades(root: Path) -> dict[str, str]:
    return {finding.what: finding.grade for finding in examine(open_workspace(root), dt.datetime.now(dt.UTC))}


def test_the_doctor_finds_nothing_wrong_with_a_workspace_in_order(workspace: Path) -> None:
    workspace.chmod(0o700)
    run("backup", workspace)
    assert set(grades(workspace).values()) == {"fine"}
    assert run("doctor", workspace).exit_code == 0


def test_the_doctor_mends_rights_and_leftovers_and_touches_nothing_of_the_coachs(workspace: Path) -> None:
    word = coachs_word(workspace)
    (workspace / "notes.duckdb").chmod(0o666)
    (workspace / ".setwright/history/building-1.duckdb").write_text("half")
    (workspace / ".setwright/history/building-1.duckdb.tmp").mkdir()
    (workspace / "reports/.report-x").write_text("half")
    assert run("doctor", workspace, "--mend").exit_code == 0
    assert (workspace / "notes.duckdb").stat().st_mode & 0o077 == 0
    assert not list((workspace / ".setwright/history").glob("building*"))
    assert not (workspace / "reports/.report-x").exists()
    assert coachs_word(workspace) == word


def test_the_doctor_goes_back_to_the_history_before_a_damaged_one(workspace: Path, nursery: Nursery) -> None:
    (workspace / "inbox/bram/more.csv").write_text(as_csv(log_rows("bram", 1)))
    assert nursery.run(workspace, AS_OF)["code"] == 0
    (workspace / "history.duckdb").resolve().write_bytes(b"gone" * 1000)
    assert run("review", workspace).exit_code != 0
    assert run("doctor", workspace, "--mend").exit_code == 0
    assert run("review", workspace).exit_code == 0


def test_the_doctor_sees_new_files_a_clock_that_is_behind_and_answers_of_no_kind(workspace: Path) -> None:
    os.utime((workspace / "history.duckdb").resolve(), (2e9, 2e9))
    with (workspace / "answers.csv").open("a") as handle:
        handle.write("exercises,,,Row,row,2026-06-01\n")
    said = " ".join(
        finding.what for finding in examine(open_workspace(workspace), dt.datetime(2026, 6, 1, tzinfo=dt.UTC))
    )
    for part in ("clock", "still to come", "kind that does not exist"):
        assert part in said
    os.utime((workspace / "history.duckdb").resolve(), (1e9, 1e9))
    assert "files came in since" in " ".join(grades(workspace))


def test_the_doctor_and_the_review_say_what_was_not_read(workspace: Path, nursery: Nursery) -> None:
    (workspace / "inbox/bram/holiday.csv").write_text("Dear coach,\nno training this week\n")
    assert nursery.run(workspace, AS_OF)["code"] == 0
    said = [what for what, grade in grades(workspace).items() if grade == "look"]
    assert any("1 files could not be read" in what for what in said)
    assert "Could not be read: bram/holiday.csv" in run("review", workspace).stdout


def test_the_doctors_findings_are_machine_readable(workspace: Path) -> None:
    found = json.loads(run("doctor", workspace, "--json").stdout)
    assert {"grade", "what", "do_next"} == set(found[0])


# ---- what is held on one client, and removing it ------------------------------------------------


@pytest.mark.slow
def test_a_removal_takes_the_client_everywhere_and_nobody_else_loses_a_record(
    workspace: Path, tmp_path: Path
) -> None:
    place = open_workspace(workspace)
    elsewhere = tmp_path / "elsewhere.zip"
    write_backup(place, workspace / "backups/one.zip", NOW)
    write_backup(place, elsewhere, NOW)
    for name in ("ines_2026-06.pdf", "ines-2026-06.html", "bram_2026-06.pdf", "roster_2026-06.pdf"):
        (workspace / "reports" / name).write_text("x")
    (workspace / "notes.version-0.duckdb").write_bytes((workspace / "notes.duckdb").read_bytes())
    others = _others(workspace)
    done = forget(place, plan_removal(place, "ines", quiet), quiet, [elsewhere])
    assert _others(workspace) == others
    with place.open_history() as con:
        tables = con.execute(
            "select table_name from duckdb_columns() where column_name = 'client_id' and schema_name = 'main'"
        ).fetchall()
        for (table,) in tables:
            assert con.execute(f"select count(*) from {table} where client_id = 'ines'").fetchone() == (0,), (
                table
            )
        assert con.execute("select count(*) from file_ledger where source_file like '%ines%'").fetchone() == (
            0,
        )
    assert _bytes_of_everything(workspace).count(b"Zwiebelturm") == 0
    for path in (workspace / "backups/one.zip", elsewhere):
        again = tmp_path / f"again {path.stem}"
        restore_backup(path, again)
        kept = _bytes_of_everything(again)
        assert kept.count(b"Zwiebelturm") == 0
        assert not (again / "inbox/ines").exists()
        assert b"ines" not in (again / "clients.csv").read_bytes()
        assert b"ines" not in (again / "inbox" / SHARED).read_bytes()
        assert (again / "inbox/bram/log.csv").read_bytes() == (workspace / "inbox/bram/log.csv").read_bytes()
    kinds = {one.what for one in done.removed}
    assert {
        "file",
        "row",
        "row of the roster",
        "answer",
        "report",
        "earlier history",
        "item in a backup",
    } <= kinds
    assert sorted(path.name for path in (workspace / "reports").glob("*2026-06*")) == ["bram_2026-06.pdf"]
    assert any("note on bram" in line for line in done.left), (
        "a note on another client that names this one is shown"
    )
    assert interrupted(place) is None
    assert run("review", workspace).exit_code == 0


def _others(root: Path) -> list[tuple[object, ...]]:
    """Everybody else's sets, plan rows, check-ins and notes."""
    with open_workspace(root).open_history() as con:
        rows = [
            con.execute(f"select * from {table} where client_id <> 'ines' order by all").fetchall()
            for table in ("logged_set", "plan_slot", "check_in")
        ]
    notes = NotesStore(root / "notes.duckdb")
    return [*rows, [notes.held(client) for client in PEOPLE if client != "ines"]]


def _bytes_of_everything(root: Path) -> bytes:
    return b"".join(path.read_bytes() for path in root.rglob("*") if path.is_file() and path.suffix != ".zip")


def test_a_removal_is_asked_about_and_a_no_changes_nothing(workspace: Path) -> None:
    before = coachs_word(workspace)
    result = CliRunner().invoke(setwright, ["forget", str(workspace), "ines"], input="n\n")
    assert result.exit_code != 0
    assert "27 rows of inbox/group/june.csv" in result.output
    assert coachs_word(workspace) == before


def test_someone_unknown_cannot_be_removed(workspace: Path) -> None:
    with pytest.raises(SetwrightError, match="no client 'nobody'"):
        plan_removal(open_workspace(workspace), "nobody", quiet)


@pytest.mark.slow
def test_a_removal_that_dies_is_seen_by_the_doctor_and_ends_with_the_next(
    workspace: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = open_workspace(workspace)
    held = plan_removal(place, "ines", quiet)
    others = _others(workspace)

    def die(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr("pipeline.keep.forget._publish", die)
        with pytest.raises(KeyboardInterrupt):
            forget(place, held, quiet)
    assert any("interrupted" in what for what in grades(workspace))
    forget(place, plan_removal(place, "ines", quiet), quiet)
    assert _others(workspace) == others
    assert _bytes_of_everything(workspace).count(b"Zwiebelturm") == 0
    assert not any("interrupted" in what for what in grades(workspace))


@pytest.mark.slow
def test_a_rewriting_that_others_would_lose_by_is_refused_and_nothing_is_removed(
    workspace: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = open_workspace(workspace)
    held = plan_removal(place, "ines", quiet)
    word, before = coachs_word(workspace), digest(workspace)
    monkeypatch.setattr("pipeline.keep.forget.without_rows", lambda *_: b"client,date\n")
    with pytest.raises(SetwrightError, match="would be lost"):
        forget(place, held, quiet)
    assert (coachs_word(workspace), digest(workspace)) == (word, before)


@pytest.mark.parametrize(
    ("file_name", "is_theirs"),
    [
        ("amara_2026-06.pdf", True), ("amara-2026-06.xlsx", True), ("amara_next_week.csv", True),
        ("amara_b_2026-06.pdf", False), ("samara_2026-06.pdf", False), ("amara_b-2026-06.pdf", False),
        ("amaral-2026-06.pdf", False), ("amara_deadbeef-2026-06.pdf", False),
    ],
)  # fmt: skip
def test_a_report_belongs_to_the_client_whose_whole_id_it_begins_with(
    file_name: str, is_theirs: bool
) -> None:
    assert names_client(file_name, "amara") is is_theirs


TEXT = 'client,note\nines,"a\nb"\nbram,"c, d"\nines,x\nbram,ÿ€\n'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_rows_are_taken_out_of_text_in_its_own_encoding(encoding: str, line_end: str) -> None:
    data = TEXT.replace("\n", line_end).encode(encoding)
    made = without_rows(data, "inbox", "log.csv", {"": frozenset({2, 4})})
    text = made.decode(encoding if encoding.startswith("utf") else "cp1252", "replace")
    rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff"), newline="")))
    assert [row for row in rows if row][:2] == [["client", "note"], ["bram", "c, d"]]
    assert "ines" not in text


def test_rows_are_taken_out_of_a_workbook_and_the_others_read_as_before(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "June"
    for row in (
        ["client", "date", "load"],
        ["ines", dt.date(2026, 6, 1), 80],
        ["bram", dt.date(2026, 6, 2), 90.5],
    ):
        sheet.append(row)
    sheet["C3"].number_format = '0.0 "kg"'
    sheet.append(["bram", "=1+1", "'=x"])
    sheet["A2"].comment = openpyxl.comments.Comment("Zwiebelturm", "x")
    book.create_sheet("ines").append(["secret", "Zwiebelturm"])
    data = io.BytesIO()
    book.save(data)
    made = without_rows(
        data.getvalue(), "inbox", "log.xlsx", {"June": frozenset({2}), "ines": frozenset({1})}
    )
    again = openpyxl.load_workbook(io.BytesIO(made))
    assert again.sheetnames == ["June"]
    assert [cell.value for cell in again["June"][3]] == ["bram", dt.datetime(2026, 6, 2), 90.5]
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist())
    assert b"Zwiebelturm" not in everything
    assert b"ines" not in everything


def test_a_row_that_could_be_anybodys_is_not_touched_but_named(workspace: Path, nursery: Nursery) -> None:
    path = workspace / "inbox/group/unsure.csv"
    rows = [
        *log_rows("ines", 1)[:2],
        ["", "2026-06-20", "Lunge?", "1", "x", "y", ""],
        *log_rows("tove", 1)[:2],
    ]
    path.write_text(as_csv(rows))
    assert nursery.run(workspace, AS_OF)["code"] == 0
    held = find_holdings(open_workspace(workspace), "ines")
    assert held.rows[("inbox", "group/unsure.csv")] == {"": frozenset({2, 3})}
    assert any("unsure.csv, row 4" in line for line in held.unsure)


def test_all_that_is_held_on_a_client_is_handed_over_and_nothing_of_others(
    workspace: Path, tmp_path: Path
) -> None:
    out = tmp_path / "ines.zip"
    result = run("export-client", workspace, "ines", "--out", out)
    assert result.exit_code == 0, result.output
    with zipfile.ZipFile(out) as archive:
        texts = {name: archive.read(name).decode("utf-8") for name in archive.namelist()}
    assert out.stat().st_mode & 0o077 == 0
    sets = list(csv.DictReader(io.StringIO(texts["history/logged_set.csv"])))
    with duckdb.connect(str((workspace / "history.duckdb").resolve()), read_only=True) as con:
        n_sets = con.execute("select count(*) from logged_set where client_id = 'ines'").fetchone()
    assert (len(sets),) == n_sets
    assert texts["sent in/inbox/ines/log.csv"].count("\n") == 55
    assert texts["sent in/inbox/group/june.csv (own rows).csv"].count("ines") == 27
    assert {row["body"] for row in json.loads(texts["notes.json"])["note"]} == {
        "Zwiebelturm: call about sleep"
    }
    assert "Ines Quandt" in texts["roster.csv"]
    assert "Beinding" in texts["answers.csv"]
    everything = "".join(texts.values())
    for word in ("tove", "Tove Halvari", "Bram Oduya"):
        assert word not in everything


def test_a_note_that_was_removed_does_not_stay_in_the_files_bytes(tmp_path: Path) -> None:
    store = NotesStore(tmp_path / "notes.duckdb")
    store.write_note("ines", WEEK, "Zwiebelturm " * 50)
    store.write_note("bram", WEEK, "stays")
    store.forget_client("ines")
    assert b"Zwiebelturm" not in store.path.read_bytes()
    assert [note.body for note in store.read_notes()] == ["stays"]
    assert store.path.stat().st_mode & 0o077 == 0
