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

from pipeline.analyse.plan.audit import audit_version, layout_rows, with_previous
from pipeline.analyse.plan.changes import compare_versions
from pipeline.analyse.plan.findings import AuditSetting
from pipeline.analyse.plan.layouts import EVERY_DAY
from pipeline.analyse.plan.versions import WEEKDAYS, PlanVersion, read_catalogue, read_versions
from pipeline.answers import read_answers
from pipeline.clean.coach_tables import CoachTable
from pipeline.clean.knowledge import gather_knowledge, names_by_client
from pipeline.clean.people import Person, Roster
from pipeline.clean.plan_rows import read_plans
from pipeline.clean.roster_rows import read_roster
from pipeline.contract import TABLES
from pipeline.contract.frames import frame_of
from pipeline.contract.sheets import SourceFile
from pipeline.errors import SetwrightError
from pipeline.ingest import read_folder
from pipeline.ingest.read_files import read_file
from pipeline.model.load_tables import load_tables
from pipeline.reference import Catalogue, load_catalogue
from pipeline.reference.plan_rules import PlanRule, changed_plan_rules
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
    kept = CoachTable("plans")
    clients, catalogue, slots = _read(workspace, sources, kept)
    tables = {
        "client": frame_of(TABLES["client"], clients),
        "plan_slot": frame_of(TABLES["plan_slot"], slots),
        "exercise": catalogue.exercise,
        "exercise_muscle": catalogue.exercise_muscle,
    }
    with duckdb.connect() as con:
        load_tables(con, tables)
        versions, facts = read_versions(con), read_catalogue(con)
    settings = workspace.settings
    setting = AuditSetting(
        changed_plan_rules(settings.plan_rules),
        _targets(catalogue, settings),
        settings.hard_set_max_rir,
        facts,
    )
    names = dict(names_by_client(clients))
    rejected = frame_of(TABLES["rejected_row"], kept.rejected).to_dicts()
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


class _AnyClient(Roster):
    """A roster for plan files on their own: the client is whoever the file says, else the file's name."""

    def resolve(self, text: str | None, source_file: str, sheet: str) -> Person:  # noqa: ARG002 - as Roster has it
        """The client of a row, never in doubt."""
        return Person(text or Path(source_file).stem)


def _read(
    workspace: Workspace, sources: Sequence[SourceFile], kept: CoachTable
) -> tuple[list[dict[str, object]], Catalogue, list[dict[str, object]]]:
    """Clients, exercises and planned rows of the sources; without a clients.csv every client is taken."""
    settings, answers = workspace.settings, read_answers(workspace.answers_csv)
    clients: list[dict[str, object]] = []
    if workspace.clients_csv.exists():
        clients = read_roster(
            read_file(workspace.clients_csv, workspace.root, "workspace"), CoachTable("workspace")
        )
    roster = Roster(names_by_client(clients), answers) if clients else _AnyClient([], answers)
    catalogue = load_catalogue(workspace.exercises_csv)
    known = gather_knowledge(clients, roster, catalogue, answers, settings.today(), settings)
    return clients, catalogue, [slot for source in sources for slot in read_plans(source, known, kept)]


def _targets(catalogue: Catalogue, settings: Settings) -> dict[str, tuple[float, float]]:
    """Target ranges by muscle, the coach's own before the usual ones."""
    usual = catalogue.muscle_target.select("muscle", "target_low", "target_high").sort("muscle")
    return {muscle: (low, high) for muscle, low, high in usual.iter_rows()} | settings.muscle_targets


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
