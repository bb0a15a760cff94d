"""A history gone on with is the history made from nothing, whatever came between, in whatever portions."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

import pipeline.run.inbox
import pipeline.run.models
from pipeline.update import UpdateResult, update
from pipeline.workspace import open_workspace
from tests.benchmarks.made_folder import dialect_of, made_sets, write_folder, write_log, write_weekly_file

pytestmark = pytest.mark.slow
AS_OF = date(2026, 6, 28)
CLIENTS = [f"client_{n:05d}" for n in range(1, 6)]
HEADER = "Date,Client,Exercise,Weight (kg),Reps\n"
"""A file for the whole team, so that files are tied to each other."""


def _write_roster(root: Path) -> None:
    """Five clients with twelve weeks of logs, one of them held back."""
    write_folder(root, 1)
    rows = "".join(f"{c},Client {c[-5:]},intermediate,kg,80,2024-07-01,dmy\n" for c in CLIENTS)
    header = "client_id,name,status,unit,bodyweight_kg,start_date,date_order\n"
    (root / "clients.csv").write_text(header + rows, encoding="utf-8")
    for client_id in CLIENTS:
        dialect = dialect_of(client_id)
        write_log(root / "inbox" / client_id / dialect.file_name, made_sets(client_id, 91, 12), dialect)


def _tables(root: Path) -> dict[str, pl.DataFrame]:
    path = open_workspace(root).published_history()
    with duckdb.connect(str(path), read_only=True) as con:
        names = [name for (name,) in con.execute("select table_name from duckdb_tables()").fetchall()]
        return {name: con.table(name).pl() for name in sorted(names)}


def _assert_same(found: Path, expected: Path) -> None:
    """Every table with the same rows, sums to nine digits, save which files are no longer there."""
    ours, others = _tables(found), _tables(expected)
    assert set(ours) == set(others)
    for name, table in others.items():
        mine = ours[name]
        if name == "file_ledger":
            mine, table = (t.filter("is_current").drop("first_seen_date") for t in (mine, table))
        keys = [c for c in table.columns if table.schema[c] != pl.Float64]
        reals = [c for c in table.columns if c not in keys]
        order = [*keys, *reals]
        try:
            assert_frame_equal(
                mine.select(order).sort(order), table.select(order).sort(order), rel_tol=1e-9, abs_tol=1e-9
            )
        except AssertionError as err:
            raise AssertionError(f"{name}: {err}") from err


@pytest.fixture(scope="module")
def cold(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder as it is in the end, read from nothing in one piece."""
    root = tmp_path_factory.mktemp("cold") / "coach"
    _write_roster(root)
    _write_the_last(root)
    update(open_workspace(root), AS_OF)
    return root


@pytest.fixture(scope="module")
def begun_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, UpdateResult]:
    """The folder as it is at first, published, and what the update said."""
    root = tmp_path_factory.mktemp("begun") / "coach"
    _write_roster(root)
    return root, update(open_workspace(root), AS_OF)


@pytest.fixture
def begun(begun_once: tuple[Path, UpdateResult], tmp_path: Path) -> tuple[Path, UpdateResult]:
    """A copy of it to do anything to."""
    root = Path(shutil.copytree(begun_once[0], tmp_path / "coach", symlinks=True))
    return root, replace(begun_once[1], published=open_workspace(root).published_history())


def _write_the_last(root: Path) -> None:
    """What comes in later: a week of one client, a file on two clients, and a resend of another's file."""
    write_weekly_file(root, CLIENTS[2])
    (root / "inbox" / "team.csv").write_text(
        HEADER + f"2026-06-25,{CLIENTS[0]},Bench Press,60,8\n2026-06-25,{CLIENTS[1]},Bench Press,70,6\n",
        encoding="utf-8",
    )
    theirs = root / "inbox" / CLIENTS[3] / dialect_of(CLIENTS[3]).file_name
    shutil.copy(theirs, theirs.with_name("again.csv"))


def test_files_that_come_later_change_what_they_would_have_changed_at_once(
    cold: Path, tmp_path: Path
) -> None:
    root = tmp_path / "coach"
    _write_roster(root)
    held = tmp_path / "held"
    shutil.move(root / "inbox" / CLIENTS[4], held)
    extra = root / "inbox" / CLIENTS[0] / "mistake.csv"
    extra.write_text("Date,Exercise,Weight (kg),Reps\n2026-06-20,Deadlift,100,5\n", encoding="utf-8")
    update(open_workspace(root), AS_OF)
    extra.unlink()
    shutil.move(held, root / "inbox" / CLIENTS[4])
    update(open_workspace(root), AS_OF)
    _write_the_last(root)
    update(open_workspace(root), AS_OF)
    _assert_same(root, cold)


def test_small_portions_give_what_one_piece_gives(
    cold: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pipeline.run.inbox, "PORTION_BYTES", 1)
    monkeypatch.setattr(pipeline.run.models, "SETS_AT_A_TIME", 1)
    root = tmp_path / "coach"
    _write_roster(root)
    _write_the_last(root)
    update(open_workspace(root), AS_OF)
    _assert_same(root, cold)


def test_only_the_clients_of_a_new_file_are_read_again(
    begun: tuple[Path, UpdateResult], monkeypatch: pytest.MonkeyPatch
) -> None:
    root, _ = begun
    read: list[str] = []
    one = pipeline.run.inbox.read_file
    monkeypatch.setattr(
        pipeline.run.inbox,
        "read_file",
        lambda path, folder, area: (read.append(path.parent.name), one(path, folder, area))[1],
    )
    write_weekly_file(root, CLIENTS[2])
    update(open_workspace(root), AS_OF)
    assert set(read) == {CLIENTS[2]}


def test_nothing_new_publishes_nothing_and_reports_the_same(begun: tuple[Path, UpdateResult]) -> None:
    root, first = begun
    assert update(open_workspace(root), AS_OF) == first
    (root / "reports" / "what came in.html").unlink()
    assert update(open_workspace(root), AS_OF).published != first.published


@pytest.mark.parametrize("changed", ["answers.csv", "workspace.toml", "a byte of the history"])
def test_what_could_change_every_row_has_everything_read_again(
    begun: tuple[Path, UpdateResult], changed: str
) -> None:
    root, first = begun
    if changed == "answers.csv":
        (root / changed).write_text("kind,client_id,source_file,raw_text,answer\n", encoding="utf-8")
    elif changed == "workspace.toml":
        (root / changed).write_text('[defaults]\nunit = "kg"\ne1rm_max_reps = 8\n', encoding="utf-8")
    else:
        first.published.write_bytes(first.published.read_bytes()[:-4096])
    again = update(open_workspace(root), AS_OF)
    assert again.published != first.published
    assert again.n_sets == first.n_sets


def test_a_later_day_is_a_new_run(begun: tuple[Path, UpdateResult]) -> None:
    root, first = begun
    assert update(open_workspace(root), date(2026, 6, 29)).published != first.published


def test_the_made_logs_are_read_without_a_question(cold: Path) -> None:
    assert _tables(cold)["open_question"].is_empty()
    assert _tables(cold)["waiting_row"].is_empty()
