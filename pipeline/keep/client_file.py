"""All that is held on one client, as one zip archive a person can read: for a client who asks for it."""

from __future__ import annotations

import csv
import io
import json
import os
import zipfile
from pathlib import Path
from typing import Any

from pipeline.errors import SetwrightError
from pipeline.folder_files import list_files
from pipeline.ingest import read_folder
from pipeline.ingest.read_files import shown_name
from pipeline.keep.forget import names_client
from pipeline.keep.holdings import AREAS, Holdings, find_holdings, tables_on_client
from pipeline.notes import NotesStore
from pipeline.spreadsheet_text import defused
from pipeline.workspace import Workspace

_README = """What is held on {name}

sent in/     the files as they were sent; of files shared with others only the client's own rows, as csv
history/     every published table with this client's rows (units stand in the column names)
notes.json   what the coach wrote: marks, notes, follow-ups, texts for reports, ended ones included
roster.csv   the client's row of the roster
answers.csv  what the coach decided about names, units and dates in this client's files
reports/     reports that were written for the client
unsure.txt   where it could not be told whose a record is

Rows and files: {n_files} files whole, {n_rows} rows of shared files, {n_tables} tables.
"""


def write_client_file(workspace: Workspace, client_id: str, out: Path) -> dict[str, int]:
    """Write all that is held on a client to the archive `out`; how much of what.

    SetwrightError for someone unknown, for a file that exists or cannot be written.
    """
    if out.exists():
        raise SetwrightError(f"{out} exists.", "Name another file.")
    held = find_holdings(workspace, client_id)
    draft = out.with_name(f".{out.name}.new")
    try:
        out.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with os.fdopen(os.open(draft, os.O_CREAT | os.O_RDWR | os.O_TRUNC, 0o600), "w+b") as handle:
            with zipfile.ZipFile(handle, "w", zipfile.ZIP_DEFLATED) as archive:
                counts = _fill(archive, workspace, held)
            handle.flush()
            os.fsync(handle.fileno())
        draft.replace(out)
    except OSError as err:
        raise SetwrightError(f"{out} cannot be written: {err.strerror or err}.") from err
    finally:
        draft.unlink(missing_ok=True)
    return counts


def _fill(archive: zipfile.ZipFile, workspace: Workspace, held: Holdings) -> dict[str, int]:
    _add_files(archive, workspace, held)
    with workspace.open_history() as con:
        tables = tables_on_client(con, held.client_id)
    for name, frame in tables.items():
        archive.writestr(f"history/{name}.csv", _csv(frame.columns, frame.rows()))
    notes = NotesStore(workspace.notes_db).held(held.client_id)
    archive.writestr("notes.json", json.dumps(notes, default=str, ensure_ascii=False, indent=1))
    for path, name in ((workspace.clients_csv, "roster.csv"), (workspace.answers_csv, "answers.csv")):
        archive.writestr(name, _rows_naming(path, {held.client_id, held.name}))
    n_reports = 0
    for path in sorted(workspace.reports.rglob("*")) if workspace.reports.is_dir() else []:
        if path.is_file() and names_client(path.name, held.client_id):
            archive.write(path, f"reports/{path.relative_to(workspace.reports).as_posix()}")
            n_reports += 1
    archive.writestr("unsure.txt", "\n".join(held.unsure) + "\n")
    counts = {
        "files": len(held.whole_files),
        "rows of shared files": held.n_rows,
        "tables": len(tables),
        "notes, marks and follow-ups": sum(map(len, notes.values())),
        "reports": n_reports,
    }
    archive.writestr(
        "README.txt",
        _README.format(name=held.name, n_files=counts["files"], n_rows=held.n_rows, n_tables=len(tables)),
    )
    return counts


def _add_files(archive: zipfile.ZipFile, workspace: Workspace, held: Holdings) -> None:
    whole = set(held.whole_files)
    for area in AREAS:
        folder = workspace.root / area
        for path in list_files(folder):
            name = shown_name(path, folder)
            if (area, name) in whole and path.is_file():
                archive.write(path, f"sent in/{area}/{name}")
        if any(place[0] == area for place in held.rows):
            for source in read_folder(folder, area):
                for sheet in source.sheets:
                    rows = held.rows.get((area, source.source_file), {}).get(sheet.source_sheet)
                    if rows:
                        mine = sheet.cells.filter(sheet.cells["source_row"].is_in(list(rows)))
                        part = f" {sheet.source_sheet}" if sheet.source_sheet else ""
                        archive.writestr(
                            f"sent in/{area}/{source.source_file}{part} (own rows).csv",
                            _csv(mine.columns, mine.rows()),
                        )


def _csv(header: list[str], rows: list[tuple[Any, ...]]) -> str:
    buffer = io.StringIO()
    writer = csv.writer(buffer)
    writer.writerow(header)
    writer.writerows([defused(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return buffer.getvalue()


def _rows_naming(path: Path, names: set[str]) -> str:
    """Header and the rows of a coach's table with a cell that is one of `names`."""
    if not path.exists():
        return ""
    text = path.read_text(encoding="utf-8-sig", errors="replace")
    separator = max(",;\t", key=(text.splitlines() or [""])[0].count)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    kept = [row for n, row in enumerate(rows) if n == 0 or names & {cell.strip() for cell in row}]
    return _csv(kept[0], [tuple(row) for row in kept[1:]]) if kept else ""
