"""Tables go to Parquet and come back as they were, whatever the folder is called."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest

from pipeline.contract import TABLES
from pipeline.model import history_tables
from pipeline.run.spark.parquet_tables import ParquetTables, client_groups

pytestmark = pytest.mark.slow


@pytest.fixture(params=["here", "far"])
def written(
    spark: Any, tmp_path: Path, request: pytest.FixtureRequest
) -> Iterator[tuple[ParquetTables, duckdb.DuckDBPyConnection, Path]]:
    """Sets of two clients and of none, an empty table, and the catalogue, in a folder with an awkward name; or
    in a file system that, as far as the pipeline can see, is not this machine's."""
    folder = tmp_path / "on [spark] 100% {of} 'it' *"
    root = f"file://{folder}"
    if request.param == "far":
        root = f"viewfs://{tmp_path.name}/there/run"
        mounted = f"fs.viewfs.mounttable.{tmp_path.name}.link./there"
        spark.sparkContext._jsc.hadoopConfiguration().set(mounted, f"file://{tmp_path / 'far'}")
    tables = ParquetTables(spark, root, folder)
    with history_tables.open_history_tables(tmp_path / "history.duckdb") as con:
        history_tables.make_tables(con)
        rows = [(None, "nobody.csv"), ("c1", "a.csv"), ("c1", "b.csv"), ("c2", "c [1].csv")]
        frame = pl.DataFrame(rows, orient="row", schema={"client_id": pl.String, "source_file": pl.String})
        history_tables.append(con, "logged_set", frame.with_columns(session_date=date(2024, 2, 29), reps=5))
        history_tables.append(con, "exercise", pl.DataFrame({"exercise_id": ["squat"]}))
        groups = client_groups([("c1", 2), ("c2", 1)], 1000, at_least=2)
        tables.write_records(con, ["logged_set", "check_in", "exercise"], groups)
        yield tables, con, tmp_path / "far" / "run" if request.param == "far" else folder


def test_models_see_what_is_someones(spark: Any, written: Any) -> None:
    seen = spark.sql("select client_id, source_file, session_date, reps from logged_set order by source_file")
    assert [tuple(row) for row in seen.collect()] == [
        ("c1", "a.csv", date(2024, 2, 29), 5),
        ("c1", "b.csv", date(2024, 2, 29), 5),
        ("c2", "c [1].csv", date(2024, 2, 29), 5),
    ]
    assert spark.table("logged_set").columns == TABLES["logged_set"].column_names
    assert spark.table("check_in").count() == 0
    assert spark.table("exercise").count() == 1


def test_every_row_is_written_and_each_client_lies_in_one_group(written: Any) -> None:
    _, _, folder = written
    files = sorted(str(path) for path in (folder / "records" / "logged_set").rglob("*.parquet"))
    found = duckdb.read_parquet(files, hive_partitioning=True).pl()
    groups = dict(found.select("source_file", "client_group").iter_rows())
    assert groups["a.csv"] == groups["b.csv"] != groups["c [1].csv"]
    assert groups["nobody.csv"] == -1


def test_a_models_table_comes_back_in_the_contracts_types(spark: Any, written: Any) -> None:
    tables, con, _ = written
    tables.write_model(
        "load_week", spark.sql("select 'c1' as client_id, 15e-1 as n_sessions, 3 as volume_kg")
    )
    tables.read_model(con, "load_week")
    found = con.execute("select client_id, n_sessions, volume_kg, monotony from out.load_week").fetchall()
    assert found == [("c1", 2, 3.0, None)]


def test_a_step_between_keeps_its_own_columns(spark: Any, written: Any) -> None:
    tables, _, _ = written
    tables.write_model("step_between", spark.sql("select 1 as n, timestamp_ntz'2024-02-29 10:11:12' as at"))
    assert [tuple(row) for row in spark.table("step_between").collect()] == [
        (1, datetime(2024, 2, 29, 10, 11, 12))
    ]


def test_nothing_is_left_once_it_is_removed(written: Any) -> None:
    tables, _, folder = written
    tables.drop_model("load_week")
    assert list(folder.rglob("*.parquet"))
    tables.remove()
    assert not list(folder.rglob("*.parquet"))
