"""Walk a folder of the workspace and read each file once: hash, kind, refusal or sheets.

Nothing in the folder is passed over in silence but hidden files: what cannot be a log, lies too deep, leads
elsewhere or is still being written is refused by name.
"""

from __future__ import annotations

import hashlib
import os
import stat
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from pipeline.contract.sheets import Refusal, SourceFile
from pipeline.folder_files import DEEPEST, list_files
from pipeline.ingest.file_kind import WORKBOOK_NAMES, kind_of, refusal_for_kind
from pipeline.ingest.text_files import read_text_file
from pipeline.ingest.workbooks import read_workbook

MOST_BYTES = 1024**3
_SECOND_LOOK_S = 0.2


def read_folder(
    folder: Path, area: str, on_file: Callable[[str], None] = lambda name: None
) -> Iterator[SourceFile]:
    """Every file of a folder as a `SourceFile`, in the order of their paths below it."""
    paths = sorted(list_files(folder), key=lambda p: p.relative_to(folder).as_posix())
    for path in paths:
        on_file(shown_name(path, folder))
        yield read_file(path, folder, area)


def shown_name(path: Path, folder: Path) -> str:
    """The path below a folder as text; bytes that are no UTF-8 are spelled out, so that two names stay two."""
    return path.relative_to(folder).as_posix().encode("utf-8", "backslashreplace").decode("utf-8")


def read_file(path: Path, folder: Path, area: str) -> SourceFile:
    """One file; a problem of any kind becomes a refusal with its reason, never an exception."""
    name = shown_name(path, folder)
    try:
        refusal = _refusal_of_place(path, folder)
        data: bytes | Refusal = b"" if refusal is not None else _read_whole(path)
    except (OSError, RuntimeError) as err:  # a ring of links is a RuntimeError
        refusal = Refusal(
            "file_unreadable",
            f"The file could not be opened: {getattr(err, 'strerror', None) or 'unknown reason'}.",
            "Check its permissions and run the update again.",
        )
        data = b""
    if isinstance(data, Refusal):
        refusal, data = data, b""
    if refusal is not None:
        return SourceFile(area, name, "", refusal=refusal)
    return read_bytes(data, area, name)


def read_bytes(data: bytes, area: str, name: str) -> SourceFile:
    """What a file holds, by its bytes and its name."""
    digest = hashlib.sha256(data).hexdigest()
    suffix = Path(name).suffix.lower()
    refusal = refusal_for_kind(suffix, kind_of(data))
    if refusal is not None:
        return SourceFile(area, name, digest, refusal=refusal)
    if suffix in WORKBOOK_NAMES:
        return read_workbook(data, area, name, digest)
    return read_text_file(data, area, name, digest)


def _refusal_of_place(path: Path, folder: Path) -> Refusal | None:
    """Why what stands at a path is not opened: it leads out, lies too deep, or is no file."""
    if path.is_symlink() and not path.resolve().is_relative_to(folder.resolve()):
        return Refusal(
            "file_outside_inbox",
            "The file is a link to somewhere outside the folder.",
            "Put a copy of the file itself into the inbox.",
        )
    if path.is_symlink() and path.is_dir():
        return Refusal(
            "folder_is_link",
            "The folder is a link; what it leads to is not read from here.",
            "Put the files themselves into the folder.",
        )
    if path.is_dir() and len(path.relative_to(folder).parts) > DEEPEST:
        return Refusal(
            "folder_too_deep",
            f"The folder lies more than {DEEPEST} folders deep; what is in it was not read.",
            "Move its files further up.",
        )
    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        return Refusal("file_unreadable", "The folder could not be opened.", "Check its permissions.")
    if not stat.S_ISREG(status.st_mode):
        return Refusal("file_no_file", "It is no file but a pipe, socket or device.", "Remove it.")
    if status.st_size > MOST_BYTES:
        return Refusal("file_too_large", f"The file is larger than {MOST_BYTES // 1024**3} GB.", "Split it.")
    return None


def _read_whole(path: Path) -> bytes | Refusal:
    """The bytes of a file that stayed the same while it was read, at the second look if not at the first."""
    for _ in range(2):
        # never waits for a pipe that took the file's place
        with os.fdopen(os.open(path, os.O_RDONLY | os.O_NONBLOCK), "rb") as handle:
            before = os.fstat(handle.fileno())
            if not stat.S_ISREG(before.st_mode):
                break
            data = handle.read(MOST_BYTES + 1)
            after = os.fstat(handle.fileno())
        if (before.st_size, before.st_mtime_ns) == (after.st_size, after.st_mtime_ns) and len(
            data
        ) == after.st_size:
            return data
        time.sleep(_SECOND_LOOK_S)
    return Refusal(
        "file_changing",
        "The file was being written while it was read.",
        "Run the update again once it has been copied.",
    )
