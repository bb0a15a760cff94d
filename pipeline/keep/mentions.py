"""Where a client's id or full name still stands after a removal: for a person to look at, never removed unasked."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import duckdb
import polars as pl

from pipeline.ingest import read_folder
from pipeline.keep.holdings import AREAS
from pipeline.notes import CLIENT_TABLES
from pipeline.workspace import Workspace

_TEXTS = {".csv", ".txt", ".md", ".html", ".toml", ".json", ".tsv"}


def find_mentions(workspace: Workspace, client_id: str, name: str) -> list[str]:
    """Places that hold the id or the full name as whole words: file names, cells, the coach's words."""
    words = [re.escape(text) for text in dict.fromkeys((client_id, name)) if text]
    pattern = rf"(?i)(?:^|[^\pL\pN_]){'(?:' + '|'.join(words) + ')'}(?:[^\pL\pN_]|$)"
    said = re.compile(pattern.replace(r"\pL\pN_", r"\w"))
    found = []
    for area in AREAS:
        for source in read_folder(workspace.root / area, area):
            place = f"{area}/{source.source_file}"
            if said.search(source.source_file.replace("_", " ")):
                found.append(f"{place}: in the file's name")
            for sheet in source.sheets:
                hits = sheet.cells.filter(pl.any_horizontal(pl.col(sheet.columns).str.contains(pattern)))
                rows = ", ".join(map(str, hits["source_row"].to_list()[:5]))
                if rows:
                    found.append(f"{place}: in row {rows}" + (" and others" if hits.height > 5 else ""))
    found += [f"{path.name}: in its text" for path in _own_texts(workspace) if _says(path, said)]
    return [*found, *_in_notes(workspace, said)]


def _own_texts(workspace: Workspace) -> list[Path]:
    """Text files that are no logs, and workbooks of reports."""
    here = [path for path in sorted(workspace.root.iterdir()) if path.is_file()]
    reports = [path for path in sorted(workspace.reports.rglob("*")) if path.is_file()]
    return [path for path in [*here, *reports] if path.suffix.lower() in _TEXTS | {".xlsx"}]


def _says(path: Path, said: re.Pattern[str]) -> bool:
    try:
        if path.suffix.lower() == ".xlsx":
            with zipfile.ZipFile(path) as archive:
                names = [name for name in archive.namelist() if name.endswith(".xml")]
                return any(said.search(archive.read(name).decode("utf-8", "replace")) for name in names)
        return bool(said.search(path.read_text(encoding="utf-8", errors="replace")))
    except (OSError, zipfile.BadZipFile):
        return False


def _in_notes(workspace: Workspace, said: re.Pattern[str]) -> list[str]:
    """Words of the coach on other clients that name this one."""
    if not workspace.notes_db.exists():
        return []
    found = []
    with duckdb.connect(str(workspace.notes_db), read_only=True) as con:
        for table in CLIENT_TABLES:
            if table == "review":
                continue
            rows = con.execute(f"select client_id, body from {table}").fetchall()  # noqa: S608 our own tables
            found += [
                f"notes: a {table.replace('_', ' ')} on {owner}"
                for owner, body in rows
                if said.search(body or "")
            ]
    return found
