"""How next targets are proposed: rule, load steps and figures, as data in progression.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pipeline.reference.plan_rules import checked_figure, did_you_mean

PROGRESSION_RULES = ("double", "two_for_two", "percent")
_PROGRESSION_TOML = Path(__file__).with_name("progression.toml")


@dataclass(frozen=True)
class Progression:
    """The rule for exercises whose plan sets none, the load steps (`barbell_kg` …) and the figures."""

    rule: str
    steps: Mapping[str, float]
    figures: Mapping[str, float]

    def step(self, implement: str, unit: str) -> float:
        """The least step up in load for an implement, in `unit` (kg or lb)."""
        return self.steps.get(f"{implement}_{unit}", self.steps[f"other_{unit}"])


@cache
def progression() -> Progression:
    """The rule, steps and figures as they come."""
    raw = tomllib.loads(_PROGRESSION_TOML.read_text(encoding="utf-8"))
    return Progression(raw["rule"], raw["steps"], raw["figures"])


def changed_progression(changes: Mapping[str, object]) -> Progression:
    """The figures with a coach's changes laid over them; ValueError with a sentence for one at fault."""
    usual = progression()
    rule, steps, figures = usual.rule, dict(usual.steps), dict(usual.figures)
    for key, value in changes.items():
        if key == "rule":
            if value not in PROGRESSION_RULES:
                raise ValueError(f"rule = {value!r} is not one of {', '.join(PROGRESSION_RULES)}")
            rule = str(value)
            continue
        table = steps if key in steps else figures
        if key not in table:
            raise ValueError(f"there is no figure {key!r}{did_you_mean(key, [*steps, *figures])}")
        checked = checked_figure(key, table[key], value)
        if not isinstance(checked, int | float) or (table is steps and checked == 0):
            raise ValueError(f"{key} = {value!r} is not a number above 0")
        table[key] = float(checked)
    return Progression(rule, steps, figures)
