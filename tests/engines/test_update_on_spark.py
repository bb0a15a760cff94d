"""An update whose models run on Spark publishes what one on DuckDB publishes, row by row."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.commands.demo import DEMO_DATA
from pipeline.update import update
from pipeline.workspace import open_workspace
from tests.engines.conftest import SETTINGS

pytestmark = pytest.mark.slow
AS_OF = date(2026, 6, 28)


def tables(root: Path) -> dict[str, pl.DataFrame]:
    with duckdb.connect(str(open_workspace(root).published_history()), read_only=True) as con:
        names = [name for (name,) in con.execute("select table_name from duckdb_tables()").fetchall()]
        return {name: con.table(name).pl() for name in names}


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory, spark: Any) -> tuple[Path, Path]:
    """The demo's folder, read and computed by each engine."""
    one = tmp_path_factory.mktemp("engines") / "duckdb"
    shutil.copytree(DEMO_DATA, one)
    update(open_workspace(one), AS_OF)
    other = one.with_name("on [spark] 100% 'elsewhere'")
    shutil.copytree(DEMO_DATA, other)
    # a file system that is not this machine's, as far as the pipeline can see
    spark.sparkContext._jsc.hadoopConfiguration().set(
        "fs.viewfs.mounttable.far.link./setwright", f"file://{one.with_name('kept')}"
    )
    far = replace(SETTINGS, output="viewfs://far/setwright", keep=True)
    update(open_workspace(other), AS_OF, spark=far)
    return one, other


def test_every_table_has_the_same_rows(both: tuple[Path, Path]) -> None:
    expected, found = tables(both[0]), tables(both[1])
    assert set(found) == set(expected)
    filled = {name for name, table in expected.items() if table.height}
    assert {"planned_exercise", "client_week", "block_review", "next_target", "roster_review"} <= filled
    for name, table in expected.items():
        keys = [c for c in table.columns if table.schema[c] != pl.Float64]
        order = [*keys, *(c for c in table.columns if c not in keys)]
        try:
            assert_frame_equal(
                found[name].select(order).sort(order),
                table.select(order).sort(order),
                rel_tol=1e-9,
                abs_tol=1e-12,
            )
        except AssertionError as err:
            raise AssertionError(f"{name}: {err}") from err


def test_every_table_is_kept_as_parquet_where_that_is_asked(both: tuple[Path, Path]) -> None:
    [run] = (both[1].parent / "kept").iterdir()
    expected = tables(both[1])
    for name in ("logged_set", "rejected_row", "client_week", "planned_exercise", "volume_response"):
        [folder] = run.glob(f"*/{name}")
        files = [str(path) for path in folder.rglob("*.parquet")]
        assert duckdb.read_parquet(files).shape[0] == expected[name].height, name
    groups = [path.name for path in (run / "records" / "logged_set").iterdir()]
    assert sorted(groups) == ["client_group=0", "client_group=1"]


def test_nothing_of_a_run_is_left_in_the_workspace_but_the_history(both: tuple[Path, Path]) -> None:
    assert not list((both[1] / ".setwright" / "spark").glob("*"))


def test_the_next_update_goes_on_from_it_on_any_engine(both: tuple[Path, Path]) -> None:
    first = open_workspace(both[1]).published_history()
    assert update(open_workspace(both[1]), AS_OF).published == first
