"""One Spark session for all tests of this folder, in local mode, without what only pays on large data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from pipeline.run.spark.session import missing_for_spark, spark_session
from pipeline.spark_settings import SparkSettings

SETTINGS = SparkSettings(
    master="local[2]",
    driver_memory="1g",
    partitions=2,
    config={
        # compiling each plan to bytecode costs seconds and saves microseconds here
        "spark.sql.codegen.wholeStage": "false",
        "spark.sql.codegen.factoryMode": "NO_CODEGEN",
        "spark.driver.extraJavaOptions": "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC",
    },
)


@pytest.fixture(scope="session")
def spark() -> Iterator[Any]:
    """The session; tests that ask for it are skipped, with the reason, where it cannot be started."""
    missing = missing_for_spark()
    if missing:
        pytest.skip(f"Spark is not tried: {missing}")
    with spark_session(SETTINGS) as session:
        yield session
