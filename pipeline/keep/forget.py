"""Removes a client: from logs, plans, check-ins, roster, answers, notes, reports, caches, history and backups.

The removal is first made on a copy beside the workspace and read there: nobody else may lose a record. Only then
is it made in the workspace, in an order in which every step can be taken again; a note of the removal stands
until the last step, so that a run that dies is taken up by the next one.
"""

from __future__ import annotations

import contextlib
import csv
import datetime as dt
import io
import json
import os
import re
import shutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.errors import SetwrightError
from pipeline.folder_files import list_files
from pipeline.ingest.read_files import shown_name
from pipeline.keep.backup import read_manifest, restore_backup, write_backup
from pipeline.keep.holdings import AREAS, Holdings, Place, find_holdings
from pipeline.keep.mentions import find_mentions
from pipeline.keep.without_rows import without_rows
from pipeline.notes import NotesStore
from pipeline.publish.replace_history import replace_history
from pipeline.publish.result_page import write_result_page
from pipeline.update import update
from pipeline.workspace import Workspace, client_file_stem, open_workspace

_JOURNAL = "forgetting.json"
_STAGE = "forgetting"
_KEPT_IN_STORE = {"history", "lock", "version", "sign_in_secret", "sign_in_cookie", _JOURNAL, _STAGE}
Say = Callable[[str], None]


@dataclass(frozen=True)
class Removed:
    """One thing that was removed: where, and how much of it."""

    what: str
    where: str
    n: int = 1


@dataclass(frozen=True)
class Forgotten:
    """What a removal did, and what a person has to look at: places where the name still stands."""

    removed: tuple[Removed, ...]
    left: tuple[str, ...]


def interrupted(workspace: Workspace) -> dict[str, str] | None:
    """The client whose removal was begun and not ended, if any: `client_id` and `name`."""
    try:
        found = json.loads((workspace.store / _JOURNAL).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return (
        {"client_id": str(found["client_id"]), "name": str(found["name"])}
        if isinstance(found, dict)
        else None
    )


def plan_removal(workspace: Workspace, client_id: str, say: Say) -> Holdings:
    """What would be removed; brings the history up to date first, so that it speaks of the present files."""
    begun = interrupted(workspace)
    name = begun["name"] if begun and begun["client_id"] == client_id else ""
    say("Bringing the history up to date")
    update(workspace, _as_of(workspace))
    return find_holdings(workspace, client_id, name)


def forget(workspace: Workspace, held: Holdings, say: Say, more_backups: Iterable[Path] = ()) -> Forgotten:
    """Remove what `plan_removal` found. SetwrightError, with nothing removed, where others would lose a record."""
    with workspace.lock():
        _note_beginning(workspace, held)
        stage = workspace.store / _STAGE
        try:
            say("Trying it on a copy")
            built = _try_on_copy(workspace, held, stage)
            say("Removing")
            removed = [*_from_folders(workspace, held), *_from_words(workspace, held)]
            removed += _publish(workspace, built)
            for file in sorted(
                {*workspace.backups.glob("*.zip"), *(path.resolve() for path in more_backups)}
            ):
                say(f"Backup {file.name}")
                removed += _from_backup(workspace, file, held)
        finally:
            shutil.rmtree(stage, ignore_errors=True)
        say("Looking for the name elsewhere")
        left = (*held.unsure, *find_mentions(workspace, held.client_id, held.name))
        (workspace.store / _JOURNAL).unlink(missing_ok=True)
    return Forgotten(tuple(removed), left)


def _as_of(workspace: Workspace) -> dt.date:
    """The day up to which the published history knows; today where there is none."""
    try:
        with workspace.open_history() as con:
            row = con.execute("select max(as_of) from pipeline_run").fetchone()
    except SetwrightError:
        return workspace.settings.today()
    return row[0] if row and isinstance(row[0], dt.date) else workspace.settings.today()


def _note_beginning(workspace: Workspace, held: Holdings) -> None:
    path = workspace.store / _JOURNAL
    draft = path.with_suffix(".new")
    draft.write_text(json.dumps({"client_id": held.client_id, "name": held.name}), encoding="utf-8")
    draft.chmod(0o600)
    draft.replace(path)


# ---- on a copy ----------------------------------------------------------------------------------


def _try_on_copy(workspace: Workspace, held: Holdings, stage: Path) -> Path:
    """The history without the client, built on a copy; SetwrightError where another client lost a record."""
    shutil.rmtree(stage, ignore_errors=True)
    stage.mkdir(mode=0o700)
    for name in ("workspace.toml", "clients.csv", "answers.csv", "exercises.csv", *AREAS):
        source = workspace.root / name
        if source.is_dir():
            shutil.copytree(source, stage / name, symlinks=True, copy_function=_link_or_copy)
        elif source.is_file():
            shutil.copy2(source, stage / name)
    copy = Workspace(stage, workspace.settings)
    for cache in workspace.store.iterdir():
        if cache.is_dir() and cache.name not in _KEPT_IN_STORE:  # saves time; the copy goes with the stage
            shutil.copytree(cache, copy.store / cache.name)
    _from_folders(copy, held)
    _keep_ledger(workspace, copy)
    update(copy, _as_of(workspace))
    lost = _lost_by_others(workspace, copy, held.client_id)
    if lost:
        raise SetwrightError(
            f"Nothing was removed: {lost}.",
            "Take the client's rows out of that file by hand, then try again.",
        )
    return copy.published_history()


def _link_or_copy(source: str, target: str) -> str:
    """A second name for the same file where the disk allows it: a rewriting replaces the name, not the file."""
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, target, follow_symlinks=False)
    return target


def _keep_ledger(workspace: Workspace, copy: Workspace) -> None:
    """Give the copy the memory of files that stand in it, none of those that do not."""
    folder = copy.store / "history"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    present = [
        (area, shown_name(path, copy.root / area)) for area in AREAS for path in list_files(copy.root / area)
    ]
    with workspace.open_history() as con:
        ledger = con.sql("select * from file_ledger").pl()
    with duckdb.connect(str(folder / "history-000001.duckdb")) as con:
        con.execute("create table present (source_area varchar, source_file varchar)")
        if present:
            con.executemany("insert into present values (?, ?)", present)
        con.register("ledger", ledger)
        con.execute(
            "create table file_ledger as select ledger.* from ledger semi join present "
            "using (source_area, source_file)"
        )
        con.execute("drop table present")


def _lost_by_others(workspace: Workspace, copy: Workspace, client_id: str) -> str:
    """A sentence on the first record of another client that the copy no longer has; empty when none is lost."""
    old = str(workspace.published_history()).replace("'", "''")
    new = str(copy.published_history()).replace("'", "''")
    with duckdb.connect() as con:
        con.execute(f"attach '{old}' as old (read_only)")
        con.execute(f"attach '{new}' as new (read_only)")
        for table in ("logged_set", "plan_slot", "check_in", "session_note"):
            row = con.execute(
                f"select source_file, source_row from (select * from old.{table} where client_id <> $1 "  # noqa: S608
                f"except select * from new.{table}) order by all limit 1",
                [client_id],
            ).fetchone()
            if row:
                return f"another client's record in {row[0]}, row {row[1]}, would be lost"
    return ""


# ---- in the workspace ---------------------------------------------------------------------------


def _from_folders(workspace: Workspace, held: Holdings) -> list[Removed]:
    """Files, rows of shared files, roster row and answers."""
    removed: list[Removed] = []
    whole = set(held.whole_files)
    for area in AREAS:
        folder = workspace.root / area
        for path in list(list_files(folder)):
            place: Place = (area, shown_name(path, folder))
            if place in whole:
                path.unlink()
                removed.append(Removed("file", "/".join(place)))
                _remove_empty(path.parent, folder)
            elif place in held.rows:
                rows = held.rows[place]
                _replace(path, without_rows(path.read_bytes(), *place, rows))
                removed.append(Removed("row", "/".join(place), sum(map(len, rows.values()))))
    removed += _from_answers(workspace, held)
    removed += _from_roster(workspace, held)
    return removed


def _remove_empty(folder: Path, top: Path) -> None:
    """Remove folders that hold nothing any more, up to `top`."""
    while folder != top and folder.is_relative_to(top):
        try:
            folder.rmdir()
        except OSError:
            return
        folder = folder.parent


def _replace(path: Path, data: bytes) -> None:
    """Put new bytes in the place of a file, whole or not at all; it keeps the day it came in."""
    came_in = path.stat()
    draft = path.with_name(f".{path.name}.new")
    with os.fdopen(os.open(draft, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600), "wb") as handle:
        handle.write(data)
        handle.flush()
        os.fsync(handle.fileno())
    os.utime(draft, ns=(came_in.st_atime_ns, came_in.st_mtime_ns))
    draft.replace(path)


def _from_roster(workspace: Workspace, held: Holdings) -> list[Removed]:
    return _from_table(workspace.clients_csv, lambda cells: held.client_id in cells, "row of the roster")


def _from_answers(workspace: Workspace, held: Holdings) -> list[Removed]:
    gone = {file for _, file in held.whole_files}
    names = {held.client_id, held.name}

    def is_theirs(cells: list[str]) -> bool:
        return bool(names & set(cells) or gone & set(cells))

    return _from_table(workspace.answers_csv, is_theirs, "answer")


def _from_table(path: Path, is_theirs: Callable[[list[str]], bool], what: str) -> list[Removed]:
    """Rows of a coach's table below its header that are the client's, taken out; the rest stays as it is."""
    if not path.exists():
        return []
    data = path.read_bytes()
    encoding = "utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as err:
        raise SetwrightError(f"{path} is no UTF-8 text.", "Save it as UTF-8 and try again.") from err
    header = text.splitlines()[0] if text.splitlines() else ""
    separator = max(",;\t", key=header.count)
    kept: list[str] = []
    n_gone, pending = 0, ""
    for line in io.StringIO(text, newline=""):
        pending += line
        if pending.count('"') % 2:
            continue  # a cell with a line end in it
        cells = [cell.strip() for cell in next(csv.reader([pending], delimiter=separator), [])]
        if kept and is_theirs(cells):
            n_gone += 1
        else:
            kept.append(pending)
        pending = ""
    if not n_gone:
        return []
    _replace(path, "".join([*kept, pending]).encode(encoding))
    return [Removed(what, path.name, n_gone)]


def _from_words(workspace: Workspace, held: Holdings) -> list[Removed]:
    """Notes and their older copies, reports and messages, caches."""
    removed: list[Removed] = []
    for path in (workspace.notes_db, *sorted(workspace.root.glob("notes.version-*.duckdb"))):
        n_rows = NotesStore(path).forget_client(held.client_id)
        if n_rows:
            removed.append(Removed("note, mark or follow-up", path.name, n_rows))
    for folder in (workspace.reports, workspace.root / "messages"):
        for path in sorted(folder.rglob("*")) if folder.is_dir() else []:
            if path.is_file() and (
                names_client(path.name, held.client_id) or path.name.startswith(("roster-", "roster_"))
            ):
                path.unlink()
                removed.append(Removed("report", path.relative_to(workspace.root).as_posix()))
                _remove_empty(path.parent, folder)
    for path in sorted(workspace.store.iterdir()):
        if path.name not in _KEPT_IN_STORE:
            shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()
            removed.append(Removed("cache", f".setwright/{path.name}"))
    return removed


def names_client(file_name: str, client_id: str) -> bool:
    """Whether a report's file name is one this program gives to the client's reports and sheets."""
    own = re.escape(client_file_stem(client_id))
    return bool(re.fullmatch(rf"{own}(?:[-_]\d{{4}}-\d{{2}}|_next_week|)\.\w+", file_name))


def _publish(workspace: Workspace, built: Path) -> list[Removed]:
    """Publish the history that was built on the copy, remove every older one, write the page of the new one."""
    folder = workspace.store / "history"
    own = folder / f"building-{os.getpid()}.duckdb"
    built.replace(own)
    published = replace_history(workspace, own)
    removed = []
    for path in sorted(folder.iterdir()):
        if path != published:
            shutil.rmtree(path) if path.is_dir() else path.unlink()
            removed.append(Removed("earlier history", f".setwright/history/{path.name}"))
    with workspace.open_history() as con:
        write_result_page(con, workspace, _as_of(workspace))
    return removed


# ---- in backups ---------------------------------------------------------------------------------


def _from_backup(workspace: Workspace, file: Path, held: Holdings) -> list[Removed]:
    """Write a backup anew without the client; its history is left out, `update` rebuilds it."""
    made_at = dt.datetime.fromisoformat(read_manifest(file).made_at)
    folder = workspace.store / _STAGE / "backup"
    shutil.rmtree(folder, ignore_errors=True)
    _, copy = restore_backup(file, folder)
    there = Holdings(held.client_id, held.name)
    with contextlib.suppress(SetwrightError):  # a backup without this client, or without a history
        if copy.history_db.exists():
            there = find_holdings(copy, held.client_id)
        elif (copy.root / "inbox").is_dir():
            update(copy, made_at.date())
            there = find_holdings(copy, held.client_id)
    removed = [*_from_folders(copy, there), *_from_words(copy, there)]
    shutil.rmtree(copy.store)
    copy.history_db.unlink(missing_ok=True)
    for page in copy.reports.glob("what came in*"):
        page.unlink()
    draft = file.with_name(f".{file.name}.without")
    draft.unlink(missing_ok=True)
    write_backup(open_workspace(copy.root), draft, made_at)
    draft.replace(file)
    shutil.rmtree(folder)
    return [Removed("item in a backup", file.name, sum(one.n for one in removed))]
