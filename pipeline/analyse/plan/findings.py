"""A finding of the audit, and what the rules have at hand when they look at a version."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.analyse.plan.versions import ExerciseFacts, PlanVersion
from pipeline.reference.plan_rules import PlanRule


@dataclass(frozen=True)
class Finding:
    """What a rule found: `severity` look, consider or fine; `place` a day, muscle or exercise; a sentence."""

    rule: str
    severity: str
    place: str
    figure: float | None
    unit: str
    sentence: str


@dataclass(frozen=True)
class AuditSetting:
    """What every rule may use besides the version: rules in force, target ranges, the hard-set RIR,
    exercises."""

    rules: Mapping[str, PlanRule]
    targets: Mapping[str, tuple[float, float]]
    hard_max_rir: float
    catalogue: Mapping[str, ExerciseFacts]
    previous: PlanVersion | None = None


def finding(
    rule: PlanRule,
    place: str,
    figure: float | None,
    unit: str,
    sentence: str,
    *,
    far: bool = False,
    fine: bool = False,
) -> Finding:
    """A finding at the rule's severity, at its severity for far outside, or fine."""
    severity = "fine" if fine else (rule.severity_far or rule.severity) if far else rule.severity
    return Finding(rule.rule, severity, place, figure, unit, sentence)
