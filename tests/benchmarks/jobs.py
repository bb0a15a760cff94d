"""One job in a process of its own, so that its time and memory are its own."""

from __future__ import annotations

import datetime as dt
import json
import sys
import time
from pathlib import Path

LAST_SUNDAY = dt.date(2026, 6, 28)  # as in made_folder, which takes longer to import than some jobs run


def update(folder: Path) -> dict[str, object]:
    """The whole pipeline, as the command runs it."""
    from pipeline.update import update
    from pipeline.workspace import open_workspace

    result = update(open_workspace(folder), LAST_SUNDAY)
    return {"n_sets": result.n_sets, "n_questions": result.n_questions}


def floor(folder: Path) -> dict[str, object]:
    """DuckDB's least."""
    from tests.benchmarks.other_ways import floor_tables

    floor_tables(folder, folder / "floor.duckdb")
    return {}


def pandas(folder: Path) -> dict[str, object]:
    """The analyst's version."""
    from tests.benchmarks.other_ways import pandas_tables

    pandas_tables(folder, folder / "pandas")
    return {}


def one_model(folder: Path) -> dict[str, object]:
    """One table's model and what it reads, `exercise_session`, from the published sets."""
    import duckdb

    from pipeline.model.sql_models import read_models, run_models
    from pipeline.workspace import open_workspace

    sql = {model.name: model for model in read_models()}
    wanted, open_ones = set[str](), ["exercise_session"]
    while open_ones:
        name = open_ones.pop()
        if name in sql and name not in wanted:
            wanted.add(name)
            open_ones += sql[name].reads
    given = {read for name in wanted for read in sql[name].reads} - wanted
    started = time.perf_counter()
    with duckdb.connect() as con:
        con.execute(f"attach '{open_workspace(folder).published_history()}' as history (read_only)")
        for name in given:
            con.execute(f"create view {name} as select * from history.{name}")
        run_models(con, [sql[name] for name in wanted])
    return {"query_s": time.perf_counter() - started}


def pages(folder: Path) -> dict[str, object]:
    """What the roster page and one athlete's page ask the history."""
    from dashboards.athlete_history import AthleteHistory
    from dashboards.history import open_history, read_order, read_roster, read_weeks
    from pipeline.workspace import open_workspace

    history = open_history(open_workspace(folder).published_history())
    started = time.perf_counter()
    week = read_weeks(history)[-1]
    roster = read_roster(history, week)
    read_order(history, week)
    on_roster = time.perf_counter() - started
    started = time.perf_counter()
    athlete = AthleteHistory(history, str(roster["client_id"][0]), week)
    for ask in (
        athlete.client,
        athlete.verdict,
        athlete.states,
        athlete.lifts,
        athlete.strength_line,
        athlete.bests,
        athlete.muscle_weeks,
        athlete.adherence,
        athlete.load_weeks,
        athlete.sessions,
    ):
        ask()
    return {"roster_s": on_roster, "athlete_s": time.perf_counter() - started}


def command(folder: Path, *words: str) -> dict[str, object]:
    """A command of the command line."""
    import contextlib
    import io

    from pipeline.cli import main

    with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
        main([words[0], str(folder), *words[1:]])
    return {}


def review(folder: Path) -> dict[str, object]:
    """The roster in a terminal."""
    return command(folder, "review")


def report(folder: Path) -> dict[str, object]:
    """One client's monthly report."""
    month = (LAST_SUNDAY.replace(day=1) - dt.timedelta(days=1)).strftime("%Y-%m")
    return command(folder, "report", "--client", "client_00001", "--month", month)


JOBS = {job.__name__: job for job in (update, floor, pandas, one_model, pages, review, report)}

if __name__ == "__main__":
    sys.stderr.write(json.dumps(JOBS[sys.argv[1]](Path(sys.argv[2]))) + "\n")
