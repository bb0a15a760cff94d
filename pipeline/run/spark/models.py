"""All models and their checks on Spark, from the records of a history to its tables.

SQL models run one after the other, each written as Parquet: so no plan grows long, a failed machine loses one
model, and the tables are there for whoever wants them. Then the statistics run group by group. What draws on
the whole roster (a row a client) is made here, as without Spark.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa

from pipeline.contract import TABLES
from pipeline.model import history_tables
from pipeline.model.checks import Finding, check_tables, refusals
from pipeline.model.spark_sql import spark_sql
from pipeline.model.sql_models import in_order, read_models
from pipeline.run.models import GIVEN, OF_THE_ROSTER, make_the_rosters
from pipeline.run.spark.client_statistics import PACKED_TABLE, packed_statistics, unpack
from pipeline.run.spark.parquet_tables import ParquetTables, client_groups, has_client
from pipeline.run.spark.session import spark_session
from pipeline.spark_settings import SparkSettings


def run_all_models_on_spark(
    con: duckdb.DuckDBPyConnection,
    settings: SparkSettings,
    store: Path,
    progress: Callable[[str, str], None],
) -> list[Finding]:
    """Fill the tables of `out` that models make; the findings of all checks, as `run_all_models` gives them."""
    run = f"run-{datetime.now(UTC):%Y%m%d-%H%M%S}"
    beside = store / "spark" / run
    shutil.rmtree(beside.parent, ignore_errors=True)  # what a run that was ended from outside left
    progress("spark", "starting")
    with spark_session(settings) as spark:
        tables = ParquetTables(spark, _root(settings, beside, run), beside)
        is_whole = False
        try:
            findings = _run(con, spark, tables, settings, progress)
            is_whole = not refusals(findings)
        finally:
            if not (is_whole and settings.keep):
                tables.remove()
            shutil.rmtree(beside, ignore_errors=True)
    return findings


def _root(settings: SparkSettings, beside: Path, run: str) -> str:
    """The address of a run's folder; a plain path is one of this machine."""
    if not settings.output:
        return f"file://{beside}"
    if "://" in settings.output:
        return f"{settings.output.rstrip('/')}/{run}"
    return f"file://{Path(settings.output).expanduser().resolve() / run}"


def _run(
    con: duckdb.DuckDBPyConnection,
    spark: Any,
    tables: ParquetTables,
    settings: SparkSettings,
    progress: Callable[[str, str], None],
) -> list[Finding]:
    groups = client_groups(
        history_tables.clients_by_size(con, None), settings.sets_at_a_time, settings.partitions
    )
    progress("spark", "writing records as Parquet")
    tables.write_records(con, GIVEN, groups)
    spark.createDataFrame(groups.to_arrow()).createOrReplaceTempView("client_group_of")
    shared = {
        name: con.table(f"out.{name}").to_arrow_table() for name in GIVEN if not has_client(TABLES[name])
    }
    made = make_tables(spark, tables, shared, settings.partitions, progress)
    progress("spark", "reading the tables back")
    published = [name for name in made if name in TABLES]
    for name in published:
        tables.read_model(con, name)
    progress("model", "checking what was computed")
    # steps between are Spark's alone; what is published is checked as it will be published
    findings = check_tables(SparkQueries(spark), set(made) - set(published))
    with history_tables.inside(con):
        findings += check_tables(con, published)
    if refusals(findings):
        return findings
    make_the_rosters(con)
    if settings.keep:
        tables.drop_model(PACKED_TABLE)
        tables.drop_model("roster_review")  # its order is the roster's
        rest = {*history_tables.RECORD_TABLES, *OF_THE_ROSTER, "roster_review"} - set(GIVEN)
        tables.write_records(con, sorted(rest), groups)
    with history_tables.inside(con):
        return [*findings, *check_tables(con, OF_THE_ROSTER)]


def make_tables(
    spark: Any,
    tables: ParquetTables,
    shared: Mapping[str, pa.Table],
    n_partitions: int,
    progress: Callable[[str, str], None],
) -> list[str]:
    """Make every table but those of the whole roster; their names, steps between included.

    `shared` are the tables that are nobody's, as every group of clients needs them.
    """
    made = []
    for model in in_order(read_models()):
        progress("model", model.name)
        tables.write_model(model.name, spark.sql(spark_sql(model.sql)))
        made.append(model.name)
    progress("model", "statistics, group by group")
    packed, names = packed_statistics(spark, shared, OF_THE_ROSTER, n_partitions)
    tables.write_model(PACKED_TABLE, packed)
    for name in names:
        tables.write_model(name, unpack(spark.table(PACKED_TABLE), name))
    return [*made, *names]


class SparkQueries:
    """Queries of the checks, asked of Spark."""

    def __init__(self, spark: Any) -> None:
        self._spark = spark

    def execute(self, query: str) -> Rows:
        """Ask; the answer is fetched from what comes back."""
        return Rows(self._spark.sql(spark_sql(query)))


class Rows:
    """An answer: its columns and its rows."""

    def __init__(self, frame: Any) -> None:
        self._frame = frame

    @property
    def description(self) -> list[Any]:
        """The columns, each as (name, type)."""
        return list(self._frame.dtypes)

    def fetchall(self) -> list[tuple[Any, ...]]:
        """All rows as tuples."""
        return [tuple(row) for row in self._frame.collect()]
