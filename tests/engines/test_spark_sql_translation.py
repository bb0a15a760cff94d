"""What is set right when SQL of DuckDB is written for Spark, told by its text."""

from __future__ import annotations

import pytest

from pipeline.contract.column import Table, date, real, text, time, whole, yes_no
from pipeline.model.checks import read_checks
from pipeline.model.spark_sql import contract_columns, spark_sql
from pipeline.model.sql_models import read_models

TABLE = Table(
    "seen",
    "a row",
    (
        text("word", "."),
        whole("count", "."),
        real("share", "."),
        yes_no("is_so", "."),
        date("day", "."),
        time("at", "."),
    ),
)
WALK = """
with recursive
row_in_order as (select k, n, v from given),
walk as (
    select k, n, v as carried from row_in_order where n = 1
    union all
    select row_in_order.k, row_in_order.n, walk.carried + row_in_order.v as carried
    from walk inner join row_in_order on walk.k = row_in_order.k and walk.n + 1 = row_in_order.n
)
select k, n, carried from walk
"""


@pytest.mark.parametrize("model", read_models(), ids=lambda model: model.name)
def test_every_model_is_translated_without_recursion_and_without_comments(model: object) -> None:
    found = spark_sql(model.sql).lower()  # type: ignore[attr-defined]
    assert "recursive" not in found
    assert "/*" not in found


@pytest.mark.parametrize("check", read_checks(), ids=lambda check: check.rule_id)
def test_every_check_is_translated(check: object) -> None:
    assert spark_sql(check.bad_rows).lower().startswith(("select", "with"))  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("select a from t order by a", "SELECT a FROM t ORDER BY a NULLS LAST"),
        ("select a like 'x\\%' from t", "SELECT a LIKE 'x\\\\\\\\%' FROM t"),
        ("select a like '%' || b from t", "SELECT a LIKE REPLACE('%' || b, '\\\\', '\\\\\\\\') FROM t"),
        ("select isinf(a) from t", "SELECT ABS(a) = CAST('Infinity' AS DOUBLE) FROM t"),
        ("select a not in ('it''s') from t", "SELECT NOT a IN ('it\\'s') FROM t"),
    ],
)
def test_what_differs_in_silence_is_written_so_that_it_does_not(written: str, expected: str) -> None:
    assert spark_sql(written) == expected


def test_a_walk_in_order_becomes_a_fold_over_the_rows_of_its_group() -> None:
    found = spark_sql(WALK)
    assert "RECURSIVE" not in found
    assert "ELEMENT_AT(walked, -1).`carried` + one.`v` AS carried" in found
    assert "steps[0].`v` AS carried" in found
    assert "FROM row_in_order GROUP BY `k`" in found


@pytest.mark.parametrize(
    ("part", "instead"),
    [
        ("where n = 1", "where v = 0 or n = 1"),
        ("union all", "union"),
        ("walk.n + 1 = row_in_order.n", "walk.n < row_in_order.n"),
        ("select row_in_order.k, row_in_order.n,", "select row_in_order.k, row_in_order.n as m,"),
    ],
)
def test_recursion_of_any_other_kind_is_refused_rather_than_guessed(part: str, instead: str) -> None:
    assert part in WALK
    with pytest.raises(ValueError, match="walk"):
        spark_sql(WALK.replace(part, instead))


def test_a_query_fills_a_table_by_name_with_the_contracts_types() -> None:
    assert contract_columns(TABLE, {"share": "int", "count": "double", "word": "string"}) == [
        "cast(`word` as string) as `word`",
        "cast(bround(`count`) as bigint) as `count`",
        "cast(`share` as double) as `share`",
        "cast(null as boolean) as `is_so`",
        "cast(null as date) as `day`",
        "cast(null as timestamp_ntz) as `at`",
    ]


def test_a_column_the_table_lacks_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="'other'"):
        contract_columns(TABLE, {"other": "int"})
