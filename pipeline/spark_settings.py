"""Where and how the models run on Spark: the `[spark]` table of workspace.toml."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace

from pipeline.errors import WorkspaceError

_WHOLE = {"partitions": (1, 100_000), "sets_at_a_time": (1_000, 5_000_000)}


@dataclass(frozen=True)
class SparkSettings:
    """What is asked of Spark. The defaults run it on this machine, on all its cores.

    - `master`: `local[*]`, `spark://head:7077`, `yarn`, `k8s://https://…`.
    - `output`: a folder every worker reaches, by any address Hadoop knows (`hdfs://…`, `s3a://…`,
      `file:///mnt/…`); empty: the workspace's own store, which is enough on one machine.
    - `driver_memory`, `executor_memory`: as Spark writes them (`4g`). On one machine the driver is all.
    - `partitions`: into how many parts rows are sent to be joined and summed.
    - `sets_at_a_time`: about how many sets of a group of clients the statistics take at once; a worker holds
      that many in memory.
    - `keep`: leave every table of the run in `output` as Parquet, for whoever asks them there. history.duckdb is
      built in any case.
    - `config`: anything else Spark knows, by its own keys.
    """

    master: str = "local[*]"
    output: str = ""
    driver_memory: str = "2g"
    executor_memory: str = "2g"
    partitions: int = 8
    sets_at_a_time: int = 250_000
    keep: bool = False
    config: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_local(self) -> bool:
        """Whether all of it runs on this machine."""
        return self.master.startswith("local")


def parse_spark(value: object, where: str) -> SparkSettings:
    """The `[spark]` table; WorkspaceError naming what is wrong."""
    if not isinstance(value, dict):
        raise WorkspaceError(f"{where}: spark must be a table, [spark].")
    known = {one.name for one in fields(SparkSettings)}
    unknown = sorted(set(value) - known)
    if unknown:
        raise WorkspaceError(
            f"{where}: [spark] has no {unknown[0]!r}.", f"It has: {', '.join(sorted(known))}."
        )
    return _checked(SparkSettings(), value, where)


def with_options(settings: SparkSettings, options: Sequence[str]) -> SparkSettings:
    """The settings changed by `key=value` texts; a key with a dot is one of Spark's own."""
    changes: dict[str, object] = {}
    config = dict(settings.config)
    known = {one.name for one in fields(SparkSettings)} - {"config"}
    for option in options:
        key, sign, value = option.partition("=")
        if not sign or not value:
            raise WorkspaceError(f"--spark {option!r} is not written as key=value.")
        if "." in key:
            config[key] = value
        elif key in known:
            changes[key] = int(value) if key in _WHOLE and value.isdigit() else value
        else:
            raise WorkspaceError(f"--spark has no {key!r}.", f"It has: {', '.join(sorted(known))}.")
    return _checked(settings, {**changes, "config": config}, "--spark")


def _checked(settings: SparkSettings, given: Mapping[str, object], where: str) -> SparkSettings:
    values: dict[str, object] = {}
    for key, value in given.items():
        if key == "config":
            if not isinstance(value, dict):
                raise WorkspaceError(f"{where}: spark.config must be a table, [spark.config].")
            values[key] = {str(name): _as_spark_writes(one) for name, one in value.items()}
        elif key in _WHOLE:
            low, high = _WHOLE[key]
            if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
                raise WorkspaceError(
                    f"{where}: {key} = {value!r} is not a whole number from {low} to {high}."
                )
            values[key] = value
        elif key == "keep":
            if str(value).lower() not in ("true", "false"):
                raise WorkspaceError(f"{where}: keep = {value!r} is not true or false.")
            values[key] = str(value).lower() == "true"
        else:
            values[key] = str(value).strip()
    changed = replace(settings, **values)  # type: ignore[arg-type]
    if not changed.is_local and not changed.output:
        raise WorkspaceError(
            f"{where}: on {changed.master} the workers need a folder they all reach.",
            'Name it as output, such as output = "hdfs:///setwright".',
        )
    if changed.keep and not changed.output:
        raise WorkspaceError(f"{where}: keep needs an output to leave the tables in.")
    return changed


def _as_spark_writes(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)
