"""What the coach writes: reviewed marks, notes, follow-up dates, texts for the monthly report.

Kept in notes.duckdb, apart from the history: an update rebuilds the history and never touches this file.
Nothing is overwritten: a text that is replaced or taken back keeps its row with the moment it ended. The
file is opened for each reading or writing and closed at once, so that pages, reports and the command line
can use it side by side. Its version stands in the file: an older file is copied before it is brought up to
date, a newer one is refused.
"""

from __future__ import annotations

import datetime as dt
import shutil
import threading
import time
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import duckdb

from pipeline.errors import WorkspaceError

MonthText = Literal["report", "focus"]
"""What a coach writes for a client's monthly report: a word on the month, the focus of the next."""

STEPS: tuple[tuple[str, ...], ...] = (
    (
        "create table review (client_id varchar, week_start date, state varchar, marked_at timestamp, "
        "ended_at timestamp)",
        "create table note (note_id varchar, client_id varchar, week_start date, body varchar, "
        "written_at timestamp, ended_at timestamp)",
        "create table follow_up (follow_up_id varchar, client_id varchar, due_date date, body varchar, "
        "written_at timestamp, ended_at timestamp)",
        "create table month_text (client_id varchar, month varchar, kind varchar, body varchar, "
        "written_at timestamp, ended_at timestamp)",
    ),
)
"""What each version added; a file of version n lacks the steps from n on."""

VERSION = len(STEPS)
CLIENT_TABLES = ("review", "note", "follow_up", "month_text")
"""Tables whose rows are about one client each."""
PATIENCE_S = 5.0
"""How long to wait while another process holds the file; a writing takes milliseconds."""

RESTORE = "Put a copy from your backup in its place, or move it away to begin with empty notes."

_one_at_a_time = threading.Lock()


@dataclass(frozen=True)
class Note:
    """A coach's note on a client, written while looking at a week."""

    note_id: str
    client_id: str
    week_start: dt.date
    body: str
    written_at: dt.datetime


@dataclass(frozen=True)
class FollowUp:
    """A day on which to come back to a client, and what for."""

    follow_up_id: str
    client_id: str
    due_date: dt.date
    body: str
    written_at: dt.datetime


@dataclass(frozen=True)
class NotesStore:
    """The notes at `path`; the file comes into being with the first thing that is written.

    `is_read_only`: for someone who may look and not write.
    """

    path: Path
    is_read_only: bool = False

    def mark_reviewed(self, clients: Iterable[str], week_start: dt.date, state: str = "") -> None:
        """Mark clients as reviewed for a week; `state` is what the week said when it was marked."""
        with self._writing() as con:
            for client_id in clients:
                con.execute(
                    "insert into review select $client, $week, $state, $now, null where not exists ("
                    "from review where client_id = $client and week_start = $week and ended_at is null)",
                    {"client": client_id, "week": week_start, "state": state, "now": _now()},
                )

    def unmark_reviewed(self, clients: Iterable[str], week_start: dt.date) -> None:
        """Take the mark of a week back."""
        with self._writing() as con:
            for client_id in clients:
                con.execute(
                    "update review set ended_at = ? "
                    "where client_id = ? and week_start = ? and ended_at is null",
                    [_now(), client_id, week_start],
                )

    def read_reviewed(self, week_start: dt.date) -> dict[str, dt.datetime]:
        """Clients reviewed for a week, and when (UTC)."""
        rows = self._read(
            "select client_id, max(marked_at) from review "
            "where week_start = ? and ended_at is null group by all",
            [week_start],
        )
        return dict(rows)

    def write_note(self, client_id: str, week_start: dt.date, body: str) -> str:
        """Keep a note; its id. ValueError for an empty one."""
        if not body.strip():
            raise ValueError("body: a note needs words")
        note_id = uuid.uuid4().hex
        with self._writing() as con:
            con.execute(
                "insert into note values (?, ?, ?, ?, ?, null)",
                [note_id, client_id, week_start, body.strip(), _now()],
            )
        return note_id

    def end_note(self, note_id: str) -> None:
        """Take a note back: it is no longer shown, its row stays."""
        with self._writing() as con:
            con.execute(
                "update note set ended_at = ? where note_id = ? and ended_at is null", [_now(), note_id]
            )

    def read_notes(self, client_id: str | None = None) -> list[Note]:
        """Notes in force, newest first: a client's, or everyone's."""
        rows = self._read(
            "select note_id, client_id, week_start, body, written_at from note "
            "where ended_at is null and ($client is null or client_id = $client) "
            "order by written_at desc, note_id",
            {"client": client_id},
        )
        return [Note(*row) for row in rows]

    def write_follow_up(self, client_id: str, due_date: dt.date, body: str = "") -> str:
        """Keep a day to come back to a client; its id."""
        follow_up_id = uuid.uuid4().hex
        with self._writing() as con:
            con.execute(
                "insert into follow_up values (?, ?, ?, ?, ?, null)",
                [follow_up_id, client_id, due_date, body.strip(), _now()],
            )
        return follow_up_id

    def end_follow_up(self, follow_up_id: str) -> None:
        """A follow-up is done with."""
        with self._writing() as con:
            con.execute(
                "update follow_up set ended_at = ? where follow_up_id = ? and ended_at is null",
                [_now(), follow_up_id],
            )

    def read_follow_ups(self, client_id: str | None = None) -> list[FollowUp]:
        """Open follow-ups, soonest first: a client's, or everyone's."""
        rows = self._read(
            "select follow_up_id, client_id, due_date, body, written_at from follow_up "
            "where ended_at is null and ($client is null or client_id = $client) "
            "order by due_date, follow_up_id",
            {"client": client_id},
        )
        return [FollowUp(*row) for row in rows]

    def write_month_text(self, client_id: str, month: str, kind: MonthText, body: str) -> None:
        """Keep the coach's words for a report of `month` (YYYY-MM); an empty text takes them back."""
        with self._writing() as con:
            con.execute(
                "update month_text set ended_at = ? "
                "where client_id = ? and month = ? and kind = ? and ended_at is null",
                [_now(), client_id, month, kind],
            )
            if body.strip():
                con.execute(
                    "insert into month_text values (?, ?, ?, ?, ?, null)",
                    [client_id, month, kind, body.strip(), _now()],
                )

    def read_month_text(self, client_id: str, month: str) -> dict[str, str]:
        """The coach's words for a client's report of `month`, by kind (`report`, `focus`)."""
        rows = self._read(
            "select kind, body from month_text where client_id = ? and month = ? and ended_at is null",
            [client_id, month],
        )
        return dict(rows)

    def forget_client(self, client_id: str) -> int:
        """Remove every row on a client, ended ones included; how many there were.

        The file is written anew: a database keeps what was deleted in blocks it has not used again.
        """
        if not self.path.exists():
            return 0
        removed = 0
        with self._writing() as con:
            for table in CLIENT_TABLES:
                # the table names are our own
                row = con.execute(f"delete from {table} where client_id = ?", [client_id]).fetchone()  # noqa: S608
                removed += int(row[0]) if row else 0
        if removed:
            with _one_at_a_time, self._connection(read_only=False) as con:
                draft = self.path.with_name(f".{self.path.name}.new")
                draft.unlink(missing_ok=True)
                quoted = str(draft).replace("'", "''")
                con.execute(f"attach '{quoted}' as anew")
                con.execute(
                    f"copy from database {con.execute('select current_database()').fetchall()[0][0]} to anew"
                )
                con.execute("detach anew")
                draft.chmod(0o600)
                # in place while this file is still held, so that nobody writes into the old one meanwhile
                draft.replace(self.path)
        return removed

    def held(self, client_id: str) -> dict[str, list[dict[str, Any]]]:
        """Every row on a client by table, ended ones included."""
        if not self.path.exists():
            return {}
        found = {}
        with _one_at_a_time, self._connection(read_only=True) as con:
            for table in CLIENT_TABLES:
                reader = con.execute(f"select * from {table} where client_id = ?", [client_id])  # noqa: S608
                names = [column[0] for column in reader.description or []]
                found[table] = [dict(zip(names, row, strict=True)) for row in reader.fetchall()]
        return found

    @contextmanager
    def held_still(self) -> Iterator[None]:
        """Nobody writes into the file while the context lasts, and all of it is in the file itself.

        A damaged file is no error here: it is copied as it is.
        """
        if not self.path.exists():
            yield
            return
        with _one_at_a_time:
            try:
                con = self._connect(read_only=False)
            except WorkspaceError as err:
                if not isinstance(err.__cause__, duckdb.Error) or "lock" in str(err.__cause__).lower():
                    raise
                yield
                return
            try:
                con.execute("checkpoint")
                yield
            finally:
                con.close()

    def _read(self, query: str, parameters: list[Any] | dict[str, Any]) -> list[tuple[Any, ...]]:
        if not self.path.exists():
            return []
        with _one_at_a_time:
            with self._connection(read_only=True) as con:
                version = _version(con, self.path)
                if version == VERSION:
                    return con.execute(query, parameters).fetchall()
            with self._connection(read_only=False) as con:
                _bring_up_to_date(con, self.path)
                return con.execute(query, parameters).fetchall()

    @contextmanager
    def _writing(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """A connection in a transaction: all that is written in it stays, or nothing."""
        if self.is_read_only:
            raise WorkspaceError("You may look at this workspace, not change it.", "Ask the coach.")
        with _one_at_a_time:
            is_new = not self.path.exists()
            with self._connection(read_only=False) as con:
                if is_new:
                    self.path.chmod(0o600)
                _bring_up_to_date(con, self.path)
                con.execute("begin")
                yield con
                con.execute("commit")
                con.execute("checkpoint")

    @contextmanager
    def _connection(self, *, read_only: bool) -> Iterator[duckdb.DuckDBPyConnection]:
        con = self._connect(read_only)
        try:
            yield con
        finally:
            con.close()

    def _connect(self, read_only: bool) -> duckdb.DuckDBPyConnection:
        """Open the file, waiting a little for another process; WorkspaceError when it cannot be used."""
        give_up_at = time.monotonic() + PATIENCE_S
        while True:
            try:
                return duckdb.connect(str(self.path), read_only=read_only)
            except duckdb.IOException as err:
                if "lock" not in str(err).lower():
                    raise WorkspaceError(f"{self.path} cannot be opened.", RESTORE) from err
                if time.monotonic() > give_up_at:
                    raise WorkspaceError(
                        f"{self.path} is in use by another program.", "Close that program and try again."
                    ) from err
            except duckdb.Error as err:
                raise WorkspaceError(f"{self.path} is not a readable notes file.", RESTORE) from err
            time.sleep(0.05)


def _now() -> dt.datetime:
    """Now in UTC, without a zone, as timestamps are kept."""
    return dt.datetime.now(dt.UTC).replace(tzinfo=None)


def _version(con: duckdb.DuckDBPyConnection, path: Path) -> int:
    """Version of the file, 0 for a new one; WorkspaceError for one of a newer program."""
    found = con.execute("select count(*) from duckdb_tables() where table_name = 'notes_version'").fetchone()
    if not found or not found[0]:
        return 0
    row = con.execute("select max(version) from notes_version").fetchone()
    version = int(row[0] or 0) if row else 0
    if version > VERSION:
        raise WorkspaceError(
            f"{path} was written by a newer version of this program "
            f"(notes version {version}, known {VERSION}).",
            "Install the newer version; your notes are untouched.",
        )
    return version


def _bring_up_to_date(con: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Take the steps the file lacks, all or none, after copying a file that already holds something."""
    version = _version(con, path)
    if version == VERSION:
        return
    if version > 0:
        con.execute("checkpoint")
        shutil.copy2(path, path.with_name(f"{path.stem}.version-{version}{path.suffix}"))
    con.execute("begin")
    con.execute("create table if not exists notes_version (version integer)")
    for step in STEPS[version:]:
        for statement in step:
            con.execute(statement)
    con.execute("delete from notes_version")
    con.execute("insert into notes_version values (?)", [VERSION])
    con.execute("commit")
