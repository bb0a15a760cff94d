"""Walk a folder of the workspace and read each file once: hash, kind, refusal or sheets."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path

from pipeline.contract.sheets import Refusal, SourceFile
from pipeline.ingest.file_kind import WORKBOOK_NAMES, kind_of, refusal_for_kind
from pipeline.ingest.text_files import read_text_file
from pipeline.ingest.workbooks import read_workbook

MOST_BYTES = 4 * 1024**3
_DEEPEST = 40
_NOT_LOGS = {".ds_store", "thumbs.db", "desktop.ini"}


def list_files(folder: Path) -> Iterator[Path]:
    """Files below `folder` in the order of their paths; hidden files and a program's lock files left out."""
    if not folder.is_dir():
        return
    for root, folders, names in os.walk(folder, followlinks=False):
        depth = len(Path(root).relative_to(folder).parts)
        folders[:] = sorted(f for f in folders if not f.startswith(".")) if depth < _DEEPEST else []
        for name in sorted(names):
            if not name.startswith((".", "~$")) and name.lower() not in _NOT_LOGS:
                yield Path(root) / name


def read_folder(
    folder: Path, area: str, on_file: Callable[[str], None] = lambda name: None
) -> Iterator[SourceFile]:
    """Every file of a folder as a `SourceFile`, in the order of their paths below it."""
    paths = sorted(list_files(folder), key=lambda p: p.relative_to(folder).as_posix())
    for path in paths:
        name = path.relative_to(folder).as_posix()
        on_file(name)
        yield read_file(path, folder, area)


def read_file(path: Path, folder: Path, area: str) -> SourceFile:
    """One file; a problem of any kind becomes a refusal with its reason, never an exception."""
    name = path.relative_to(folder).as_posix()
    safe_name = name.encode("utf-8", "replace").decode("utf-8")
    if path.is_symlink() and not path.resolve().is_relative_to(folder.resolve()):
        return _refused(
            area,
            safe_name,
            "",
            Refusal(
                "file_outside_inbox",
                "The file is a link to somewhere outside the folder.",
                "Put a copy of the file itself into the inbox.",
            ),
        )
    try:
        if path.stat().st_size > MOST_BYTES:
            return _refused(
                area,
                safe_name,
                "",
                Refusal(
                    "file_too_large", f"The file is larger than {MOST_BYTES // 1024**3} GB.", "Split it."
                ),
            )
        data = path.read_bytes()
    except OSError as err:
        return _refused(
            area,
            safe_name,
            "",
            Refusal(
                "file_unreadable",
                f"The file could not be opened: {err.strerror or 'unknown reason'}.",
                "Check its permissions and run the update again.",
            ),
        )
    digest = hashlib.sha256(data).hexdigest()
    kind = kind_of(data)
    refusal = refusal_for_kind(path.suffix.lower(), kind)
    if refusal is not None:
        return _refused(area, safe_name, digest, refusal)
    if path.suffix.lower() in WORKBOOK_NAMES:
        return read_workbook(data, area, safe_name, digest)
    return read_text_file(data, area, safe_name, digest)


def _refused(area: str, name: str, digest: str, refusal: Refusal) -> SourceFile:
    return SourceFile(area, name, digest, refusal=refusal)
