"""Plans checked without publishing: reads a workspace's plans, or one plan file, and runs the audit on them.

Like `update` it runs stages in order (ingest, clean, analyse), on the plan side only, and writes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import duckdb

from pipeline.analyse.plan.audit import audit_setting, audit_version, layout_rows, with_previous
from pipeline.analyse.plan.changes import compare_versions
from pipeline.analyse.plan.findings import AuditSetting
from pipeline.analyse.plan.layouts import EVERY_DAY
from pipeline.analyse.plan.versions import WEEKDAYS, PlanVersion, read_versions
from pipeline.contract import TABLES
from pipeline.contract.sheets import SourceFile
from pipeline.errors import SetwrightError
from pipeline.ingest import read_folder
from pipeline.ingest.read_files import read_file
from pipeline.reference.plan_rules import PlanRule
from pipeline.update import read_records
from pipeline.workspace import Settings, Workspace, open_workspace


@dataclass(frozen=True)
class CheckedPlans:
    """What was found: a version each with its findings, layouts and changes; rows that could not be read."""

    versions: list[dict[str, Any]]
    rejected: list[dict[str, Any]]
    rules: Mapping[str, PlanRule] = field(default_factory=dict)

    def as_data(self) -> dict[str, Any]:
        """Everything but the rules, for JSON."""
        return {"versions": self.versions, "rejected": self.rejected}


def check_plans(
    path: Path,
    client_id: str | None = None,
    valid_from: date | None = None,
    against: date | None = None,
    *,
    every_version: bool = False,
    weekdays: str | None = None,
) -> CheckedPlans:
    """Check the plans of a workspace or of one file; SetwrightError where there is none or a choice names
    none.

    `against`: first day of the version to compare with; the training version before where it is not given.
    `weekdays`: the weekdays that can be trained on, `mon,wed,fri`, for the layouts.
    """
    workspace, sources = _sources(path)
    tables, _ = read_records(workspace, [], sources, [], date.today(), lambda *_: None)
    rejected = [row for row in tables["rejected_row"].iter_rows(named=True) if row["source_area"] == "plans"]
    with duckdb.connect() as con:
        for name in ("plan_slot", "client", "exercise", "exercise_muscle", "muscle_target", "setting"):
            con.execute(TABLES[name].create_sql())
            if tables[name].height:
                con.register("given", tables[name].to_arrow())
                con.execute(f"insert into {name} by name select * from given")  # noqa: S608 (names of the contract)
                con.unregister("given")
        setting, versions = audit_setting(con), read_versions(con)
        names = dict(con.execute("select client_id, name from client").fetchall())
    allowed = _allowed(weekdays)
    chosen = _chosen(versions, client_id, valid_from, every_version=every_version)
    previous = {id(version): before for version, before in with_previous(versions)}
    checked = []
    for version in chosen:
        other = previous[id(version)] if against is None else _version(versions, version.client_id, against)
        own = replace(setting, previous=previous[id(version)])
        checked.append(
            _checked(version, other, own, names.get(version.client_id) or version.client_id, allowed)
        )
    return CheckedPlans(checked, rejected, setting.rules)


def _sources(path: Path) -> tuple[Workspace, list[SourceFile]]:
    """The workspace and its plan files; for a file the one workspace it lies in, or an empty one around
    it."""
    if path.is_dir():
        workspace = open_workspace(path)
        return workspace, list(read_folder(workspace.plans, "plans"))
    if not path.is_file():
        raise SetwrightError(f"There is no file or folder {path}.")
    plan_file = path.resolve()
    for folder in plan_file.parents:
        if (folder / "workspace.toml").exists() or (folder / "clients.csv").exists():
            workspace = (
                open_workspace(folder)
                if (folder / "workspace.toml").exists()
                else Workspace(folder, Settings())
            )
            root = workspace.plans if workspace.plans in plan_file.parents else plan_file.parent
            return workspace, [read_file(plan_file, root, "plans")]
    return Workspace(plan_file.parent, Settings()), [read_file(plan_file, plan_file.parent, "plans")]


def _allowed(weekdays: str | None) -> tuple[int, ...]:
    if not weekdays:
        return EVERY_DAY
    found = []
    for word in weekdays.replace(" ", ",").split(","):
        if word:
            match = [n for n, name in enumerate(WEEKDAYS, 1) if word.strip().lower()[:3] == name.lower()]
            if not match:
                raise SetwrightError(f"{word!r} is no weekday; write them as mon,wed,fri.")
            found += match
    return tuple(sorted(set(found)))


def _chosen(
    versions: Sequence[PlanVersion], client_id: str | None, valid_from: date | None, *, every_version: bool
) -> list[PlanVersion]:
    mine = [v for v in versions if not v.is_break and client_id in (None, v.client_id)]
    if client_id is not None and not mine:
        raise SetwrightError(f"There is no plan of client {client_id!r}.")
    if valid_from is not None:
        found = [v for v in mine if v.valid_from == valid_from]
        if not found:
            starts = ", ".join(str(v.valid_from) for v in mine[-6:])
            raise SetwrightError(f"No version begins on {valid_from}.", f"The latest begin on: {starts}.")
        return found
    if every_version:
        return mine
    latest: dict[str, PlanVersion] = {}
    for version in mine:
        if not version.is_light or version.client_id not in latest:
            latest[version.client_id] = version
    return list(latest.values())


def _version(versions: Sequence[PlanVersion], client_id: str, valid_from: date) -> PlanVersion:
    for version in versions:
        if version.client_id == client_id and version.valid_from == valid_from:
            return version
    raise SetwrightError(f"No version of {client_id} begins on {valid_from}.")


def _checked(
    version: PlanVersion,
    other: PlanVersion | None,
    setting: AuditSetting,
    name: str,
    allowed: tuple[int, ...],
) -> dict[str, Any]:
    findings = [
        {
            "rule": f.rule,
            "severity": f.severity,
            "place": f.place,
            "figure": f.figure,
            "unit": f.unit,
            "sentence": f.sentence,
            "source": setting.rules[f.rule].source,
        }
        for f in audit_version(version, setting)
    ]
    layouts = (
        []
        if version.is_light or not setting.rules["layout"].is_on
        else layout_rows(version, setting, allowed)
    )
    changes = compare_versions(other, version, setting.hard_max_rir) if other else []
    days = [
        f"{day.name}{_weekday(day.weekday)}: {', '.join(e.name for e in day.exercises)}"
        for day in version.days
    ]
    return {
        "client_id": version.client_id,
        "name": name,
        "plan": version.plan,
        "phase": version.phase,
        "valid_from": version.valid_from,
        "valid_to": version.valid_to,
        "days": days,
        "findings": findings,
        "layouts": layouts,
        "compared_with": other.valid_from if other else None,
        "changes": [
            {
                "kind": c.kind,
                "place": c.place,
                "before": c.before,
                "after": c.after,
                "figure": c.figure,
                "unit": c.unit,
                "sentence": c.sentence,
            }
            for c in changes
        ],
    }


def _weekday(weekday: int | None) -> str:
    return f" ({WEEKDAYS[weekday - 1]})" if weekday else ""
