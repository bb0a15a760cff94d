"""What the last run read, so that the next one does only what is new.

Kept beside the histories as JSON. A run that cannot trust it, because the program, the settings, the roster,
plans, check-ins, answers or the day have changed, reads everything again. Imports nothing heavy, because it
is asked before anything else is loaded.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.folder_files import FileStamp, code_hash, list_files, stamp_files
from pipeline.workspace import Workspace

_FORMAT = 1


@dataclass(frozen=True)
class InputFiles:
    """All files a run would read, by name below the workspace, with their stamps; `rest` is a hash of all but
    the inbox, the program and the day included."""

    stamps: dict[str, FileStamp]
    rest: str

    @property
    def inbox(self) -> dict[str, str]:
        """File of the inbox → hash of its bytes."""
        return {
            name.removeprefix("inbox/"): stamp.content_hash
            for name, stamp in self.stamps.items()
            if name.startswith("inbox/")
        }


@dataclass
class LastRun:
    """What a run leaves for the next.

    `clients`: file of the inbox → whose records it holds; `n_checked` and `n_failed`: file → sets that came
    to the gate, and rule → sets that broke it there; `history`: the published file, its size and time of
    change;
    `full_size`: its size when it was last built from nothing; `result`: what the run reported.
    """

    rest: str
    stamps: dict[str, FileStamp]
    history: tuple[str, int, int]
    full_size: int
    result: dict[str, Any]
    clients: dict[str, list[str]] = field(default_factory=dict)
    n_checked: dict[str, int] = field(default_factory=dict)
    n_failed: dict[str, dict[str, int]] = field(default_factory=dict)

    @property
    def inbox(self) -> dict[str, str]:
        """File of the inbox → hash of its bytes."""
        return InputFiles(self.stamps, "").inbox


def look_at_inputs(workspace: Workspace, as_of: date, last: LastRun | None) -> InputFiles:
    """The files as they are now; those that look unchanged since the last run are not read."""
    paths: dict[str, Path] = {}
    for area, folder in (
        ("inbox", workspace.inbox),
        ("plans", workspace.plans),
        ("check_ins", workspace.check_ins),
    ):
        for path in list_files(folder):
            paths[f"{area}/{_name(path, folder)}"] = path
    for path in (workspace.clients_csv, workspace.exercises_csv, workspace.answers_csv):
        paths[path.name] = path
    paths["workspace.toml"] = workspace.root / "workspace.toml"
    stamps = stamp_files(paths, last.stamps if last else {})
    digest = hashlib.sha256(f"{_FORMAT} {as_of.isoformat()} {code_hash()}".encode())
    for name in sorted(stamps):
        if not name.startswith("inbox/"):
            digest.update(f"\0{name}\0{stamps[name].content_hash}".encode("utf-8", "backslashreplace"))
    return InputFiles(stamps, digest.hexdigest())


def _name(path: Path, folder: Path) -> str:
    """As ingest names it: bytes that are no UTF-8 are spelled out, so that two names stay two."""
    return path.relative_to(folder).as_posix().encode("utf-8", "backslashreplace").decode("utf-8")


def read_last_run(workspace: Workspace) -> LastRun | None:
    """What the last run left; None where it left nothing, or the published history is not the one it made."""
    try:
        data = json.loads(_path(workspace).read_text(encoding="utf-8"))
        if data.pop("format") != _FORMAT:
            return None
        data["stamps"] = {name: FileStamp(*stamp) for name, stamp in data["stamps"].items()}
        data["history"] = tuple(data["history"])
        last = LastRun(**data)
        return last if last.history == history_stamp(workspace.history_db.resolve()) else None
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def keep_last_run(workspace: Workspace, last: LastRun) -> None:
    """Keep it, whole or not at all."""
    data = {
        **asdict(last),
        "stamps": {name: stamp.as_list() for name, stamp in last.stamps.items()},
        "format": _FORMAT,
    }
    path = _path(workspace)
    draft = path.with_suffix(".new")
    handle = os.open(draft, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump(data, file)
    draft.replace(path)


def history_stamp(path: Path) -> tuple[str, int, int]:
    """Name, size and time of change of a published file."""
    stat = path.stat()
    return path.name, stat.st_size, stat.st_mtime_ns


def _path(workspace: Workspace) -> Path:
    return workspace.store / "last_run.json"
