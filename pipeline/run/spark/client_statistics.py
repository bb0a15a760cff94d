"""The statistics of pipeline/analyse on Spark: one grouped Arrow function over the tables of a group of clients.

A grouped function takes one table. So rows of every table are packed: a row is (client_group, table_name,
rows), `rows` being some of that table's rows as an Arrow stream. The function unpacks the group's tables into a
DuckDB of its own, runs every model that needs Python there, in order, as on one machine, and packs what they
made. Tables that are nobody's (the catalogue, the calendar, the settings) go along with the function.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import reduce
from typing import Any

import duckdb
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.analyse import PYTHON_MODELS
from pipeline.contract import TABLES
from pipeline.model.spark_sql import SPARK_TYPE
from pipeline.model.sql_models import Model, run_models
from pipeline.run.spark.parquet_tables import GROUP

PACKED_TABLE = "packed_statistics"
PACKED = f"{GROUP} int, table_name string, rows binary"
_PACKED_ARROW = pa.schema([(GROUP, pa.int32()), ("table_name", pa.string()), ("rows", pa.binary())])


def python_models(left_out: Sequence[str]) -> list[Model]:
    """The models that need Python, save those of the whole roster."""
    return [Model(name, reads, build=build) for name, reads, build in PYTHON_MODELS if name not in left_out]


def packed_statistics(
    spark: Any, shared: Mapping[str, pa.Table], left_out: Sequence[str], n_partitions: int
) -> tuple[Any, list[str]]:
    """What the models made of every group, packed, and the names of the tables in it.

    Every table the models read must be a view of the session, `client_group_of` too, or one of `shared`.
    """
    from pyspark.sql.pandas.types import to_arrow_schema

    models = python_models(left_out)
    made = {model.name for model in models}
    reads = sorted({name for model in models for name in model.reads} - made - set(shared))
    frames = {name: spark.table(name) for name in reads}
    empty = {name: as_stream(to_arrow_schema(frame.schema).empty_table()) for name, frame in frames.items()}
    groups = spark.table("client_group_of")
    packed = [
        frame.join(groups, "client_id")
        .repartition(n_partitions, GROUP)
        .sortWithinPartitions(GROUP)
        .mapInArrow(pack_rows(name), PACKED)
        for name, frame in frames.items()
    ]
    kept = [model.name for model in models if model.name in TABLES]
    every_group = reduce(lambda one, other: one.unionAll(other), packed)
    streams = {name: as_stream(table) for name, table in shared.items()}
    work = statistics_of_group(streams, empty, left_out)
    return every_group.groupBy(GROUP).applyInArrow(work, PACKED), kept


def pack_rows(name: str) -> Callable[[Iterator[pa.RecordBatch]], Iterator[pa.RecordBatch]]:
    """A function that packs rows of table `name`, which come sorted by group."""

    def packed(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        for batch in batches:
            table = pa.Table.from_batches([batch])
            for group in pc.unique(table[GROUP]).to_pylist():
                rows = table.filter(pc.equal(table[GROUP], group)).drop_columns([GROUP])
                yield packed_batch(group, {name: rows})

    return packed


def statistics_of_group(
    shared: Mapping[str, bytes], empty: Mapping[str, bytes], left_out: Sequence[str]
) -> Callable[[pa.Table], pa.Table]:
    """The grouped function: a group's packed tables in, what the models made of them out.

    `shared`: tables that are the same for every group; `empty`: the others without rows, for their columns.
    """

    def made_of(packed: pa.Table) -> pa.Table:
        group = packed[GROUP][0].as_py()
        models = python_models(left_out)
        with duckdb.connect() as con:
            con.execute("set threads = 1")  # a worker has one core to itself
            for name, stream in {**empty, **shared}.items():
                con.register("incoming_rows", from_stream(stream))
                con.execute(f"create table {name} as select * from incoming_rows")  # noqa: S608
            for name, stream in zip(
                packed["table_name"].to_pylist(), packed["rows"].to_pylist(), strict=True
            ):
                con.register("incoming_rows", from_stream(stream))
                con.execute(f"insert into {name} by name select * from incoming_rows")  # noqa: S608
            con.unregister("incoming_rows")
            run_models(con, models)
            made = {m.name: con.table(m.name).to_arrow_table() for m in models if m.name in TABLES}
        return pa.Table.from_batches([packed_batch(group, made)])

    return made_of


def unpack(packed: Any, name: str) -> Any:
    """The rows of one table of what was packed."""

    def rows(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        for batch in batches:
            for stream in batch.column("rows"):
                yield from from_stream(stream.as_py()).to_batches()

    schema = ", ".join(f"`{c.name}` {SPARK_TYPE[c.type]}" for c in TABLES[name].columns)
    return packed.where(f"table_name = '{name}'").mapInArrow(rows, schema)


def packed_batch(group: int, tables: Mapping[str, pa.Table]) -> pa.RecordBatch:
    """Tables of a group, a row each."""
    streams = [as_stream(table) for table in tables.values()]
    return pa.RecordBatch.from_arrays(
        [
            pa.array([group] * len(tables), pa.int32()),
            pa.array(list(tables), pa.string()),
            pa.array(streams, pa.binary()),
        ],
        schema=_PACKED_ARROW,
    )


def as_stream(table: pa.Table) -> bytes:
    """A table as an Arrow stream."""
    sink = pa.BufferOutputStream()
    options = pa.ipc.IpcWriteOptions(compression="lz4")
    with pa.ipc.new_stream(sink, table.schema, options=options) as writer:
        writer.write_table(table)
    return bytes(sink.getvalue().to_pybytes())


def from_stream(stream: bytes) -> pa.Table:
    """The table of an Arrow stream."""
    return pa.ipc.open_stream(pa.BufferReader(stream)).read_all()
