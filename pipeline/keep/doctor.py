"""Looks a workspace over: what is wrong, what to do about it, and what can be mended here and now.

Nothing is changed by looking. Mending touches what setwright itself wrote: rights, leftovers of runs that died,
a link to a damaged history.
"""

from __future__ import annotations

import datetime as dt
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import duckdb

from pipeline.answers import KINDS, read_answers
from pipeline.contract import TABLES
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.folder_files import DEEPEST, list_files
from pipeline.ingest.read_files import shown_name
from pipeline.keep.forget import interrupted
from pipeline.notes import CLIENT_TABLES, NotesStore
from pipeline.publish.replace_history import link_history
from pipeline.workspace import VERSION, Workspace, layout_version

Grade = Literal["fine", "look", "wrong"]
_AREAS = ("inbox", "plans", "check_ins")
_LEAST_FREE_BYTES = 200 * 1024**2
_BACKUP_DAYS = 30
_CLOCK_SLACK_S = 300


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at: how it is, in a sentence, and what to do; `mend` does it where it can."""

    grade: Grade
    what: str
    do_next: str = ""
    mend: Callable[[], None] | None = None


def examine(workspace: Workspace, now: dt.datetime) -> list[Finding]:
    """Everything that was looked at, in the order of the checks."""
    return [
        *_version(workspace),
        *_folders(workspace),
        *_rights(workspace),
        *_room(workspace),
        *_history(workspace),
        *_clock(workspace, now),
        *_notes(workspace),
        *_answers(workspace),
        *_incoming(workspace),
        *_leftovers(workspace),
        *_backups(workspace, now),
    ]


def _version(workspace: Workspace) -> Iterator[Finding]:
    found = layout_version(workspace.root)
    if found < VERSION:
        yield Finding(
            "look", f"The folder has the layout of version {found}.", "The next update brings it up to date."
        )
    else:
        yield Finding("fine", f"Layout version {found}.")
    begun = interrupted(workspace)
    if begun:
        yield Finding(
            "wrong",
            f"Removing the client {begun['client_id']!r} was interrupted.",
            f"Run: setwright forget {workspace.root} {begun['client_id']}",
        )


def _folders(workspace: Workspace) -> Iterator[Finding]:
    for name in _AREAS:
        path = workspace.root / name
        if not path.is_dir():
            yield Finding("look", f"There is no folder {name}.", "Make it, or run setwright init again.")
        elif not os.access(path, os.R_OK | os.X_OK):
            yield Finding("wrong", f"The folder {name} may not be read.", "Check its permissions.")
    if not os.access(workspace.root, os.W_OK):
        yield Finding(
            "wrong", "The workspace may not be written.", "Check that it is yours and not write-protected."
        )
    else:
        yield Finding("fine", "The folders can be read and written.")


def _rights(workspace: Workspace) -> Iterator[Finding]:
    """What setwright writes, and the folder itself, should be open to their owner alone."""
    ours = [workspace.notes_db, workspace.store, workspace.reports, workspace.backups]
    ours += [path for folder in ours if folder.is_dir() for path in folder.rglob("*")]
    open_to_others = [
        path for path in ours if path.exists() and not path.is_symlink() and path.stat().st_mode & 0o077
    ]
    if workspace.root.stat().st_mode & 0o077:
        open_to_others.append(workspace.root)
    if not open_to_others:
        yield Finding("fine", "Nobody but you can read what is kept here.")
        return

    def close() -> None:
        for path in open_to_others:
            path.chmod(0o700 if path.is_dir() else 0o600)

    yield Finding(
        "look",
        f"Other users of this machine may look into {len(open_to_others)} files or folders here.",
        f"Run: setwright doctor {workspace.root} --mend",
        close,
    )


def _room(workspace: Workspace) -> Iterator[Finding]:
    free = shutil.disk_usage(workspace.root).free
    history = workspace.history_db.stat().st_size if workspace.history_db.exists() else 0
    if free < max(_LEAST_FREE_BYTES, 3 * history):
        yield Finding(
            "wrong",
            f"The disk has only {free / 1e6:,.0f} MB left; an update needs room for a second history.",
            "Free some space.",
        )
    else:
        yield Finding("fine", f"{free / 1e9:,.1f} GB free on the disk.")


def _history(workspace: Workspace) -> Iterator[Finding]:
    kept = sorted((workspace.store / "history").glob("history-*.duckdb"), reverse=True)
    if not workspace.history_db.is_symlink() and not workspace.history_db.exists() and not kept:
        yield Finding("look", "Nothing has been published yet.", f"Run: setwright update {workspace.root}")
        return
    if workspace.history_db.exists():
        fault = history_fault(workspace.history_db.resolve())
        if not fault:
            yield Finding("fine", "The published history is whole.")
            return
    else:
        fault = "It is not there"
    whole = next(
        (path for path in kept if path != workspace.history_db.resolve() and not history_fault(path)), None
    )

    def go_back() -> None:
        # without its memory of the last run the next update makes everything anew
        (workspace.store / "last_run.json").unlink(missing_ok=True)
        if whole is not None:
            link_history(workspace, whole)

    yield Finding(
        "wrong",
        f"The published history cannot be used: {fault}.",
        f"Run: setwright doctor {workspace.root} --mend, then setwright update {workspace.root}: it is rebuilt from "
        "your files.",
        go_back,
    )


def history_fault(path: Path) -> str:
    """What is wrong with a history, every block of every table read; empty when nothing is."""
    try:
        with duckdb.connect(str(path), read_only=True) as con:
            present = {
                table: {
                    row[0]
                    for row in con.execute(
                        "select column_name from duckdb_columns() where table_name = ?", [table]
                    ).fetchall()
                }
                for table in TABLES
            }
            for table, columns in present.items():
                missing = {column.name for column in TABLES[table].columns} - columns
                if missing:
                    return f"{table} lacks {sorted(missing)[0]}, another version made it"
                con.execute(f"select bit_xor(hash(t)) from {table} t").fetchall()  # noqa: S608 our own tables
            wrong = con.execute(
                "select count(*) from file_ledger where is_current and n_records <> "
                "n_loaded + n_duplicate + n_rejected + n_waiting + n_ignored"
            ).fetchone()
    except duckdb.Error as err:
        return f"it is damaged ({type(err).__name__})"
    return f"{wrong[0]} files do not add up" if wrong and wrong[0] else ""


def _clock(workspace: Workspace, now: dt.datetime) -> Iterator[Finding]:
    newest = max(
        (path.stat().st_mtime for path in (workspace.store / "history").glob("history-*.duckdb")), default=0.0
    )
    if newest > now.timestamp() + _CLOCK_SLACK_S:
        made = dt.datetime.fromtimestamp(newest, dt.UTC).date()
        yield Finding(
            "wrong",
            f"The history was made on {made}, and this machine's clock says {now.date()}.",
            "Set the clock: sessions after today count as in the future.",
        )
    try:
        with workspace.open_history() as con:
            row = con.execute("select max(as_of) from pipeline_run").fetchone()
    except SetwrightError:
        return
    if row and isinstance(row[0], dt.date) and row[0] > now.date() + dt.timedelta(days=1):
        yield Finding(
            "look",
            f"The history was published as of {row[0]}, which is still to come.",
            "Run update without --as-of.",
        )


def _notes(workspace: Workspace) -> Iterator[Finding]:
    path = workspace.notes_db
    if not path.exists():
        yield Finding("fine", "No notes have been written yet.")
        return
    try:
        NotesStore(path).read_notes()
        with duckdb.connect(str(path), read_only=True) as con:
            counts = [
                con.execute(f"select count(*), bit_xor(hash(t)) from {table} t").fetchall()[0][0]  # noqa: S608
                for table in CLIENT_TABLES
            ]
    except (SetwrightError, duckdb.Error) as err:
        said = err if isinstance(err, SetwrightError) else None
        yield Finding(
            "wrong",
            said.what if said else f"{path.name} is damaged.",
            said.do_next if said else "Restore it from a backup: setwright restore FILE NEW_FOLDER",
        )
        return
    yield Finding("fine", f"{sum(counts):,} notes, marks and follow-ups, all readable.")


def _answers(workspace: Workspace) -> Iterator[Finding]:
    try:
        answers = read_answers(workspace.answers_csv)
    except SetwrightError as err:
        yield Finding("wrong", err.what, err.do_next)
        return
    unknown = sorted({kind for kind in answers.kinds() if kind not in KINDS})
    if unknown:
        yield Finding(
            "look",
            f"answers.csv has answers of a kind that does not exist: {', '.join(unknown)[:80]}.",
            f"Kinds are: {', '.join(KINDS)}.",
        )
    else:
        yield Finding("fine", f"{len(answers):,} answers are kept.")


def _incoming(workspace: Workspace) -> Iterator[Finding]:
    published = workspace.history_db.stat().st_mtime if workspace.history_db.exists() else None
    newer, odd = 0, []
    for area in _AREAS:
        folder = workspace.root / area
        for path in list_files(folder):
            if path.is_symlink() or not path.is_file() or not os.access(path, os.R_OK):
                odd.append(f"{area}/{shown_name(path, folder)}")
            elif published is not None and path.stat().st_mtime > published:
                newer += 1
    if odd:
        yield Finding(
            "look",
            f"{len(odd)} entries are links, folders deeper than {DEEPEST}, or may not be read, such as {odd[0]}.",
            "They are not read, or only within the folder: put the files themselves there.",
        )
    if newer:
        yield Finding(
            "look",
            f"{newer} files came in since the last update.",
            f"Run: setwright update {workspace.root}",
        )
    elif published is not None:
        yield _what_came_in(workspace)


def _what_came_in(workspace: Workspace) -> Finding:
    """Whether all that came in was also read."""
    try:
        with workspace.open_history() as con:
            files, refused, waiting = con.execute(
                "select count(*) filter (outcome = 'refused'), coalesce(sum(n_rejected), 0),"
                " coalesce(sum(n_waiting), 0) from file_ledger where is_current"
            ).fetchall()[0]
    except WorkspaceError:
        return Finding(
            "fine", "No file came in since the last update."
        )  # the history has a finding of its own
    if not files and not refused and not waiting:
        return Finding("fine", "Everything that came in is in the history.")
    return Finding(
        "look",
        f"Of what came in, {files:,} files could not be read, {refused:,} records were refused, {waiting:,} wait.",
        f"Which and why: {workspace.reports / 'what came in.html'}, or the data page.",
    )


def _leftovers(workspace: Workspace) -> Iterator[Finding]:
    """Drafts of runs that died: nothing reads them."""
    found = [
        *(workspace.store / "history").glob("building-*"),
        *workspace.store.glob("*.new"),
        *workspace.store.glob("forgetting"),
        *workspace.root.glob(".*.new"),
        *(workspace.reports.rglob("*.new") if workspace.reports.is_dir() else []),
        *(workspace.reports.rglob(".report-*") if workspace.reports.is_dir() else []),
        *(workspace.backups.glob(".*.new") if workspace.backups.is_dir() else []),
    ]
    if not found:
        return

    def remove() -> None:
        with workspace.lock():
            for path in found:
                if path.is_dir() and not path.is_symlink():
                    shutil.rmtree(path, ignore_errors=True)
                else:
                    path.unlink(missing_ok=True)

    yield Finding(
        "look",
        f"{len(found)} unfinished files of runs that were stopped.",
        f"They do no harm; setwright doctor {workspace.root} --mend removes them.",
        remove,
    )


def _backups(workspace: Workspace, now: dt.datetime) -> Iterator[Finding]:
    files = list(workspace.backups.glob("*.zip")) if workspace.backups.is_dir() else []
    newest = max((path.stat().st_mtime for path in files), default=0.0)
    days = (now.timestamp() - newest) / 86400
    if not files:
        yield Finding(
            "look",
            "There is no backup here.",
            f"Run: setwright backup {workspace.root}; keep a copy elsewhere.",
        )
    elif days > _BACKUP_DAYS:
        yield Finding(
            "look", f"The last backup is {days:.0f} days old.", f"Run: setwright backup {workspace.root}"
        )
    else:
        yield Finding("fine", f"The last backup is {max(days, 0):.0f} days old.")
