"""No hindsight, from the files on: an inbox cut at a Sunday gives that Sunday's row of the full run.

The whole update runs on both: reading, cleaning, models, states. What is cut are the files a coach would have
had that day: logs, check-ins and plan versions; and, the other way round, the full files with `--as-of`.
"""

from __future__ import annotations

import shutil
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.update import update
from pipeline.workspace import open_workspace
from tests.laboratory.files import write_workspace
from tests.laboratory.roster import FIRST_DAY, simulate

WEEKS = 26
SUNDAYS = (9, 16, 22)
KEYS = {
    "client_week": ("client_id", "week_start"),
    "lift_week": ("client_id", "exercise_id", "week_start"),
    "adherence_week": ("client_id", "week_start"),
}


def _sunday(week: int) -> date:
    return FIRST_DAY + timedelta(days=7 * week - 1)


def _tables(folder: Path, as_of: date) -> dict[str, pl.DataFrame]:
    update(open_workspace(folder), as_of)
    with open_workspace(folder).open_history() as con:
        return {name: con.table(name).pl().sort(keys) for name, keys in KEYS.items()}


def _add_moved_bodyweight(folder: Path) -> None:
    """Pull-ups with a belt, whose estimate leans on the dated bodyweight, and a row that is refused."""
    days = pl.read_csv(folder / "inbox" / "c0000" / "log.csv")["date"].unique().sort().to_list()
    same = {"exercise": "Pull-up", "unit": "kg", "rir": 1}
    rows = [
        {**same, "date": day, "set": i, "load": 5 + k // 8, "reps": 6 - i}
        for k, day in enumerate(days)
        for i in (1, 2)
    ]
    rows.append({**same, "date": days[9], "set": 3, "load": 5, "reps": 900})
    pl.DataFrame(rows).write_csv(folder / "inbox" / "c0000" / "pull-ups.csv")


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, pl.DataFrame]]:
    folder = tmp_path_factory.mktemp("whole") / "w"
    write_workspace(simulate("breakpoints", 4, seed=23, weeks=WEEKS), folder)
    _add_moved_bodyweight(folder)
    return folder, _tables(folder, _sunday(WEEKS))


def _cut_files(source: Path, target: Path, last: date) -> None:
    """Copy the workspace as it stood on `last`: rows dated later were not there yet."""
    for folder in ("plans", "check_ins"):
        (target / folder).mkdir(parents=True)
    for name in ("workspace.toml", "clients.csv"):
        (target / name).write_bytes((source / name).read_bytes())
    day = str(last)
    for log in sorted((source / "inbox").rglob("*.csv")):
        out = target / log.relative_to(source)
        out.parent.mkdir(parents=True, exist_ok=True)
        rows = pl.read_csv(log, infer_schema=False).filter(pl.col("date") <= day)
        if len(rows):
            rows.write_csv(out)
    plans = pl.read_csv(source / "plans" / "plans.csv", infer_schema=False)
    plans.filter(pl.col("valid_from") <= day).write_csv(target / "plans" / "plans.csv")
    answers = pl.read_csv(source / "check_ins" / "check_ins.csv", infer_schema=False)
    answers.filter(pl.col("date") <= day).write_csv(target / "check_ins" / "check_ins.csv")


def _same_until(cut: dict[str, pl.DataFrame], full: dict[str, pl.DataFrame], last: date) -> None:
    for name, keys in KEYS.items():
        known = full[name].filter(pl.col("week_start") <= last - timedelta(days=6))
        mine = cut[name].filter(pl.col("week_start") <= last - timedelta(days=6))
        assert mine["week_start"].max() == last - timedelta(days=6)
        assert_frame_equal(mine, known, abs_tol=2e-3, check_row_order=True)
        assert mine.select(keys).is_unique().all()


@pytest.mark.slow
@pytest.mark.parametrize("week", SUNDAYS)
def test_files_cut_at_a_sunday_give_that_sundays_row_of_the_full_run(
    whole: tuple[Path, dict[str, pl.DataFrame]], tmp_path: Path, week: int
) -> None:
    source, full = whole
    _cut_files(source, tmp_path / "w", _sunday(week))
    _same_until(_tables(tmp_path / "w", _sunday(week)), full, _sunday(week))


@pytest.mark.slow
def test_the_full_files_run_as_of_a_sunday_give_the_same(
    whole: tuple[Path, dict[str, pl.DataFrame]], tmp_path: Path
) -> None:
    source, full = whole
    for name in ("inbox", "plans", "check_ins"):
        shutil.copytree(source / name, tmp_path / "w" / name)
    for name in ("workspace.toml", "clients.csv"):
        shutil.copy(source / name, tmp_path / "w" / name)
    _same_until(_tables(tmp_path / "w", _sunday(16)), full, _sunday(16))
