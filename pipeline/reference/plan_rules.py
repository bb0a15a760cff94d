"""The rules a plan is checked against, as data in plan_rule.toml, with the coach's changes laid over them."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

SEVERITIES = ("look", "consider", "fine")
_PLAN_RULE_TOML = Path(__file__).with_name("plan_rule.toml")


@dataclass(frozen=True)
class PlanRule:
    """One rule: what it asks, how much a finding matters, the figures it uses, what it rests on.

    `severity_far` is for findings far outside (empty: the same as `severity`).
    """

    rule: str
    question: str
    severity: str
    source: str
    figures: Mapping[str, object]
    severity_far: str = ""
    is_on: bool = True

    def number(self, name: str) -> float:
        """The figure `name`; KeyError where the rule has none, TypeError where it is no number."""
        value = self.figures[name]
        if not isinstance(value, int | float):
            raise TypeError(f"{self.rule}.{name} is no number: {value!r}")
        return float(value)

    def words(self, name: str) -> tuple[str, ...]:
        """The list `name` as texts."""
        value = self.figures[name]
        if not isinstance(value, list | tuple):
            raise TypeError(f"{self.rule}.{name} is no list: {value!r}")
        return tuple(str(word) for word in value)

    def span(self, name: str) -> tuple[float, float]:
        """The range `name`, low and high."""
        value = self.figures[name]
        if not isinstance(value, list | tuple) or len(value) != 2:
            raise TypeError(f"{self.rule}.{name} is no range: {value!r}")
        return float(value[0]), float(value[1])


@cache
def plan_rules() -> dict[str, PlanRule]:
    """The rules as they come."""
    raw = tomllib.loads(_PLAN_RULE_TOML.read_text(encoding="utf-8"))
    return {name: PlanRule(rule=name, **entry) for name, entry in raw.items()}


def changed_plan_rules(changes: Mapping[str, object]) -> dict[str, PlanRule]:
    """The rules with a coach's changes: `false` switches one off, a table sets severity and figures.

    ValueError with a sentence that names the rule or figure at fault.
    """
    rules = dict(plan_rules())
    for name, change in changes.items():
        if name not in rules:
            raise ValueError(f"there is no plan rule {name!r}{did_you_mean(name, rules)}")
        rules[name] = _changed(rules[name], change)
    return rules


def _changed(rule: PlanRule, change: object) -> PlanRule:
    if isinstance(change, bool):
        return replace(rule, is_on=change)
    if not isinstance(change, Mapping):
        raise ValueError(f"{rule.rule} = {change!r} is neither true, false nor a table of its figures")
    figures = dict(rule.figures)
    severity = rule.severity, rule.severity_far
    for key, value in change.items():
        if key == "severity":
            if value not in SEVERITIES:
                raise ValueError(f"{rule.rule}.severity = {value!r} is not one of {', '.join(SEVERITIES)}")
            severity = str(value), ""
        elif key not in figures:
            raise ValueError(f"{rule.rule} has no figure {key!r}{did_you_mean(str(key), figures)}")
        else:
            figures[str(key)] = checked_figure(f"{rule.rule}.{key}", figures[str(key)], value)
    return replace(rule, figures=figures, severity=severity[0], severity_far=severity[1])


def checked_figure(name: str, usual: object, value: object) -> object:
    """`value` where it is of the kind of the usual figure and not negative; ValueError otherwise."""
    if isinstance(usual, list):
        if isinstance(value, list) and all(type(one) in _kinds(usual) for one in value):
            return value
        raise ValueError(f"{name} = {value!r} is not a list such as {usual!r}")
    if isinstance(value, bool) or not isinstance(value, int | float) or value < 0:
        raise ValueError(f"{name} = {value!r} is not a number such as {usual!r}")
    return value


def _kinds(usual: list[object]) -> set[type]:
    return {str} if all(isinstance(one, str) for one in usual) else {int, float}


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """`; did you mean …?` for the nearest known name, else the known names."""
    names = list(known)
    near = difflib.get_close_matches(name, names, n=1)
    return f"; did you mean {near[0]}?" if near else f"; there are: {', '.join(names)}" if names else ""
