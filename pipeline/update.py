"""One run of the pipeline on a workspace: a look whether anything is new, and if so, a new history."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from pipeline.errors import WorkspaceError
from pipeline.run.last_run import (
    InputFiles,
    LastRun,
    keep_last_run,
    look_at_inputs,
    read_last_run,
)
from pipeline.run.result import RULES_VERSION, UpdateResult
from pipeline.spark_settings import SparkSettings
from pipeline.workspace import Workspace

Progress = Callable[[str, str], None]

__all__ = ["RULES_VERSION", "Progress", "UpdateResult", "update"]


def _in_silence(_stage: str, _what: str) -> None:
    """Progress nobody looks at."""


def update(
    workspace: Workspace,
    as_of: date,
    progress: Progress = _in_silence,
    spark: SparkSettings | None = None,
) -> UpdateResult:
    """Read what is new, publish a new history. PublishRefused where something does not add up; the last
    published history then stays as it was, and where nothing at all is new it does too.

    With `spark` the models run there; the tables are the same."""
    from pipeline.keep.versions import bring_up_to_date

    with workspace.lock():
        bring_up_to_date(workspace)
        last = read_last_run(workspace)
        now = look_at_inputs(workspace, as_of, last)
        if last is not None and _is_up_to_date(workspace, now, last):
            keep_last_run(workspace, LastRun(**{**vars(last), "stamps": now.stamps}))
            return UpdateResult(**{**last.result, "as_of": as_of}, published=workspace.published_history())
        from pipeline.run.build_history import build_history

        return build_history(workspace, as_of, now, last, progress, spark)


def _is_up_to_date(workspace: Workspace, now: InputFiles, last: LastRun) -> bool:
    """True where every file is the one the published history was made of, and that history is whole."""
    if last.rest != now.rest or last.inbox != now.inbox:
        return False
    if not (workspace.reports / "what came in.html").exists():
        return False
    try:
        with workspace.open_history() as con:
            found = con.execute("select n_sets from pipeline_run").fetchall()
    except WorkspaceError:
        return False
    return found == [(last.result["n_sets"],)]
