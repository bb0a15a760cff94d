"""An update whose models run on Spark publishes what one on DuckDB publishes, row by row."""

from __future__ import annotations

import shutil
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
    update(open_workspace(other), AS_OF, spark=SETTINGS)
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


def test_nothing_is_left_of_the_run_but_the_history(both: tuple[Path, Path]) -> None:
    assert not list((both[1] / ".setwright" / "spark").glob("*"))
