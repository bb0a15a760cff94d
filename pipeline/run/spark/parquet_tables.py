"""Tables of a run as Parquet: written from the history under construction, and read into it again.

    <output>/<run>/records/<table>/client_group=3/*.parquet    what was cleaned and validated, what is the roster's
    <output>/<run>/tables/<table>/*.parquet                    what models made on Spark

All rows of a client lie in one `client_group`, a number given so that groups are of like size: a folder a
client would be a hundred thousand folders. Rows that are nobody's lie in group -1; models do not see them.
"""

from __future__ import annotations

import heapq
import re
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from pipeline.contract import TABLES, Table
from pipeline.model.spark_sql import SPARK_TYPE, contract_columns

GROUP = "client_group"
_NOBODYS = -1


def client_groups(sizes: Sequence[tuple[str, int]], sets_at_a_time: int, at_least: int) -> pl.DataFrame:
    """The group of every client (client_id, client_group), from clients and their numbers of sets.

    As many groups as keep each near `sets_at_a_time`, and `at_least` so many where there are clients for them.
    """
    total = sum(n for _, n in sizes)
    n_groups = max(1, -(-total // sets_at_a_time), min(at_least, len(sizes)))
    room = [(0, group) for group in range(n_groups)]
    found: list[tuple[str, int]] = []
    for client_id, n_sets in sorted(sizes, key=lambda one: (-one[1], one[0])):
        size, group = heapq.heappop(room)
        heapq.heappush(room, (size + n_sets + 1, group))
        found.append((client_id, group))
    return pl.DataFrame(found, orient="row", schema={"client_id": pl.String, GROUP: pl.Int32})


def has_client(table: Table) -> bool:
    """Whether rows of a table are somebody's."""
    return "client_id" in table.column_names


class ParquetTables:
    """The tables of one run below `root`, an address Hadoop knows.

    `beside`: a folder of this machine where they pass through when `root` is on another.
    """

    def __init__(self, spark: Any, root: str, beside: Path) -> None:
        self._spark, self.root, self._beside = spark, root.rstrip("/"), beside
        self._local = Path(self.root.removeprefix("file://")) if self.root.startswith("file://") else None

    def write_records(
        self, con: duckdb.DuckDBPyConnection, names: Sequence[str], groups: pl.DataFrame
    ) -> None:
        """Write tables of `out` and have Spark see them, those with a client grouped by it."""
        con.register("group_of", groups.to_arrow())
        try:
            for name in names:
                target = (self._local or self._beside) / "records" / name
                target.mkdir(parents=True)
                if has_client(TABLES[name]):
                    con.execute(
                        f"copy (select its.*, coalesce(group_of.{GROUP}, {_NOBODYS}) as {GROUP}"  # noqa: S608
                        f" from out.{name} as its left join group_of on its.client_id = group_of.client_id)"
                        f" to {_quoted(target)} (format parquet, partition_by ({GROUP}), overwrite true)"
                    )
                else:
                    con.execute(f"copy out.{name} to {_quoted(target / 'rows.parquet')} (format parquet)")
                is_empty = not any(target.rglob("*.parquet"))
                if self._local is None:
                    self._give(target, f"{self.root}/records/{name}")
                self._see_records(name, is_empty=is_empty)
        finally:
            con.unregister("group_of")

    def _see_records(self, name: str, *, is_empty: bool) -> None:
        columns = [f"`{c.name}` {SPARK_TYPE[c.type]}" for c in TABLES[name].columns]
        grouped = has_client(TABLES[name])
        schema = ", ".join([*columns, f"{GROUP} int"] if grouped else columns)
        if is_empty:
            frame = self._spark.createDataFrame([], schema)
        else:
            frame = self._spark.read.schema(schema).parquet(_as_it_stands(f"{self.root}/records/{name}"))
        if grouped:
            frame = frame.where(f"{GROUP} <> {_NOBODYS}").drop(GROUP)
        frame.createOrReplaceTempView(name)

    def write_model(self, name: str, frame: Any) -> None:
        """Write what a model made, in the contract's columns where it has them, and have Spark see it."""
        if name in TABLES:
            frame = frame.selectExpr(*contract_columns(TABLES[name], types_of(frame)))
        place = f"{self.root}/tables/{name}"
        frame.write.mode("overwrite").parquet(place)
        self._spark.read.schema(frame.schema).parquet(_as_it_stands(place)).createOrReplaceTempView(name)

    def read_model(self, con: duckdb.DuckDBPyConnection, name: str) -> None:
        """Append a model's rows to its table of `out`."""
        place = f"{self.root}/tables/{name}"
        here = (
            self._local / "tables" / name
            if self._local
            else self._take(place, self._beside / "tables" / name)
        )
        # one by one: a pattern would take the brackets of a folder's name for its own
        for path in sorted(here.glob("*.parquet")):
            con.execute(
                f"insert into out.{name} by name select * from read_parquet({_quoted(path)})"  # noqa: S608
            )
        if self._local is None:
            shutil.rmtree(here)

    def drop_model(self, name: str) -> None:
        """Take away what a model made."""
        path, files = self._hadoop(f"{self.root}/tables/{name}")
        files.delete(path, True)

    def remove(self) -> None:
        """Take all tables of the run away."""
        path, files = self._hadoop(self.root)
        files.delete(path, True)

    def _give(self, here: Path, place: str) -> None:
        path, files = self._hadoop(place)
        files.copyFromLocalFile(True, True, self._path(f"file://{here}"), path)

    def _take(self, place: str, here: Path) -> Path:
        path, files = self._hadoop(place)
        here.parent.mkdir(parents=True, exist_ok=True)
        files.copyToLocalFile(False, path, self._path(f"file://{here}"), True)
        return here

    def _hadoop(self, place: str) -> tuple[Any, Any]:
        path = self._path(place)
        return path, path.getFileSystem(self._spark.sparkContext._jsc.hadoopConfiguration())

    def _path(self, place: str) -> Any:
        return self._spark.sparkContext._jvm.org.apache.hadoop.fs.Path(place)


def types_of(frame: Any) -> Mapping[str, str]:
    """Column → its type as Spark writes it."""
    return dict(frame.dtypes)


def _quoted(path: Path) -> str:
    return "'" + str(path).replace("'", "''") + "'"


def _as_it_stands(place: str) -> str:
    """An address whose brackets and stars are characters of it, not patterns."""
    return re.sub(r"([\[\]{}*?\\])", r"\\\1", place)
