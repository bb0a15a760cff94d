"""The laboratory's report: shipped scores on fresh rosters, dynamics held out, rivals beside them."""

from __future__ import annotations

import numpy as np

from pipeline.analyse.states.decision import decide
from pipeline.analyse.states.score import Score
from tests.laboratory.baselines import RIVALS, best_rival
from tests.laboratory.fit import Sample, fit_all, pooled, states_of
from tests.laboratory.scorer import HEAD, share_flagged, week_truth

KINDS = ("plateau", "over_reaching", "off_plan")
RIVAL_ALARMS = {"plateau": 0.95, "over_reaching": 0.26}


def table_of_scores(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Each state over all samples, then by kind of dynamics."""
    lines = [HEAD]
    for kind in KINDS:
        lines.append(pooled(samples, scores, kind).line(f"**{kind}**"))
        lines += [pooled([s], scores, kind).line(f"{kind}, {s.kind}") for s in samples]
    return "\n".join(lines)


def table_held_out(fitting: list[Sample], reporting: list[Sample]) -> str:
    """Each kind of dynamics scored by weights fitted on the other kinds, on other seeds."""
    lines = [HEAD]
    for sample in reporting:
        scores = fit_all([s for s in fitting if s.kind != sample.kind])
        lines += [pooled([sample], scores, k).line(f"{k}, {sample.kind} held out") for k in KINDS[:2]]
    return "\n".join(lines)


def table_of_rivals(samples: list[Sample]) -> str:
    """The rivals on the same rosters."""
    lines = [HEAD]
    for kind, rivals in RIVALS.items():
        for name, rival in rivals.items():
            result = best_rival(samples, kind, rival, RIVAL_ALARMS[kind])
            if result is not None:
                lines.append(result.line(f"{kind}: {name}"))
    return "\n".join(lines)


def table_by_training_age(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Share of weeks flagged inside and outside events, by training age."""
    lines = ["| | plateau: inside | outside | over-reaching: inside | outside |", "|---|---|---|---|---|"]
    for status in ("novice", "intermediate", "advanced"):
        cells = []
        for kind in KINDS[:2]:
            hits, inside, misses, outside = 0, 0, 0, 0
            for s in samples:
                ids = set(s.clients.filter(s.clients["status"] == status)["client_id"])
                mine = np.array([c in ids for c in s.weeks["client_id"]])
                flags, truth = states_of(s, scores) == kind, week_truth(s.weeks, s.truth, kind)
                hits, inside = hits + (flags & truth & mine).sum(), inside + (truth & mine).sum()
                misses, outside = misses + (flags & ~truth & mine).sum(), outside + (~truth & mine).sum()
            cells += [f"{100 * hits / max(inside, 1):.0f} %", f"{100 * misses / max(outside, 1):.1f} %"]
        lines.append(f"| {status} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def table_of_confidence(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Stated confidence against the share of weeks that held, in thirds of the flagged weeks."""
    lines = ["| | stated | held | weeks |", "|---|---|---|---|"]
    for kind in KINDS:
        stated, held = [], []
        for s in samples:
            decision = decide(s.grids, scores, 14)
            flags = decision.state[s.at] == kind
            stated.append(decision.confidence[s.at][flags])
            held.append(week_truth(s.weeks, s.truth, kind, 7)[flags])
        c, h = np.concatenate(stated), np.concatenate(held)
        for part in np.array_split(np.argsort(c, kind="stable"), 3):
            if len(part):
                lines.append(f"| {kind} | {c[part].mean():.2f} | {h[part].mean():.2f} | {len(part)} |")
    return "\n".join(lines)


def planned_is_no_symptom(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Share of weeks of deloads, returns and cuts that are flagged as over-reaching."""
    cells = []
    for kind in ("deload", "returning", "cut"):
        shares = [
            share_flagged(s.weeks, states_of(s, scores) == "over_reaching", s.truth, kind) for s in samples
        ]
        cells.append(f"{kind} {100 * float(np.mean(shares)):.1f} %")
    return "Weeks flagged as over-reaching: " + ", ".join(cells) + "."


def write_report(fitting: list[Sample], reporting: list[Sample], scores: dict[str, Score]) -> str:
    """All tables as Markdown."""
    return (
        "\n\n".join(
            [
                "### Shipped scores on rosters of other seeds",
                table_of_scores(reporting, scores),
                planned_is_no_symptom(reporting, scores),
                "### Each kind of dynamics held out of the fit",
                table_held_out(fitting, reporting),
                "### Rivals, tuned on the rosters they are scored on",
                table_of_rivals(reporting),
                "### By training age: share of weeks flagged",
                table_by_training_age(reporting, scores),
                "### Confidence",
                table_of_confidence(reporting, scores),
            ]
        )
        + "\n"
    )
