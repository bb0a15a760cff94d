"""A workspace as one file: written whole, read back and compared before it counts; restored whole or not at all.

A zip archive that any program opens: the files under their own names, and `manifest.json` with size and SHA-256
of each. What is left out: our own folder but the published history (it is rebuilt), older backups, links, and
the secret of the sign-in.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
import shutil
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any
from urllib.parse import quote

import pipeline
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.notes import NotesStore
from pipeline.workspace import VERSION, Workspace, layout_version, open_workspace

FORMAT = 1
MANIFEST = "manifest.json"
OWN_WORK = ("inbox", "plans", "check_ins")
"""Folders that no step to a newer version writes to."""
_CHUNK = 1024 * 1024
_MOST_MANIFEST_BYTES = 256 * 1024**2


@dataclass(frozen=True)
class Part:
    """One file of a backup: its path in the workspace, its name in the archive, size and hash."""

    path: str
    entry: str
    n_bytes: int
    sha256: str
    modified_at: float


@dataclass(frozen=True)
class Backup:
    """What a backup holds. `history` is the path of the published history among the parts, if any."""

    file: Path
    made_at: str
    layout: int
    history: str
    parts: tuple[Part, ...]
    folders: tuple[str, ...]
    left_out: tuple[str, ...]

    @property
    def n_bytes(self) -> int:
        """Bytes of all files, unpacked."""
        return sum(part.n_bytes for part in self.parts)


def write_backup(workspace: Workspace, out: Path, now: dt.datetime, left_out: tuple[str, ...] = ()) -> Backup:
    """Write a backup to `out` and read it back; SetwrightError where that fails or `out` exists.

    Call it with the workspace locked, so that no update runs meanwhile. `left_out`: folders to leave out.
    """
    if out.exists():
        raise SetwrightError(f"{out} exists.", "Name another file; a backup never replaces one.")
    draft = out.with_name(f".{out.name}.new")
    try:
        out.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        _write_archive(
            workspace, draft, now, {draft.resolve(), *(workspace.root / name for name in left_out)}
        )
        check_backup(draft)
        draft.replace(out)
    except OSError as err:
        raise SetwrightError(f"{out} cannot be written: {err.strerror or err}.", "Nothing was kept.") from err
    finally:
        draft.unlink(missing_ok=True)
    return read_manifest(out)


def _write_archive(workspace: Workspace, draft: Path, now: dt.datetime, left_out: set[Path]) -> None:
    history = workspace.history_db.resolve() if workspace.history_db.exists() else None
    parts, folders, missed = [], [], []
    with ExitStack() as stack:
        handle = stack.enter_context(
            os.fdopen(os.open(draft, os.O_CREAT | os.O_RDWR | os.O_TRUNC, 0o600), "w+b")
        )
        stack.enter_context(NotesStore(workspace.notes_db).held_still())
        with zipfile.ZipFile(handle, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:
            for path in _paths(workspace, left_out):
                name = path.relative_to(workspace.root).as_posix()
                if path.is_symlink() or not (path.is_file() or path.is_dir()):
                    if path != workspace.history_db:
                        missed.append(f"{name}: a link or no file")
                elif path.is_dir():
                    folders.append(name)
                else:
                    try:
                        parts.append(_add(archive, path, name))
                    except OSError as err:
                        missed.append(f"{name}: {err.strerror}")
            in_store = history is not None and history.is_relative_to(workspace.store)
            if history is not None and in_store:
                parts.append(_add(archive, history, history.relative_to(workspace.root).as_posix()))
            manifest = {
                "format": FORMAT,
                "made_at": now.astimezone(dt.UTC).isoformat(timespec="seconds"),
                "layout": layout_version(workspace.root),
                "program": pipeline.__version__,
                "history": parts[-1].path if in_store else "",
                "parts": [vars(part) for part in parts],
                "folders": folders,
                "left_out": missed,
            }
            archive.writestr(MANIFEST, json.dumps(manifest, indent=1))
        handle.flush()
        os.fsync(handle.fileno())


def _paths(workspace: Workspace, left_out: set[Path]) -> Iterator[Path]:
    """Everything in the workspace that is not ours to rebuild, folders before what is in them."""
    ours = {workspace.store, workspace.backups, *left_out}
    for root, folders, names in os.walk(workspace.root, followlinks=False):
        here = Path(root)
        folders[:] = sorted(name for name in folders if here / name not in ours)
        yield from (here / name for name in folders)
        yield from (here / name for name in sorted(names) if (here / name).absolute() not in ours)


def _add(archive: zipfile.ZipFile, path: Path, name: str) -> Part:
    """Copy one file into the archive while its hash is taken."""
    entry = name if name.isprintable() and _is_utf8(name) and name != MANIFEST else quote(os.fsencode(name))
    status = path.stat()
    day = dt.datetime.fromtimestamp(max(status.st_mtime, 0), dt.UTC).timetuple()[:6]
    info = zipfile.ZipInfo(entry, day if 1980 <= day[0] <= 2107 else (1980, 1, 1, 0, 0, 0))
    info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
    digest, n_bytes = hashlib.sha256(), 0
    with path.open("rb") as source, archive.open(info, "w", force_zip64=True) as target:
        while chunk := source.read(_CHUNK):
            digest.update(chunk)
            n_bytes += target.write(chunk)
    return Part(name, entry, n_bytes, digest.hexdigest(), status.st_mtime)


def _is_utf8(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def read_manifest(file: Path) -> Backup:
    """What a backup says it holds; SetwrightError where it is no backup of ours or of a newer version."""
    try:
        with zipfile.ZipFile(file) as archive:
            if archive.getinfo(MANIFEST).file_size > _MOST_MANIFEST_BYTES:
                raise SetwrightError(f"{file} is no backup of setwright.")
            raw: dict[str, Any] = json.loads(archive.read(MANIFEST))
            backup = Backup(
                file,
                str(raw["made_at"]),
                int(raw["layout"]),
                str(raw["history"]),
                tuple(Part(**part) for part in raw["parts"]),
                tuple(map(str, raw["folders"])),
                tuple(map(str, raw["left_out"])),
            )
    except FileNotFoundError as err:
        raise SetwrightError(f"There is no file {file}.") from err
    except OSError as err:
        raise SetwrightError(f"{file} cannot be read: {err.strerror}.") from err
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, EOFError, NotImplementedError) as err:
        raise SetwrightError(f"{file} is no whole backup of setwright.", "Use another copy.") from err
    if int(raw.get("format", 0)) > FORMAT or backup.layout > VERSION:
        raise SetwrightError(f"{file} was written by a newer setwright.", "Install the newer version.")
    for name in [*(part.path for part in backup.parts), *backup.folders, backup.history]:
        if PurePosixPath(name).is_absolute() or ".." in PurePosixPath(name).parts or "\0" in name:
            raise SetwrightError(f"{file} names a file outside the workspace.", "Do not use it.")
    return backup


def check_backup(file: Path) -> Backup:
    """The backup, once every file in it was read and its hash found right; SetwrightError otherwise."""
    backup = read_manifest(file)
    for part, chunks in _read_parts(backup):
        digest = hashlib.sha256()
        for chunk in chunks:
            digest.update(chunk)
        if digest.hexdigest() != part.sha256:
            raise SetwrightError(f"{file} is damaged at {part.path}.", "Use another copy.")
    return backup


def _read_parts(backup: Backup) -> Iterator[tuple[Part, Iterator[bytes]]]:
    try:
        with zipfile.ZipFile(backup.file) as archive:
            for part in backup.parts:
                if archive.getinfo(part.entry).file_size != part.n_bytes:
                    raise SetwrightError(f"{backup.file} is damaged at {part.path}.", "Use another copy.")
                with archive.open(part.entry) as handle:
                    yield part, _chunks(handle, part, backup.file)
    except (zipfile.BadZipFile, KeyError, EOFError, ValueError, NotImplementedError) as err:
        raise SetwrightError(f"{backup.file} is damaged.", "Use another copy.") from err
    except OSError as err:
        raise SetwrightError(
            f"{backup.file} cannot be read: {err.strerror or err}.", "Use another copy."
        ) from err


def _chunks(handle: IO[bytes], part: Part, file: Path) -> Iterator[bytes]:
    """What an entry holds, never more than it said: an archive may be made to unpack without end."""
    left = part.n_bytes
    try:
        while left >= 0 and (chunk := handle.read(min(_CHUNK, left + 1))):
            left -= len(chunk)
            yield chunk
    except (zipfile.BadZipFile, zlib.error, EOFError) as err:
        raise SetwrightError(f"{file} is damaged at {part.path}.", "Use another copy.") from err


def restore_backup(file: Path, target: Path) -> tuple[Backup, Workspace]:
    """Unpack a backup into `target`, which must not exist or be empty; whole or not at all.

    Every file is compared with its hash as it is written; SetwrightError otherwise, and nothing stays behind.
    """
    backup = read_manifest(file)
    if target.is_symlink() or (target.exists() and (not target.is_dir() or any(target.iterdir()))):
        raise WorkspaceError(
            f"{target} is not empty.", "Restore into a new folder, look at it, then move it into place."
        )
    target = target.absolute()
    draft = target.with_name(f".{target.name}.restoring")
    shutil.rmtree(draft, ignore_errors=True)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        free = shutil.disk_usage(target.parent).free
        if free < backup.n_bytes:
            raise SetwrightError(f"The disk has too little room: {backup.n_bytes / 1e6:,.0f} MB are needed.")
        draft.mkdir(mode=0o700)
        _unpack(backup, draft)
        if target.exists():
            target.rmdir()
        draft.rename(target)
    except OSError as err:
        raise SetwrightError(
            f"{target} cannot be written: {err.strerror or err}.", "Nothing was restored."
        ) from err
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return backup, open_workspace(target)


def _unpack(backup: Backup, draft: Path) -> None:
    for name in backup.folders:
        _make_folder(draft / name)
    for part, chunks in _read_parts(backup):
        path = draft / part.path
        _make_folder(path.parent)
        digest = hashlib.sha256()
        with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as handle:
            for chunk in chunks:
                digest.update(chunk)
                handle.write(chunk)
            handle.flush()
            os.fsync(handle.fileno())
        if digest.hexdigest() != part.sha256:
            raise SetwrightError(f"{backup.file} is damaged at {part.path}.", "Use another copy.")
        os.utime(path, (part.modified_at, part.modified_at))
    if backup.history:
        (draft / "history.duckdb").symlink_to(backup.history)
    store = draft / ".setwright"
    store.mkdir(mode=0o700, exist_ok=True)
    (store / "version").write_text(f"{backup.layout}\n", encoding="ascii")
    (store / "version").chmod(0o600)


def _make_folder(path: Path) -> None:
    """Make a folder and those above it, for their owner alone (`mkdir` leaves those above open)."""
    for folder in [*reversed(path.parents), path]:
        if not folder.exists():
            folder.mkdir(mode=0o700)
