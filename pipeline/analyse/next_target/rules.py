"""What to aim at next time: the progression rules, one exercise at a time.

Pure: a planned exercise, its last sessions and what stands in the way go in, a proposal with its reason comes
out. A proposal is what the rule says, never an order; where pain was noted there is none.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.analyse.e1rm import load_for_reps
from pipeline.analyse.next_target.lifts import LiftNow, LiftSession, Proposal, TargetSlot
from pipeline.analyse.next_target.loads import (
    amount_text,
    day_text,
    load_text,
    loadable,
    range_text,
    scaled,
)
from pipeline.analyse.next_target.progress import in_range, propose_double, propose_two_for_two
from pipeline.reference.progression import Progression

NO_KILOGRAMS = ("band", "machine_step", "none")


def propose(slot: TargetSlot, sessions: Sequence[LiftSession], now: LiftNow, how: Progression) -> Proposal:
    """What should this client aim at in this exercise next time, and why?

    `sessions`: the newest first. In this order: nothing where pain was noted beside the exercise; nothing in
    kilograms where the load is none; find the load where nothing is known; a deload lighter; a return lighter
    by the weeks away; a percent of e1RM where the plan says so; no more load while a note of pain is open;
    then double progression or the two-for-two rule.
    """
    pain = now.pain
    if pain and pain.is_warning_sign:
        return _none(
            slot,
            "warning_sign",
            f"A note of {day_text(pain.note_date)} (“{pain.words}”) mentions a warning sign: nothing is"
            " proposed until licensed medical care has cleared it.",
        )
    if pain and pain.is_for_exercise:
        return _none(
            slot,
            "pain",
            f"Pain was noted on {day_text(pain.note_date)} (“{pain.words}”): nothing is"
            " proposed until you have talked about it.",
        )
    if slot.is_timed:
        return _timed(slot, sessions)
    if slot.load_basis in NO_KILOGRAMS:
        return _none(
            slot,
            "no_kilograms",
            "The load is no weight: the next band, step or hold when every"
            f" set reaches {slot.rep_high or 'the top of the range'}.",
        )
    useful = [s for s in sessions if s.load_kg is not None and (s.reps or s.n_missed)]
    normal = [s for s in useful if not s.is_deload] or useful
    if not normal or (now.first_day - useful[0].session_date).days > how.figures["forget_days"]:
        return _first_time(slot, was_ever=bool(normal))
    for rule in (_deload, _percent, _back, _held_by_pain, _new_range):
        found = rule(slot, normal, useful[0], now, how)
        if found:
            return found
    if (slot.progression or how.rule) == "two_for_two":
        return propose_two_for_two(slot, normal, now, how)
    return propose_double(slot, normal, now, how)


def _none(slot: TargetSlot, rule: str, reason: str) -> Proposal:
    return Proposal(None, slot.rep_low, slot.rep_high, rule, reason)


def _timed(slot: TargetSlot, sessions: Sequence[LiftSession]) -> Proposal:
    held = next((s.durations_s for s in sessions if s.durations_s), ())
    if not held:
        return _none(slot, "timed", "A hold: no seconds have been logged yet.")
    text = ", ".join(f"{seconds:.0f}" for seconds in held)
    if slot.duration_high_s is not None and min(held) >= slot.duration_high_s:
        return _none(
            slot, "timed", f"{text} s reached the top of the range: a harder variation or more seconds."
        )
    return _none(slot, "timed", f"{text} s last time: a few seconds more.")


def _first_time(slot: TargetSlot, *, was_ever: bool) -> Proposal:
    reserve = "" if slot.target_rir is None else f" that leaves {slot.target_rir:g} in reserve"
    since = "Not logged for a long time" if was_ever else "Not logged yet"
    reps = f" at {slot.rep_low} repetitions" if slot.rep_low else ""
    return _none(slot, "first_time", f"{since}: find a load{reserve}{reps}.")


def _deload(
    slot: TargetSlot, normal: Sequence[LiftSession], _newest: LiftSession, now: LiftNow, how: Progression
) -> Proposal | None:
    if "deload" not in slot.phase and "taper" not in slot.phase:
        return None
    last, share = normal[0], how.figures["deload_pct"] / 100
    load = loadable(scaled(last, share), last, slot, now, how)
    before = f"{load_text(last.load_kg, slot, now)} ({day_text(last.session_date)})"
    reason = f"{slot.phase.capitalize()}: {share:.0%} of {before}, rounded down."
    if load == last.load_kg:
        reason = (
            f"{slot.phase.capitalize()}: {before} cannot be made lighter; the sets stay further from failure."
        )
    return Proposal(load, slot.rep_low, slot.rep_high, "deload", reason)


def _back(
    slot: TargetSlot, normal: Sequence[LiftSession], newest: LiftSession, now: LiftNow, how: Progression
) -> Proposal | None:
    days = (now.first_day - newest.session_date).days
    if days <= how.figures["back_after_days"]:
        return None
    last, weeks = normal[0], days // 7
    off = min(how.figures["back_pct_per_week"] * max(weeks - 2, 0), how.figures["back_most_pct"])
    load = loadable(scaled(last, 1 - off / 100), last, slot, now, how, is_nearest=True)
    before = load_text(last.load_kg, slot, now)
    how_much = (
        f"about {off:g} % off {before}"
        if load != last.load_kg
        else f"{before} again, fewer repetitions first"
    )
    reason = f"Last done {weeks} weeks ago ({day_text(newest.session_date)}): {how_much}, then on from there."
    return Proposal(load, slot.rep_low, slot.rep_high, "back", reason)


def _percent(
    slot: TargetSlot, normal: Sequence[LiftSession], newest: LiftSession, now: LiftNow, how: Progression
) -> Proposal | None:
    is_asked = slot.percent_e1rm is not None or (slot.progression or how.rule) == "percent"
    days = (now.first_day - newest.session_date).days
    if not is_asked or days > how.figures["back_after_days"]:
        return None
    if now.e1rm_kg is None:
        return Proposal(
            normal[0].load_kg,
            slot.rep_low,
            slot.rep_high,
            "repeat",
            f"No e1RM is known: {load_text(normal[0].load_kg, slot, now)} again.",
        )
    if slot.percent_e1rm is not None:
        moved, said = now.e1rm_kg * slot.percent_e1rm / 100, f"{slot.percent_e1rm:g} % of"
    else:
        moved, said = _for_range(slot, now), f"for {range_text(slot)} repetitions from"
    body = normal[0].body_kg if now.e1rm_is_system else 0.0
    load = loadable(moved - body, normal[0], slot, now, how)
    if now.pain and load > (normal[0].load_kg or 0.0):
        return _held_by_pain(slot, normal, newest, now, how)
    return Proposal(
        load,
        slot.rep_low,
        slot.rep_high,
        "percent",
        f"The load {said} an e1RM of {amount_text(now.e1rm_kg, now)}, rounded down.",
    )


def _held_by_pain(
    slot: TargetSlot, normal: Sequence[LiftSession], _newest: LiftSession, now: LiftNow, _how: Progression
) -> Proposal | None:
    if now.pain is None:
        return None
    return Proposal(
        normal[0].load_kg,
        slot.rep_low,
        slot.rep_high,
        "held_by_pain",
        f"A note of {day_text(now.pain.note_date)} mentions pain (“{now.pain.words}”): no more than"
        f" {load_text(normal[0].load_kg, slot, now)} until you know what it is about.",
    )


def _new_range(
    slot: TargetSlot, normal: Sequence[LiftSession], _newest: LiftSession, now: LiftNow, how: Progression
) -> Proposal | None:
    if slot.rep_low is None or in_range(normal, how):
        return None
    if now.e1rm_kg is None:
        return Proposal(
            None,
            slot.rep_low,
            slot.rep_high,
            "first_time",
            f"Not done at {range_text(slot)} repetitions yet: find the load.",
        )
    body = normal[0].body_kg if now.e1rm_is_system else 0.0
    load = loadable(_for_range(slot, now) - body, normal[0], slot, now, how)
    return Proposal(
        load,
        slot.rep_low,
        slot.rep_high,
        "new_range",
        f"Not done at {range_text(slot)} repetitions yet: what an e1RM of {amount_text(now.e1rm_kg, now)}"
        " allows in the middle of the range, rounded down.",
    )


def _for_range(slot: TargetSlot, now: LiftNow) -> float:
    """The load the e1RM allows in the middle of the range with the reserve aimed at."""
    low = slot.rep_low or slot.rep_high or 8
    middle = (low + (slot.rep_high or low)) / 2 + (slot.target_rir or 0.0)
    return float(load_for_reps(now.e1rm_kg or 0.0, min(middle, 20.0), now.equation))
