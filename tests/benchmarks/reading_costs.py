"""`python -m tests.benchmarks.reading_costs WORKSPACE`: what reading an inbox costs, without models and publishing.

Files become record tables as in an update, written to a history of its own that is thrown away. Processor seconds
of this process; the process of great-expectations comes on top where verdicts are not known yet.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

from pipeline.contract.records import LOGGED_SET
from pipeline.folder_files import list_files
from pipeline.ingest.read_files import shown_name
from pipeline.model import history_tables
from pipeline.run.inbox import InboxRun, InboxState
from pipeline.run.inputs import read_inputs
from pipeline.validate.judge import Judge
from pipeline.workspace import open_workspace
from tests.benchmarks.made_folder import LAST_SUNDAY


def main(folder: Path) -> None:
    """Read it once and say what it cost."""
    workspace = open_workspace(folder)
    with tempfile.TemporaryDirectory() as own, Judge(LOGGED_SET, workspace.store / "verdicts") as judge:
        started = time.process_time()
        inputs = read_inputs(workspace, LAST_SUNDAY)
        files = {shown_name(path, workspace.inbox): path for path in list_files(workspace.inbox)}
        with history_tables.open_history_tables(Path(own) / "records.duckdb") as con:
            history_tables.make_tables(con)
            run = InboxRun(
                con,
                workspace.inbox,
                files,
                inputs,
                judge,
                LAST_SUNDAY,
                InboxState(),
                lambda _stage, _what: None,
            )
            run.read(set(files), set())
            n_sets = con.execute("select count(*) from out.logged_set").fetchall()[0][0]
        seconds = time.process_time() - started
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(
        f"{len(files):,} files, {n_sets:,} sets: {seconds:.1f} s, {1e6 * seconds / max(n_sets, 1):.1f} µs a set, "
        f"{1e3 * seconds / max(len(files), 1):.2f} ms a file, peak {peak_mb:.0f} MB\n"
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
