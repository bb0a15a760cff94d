"""The SQL of models and checks, written for Spark: sqlglot's translation, and what it does not know of.

The models keep to what means the same on both engines (a test holds them to it). What is left differs in
silence, and is set right here:

- `like`: a backslash is a character in DuckDB and an escape in Spark.
- `isinf`: Spark has no such function.
- A walk in order, a recursive step: see spark_walks.py.
- A column of whole numbers filled with a real one: DuckDB rounds half to even, Spark cuts off.
- A division by zero is infinite in DuckDB; Spark stops with an error (ANSI mode), so that it is never silent.

sqlglot itself sets right where empty values are sorted, and quotes.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.contract import Column, Table
from pipeline.contract.column import ColumnType
from pipeline.errors import SetwrightError

SPARK_TYPE: dict[ColumnType, str] = {
    "text": "string",
    "whole": "bigint",
    "real": "double",
    "yes_no": "boolean",
    "date": "date",
    "time": "timestamp_ntz",
}
_REAL_TYPES = ("double", "float", "decimal")


def spark_sql(text: str) -> str:
    """A select of DuckDB's as one of Spark's; SetwrightError where sqlglot is not installed."""
    try:
        import sqlglot
        from sqlglot import exp

        from pipeline.model.spark_walks import without_recursion
    except ImportError as err:
        raise SetwrightError(
            "The models cannot be translated for Spark: sqlglot is not installed.",
            'Install it with: pip install "setwright[spark]"',
        ) from err

    tree = without_recursion(sqlglot.parse_one(text, read="duckdb"))
    for like in list(tree.find_all(exp.Like)):
        pattern = like.expression
        if pattern.is_string:
            like.set("expression", exp.Literal.string(pattern.name.replace("\\", "\\\\")))
        else:
            one, two = exp.Literal.string("\\"), exp.Literal.string("\\\\")
            like.set("expression", exp.Replace(this=pattern.copy(), expression=one, replacement=two))
    for infinite in list(tree.find_all(exp.IsInf)):
        infinity = exp.cast(exp.Literal.string("Infinity"), exp.DataType.Type.DOUBLE)
        infinite.replace(exp.EQ(this=exp.Abs(this=infinite.this.copy()), expression=infinity))
    return tree.sql(dialect="spark", comments=False)


def contract_columns(table: Table, types: Mapping[str, str]) -> list[str]:
    """What to select so that a query whose columns have these Spark types fills `table`.

    As `insert … by name` does it: a column that is not given stays empty. ValueError for one the table lacks.
    """
    strange = sorted(set(types) - set(table.column_names))
    if strange:
        raise ValueError(f"{table.name} has no column {strange[0]!r}")
    return [_filled(column, types.get(column.name)) for column in table.columns]


def _filled(column: Column, given: str | None) -> str:
    kind = SPARK_TYPE[column.type]
    value = "null" if given is None else f"`{column.name}`"
    if column.type == "whole" and given is not None and given.startswith(_REAL_TYPES):
        value = f"bround({value})"
    return f"cast({value} as {kind}) as `{column.name}`"
