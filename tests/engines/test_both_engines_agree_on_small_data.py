"""Each thing the two engines see differently, asked of both on a few rows."""

from __future__ import annotations

from typing import Any

import duckdb
import pytest

from pipeline.contract.column import Table, whole
from pipeline.model.spark_sql import contract_columns, spark_sql
from pipeline.run.spark.parquet_tables import types_of

pytestmark = pytest.mark.slow

GIVEN = """
with given as (
    select * from (values
        (1, 'a', 7, 2, 2e0, true, cast('2024-01-05' as date), 'x;y'),
        (2, 'a', 8, 3, 3e0, false, cast('2024-02-29' as date), 'x_y'),
        (3, 'B', null, 1, -25e-1, null, null, 'back\\slash'),
        (4, null, 9, null, 25e-1, true, cast('2023-12-31' as date), null),
        (5, 'é', 5, 4, null, false, cast('2024-01-05' as date), 'x%y')
    ) as rows (id, name, n, m, x, is_so, day, words)
)
"""
ASKED = {
    "empty values come last either way": (
        "select id, row_number() over (order by n) as up, row_number() over (order by n desc, id) as down,"
        " rank() over (order by day) as place from given"
    ),
    "whole numbers divide to fractions": "select id, n / m as share, n / cast(m as double) as other from given",
    "halves round away from zero": "select id, round(x) as whole, cast(round(x) as bigint) as n from given",
    "least and greatest pass over empty values": "select id, least(n, m) as low, greatest(n, m) as high from given",
    "days between": (
        "select id, datediff('day', day, cast('2024-03-01' as date)) as days,"
        " datediff('day', lag(day) over (order by day, id), day) as since from given"
    ),
    "a day as text": "select id, cast(day as varchar) as day from given",
    "median, with an even number of rows": "select is_so, median(x) as m, median(n) as n from given group by is_so",
    "letters are in the order of their bytes": (
        "select min(name) as low, max(name) as high, max(words) as words from given"
    ),
    "sums of yes and no": (
        "select sum(case when is_so then 1 else 0 end) as yes, count(*) filter (where is_so is null) as unknown,"
        " count(distinct case when is_so then day end) as days, min(case when is_so then 1 else 0 end) = 1 as all_"
        " from given"
    ),
    "patterns hold backslashes and wildcards of the text": (
        "select one.id, other.id as other_id from given as one inner join given as other"
        " on one.words like '%' || other.words || '%'"
    ),
    "a backslash in a pattern is a character": "select id from given where words like '%k\\s%'",
    "empty text joined is empty": "select id, name || ';' || words as joined from given",
    "sums over rows before": (
        "select id, sum(n) over (order by id rows between unbounded preceding and current row) - n as before"
        " from given"
    ),
    "a group ranked by what it counts": (
        "select name, row_number() over (order by count(*) desc, max(id) desc) as place from given group by name"
    ),
    "not in, with empty values": "select id from given where name not in ('a')",
    "infinite and not a number": "select id, isnan(x) or isinf(x) as is_bad from given",
    "spread": "select stddev_pop(x) as p, stddev_samp(x) as s, avg(n) as a from given",
    "the value that goes with the largest": "select max_by(name, id) as name from given",
    "an empty value is no match": (
        "select one.id, other.id as other_id from given as one left join given as other"
        " on one.name = other.name and one.id < other.id"
    ),
    "unions of different kinds": "select id, n as v from given union select id, x as v from given",
    "logarithms and powers": "select id, exp(x) as e, ln(n) as l, power(n, 1e-1) as p, sqrt(m) as s from given",
    "whole numbers times literals": "select id, 1e2 * n / nullif(m, 0) as pct, 5e-1 * n as half from given",
}
WALK = """,
row_in_order as (
    select is_so, words, id, row_number() over (partition by is_so order by id desc) as place
    from given where is_so is not null
),
walk as (
    select is_so, words, id, place, true as is_taken, ';' || cast(id as varchar) as marks
    from row_in_order where place = 1
    union all
    select row_in_order.is_so, row_in_order.words, row_in_order.id, row_in_order.place,
        replace(walk.marks, '4', '') = walk.marks as is_taken,
        case when row_in_order.words is null then walk.marks
            else walk.marks || ';' || cast(row_in_order.id as varchar) end as marks
    from walk
    inner join row_in_order on walk.is_so = row_in_order.is_so and walk.place + 1 = row_in_order.place
)
select is_so, words, id, place, is_taken, marks from walk"""


def rows(answer: list[Any]) -> list[tuple[Any, ...]]:
    return sorted((tuple(row) for row in answer), key=lambda row: [(v is None, str(v)) for v in row])


def assert_alike(found: list[tuple[Any, ...]], expected: list[tuple[Any, ...]]) -> None:
    assert len(found) == len(expected)
    for row, other in zip(found, expected, strict=True):
        is_close = [
            pytest.approx(b, rel=1e-12, abs=0, nan_ok=True) == a if isinstance(b, float) else b == a
            for a, b in zip(row, other, strict=True)
        ]
        assert all(is_close), (row, other)


@pytest.mark.parametrize("query", ASKED.values(), ids=ASKED)
def test_both_engines_answer_alike(spark: Any, query: str) -> None:
    asked = GIVEN + query
    expected = rows(duckdb.sql(asked).fetchall())
    assert expected
    assert_alike(rows(spark.sql(spark_sql(asked)).collect()), expected)


def test_a_walk_in_order_takes_the_same_rows_on_both(spark: Any) -> None:
    asked = GIVEN.replace("with given", "with recursive given") + WALK
    expected = rows(duckdb.sql(asked).fetchall())
    assert {row[3] for row in expected} == {1, 2}
    assert_alike(rows(spark.sql(spark_sql(asked)).collect()), expected)


def test_fractions_become_whole_numbers_alike(spark: Any) -> None:
    values = "select * from (values (5e-1), (15e-1), (25e-1), (-25e-1), (-1e-1), (null)) as rows (n)"
    table = Table("rounded", "a row", (whole("n", "."),))
    with duckdb.connect() as con:
        con.execute(table.create_sql())
        con.execute(f"insert into rounded by name {values}")
        expected = rows(con.execute("select n from rounded").fetchall())
    frame = spark.sql(spark_sql(values))
    found = rows(frame.selectExpr(*contract_columns(table, types_of(frame))).collect())
    assert found == expected


def test_a_division_by_zero_is_never_silent(spark: Any) -> None:
    with pytest.raises(Exception, match="DIVIDE_BY_ZERO"):
        spark.sql(spark_sql("select 1e0 / n as share from (values (0)) as rows (n)")).collect()
