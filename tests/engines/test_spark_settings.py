"""`[spark]` of workspace.toml, options of the command, and what they ask of Spark."""

from __future__ import annotations

import polars as pl
import pytest

from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.run.spark import session
from pipeline.run.spark.parquet_tables import client_groups
from pipeline.spark_settings import SparkSettings, with_options
from pipeline.workspace import parse_settings


def test_the_defaults_run_on_this_machine() -> None:
    assert parse_settings("").spark == SparkSettings()
    assert SparkSettings().is_local


def test_a_cluster_is_a_table_of_workspace_toml() -> None:
    found = parse_settings("""
        [spark]
        master = "spark://head:7077"
        output = "hdfs:///setwright"
        executor_memory = "8g"
        partitions = 400
        [spark.config]
        "spark.dynamicAllocation.enabled" = true
    """).spark
    assert (found.master, found.partitions, found.is_local) == ("spark://head:7077", 400, False)
    config = session.spark_config(found)
    assert config["spark.executor.memory"] == "8g"
    assert config["spark.sql.shuffle.partitions"] == "400"
    assert config["spark.dynamicAllocation.enabled"] == "true"


def test_what_results_rest_on_is_not_a_setting() -> None:
    config = session.spark_config(SparkSettings(config={"spark.sql.ansi.enabled": "false"}))
    assert config["spark.sql.ansi.enabled"] == "true"


@pytest.mark.parametrize(
    ("toml", "said"),
    [
        ("spark = 3", "must be a table"),
        ("[spark]\nmaker = 'x'", "has no 'maker'"),
        ("[spark]\npartitions = 0", "partitions = 0"),
        ("[spark]\npartitions = 'many'", "partitions = 'many'"),
        ("[spark]\nkeep = 'some'", "keep = 'some' is not true or false"),
        ("[spark]\nkeep = true", "needs an output"),
        ("[spark]\nmaster = 'yarn'", "a folder they all reach"),
        ("[spark]\nconfig = 3", "must be a table"),
    ],
)
def test_a_wrong_setting_is_named(toml: str, said: str) -> None:
    with pytest.raises(WorkspaceError, match=said):
        parse_settings(toml)


def test_options_go_before_the_file() -> None:
    stated = SparkSettings(master="local[2]", config={"spark.a.b": "1"})
    found = with_options(stated, ["partitions=40", "spark.c.d=2=3", "keep=true", "output=/there"])
    assert found == SparkSettings(
        master="local[2]",
        output="/there",
        keep=True,
        partitions=40,
        config={"spark.a.b": "1", "spark.c.d": "2=3"},
    )


@pytest.mark.parametrize(
    "option", ["partitions", "partitions=", "partitions=x", "colour=red", "keep=some", "keep=true"]
)
def test_a_wrong_option_is_named(option: str) -> None:
    with pytest.raises(WorkspaceError, match="--spark"):
        with_options(SparkSettings(), [option])


def test_what_is_missing_is_said_with_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session.importlib.util, "find_spec", lambda name: None)
    with (
        pytest.raises(SetwrightError, match=r"pyspark is not installed\. .* pip install"),
        session.spark_session(SparkSettings()),
    ):
        pass


def test_java_is_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session.importlib.util, "find_spec", lambda name: object())
    monkeypatch.setenv("JAVA_HOME", "")
    monkeypatch.setattr(session.shutil, "which", lambda name: None)
    assert "Java" in session.missing_for_spark()
    monkeypatch.setattr(session.shutil, "which", lambda name: "/usr/bin/java")
    assert session.missing_for_spark() == ""


def test_groups_of_clients_are_of_like_size_and_hold_each_client_whole() -> None:
    sizes = [("large", 1000), *((f"small {n}", 100) for n in range(20))]
    found = client_groups(sizes, sets_at_a_time=1000, at_least=1)
    assert found["client_id"].is_unique().all()
    assert found.height == 21
    total = (
        found.join(pl.DataFrame(sizes, orient="row", schema=["client_id", "n"]), on="client_id")
        .group_by("client_group")
        .agg(pl.col("n").sum())
    )
    assert sorted(total["n"]) == [1000, 1000, 1000]


def test_there_are_groups_for_every_core_and_never_more_than_clients() -> None:
    sizes = [(f"client {n}", 1) for n in range(3)]
    assert client_groups(sizes, 1000, at_least=2)["client_group"].n_unique() == 2
    assert client_groups(sizes, 1000, at_least=64)["client_group"].n_unique() == 3
    assert client_groups([], 1000, at_least=2).height == 0
