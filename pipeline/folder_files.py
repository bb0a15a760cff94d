"""The files of a workspace: which there are, and what their contents were when they were last looked at."""

from __future__ import annotations

import hashlib
import os
import stat
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

DEEPEST = 40
_NOT_LOGS = {".ds_store", "thumbs.db", "desktop.ini"}
_SETTLED_NS = (
    2_000_000_000  # a file changed this short a time ago may change again within one tick of its clock
)


def list_files(folder: Path) -> Iterator[Path]:
    """Files below `folder`; hidden files and a program's lock files left out.

    A folder that is a link, lies deeper than `DEEPEST` or may not be opened is listed itself, to be refused.
    """
    if not folder.is_dir():
        return
    closed: list[Path] = []
    for root, folders, names in os.walk(
        folder, onerror=lambda err: closed.append(Path(str(err.filename))), followlinks=False
    ):
        here = Path(root)
        yield from closed
        closed.clear()
        deeper = sorted(name for name in folders if not name.startswith("."))
        is_deepest = len(here.relative_to(folder).parts) >= DEEPEST
        yield from (here / name for name in deeper if is_deepest or (here / name).is_symlink())
        folders[:] = [] if is_deepest else deeper
        for name in sorted(names):
            if not name.startswith((".", "~$")) and name.lower() not in _NOT_LOGS:
                yield here / name
    yield from closed


@dataclass(frozen=True)
class FileStamp:
    """What tells that a file is still the same without reading it, and the hash of its bytes."""

    size: int
    modified_ns: int
    changed_ns: int
    inode: int
    seen_ns: int
    content_hash: str

    @property
    def looks(self) -> tuple[int, int, int, int]:
        """What is compared without reading the file."""
        return self.size, self.modified_ns, self.changed_ns, self.inode

    @property
    def is_readable(self) -> bool:
        """False where the hash is the reason why there is none."""
        return ":" not in self.content_hash

    def as_list(self) -> list[int | str]:
        """For JSON."""
        return [self.size, self.modified_ns, self.changed_ns, self.inode, self.seen_ns, self.content_hash]


def stamp_file(path: Path, before: FileStamp | None = None) -> FileStamp:
    """The stamp of a file, read only where size, times or inode differ from those of `before`, or where it
    had been changed right before it was looked at. A file that cannot be read has the reason for its hash."""
    now = time.time_ns()
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            return FileStamp(0, 0, 0, found.st_ino, now, f"no file: {stat.S_IFMT(found.st_mode):o}")
        looks = (found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino)
        if before is not None and looks == before.looks and before.seen_ns - before.changed_ns > _SETTLED_NS:
            return before
        # never waits for a pipe that took the file's place
        with os.fdopen(os.open(path, os.O_RDONLY | os.O_NONBLOCK), "rb") as handle:
            digest = hashlib.file_digest(handle, "sha256").hexdigest()
    except (OSError, RuntimeError) as err:  # a ring of links is a RuntimeError
        # without the path: a folder that has moved is the same folder
        return FileStamp(
            0, 0, 0, 0, now, f"unreadable: {getattr(err, 'strerror', None) or type(err).__name__}"
        )
    return FileStamp(*looks, now, digest)


def stamp_files(paths: Mapping[str, Path], before: Mapping[str, FileStamp]) -> dict[str, FileStamp]:
    """The stamps of many files by name."""
    return {name: stamp_file(path, before.get(name)) for name, path in paths.items()}


def code_hash() -> str:
    """A hash of all that decides what comes of the files: the program's own code, queries and word lists."""
    root = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256()
    for folder in (root / "pipeline", root / "sql"):
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".py", ".sql", ".csv", ".toml"):
                digest.update(str(path.relative_to(root)).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()
