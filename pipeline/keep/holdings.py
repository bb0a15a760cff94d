"""What a workspace holds on one client: whole files, rows of files shared with others, and where it cannot be told.

A record is the client's where the history says so (its sets, plan rows, check-ins, notes, repeats of those), or
where it was refused or waits and one of its cells is the client's id or name. What stands between two of the
client's records in a shared file is theirs, too; what stands between theirs and another's is not touched but named.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import PurePosixPath

import duckdb
import polars as pl

from pipeline.answers import read_answers
from pipeline.clean.people import Roster
from pipeline.contract.sheets import Sheet, SourceFile
from pipeline.errors import UnknownClient
from pipeline.ingest import read_folder
from pipeline.workspace import Workspace

AREAS = ("inbox", "plans", "check_ins")
Place = tuple[str, str]
"""Area and path below it."""
_LONGEST_NAME = 80
_OWNERS = """
    with own as (
        select source_area, source_file, coalesce(source_sheet, '') as source_sheet, source_row, client_id
        from logged_set
        union select 'plans', source_file, coalesce(source_sheet, ''), source_row, client_id from plan_slot
        union select 'check_ins', source_file, coalesce(source_sheet, ''), source_row, client_id from check_in
        union select source_area, source_file, coalesce(source_sheet, ''), source_row, client_id
        from session_note
        union select source_area, source_file, coalesce(source_sheet, ''), source_row, client_id from pain_note
    )
    select * from own
    union select
        d.source_area, d.source_file, coalesce(d.source_sheet, ''), d.source_row, own.client_id
    from duplicate_row d
    join own on own.source_area = d.source_area and own.source_file = d.first_seen_file
        and own.source_row = d.first_seen_row and own.source_sheet = coalesce(d.first_seen_sheet, '')
"""


@dataclass(frozen=True)
class Holdings:
    """What is held on one client in the folders of a workspace.

    `rows`: records (from 1) by sheet in files that hold others' records, too. `unsure`: places a person has
    to look at.
    """

    client_id: str
    name: str
    whole_files: tuple[Place, ...] = ()
    rows: dict[Place, dict[str, frozenset[int]]] = field(default_factory=dict)
    unsure: tuple[str, ...] = ()

    @property
    def n_rows(self) -> int:
        """Records in shared files."""
        return sum(len(rows) for sheets in self.rows.values() for rows in sheets.values())


def find_holdings(workspace: Workspace, client_id: str, name: str = "") -> Holdings:
    """What the folders hold on a client, by the published history (which should be of these files).

    `name` is how the client was called where the history no longer says so. UnknownClient for someone
    the history does not know.
    """
    with workspace.open_history() as con:
        clients = dict(con.execute("select client_id, coalesce(name, client_id) from client").fetchall())
        owners = con.sql(_OWNERS).pl()
    if client_id not in clients:
        if not name:
            raise UnknownClient(client_id, clients)
        clients[client_id] = name
    roster = Roster(clients.items(), read_answers(workspace.answers_csv))
    by_file: dict[Place, list[tuple[str, int, str]]] = {}
    for area, file, sheet, row, owner in owners.iter_rows():
        by_file.setdefault((area, file), []).append((sheet, row, owner))
    finder = _Finder(client_id, roster)
    for area in AREAS:
        for source in read_folder(workspace.root / area, area):
            finder.look_at(source, by_file.get((area, source.source_file), []))
    return Holdings(client_id, clients[client_id], tuple(finder.whole), finder.rows, tuple(finder.unsure))


class _Finder:
    """Sorts the files of a workspace by what they hold on one client."""

    def __init__(self, client_id: str, roster: Roster) -> None:
        self._client_id, self._roster = client_id, roster
        self.whole: list[Place] = []
        self.rows: dict[Place, dict[str, frozenset[int]]] = {}
        self.unsure: list[str] = []

    def look_at(self, source: SourceFile, owned: list[tuple[str, int, str]]) -> None:
        """Note a file as whole, shared, or none of the client's."""
        place = (source.source_area, source.source_file)
        is_by_name = self._is_by_name(source.source_file)
        marks = {sheet.source_sheet: self._marks(sheet, owned) for sheet in source.sheets}
        people = {owner for sheet in marks.values() for owner in sheet.values()}
        if people <= {self._client_id} and (people or is_by_name):
            self.whole.append(place)
            return
        if self._client_id not in people:
            if is_by_name:
                self.unsure.append(f"{'/'.join(place)}: named for the client, but holds only others' records")
            return
        found = {}
        for sheet in source.sheets:
            rows = self._of_client(sheet, marks[sheet.source_sheet], place)
            if rows:
                found[sheet.source_sheet] = rows
        self.rows[place] = found

    def _is_by_name(self, source_file: str) -> bool:
        path = PurePosixPath(source_file)
        if len(path.parts) > 1:
            folder = self._roster.resolve(None, source_file, "").client_id
            return folder == self._client_id
        return self._roster.find_within(path.stem) == self._client_id

    def _marks(self, sheet: Sheet, owned: Iterable[tuple[str, int, str]]) -> dict[int, str]:
        """Who each record of a sheet is of, where that is known; "?" for one that names several clients."""
        marks: dict[int, set[str]] = {}
        for row, person in self._named(sheet):
            marks.setdefault(row, set()).add(person)
        decided = {row: next(iter(people)) if len(people) == 1 else "?" for row, people in marks.items()}
        known = {row: owner for name, row, owner in owned if name == sheet.source_sheet}
        return decided | known

    def _named(self, sheet: Sheet) -> Iterable[tuple[int, str]]:
        """Records with a cell that is, whole, the id or name of a client."""
        for column in sheet.columns:
            texts = sheet.cells[column].drop_nulls().unique()
            texts = texts.filter((texts.str.len_chars() <= _LONGEST_NAME) & texts.str.contains(r"\pL"))
            people = {text: person for text in texts.to_list() if (person := self._roster.find(text))}
            if people:
                hits = sheet.cells.select("source_row", column).filter(pl.col(column).is_in(list(people)))
                yield from ((row, people[text]) for row, text in hits.iter_rows())

    def _of_client(self, sheet: Sheet, marks: dict[int, str], place: Place) -> frozenset[int]:
        """The client's records of a sheet that is shared."""
        if set(marks.values()) == {self._client_id}:
            return frozenset(sheet.cells["source_row"].to_list())
        filled = _filled_rows(sheet)
        after: dict[int, str] = {}
        coming = ""
        for row in reversed(filled):
            coming = marks.get(row, coming)
            after[row] = coming
        mine, last = set(), ""
        for row in filled:
            if row in marks:
                last = marks[row]
                if last == self._client_id:
                    mine.add(row)
            elif last == self._client_id and after[row] in ("", self._client_id):
                mine.add(row)
            elif last == self._client_id:
                where = f"{sheet.source_sheet}, " if sheet.source_sheet else ""
                self.unsure.append(f"{'/'.join(place)}, {where}row {row}: whose it is cannot be told")
        return frozenset(mine)


def _filled_rows(sheet: Sheet) -> list[int]:
    filled = sheet.cells.filter(pl.any_horizontal(pl.col(sheet.columns).is_not_null()))
    return sorted(filled["source_row"].to_list())


def tables_on_client(con: duckdb.DuckDBPyConnection, client_id: str) -> dict[str, pl.DataFrame]:
    """Every published table that has a client, with the rows on this one; tables without any are left out."""
    named = con.execute(
        "select table_name from duckdb_columns() where column_name = 'client_id' and schema_name = 'main' order by 1"
    ).fetchall()
    found = {}
    for (table,) in named:
        frame = con.sql(f'select * from "{table}" where client_id = ?', params=[client_id]).pl()  # noqa: S608
        if frame.height:
            found[table] = frame
    return found
