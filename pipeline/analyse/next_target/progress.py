"""Double progression and the two-for-two rule: repetitions first, then load, or a step back."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import mean

from pipeline.analyse.next_target.lifts import LiftNow, LiftSession, Proposal, TargetSlot
from pipeline.analyse.next_target.loads import (
    day_text,
    load_text,
    loadable,
    more_text,
    reps_text,
    same_load,
    scaled,
    step_kg,
    step_text,
)
from pipeline.reference.progression import Progression


def in_range(normal: Sequence[LiftSession], how: Progression) -> list[LiftSession]:
    """Sessions of the planned repetition range, not long before the newest one."""
    newest = normal[0].session_date
    return [
        s
        for s in normal
        if s.is_in_plan_range and (newest - s.session_date).days <= how.figures["range_days"]
    ]


def _latest(
    slot: TargetSlot, normal: Sequence[LiftSession], now: LiftNow, how: Progression
) -> tuple[list[LiftSession], str]:
    """The sessions a range rule looks at, newest first, and the newest in words."""
    usable = in_range(normal, how) or list(normal)
    last = usable[0]
    return (
        usable,
        f"{reps_text(last)} at {load_text(last.load_kg, slot, now)} on {day_text(last.session_date)}",
    )


def _without_range(slot: TargetSlot, last: LiftSession, at: str) -> Proposal:
    reason = f"{at}: the plan names no range; the same again."
    return Proposal(last.load_kg, slot.rep_low, None, "repeat", reason)


def propose_double(
    slot: TargetSlot, normal: Sequence[LiftSession], now: LiftNow, how: Progression
) -> Proposal:
    """Double progression: repetitions up within the range, then load up and repetitions back to its low
    end."""
    usable, at = _latest(slot, normal, now, how)
    last = usable[0]
    if slot.rep_high is None:
        return _without_range(slot, last, at)
    missed = _missed(slot, usable, now, how, at)
    if missed:
        return missed
    if len(last.reps) < slot.sets:
        return _again(
            slot,
            last,
            f"{at}: {len(last.reps)} of {slot.sets} sets at that load; the same until all are done.",
        )
    if min(last.reps[: slot.sets]) < slot.rep_high:
        return _again(slot, last, f"{at}: the same load until every set reaches {slot.rep_high}.")
    return _more_load(slot, last, slot.rep_high, now, how, at)


def propose_two_for_two(
    slot: TargetSlot, normal: Sequence[LiftSession], now: LiftNow, how: Progression
) -> Proposal:
    """Two-for-two: at least two repetitions over the range in the last set, in two sessions running."""
    usable, at = _latest(slot, normal, now, how)
    last = usable[0]
    if slot.rep_high is None:
        return _without_range(slot, last, at)
    missed = _missed(slot, usable, now, how, at)
    if missed:
        return missed
    needed, n_running = slot.rep_high + int(how.figures["extra_reps"]), int(how.figures["extra_sessions"])
    running = usable[:n_running]
    if len(running) == n_running and all(
        s.reps and s.reps[-1] >= needed and same_load(s, last) for s in running
    ):
        return _more_load(
            slot,
            last,
            needed,
            now,
            how,
            f"The last set reached {needed} in {n_running} sessions running ({at})",
            rule="two_for_two",
        )
    return _again(
        slot,
        last,
        f"{at}: the same load until the last set reaches {needed} in {n_running} sessions running.",
        rep_high=needed,
        rule="two_for_two_hold",
    )


def _missed(
    slot: TargetSlot, usable: Sequence[LiftSession], now: LiftNow, how: Progression, at: str
) -> Proposal | None:
    """Half the sets below the range, or an attempt without a repetition: once, the same load; then a step
    less."""
    low = slot.rep_low or 1
    last = usable[0]

    def fell_short(session: LiftSession) -> bool:
        reps = session.reps[: slot.sets]
        return session.n_missed > 0 or 2 * sum(one < low for one in reps) >= max(len(reps), 1)

    if not fell_short(last):
        return None
    n_needed = int(how.figures["missed_sessions"])
    running = usable[:n_needed]
    what = f"{last.n_missed} missed" if last.n_missed else f"below {low}"
    if len(running) == n_needed and all(fell_short(s) and same_load(s, last) for s in running):
        most = min(scaled(last, 1 - how.figures["lower_pct"] / 100), (last.load_kg or 0.0) - 1e-3)
        load = loadable(most, last, slot, now, how)
        if load < (last.load_kg or 0.0):
            return Proposal(
                load,
                slot.rep_low,
                slot.rep_high,
                "lower",
                f"{at}: {what}, in {n_needed} sessions running: down to {load_text(load, slot, now)}.",
            )
    return _again(slot, last, f"{at}: {what}; the same load once more.", rule="repeat")


def _again(
    slot: TargetSlot, last: LiftSession, reason: str, *, rep_high: int | None = None, rule: str = "more_reps"
) -> Proposal:
    """The same load; from one repetition more than the worst set on, within the range."""
    high = rep_high or slot.rep_high
    low = slot.rep_low
    if last.reps and low is not None and high is not None:
        low = max(low, min(min(last.reps) + 1, high))
    return Proposal(last.load_kg, low, high, rule, reason)


def _more_load(
    slot: TargetSlot,
    last: LiftSession,
    reached: int,
    now: LiftNow,
    how: Progression,
    at: str,
    rule: str = "more_load",
) -> Proposal:
    """A step up in load, unless effort or the size of the step speaks against it."""
    known = [rir for rir in last.rirs if rir is not None]
    rir = mean(known) if known else None
    if (
        rir is not None
        and slot.target_rir is not None
        and rir < slot.target_rir - how.figures["effort_slack_rir"]
    ):
        return _again(
            slot,
            last,
            f"{at}: reached {reached}, but with {rir:.1f} in reserve instead of"
            f" {slot.target_rir:g}; the same load once more.",
            rule="repeat",
        )
    if "return" in slot.phase:
        return _again(
            slot, last, f"{at}: reached {reached}; no step up in the weeks of return.", rule="repeat"
        )
    if now.is_fatigued:
        return _again(
            slot,
            last,
            f"{at}: reached {reached}; the review shows a pattern consistent with accumulated"
            " fatigue, so no step up.",
            rule="repeat",
        )
    if slot.load_basis == "bodyweight" and (last.load_kg or 0.0) == 0 and slot.bodyweight_share < 0.95:
        return Proposal(
            0.0,
            slot.rep_low,
            slot.rep_high,
            "harder",
            f"{at}: the top of the range at bodyweight; a harder variation or added load.",
        )
    step = step_kg(slot, now, how)
    moved = abs(last.load_kg or 0.0) if not last.body_kg else (last.load_kg or 0.0) + last.body_kg
    extra = reached + int(how.figures["extra_reps"])
    # pounds in kilograms are no round numbers: 5 lb on 50 lb are 10 %, not more
    is_large = moved > 0 and 100 * step / moved > how.figures["most_step_pct"] + 1e-6
    if is_large and min(last.reps[: slot.sets]) < extra:
        return _again(
            slot,
            last,
            f"{at}: the next step ({step_text(step, slot, now)}) would be {100 * step / moved:.0f} %"
            f" {'less' if slot.load_basis == 'assistance' and not last.body_kg else 'more'};"
            f" first {extra} repetitions in every set.",
            rep_high=extra,
        )
    is_easy = (
        rir is not None
        and slot.target_rir is not None
        and moved > 0
        and rir >= slot.target_rir + how.figures["easy_rir"]
        and 100 * 2 * step / moved <= how.figures["most_step_pct"] + 1e-6
    )
    load = (last.load_kg or 0.0) + step * (2 if is_easy else 1)
    if slot.load_basis == "assistance":
        load = min(load, 0.0)
    easy = f" with {rir:.1f} in reserve instead of {slot.target_rir:g}" if is_easy else ""
    more = more_text(step * (2 if is_easy else 1), slot, now)
    reason = f"{at}: {more}" if rule == "two_for_two" else f"{at}: every set reached {reached}{easy}, {more}"
    return Proposal(
        load,
        slot.rep_low,
        slot.rep_high,
        rule,
        f"{reason}, from {slot.rep_low} repetitions on." if slot.rep_low else f"{reason}.",
    )
