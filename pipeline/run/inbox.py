"""The inbox read portion by portion, so that memory holds a portion, and only what is new need be read.

Files concern each other as far as they hold records of the same client: a resend, a correction, a load judged
by the client's own history. Whose records a file holds is known only once it is read. So files are first
taken by the client their path names; where one turns out to speak of clients beyond its portion, it and
theirs are put off, taken back if need be, and read together in the end.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import duckdb
import polars as pl

from pipeline.contract.records import FILE_LEDGER
from pipeline.errors import PublishRefused
from pipeline.ingest.read_files import read_file
from pipeline.model.history_tables import append, retract_records
from pipeline.run.inputs import RunInputs
from pipeline.run.records import ReadRecords, read_records
from pipeline.validate.judge import Judge

_FILE_COLUMN = FILE_LEDGER.column_names.index("source_file")
PORTION_BYTES = 32_000_000  # of files as they are; somewhat less than a million sets


@dataclass
class InboxState:
    """What is recorded: file → whose records it holds, sets that came to the gate, and which broke which
    rule.

    `touched` are the clients whose records were read or taken out; `ledger` the rows of the files read.
    """

    clients: dict[str, frozenset[str]] = field(default_factory=dict)
    n_checked: dict[str, int] = field(default_factory=dict)
    n_failed: dict[str, dict[str, int]] = field(default_factory=dict)
    touched: set[str] = field(default_factory=set)
    ledger: dict[str, tuple[object, ...]] = field(default_factory=dict)

    def forget(self, files: Iterable[str]) -> None:
        """Files that are to be read again, or are gone."""
        for name in files:
            for kept in (self.clients, self.n_checked, self.n_failed, self.ledger):
                kept.pop(name, None)


class InboxRun:
    """Reads files of the inbox into the tables of the history under construction."""

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        folder: Path,
        files: Mapping[str, Path],
        inputs: RunInputs,
        judge: Judge,
        as_of: date,
        state: InboxState,
        progress: Callable[[str, str], None],
    ) -> None:
        self._con, self._folder, self._files = con, folder, files
        self._inputs, self._judge, self._as_of, self._progress = inputs, judge, as_of, progress
        self.state = state
        self._by_path: dict[str, set[str]] = {}
        self._client_of_path: dict[str, str] = {}
        for name in files:
            client_id = inputs.known.roster.resolve(None, name, "").client_id
            self._client_of_path[name] = client_id
            self._by_path.setdefault(client_id, set()).add(name)

    def read(self, files: Collection[str], gone: Collection[str]) -> None:
        """Read these files, and all that hold records of the same clients; `gone` are no longer there."""
        start = set(files) | set(gone)
        clients = {self._client_of_path[name] for name in files} - {""}
        clients = clients.union(*(self.state.clients.get(name, frozenset()) for name in start))
        pending = self._take_back(clients, start) - set(gone)
        waiting: dict[str, frozenset[str]] = {}
        for portion in self._portions_by_path(pending):
            waiting |= self._settle(portion, waiting)
        while waiting:
            portions = list(self._portions_together(waiting))
            waiting = {}
            for portion in portions:
                waiting |= self._settle(portion, waiting)

    def _take_back(self, clients: set[str], files: set[str]) -> set[str]:
        """Take out what is recorded of these clients and files, and of all they are tied to; the files to
        read."""
        recorded = dict(self.state.clients)
        reached, known = set(files), set(clients)
        while True:
            more = {name for name, its in recorded.items() if name in reached or its & known} - reached
            more |= set().union(*(self._by_path.get(c, set()) for c in known - {""})) - reached
            whose = set().union(*(recorded.get(name, frozenset()) for name in reached | more)) - known
            if not more and not whose:
                break
            reached |= more
            known |= whose
        redone = reached & set(recorded)
        if redone:
            retract_records(self._con, known, redone)
            self.state.touched |= known
            self.state.forget(redone)
        return reached

    def _portions_by_path(self, files: set[str]) -> Iterable[list[str]]:
        """Files with the client their path names; first those whose path names none, for they may hold
        anyone's."""
        groups: dict[str, list[str]] = {}
        for name in sorted(files):
            groups.setdefault(self._client_of_path[name], []).append(name)
        return self._packed(groups[client_id] for client_id in sorted(groups))

    def _portions_together(self, waiting: Mapping[str, frozenset[str]]) -> Iterable[list[str]]:
        """Files tied to each other by the clients they hold."""
        ties = _Ties()
        for name, clients in waiting.items():
            ties.tie([("file", name), *(("client", c) for c in self._whose(name, clients))])
        groups: dict[object, list[str]] = {}
        for name in sorted(waiting):
            groups.setdefault(ties.root(("file", name)), []).append(name)
        return self._packed(groups.values())

    def _packed(self, groups: Iterable[list[str]]) -> Iterable[list[str]]:
        portion: list[str] = []
        size = 0
        for group in groups:
            its_size = sum(self._size(name) for name in group)
            if portion and size + its_size > PORTION_BYTES:
                yield portion
                portion, size = [], 0
            portion.extend(group)
            size += its_size
        if portion:
            yield portion

    def _size(self, name: str) -> int:
        try:
            return self._files[name].stat().st_size
        except OSError:
            return 0

    def _whose(self, name: str, clients: frozenset[str]) -> frozenset[str]:
        named = self._client_of_path[name]
        return clients | {named} if named else clients

    def _settle(self, portion: list[str], waiting: Mapping[str, frozenset[str]]) -> dict[str, frozenset[str]]:
        """Record what is complete in a portion; the files that must wait for others, with whose records they
        hold."""
        sources = []
        for name in portion:
            self._progress("ingest", name)
            sources.append(read_file(self._files[name], self._folder, "inbox"))
        self._progress("clean", "reading the records")
        records = read_records(
            sources,
            self._inputs,
            self._judge,
            self._as_of,
            lambda name: self._progress("clean", name),
        )
        if records.accounts.faults:
            raise PublishRefused(
                f"Nothing was published: {records.accounts.faults[0]}", "Please report this file's layout."
            )
        postponed = self._incomplete(portion, records.clients, waiting)
        self._record(records, set(portion) - set(postponed), is_whole=not postponed)
        return postponed

    def _incomplete(
        self, portion: list[str], found: Mapping[str, frozenset[str]], waiting: Mapping[str, frozenset[str]]
    ) -> dict[str, frozenset[str]]:
        here = set(portion)
        ties = _Ties()
        whose = {name: self._whose(name, found.get(name, frozenset())) for name in portion}
        for name, clients in whose.items():
            ties.tie([("file", name), *(("client", c) for c in clients)])
        recorded = {c for its in self.state.clients.values() for c in its}
        held_up = {c for name, its in waiting.items() for c in self._whose(name, its)}
        open_roots = set()
        for client_id in set().union(*whose.values()):
            others = self._by_path.get(client_id, set()) if client_id else set()
            if client_id in recorded or client_id in held_up or not others <= here:
                open_roots.add(ties.root(("client", client_id)))
        postponed = {name: whose[name] for name in portion if ties.root(("file", name)) in open_roots}
        strangers = set().union(*postponed.values()) & recorded
        if strangers:
            known = {name: self.state.clients[name] for name in self.state.clients}
            for name in self._take_back(strangers, set()) - set(postponed):
                if name in known:
                    postponed[name] = self._whose(name, known[name])
        return postponed

    def _record(self, records: ReadRecords, files: set[str], *, is_whole: bool) -> None:
        clients = set().union(*(records.clients.get(name, frozenset()) for name in files))
        tables = records.tables if is_whole else _of(records.tables, files, clients)
        for name, frame in tables.items():
            append(self._con, name, frame)
        failed = records.failures.rows() if records.failures.width else []
        ledger = {row[_FILE_COLUMN]: row for row in records.accounts.ledger.iter_rows()}
        for name in files:
            self.state.clients[name] = records.clients.get(name, frozenset())
            self.state.n_checked[name] = records.n_checked.get(name, 0)
            self.state.ledger[name] = ledger[name]
        for name, rule_id, n in failed:
            if name in files:
                self.state.n_failed.setdefault(name, {})[rule_id] = n
        self.state.touched |= clients


def _of(tables: Mapping[str, pl.DataFrame], files: set[str], clients: set[str]) -> dict[str, pl.DataFrame]:
    """The rows of these files and clients."""
    kept = {
        name: frame.filter(pl.col("source_file").is_in(sorted(files)))
        for name, frame in tables.items()
        if name not in ("open_question", "name_resolution")
    }
    kept["name_resolution"] = tables["name_resolution"].filter(
        pl.col("client_id").fill_null("").is_in(sorted(clients))
    )
    kept["open_question"] = tables["open_question"].join(
        kept["waiting_row"].select("question_id").unique(), on="question_id", how="semi"
    )
    return kept


class _Ties:
    """What is tied to what, by way of others."""

    def __init__(self) -> None:
        self._above: dict[object, object] = {}

    def root(self, one: object) -> object:
        """The same for all that are tied together."""
        self._above.setdefault(one, one)
        while self._above[one] != one:
            self._above[one] = self._above[self._above[one]]
            one = self._above[one]
        return one

    def tie(self, many: list[tuple[str, str]]) -> None:
        """Tie all of these."""
        for other in many[1:]:
            self._above[self.root(other)] = self.root(many[0])
        self.root(many[0])
