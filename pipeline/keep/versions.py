"""Brings the folder of an older version up to date: copied before, step by step, one version at a time.

The steps touch what setwright wrote (its own folder, notes, reports) and never the logs, plans and check-ins.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from pathlib import Path

from pipeline.keep.backup import OWN_WORK, write_backup
from pipeline.workspace import VERSION, Workspace, layout_version


def close_to_others(workspace: Workspace) -> None:
    """Version 2: what setwright writes can be read by its owner alone."""
    ours = [workspace.store, workspace.reports, workspace.backups]
    for folder in ours:
        for path in [folder, *folder.rglob("*")] if folder.is_dir() else []:
            if not path.is_symlink():
                path.chmod(0o700 if path.is_dir() else 0o600)
    for path in (workspace.notes_db, *workspace.root.glob("notes.version-*.duckdb"), workspace.answers_csv):
        if path.is_file() and not path.is_symlink():
            path.chmod(0o600)


STEPS: dict[int, Callable[[Workspace], None]] = {2: close_to_others}
"""What takes a workspace to each version from the one before; every step may be taken twice."""


def bring_up_to_date(workspace: Workspace) -> Path | None:
    """Take the steps an older workspace lacks; the backup made before, None where nothing was to be done.

    Call it with the workspace locked. A run that dies on the way is taken up again by the next one.
    """
    found = layout_version(workspace.root)
    stamp = workspace.store / "version"
    if found == VERSION:
        if not stamp.exists():
            write_version(workspace, VERSION)
        return None
    now = dt.datetime.now(dt.UTC)
    copy = workspace.backups / f"before version {VERSION} {now:%Y-%m-%d %H%M%S %f}.zip"
    write_backup(workspace, copy, now, left_out=OWN_WORK)
    for version in range(found + 1, VERSION + 1):
        STEPS[version](workspace)
        write_version(workspace, version)
    return copy


def write_version(workspace: Workspace, version: int) -> None:
    """Say which version the folder has, whole or not at all."""
    workspace.store.mkdir(mode=0o700, exist_ok=True)
    draft = workspace.store / "version.new"
    with draft.open("w", encoding="ascii") as handle:
        handle.write(f"{version}\n")
        handle.flush()
        os.fsync(handle.fileno())
    draft.chmod(0o600)
    draft.replace(workspace.store / "version")
