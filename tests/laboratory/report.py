"""The laboratory's report: shipped scores on fresh rosters, dynamics held out, rivals beside them."""

from __future__ import annotations

import time

import numpy as np
import polars as pl

from pipeline.analyse.states.decision import decide
from pipeline.analyse.states.score import Score
from tests.laboratory.baselines import RIVALS, best_rival
from tests.laboratory.fit import Sample, fit_all, pooled, states_of
from tests.laboratory.roster import simulate
from tests.laboratory.scorer import HEAD, share_flagged, week_truth
from tests.laboratory.tables import load_tables, run_states

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
    """Each kind of dynamics scored by weights and thresholds fitted on the other kinds, on other seeds."""
    lines, parts, planned = [HEAD], [], []
    for sample in reporting:
        scores = fit_all([s for s in fitting if s.kind != sample.kind])
        for kind in KINDS[:2]:
            result = pooled([sample], scores, kind)
            lines.append(result.line(f"{kind}, {sample.kind} held out"))
            parts.append((kind, result))
        planned.append((sample, scores))
    for kind in KINDS[:2]:
        mine = [result for name, result in parts if name == kind]
        lines.append(
            f"| **{kind}, mean of these** | {sum(r.n_events for r in mine)} | "
            f"{100 * float(np.mean([r.found for r in mine])):.0f} % | "
            f"{float(np.mean([r.delay_weeks for r in mine])):.1f} | "
            f"{float(np.mean([r.false_alarms for r in mine])):.2f} | "
            f"{float(np.mean([r.precision for r in mine])):.2f} | "
            f"{float(np.mean([r.recall for r in mine])):.2f} |"
        )
    shares = [table_of_planned([sample], scores).splitlines()[-1] for sample, scores in planned]
    head = "Planned weeks flagged as over-reaching, each kind held out:\n\n"
    head += "| | deload | returning | cut |\n|---|---|---|---|\n"
    return "\n".join(lines) + "\n\n" + head + "\n".join(shares)


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


def _stated_and_held(
    samples: list[Sample], scores: dict[str, Score], kind: str, status: str | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Confidence of the weeks flagged as `kind` (of one training age), and whether each held."""
    stated, held = [], []
    for s in samples:
        decision = decide(s.grids, scores, 14)
        flags = decision.state[s.at] == kind
        if status is not None:
            ids = s.clients.filter(s.clients["status"] == status)["client_id"]
            flags = flags & s.weeks["client_id"].is_in(ids.implode()).to_numpy()
        stated.append(decision.confidence[s.at][flags])
        held.append(week_truth(s.weeks, s.truth, kind, 7)[flags])
    return np.concatenate(stated), np.concatenate(held)


def table_of_confidence(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Stated confidence against the share of weeks that held: tenths of the flagged weeks, training ages."""
    lines = ["| | stated | held | weeks |", "|---|---|---|---|"]
    for kind in KINDS[:2]:
        c, h = _stated_and_held(samples, scores, kind)
        for part in np.array_split(np.argsort(c, kind="stable"), 10):
            if len(part):
                lines.append(f"| {kind} | {c[part].mean():.2f} | {h[part].mean():.2f} | {len(part)} |")
    c, h = _stated_and_held(samples, scores, "off_plan")
    lines.append(f"| off_plan | {c.mean():.2f} | {h.mean():.2f} | {len(c)} |")
    for kind in KINDS[:2]:
        for status in ("novice", "intermediate", "advanced"):
            c, h = _stated_and_held(samples, scores, kind, status)
            if len(c):
                lines.append(f"| {kind}, {status} | {c.mean():.2f} | {h.mean():.2f} | {len(c)} |")
    return "\n".join(lines)


def table_by_what_is_said(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Over-reachings found among clients with and without check-ins and effort."""
    lines = ["| check-ins | effort | over-reachings | found |", "|---|---|---|---|"]
    counts: dict[tuple[bool, bool], list[int]] = {}
    for s in samples:
        marks = s.marks("over_reaching")
        flags = states_of(s, scores) == "over_reaching"
        effort = pl.col("effort").is_in(["none", "0%"]).not_()
        said = {
            r[0]: (r[1], r[2]) for r in s.clients.select("client_id", "has_check_ins", effort).iter_rows()
        }
        for row, after in zip(marks.row.tolist(), marks.after.tolist(), strict=True):
            found = counts.setdefault(said[s.weeks["client_id"][row]], [0, 0])
            found[0] += 1
            found[1] += int(flags[row:after].any())
    for (answers, effort_said), (n, hits) in sorted(counts.items(), reverse=True):
        words = ["yes" if x else "no" for x in (answers, effort_said)]
        lines.append(f"| {words[0]} | {words[1]} | {n} | {100 * hits / n:.0f} % |")
    return "\n".join(lines)


APART = ("planned_deload", "returning", "no_recent_log")
"""States that come and go with the plan and the log; a state before them often goes on after them."""


def flicker(samples: list[Sample], scores: dict[str, Score]) -> str:
    """How often states change, and how many runs of a flag last a single week."""
    n_changes, n_judged, n_weeks = 0, 0, 0
    runs: dict[str, list[int]] = {kind: [] for kind in KINDS}
    for s in samples:
        state = s.weeks.with_columns(state=pl.Series(states_of(s, scores).astype(str).tolist()))
        marked = state.with_columns(run=pl.struct("client_id", "state").rle_id())
        lengths = marked.group_by("run").agg(pl.len().alias("n"), pl.col("state").first())
        n_changes += lengths.height - s.weeks["client_id"].n_unique()
        judged = state.filter(~pl.col("state").is_in(APART))
        n_judged += judged.select(pl.struct("client_id", "state").rle_id().n_unique()).item()
        n_judged -= judged["client_id"].n_unique()
        n_weeks += len(s.weeks)
        for kind in KINDS:
            runs[kind] += lengths.filter(pl.col("state") == kind)["n"].to_list()
    single = ", ".join(
        f"{kind} {100 * float(np.mean(np.array(n) == 1)):.0f} % (median run {np.median(n):.0f} weeks)"
        for kind, n in runs.items()
        if n
    )
    return (
        f"States change {52 * n_changes / n_weeks:.1f} times a client-year, {52 * n_judged / n_weeks:.1f} times "
        "if planned lighter weeks, returns and silences are passed over. "
        f"Runs that last a single week: {single}."
    )


def speed(kind: str = "breakpoints", n_clients: int = 100) -> str:
    """Processor seconds of the state models for 1,000 client-years of weeks."""
    roster = simulate(kind, n_clients, seed=9, weeks=52)
    con = load_tables(roster)
    parts = []
    for name in ("state_lift_week", "client_signal", "client_week", "lift_week"):
        start = time.process_time()
        run_states(con, (name,))
        parts.append((name, (time.process_time() - start) * 1000 / n_clients))
    con.close()
    named = ", ".join(f"{name} {seconds:.1f}" for name, seconds in parts)
    total = sum(seconds for _, seconds in parts)
    return f"Processor seconds for 1,000 client-years of weeks: {total:.0f} ({named})."


def table_of_planned(samples: list[Sample], scores: dict[str, Score]) -> str:
    """Share of weeks of deloads, returns and cuts that are flagged as over-reaching."""
    lines = ["| | deload | returning | cut |", "|---|---|---|---|"]
    for s in samples:
        flags = states_of(s, scores) == "over_reaching"
        cells = [
            f"{100 * share_flagged(s.weeks, flags, s.truth, kind):.1f} %"
            for kind in ("deload", "returning", "cut")
        ]
        lines.append(f"| {s.kind} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def write_report(fitting: list[Sample], reporting: list[Sample], scores: dict[str, Score]) -> str:
    """All tables as Markdown."""
    return (
        "\n\n".join(
            [
                "### Shipped scores on rosters of other seeds",
                table_of_scores(reporting, scores),
                "### Planned weeks flagged as over-reaching",
                table_of_planned(reporting, scores),
                "### Each kind of dynamics held out of the fit",
                table_held_out(fitting, reporting),
                "### Rivals, tuned on the rosters they are scored on",
                table_of_rivals(reporting),
                "### By what the client says",
                table_by_what_is_said(reporting, scores),
                "### By training age: share of weeks flagged",
                table_by_training_age(reporting, scores),
                "### Confidence",
                table_of_confidence(reporting, scores),
                "### Flicker and speed",
                flicker(reporting, scores),
                speed(),
            ]
        )
        + "\n"
    )
