"""The SQL of the models keeps to what runs on a distributed engine too, and says what it reads."""

import re
import subprocess
import sys

import pytest
import sqlglot
from sqlglot import exp
from sqlglot.optimizer.scope import traverse_scope

from pipeline.contract import TABLES
from pipeline.model.checks import read_checks
from pipeline.model.sql_models import SQL_FOLDER, read_header, read_models

FILES = sorted(SQL_FOLDER.glob("*/*.sql"))
IDS = [path.stem for path in FILES]
# functions that mean the same in DuckDB and in Spark SQL
FUNCTIONS = {
    "abs",
    "avg",
    "cast",
    "case",
    "coalesce",
    "count",
    "date_diff",
    "datediff",
    "dense_rank",
    "exp",
    "greatest",
    "lag",
    "lead",
    "least",
    "ln",
    "max",
    "median",
    "min",
    "nullif",
    "pow",
    "power",
    "rank",
    "replace",
    "round",
    "row_number",
    "sqrt",
    "sum",
    "and",
    "or",
    "if",
    "xor",
    "arg_max",  # what sqlglot calls max_by
    "stddev_pop",
    "stddev_samp",
    "floor",
    "substring",
    "lower",
    "trim",
    "count_if",
}
FORBIDDEN = {
    exp.Qualify: "qualify",
    exp.Pivot: "pivot",
    exp.Unnest: "unnest",
    exp.Lambda: "lambda",
    exp.Array: "list",
    exp.ILike: "ilike",
    exp.Columns: "columns()",
    exp.Struct: "struct",
    exp.Lateral: "lateral",
}


def parsed(path):
    return sqlglot.parse_one(path.read_text(encoding="utf-8"), read="duckdb")


def tables_read(tree):
    """Tables a query reads that are not its own steps."""
    return {
        source.name
        for scope in traverse_scope(tree)
        for source in scope.sources.values()
        if isinstance(source, exp.Table)
    }


@pytest.mark.parametrize("path", FILES, ids=IDS)
def test_a_model_names_in_its_header_exactly_what_it_reads(path):
    header = dict(re.findall(r"^--\s*(reads)\s*:\s*(.*)$", path.read_text(encoding="utf-8"), re.MULTILINE))
    named = {name.strip() for name in header["reads"].split(",")}
    assert named == tables_read(parsed(path))


@pytest.mark.parametrize("path", FILES, ids=IDS)
def test_a_model_can_be_written_in_spark_sql(path):
    [text] = sqlglot.transpile(
        path.read_text(encoding="utf-8"),
        read="duckdb",
        write="spark",
        unsupported_level=sqlglot.ErrorLevel.RAISE,
    )
    assert tables_read(sqlglot.parse_one(text, read="spark")) == tables_read(parsed(path))


@pytest.mark.parametrize("path", FILES, ids=IDS)
def test_a_model_uses_only_what_means_the_same_elsewhere(path):
    tree = parsed(path)
    names = {
        (node.name if isinstance(node, exp.Anonymous) else node.sql_name()).lower()
        for node in tree.find_all(exp.Func)
    }
    assert names <= FUNCTIONS
    found = {word for kind, word in FORBIDDEN.items() if tree.find(kind)}
    assert not found


@pytest.mark.parametrize("path", FILES, ids=IDS)
def test_a_model_writes_no_decimal_literals_and_no_joins_by_name(path):
    # 30.0 is a decimal on the other engine and divides with a rounded scale; 3e1 is a double on both
    tree = parsed(path)
    assert not [
        node.this
        for node in tree.find_all(exp.Literal)
        if not node.is_string and "." in node.this and "e" not in node.this.lower()
    ]
    assert not [join for join in tree.find_all(exp.Join) if join.args.get("using")]
    assert "::" not in re.sub(r"--.*", "", path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", [p for p in FILES if p.parent.name != "checks"], ids=lambda p: p.stem)
def test_a_model_states_its_purpose_and_grain(path):
    text = path.read_text(encoding="utf-8")
    assert re.match(r"-- [A-Z].*[.:]$", text.split("\n-- grain")[0].replace("\n-- ", " "))
    assert read_header(text)["grain"]


def test_every_published_model_is_in_the_contract():
    published = {path.stem for path in (SQL_FOLDER / "published").glob("*.sql")}
    assert published
    assert published <= set(TABLES)


def test_every_file_is_read_as_a_model_or_a_check():
    assert {model.name for model in read_models()} | {check.rule_id for check in read_checks()} == set(IDS)


@pytest.mark.slow
def test_the_sql_keeps_to_its_style():
    # rules and line length stand in pyproject.toml
    done = subprocess.run(
        [sys.executable, "-m", "sqlfluff", "lint", "--disable-progress-bar", str(SQL_FOLDER)],
        cwd=SQL_FOLDER.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:]
