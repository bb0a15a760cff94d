"""The audit of plan versions: every rule in force on every version, as `plan_audit` and `plan_layout`."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import duckdb
import polars as pl

from pipeline.analyse.plan.audit_muscles import (
    check_effort_given,
    check_frequency,
    check_left_out,
    check_push_pull,
    check_session_dose,
    check_weekly_sets,
)
from pipeline.analyse.plan.audit_sessions import (
    check_alternatives,
    check_order,
    check_rep_range,
    check_session_length,
    check_superset_chance,
    check_superset_pairs,
)
from pipeline.analyse.plan.audit_week import (
    check_days_between,
    check_deload,
    check_hard_days_in_a_row,
    check_hard_work_spread,
    check_layout,
    demand_of,
)
from pipeline.analyse.plan.findings import AuditSetting, Finding
from pipeline.analyse.plan.layouts import (
    EVERY_DAY,
    best_layouts,
    layout_text,
    n_moved,
    score_layout,
    split_shape,
)
from pipeline.analyse.plan.versions import PlanVersion, read_catalogue, read_versions
from pipeline.analyse.plan.wording import count, in_list, muscle_word
from pipeline.contract import TABLES
from pipeline.contract.frames import frame_of
from pipeline.reference.plan_rules import SEVERITIES, PlanRule, changed_plan_rules

Check = Callable[[PlanVersion, AuditSetting], Iterator[Finding]]

CHECKS: dict[str, Check] = {
    "weekly_sets": check_weekly_sets,
    "left_out": check_left_out,
    "frequency": check_frequency,
    "session_dose": check_session_dose,
    "days_between": check_days_between,
    "hard_days_in_a_row": check_hard_days_in_a_row,
    "hard_work_spread": check_hard_work_spread,
    "layout": check_layout,
    "session_length": check_session_length,
    "superset_pairs": check_superset_pairs,
    "superset_chance": check_superset_chance,
    "order": check_order,
    "rep_range": check_rep_range,
    "effort_given": check_effort_given,
    "push_pull": check_push_pull,
    "alternatives": check_alternatives,
    "deload": check_deload,
}
# a deload is planned to be light: only these rules speak of it
_LIGHT_CHECKS = ("deload", "session_length")


def audit_version(version: PlanVersion, setting: AuditSetting) -> list[Finding]:
    """What is there to look at in this version? Findings of the rules in force, those to look at first."""
    found: list[Finding] = []
    for name, check in CHECKS.items():
        rule = setting.rules[name]
        if rule.is_on and not version.is_break and (name in _LIGHT_CHECKS or not version.is_light):
            found.extend(same_on_several_days(check(version, setting)))
    return sorted(found, key=lambda one: SEVERITIES.index(one.severity))


def same_on_several_days(findings: Iterable[Finding]) -> list[Finding]:
    """Findings that say the same of several days as one: `A, B and C: 54 to 135 min.`"""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for one in findings:
        rest = one.sentence.removeprefix(one.place) if one.place else one.sentence
        is_of_place = bool(one.place) and rest != one.sentence
        key = (one.severity, one.figure, one.unit, rest, "" if is_of_place else one.place)
        groups.setdefault(key, []).append(one)
    merged = []
    for same in groups.values():
        places = in_list(list(dict.fromkeys(one.place for one in same)))
        rest = same[0].sentence.removeprefix(same[0].place)
        is_one = len(same) == 1 or rest == same[0].sentence
        merged.append(same[0] if is_one else replace(same[0], place=places, sentence=f"{places}{rest}"))
    return merged


def audit_setting(con: duckdb.DuckDBPyConnection) -> AuditSetting:
    """Rules in force, targets, hard-set RIR and exercises, from `setting`, `muscle_target` and the
    catalogue."""
    row = con.execute("select hard_set_max_rir, plan_rules from setting").fetchone() or (4.0, None)
    targets = {
        muscle: (low, high)
        for muscle, low, high in con.execute(
            "select muscle, coalesce(target_low, 0), coalesce(target_high, 99) from muscle_target"
            " order by muscle"
        ).fetchall()
    }
    return AuditSetting(rules_in_force(row[1]), targets, float(row[0]), read_catalogue(con))


def rules_in_force(changes: str | None) -> Mapping[str, PlanRule]:
    """The rules with the coach's changes (JSON, as `setting` holds them) laid over them."""
    return changed_plan_rules(json.loads(changes or "{}"))


def with_previous(versions: Sequence[PlanVersion]) -> Iterator[tuple[PlanVersion, PlanVersion | None]]:
    """Each version with the last training version of the same client before it."""
    last: dict[str, PlanVersion] = {}
    for version in versions:
        yield version, last.get(version.client_id)
        if not version.is_light and not version.is_break:
            last[version.client_id] = version


def build_plan_audit(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`plan_audit` for every version of every plan."""
    setting = audit_setting(con)
    rows: list[Mapping[str, object]] = []
    for version, previous in with_previous(read_versions(con)):
        own = AuditSetting(setting.rules, setting.targets, setting.hard_max_rir, setting.catalogue, previous)
        rows.extend(
            {
                "client_id": version.client_id,
                "plan": version.plan or None,
                "valid_from": version.valid_from,
                "rule": one.rule,
                "severity": one.severity,
                "place": one.place or None,
                "figure": one.figure,
                "unit": one.unit or None,
                "sentence": one.sentence,
                "source": setting.rules[one.rule].source,
            }
            for one in audit_version(version, own)
        )
    return frame_of(TABLES["plan_audit"], rows)


def layout_rows(
    version: PlanVersion, setting: AuditSetting, allowed: tuple[int, ...] = EVERY_DAY
) -> list[dict[str, object]]:
    """`plan_layout` rows of a version: the best layouts, and the present one where it is not among them."""
    is_mixed = version.has_weekdays and version.weekdays is None  # two sessions a day, or days left open
    if is_mixed or not 2 <= len(version.days) <= len(allowed):
        return []
    shape = split_shape(version.days, demand_of(setting))
    most = int(setting.rules["layout"].number("shown"))
    layouts = list(best_layouts(shape, version.weekdays, allowed, most))
    if version.weekdays is not None and all(layout.weekdays != version.weekdays for layout in layouts):
        layouts.append(score_layout(shape, version.weekdays))
    names = [day.name for day in version.days]
    rows: list[dict[str, object]] = []
    for place, layout in enumerate(layouts, 1):
        row: dict[str, object] = {
            "client_id": version.client_id,
            "plan": version.plan or None,
            "valid_from": version.valid_from,
            "place": place,
            "is_current": layout.weekdays == version.weekdays,
            "layout": layout_text(layout.weekdays, names),
            "least_days_hard": layout.least_days_hard,
            "least_days_same_muscle": layout.least_days_same_muscle,
            "same_muscles": in_list([muscle_word(m) for m in layout.same_muscles], 8) or None,
            "n_hard_neighbours": layout.n_hard_neighbours,
            "n_interfering_neighbours": layout.n_interfering_neighbours,
            "n_days_moved": n_moved(layout.weekdays, version.weekdays),
        }
        rows.append(row | {"sentence": _layout_sentence(row)})
    return rows


def _layout_sentence(row: Mapping[str, object]) -> str:
    parts = []
    if row["least_days_same_muscle"]:
        n = int(str(row["least_days_same_muscle"]))
        which = f" ({row['same_muscles']})" if n < 3 else ""
        parts.append(f"the same muscles{which} come round after {count(n, 'day')} at the least")
    else:
        parts.append(
            "no two sessions train the same muscle directly with enough sets to be in each other's way"
        )
    if row["least_days_hard"]:
        parts.append(f"hard sessions lie {count(int(str(row['least_days_hard'])), 'day')} apart at the least")
    n_pairs, n_bad = int(str(row["n_hard_neighbours"])), int(str(row["n_interfering_neighbours"]))
    if n_pairs:
        parts.append(
            f"{count(n_pairs, 'pair')} of hard sessions on following days"
            + (
                f", {n_bad} of which {'interferes' if n_bad == 1 else 'interfere'}"
                if n_bad
                else ", none of which interferes"
            )
        )
    return f"{row['layout']}: {'; '.join(parts)}."


def build_plan_layout(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`plan_layout` for every training version of every plan."""
    setting = audit_setting(con)
    rows = [
        row
        for version in read_versions(con)
        if not version.is_light and not version.is_break
        for row in layout_rows(version, setting)
    ]
    return frame_of(TABLES["plan_layout"], rows)
