"""Put a finished database in the place of the published one.

The history is built under a name of its own below `.setwright/history/`; then `history.duckdb`, a link, is
turned to it in one step. Readers that hold the old one keep it; it is removed on the next run. A run that dies
before the turn leaves the old history as it was.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pipeline.workspace import Workspace

_KEPT = 2


@contextmanager
def building(workspace: Workspace) -> Iterator[Path]:
    """A path for the new history; whatever stands there when the block fails is removed."""
    folder = workspace.store / "history"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    for leftover in folder.glob("building-*"):
        _remove(leftover)
    path = folder / f"building-{os.getpid()}.duckdb"
    try:
        yield path
    finally:
        for leftover in folder.glob(f"{path.name}*"):
            _remove(leftover)


def _remove(leftover: Path) -> None:
    """A file of an unfinished history, or the folder it spilled into."""
    if leftover.is_dir() and not leftover.is_symlink():
        shutil.rmtree(leftover)
    else:
        leftover.unlink(missing_ok=True)


def replace_history(workspace: Workspace, built: Path) -> Path:
    """Publish `built`; the path of the published file. Older histories but the last are removed."""
    folder = built.parent
    numbers = [
        int(p.stem.split("-")[1]) for p in folder.glob("history-*.duckdb") if p.stem.split("-")[1].isdigit()
    ]
    target = folder / f"history-{max(numbers, default=0) + 1:06d}.duckdb"
    built.chmod(0o600)
    with built.open("rb+") as handle:
        os.fsync(handle.fileno())
    built.rename(target)
    _keep_entries(folder)
    if workspace.history_db.exists() and not workspace.history_db.is_symlink():
        workspace.history_db.rename(folder / "history-000000.duckdb")
    link_history(workspace, target)
    for old in sorted(folder.glob("history-*.duckdb"))[:-_KEPT]:
        old.unlink()
    return target


def link_history(workspace: Workspace, target: Path) -> None:
    """Turn `history.duckdb` to a history in the store, in one step."""
    link = workspace.store / "history.duckdb.new"
    link.unlink(missing_ok=True)
    link.symlink_to(os.path.relpath(target, workspace.root))
    link.replace(workspace.history_db)
    _keep_entries(workspace.root)


def _keep_entries(folder: Path) -> None:
    """Have the names in a folder survive a loss of power, as `fsync` does for what is in a file."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
