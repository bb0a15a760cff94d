"""A Spark session as the settings ask for it, or a sentence that says what is missing for one."""

from __future__ import annotations

import importlib.util
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from pipeline.errors import SetwrightError
from pipeline.spark_settings import SparkSettings

_ROOT = Path(__file__).resolve().parents[3]
_FIXED = {
    # what differs from DuckDB is an error, never another result
    "spark.sql.ansi.enabled": "true",
    "spark.sql.session.timeZone": "UTC",
    "spark.sql.timestampType": "TIMESTAMP_NTZ",
    # matching walks a day's pairs in order, one a step; there may be more than Spark's own limits allow
    "spark.sql.cteRecursionLevelLimit": "100000",
    "spark.sql.cteRecursionRowLimit": "-1",
    "spark.sql.execution.arrow.maxRecordsPerBatch": "100000",
}
_LOCAL = {
    "spark.ui.enabled": "false",
    "spark.driver.host": "127.0.0.1",
    "spark.driver.bindAddress": "127.0.0.1",
    "spark.ui.showConsoleProgress": "false",
}


def missing_for_spark() -> str:
    """What this machine lacks to start Spark, as a sentence; empty where nothing is missing."""
    for module in ("pyspark", "sqlglot"):
        if importlib.util.find_spec(module) is None:
            return f"{module} is not installed."
    java = Path(os.environ.get("JAVA_HOME", "")) / "bin" / "java"
    if not (os.environ.get("JAVA_HOME") and java.exists()) and shutil.which("java") is None:
        return "Java 17 or newer is not on this machine."
    return ""


@contextmanager
def spark_session(settings: SparkSettings, app_name: str = "setwright") -> Iterator[Any]:
    """A session that ends with the block; one that runs already is used and left running."""
    missing = missing_for_spark()
    if missing:
        raise SetwrightError(
            f"Spark cannot be started: {missing}",
            'It needs Java 17 and: pip install "setwright[spark]". Without --engine spark neither is needed.',
        )
    from pyspark.sql import SparkSession

    running = SparkSession.getActiveSession()
    if running is not None:
        yield running
        return
    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    builder = SparkSession.builder.appName(app_name).master(settings.master)
    for key, value in spark_config(settings).items():
        builder = builder.config(key, value)
    session = builder.getOrCreate()
    session.sparkContext.setLogLevel("ERROR")
    try:
        yield session
    finally:
        session.stop()


def spark_config(settings: SparkSettings) -> dict[str, str]:
    """Spark's own settings for ours; what `[spark.config]` says goes before, save what results rest on."""
    asked = {
        "spark.driver.memory": settings.driver_memory,
        "spark.executor.memory": settings.executor_memory,
        "spark.sql.shuffle.partitions": str(settings.partitions),
    }
    if settings.is_local:
        # workers of this machine find the pipeline where it lies; a cluster's have it installed
        path = os.pathsep.join(part for part in (str(_ROOT), os.environ.get("PYTHONPATH", "")) if part)
        asked |= {**_LOCAL, "spark.executorEnv.PYTHONPATH": path}
    return {**asked, **settings.config, **_FIXED}
