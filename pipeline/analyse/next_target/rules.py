"""What to aim at next time: the progression rules, one exercise at a time.

Pure: a planned exercise, its last sessions and what stands in the way go in, a proposal with its reason comes
out. A proposal is what the rule says, never an order; where pain was noted there is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import mean

from pipeline.analyse.e1rm import load_for_reps
from pipeline.analyse.next_target.lifts import LiftNow, LiftSession, Proposal, TargetSlot
from pipeline.analyse.next_target.loads import (
    amount_text,
    day_text,
    load_text,
    loadable,
    range_text,
    reps_text,
    same_load,
    scaled,
    step_kg,
    step_text,
)
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
            "The load is not in kilograms: the next band, step or hold when every"
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
        return _two_for_two(slot, normal, now, how)
    return _double(slot, normal, now, how)


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
    if slot.rep_low is None or _in_range(normal, how):
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


def _in_range(normal: Sequence[LiftSession], how: Progression) -> list[LiftSession]:
    """Sessions of the planned repetition range, not long before the newest one."""
    newest = normal[0].session_date
    return [
        s
        for s in normal
        if s.is_in_plan_range and (newest - s.session_date).days <= how.figures["range_days"]
    ]


def _for_range(slot: TargetSlot, now: LiftNow) -> float:
    """The load the e1RM allows in the middle of the range with the reserve aimed at."""
    low = slot.rep_low or slot.rep_high or 8
    middle = (low + (slot.rep_high or low)) / 2 + (slot.target_rir or 0.0)
    return float(load_for_reps(now.e1rm_kg or 0.0, min(middle, 20.0), now.equation))


def _double(slot: TargetSlot, normal: Sequence[LiftSession], now: LiftNow, how: Progression) -> Proposal:
    """Double progression: repetitions up within the range, then load up and repetitions back to its low
    end."""
    usable = _in_range(normal, how) or list(normal)
    last = usable[0]
    at = f"{reps_text(last)} at {load_text(last.load_kg, slot, now)} on {day_text(last.session_date)}"
    if slot.rep_high is None:
        return Proposal(
            last.load_kg, slot.rep_low, None, "repeat", f"{at}: the plan names no range; the same again."
        )
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


def _two_for_two(slot: TargetSlot, normal: Sequence[LiftSession], now: LiftNow, how: Progression) -> Proposal:
    """Two-for-two: at least two repetitions over the range in the last set, in two sessions running."""
    usable = _in_range(normal, how) or list(normal)
    last = usable[0]
    at = f"{reps_text(last)} at {load_text(last.load_kg, slot, now)} on {day_text(last.session_date)}"
    if slot.rep_high is None:
        return Proposal(
            last.load_kg, slot.rep_low, None, "repeat", f"{at}: the plan names no range; the same again."
        )
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
    if moved and 100 * step / moved > how.figures["most_step_pct"] and min(last.reps[: slot.sets]) < extra:
        return Proposal(
            last.load_kg,
            slot.rep_low,
            extra,
            "more_reps",
            f"{at}: the next step ({step_text(step, slot, now)}) would be {100 * step / moved:.0f} % more;"
            f" first {extra} repetitions in every set.",
        )
    is_easy = (
        rir is not None
        and slot.target_rir is not None
        and moved > 0
        and rir >= slot.target_rir + how.figures["easy_rir"]
        and 100 * 2 * step / moved <= how.figures["most_step_pct"]
    )
    load = (last.load_kg or 0.0) + step * (2 if is_easy else 1)
    if slot.load_basis == "assistance":
        load = min(load, 0.0)
    easy = f" with {rir:.1f} in reserve instead of {slot.target_rir:g}" if is_easy else ""
    more = step_text(step * (2 if is_easy else 1), slot, now)
    reason = (
        f"{at}: {more} more"
        if rule == "two_for_two"
        else f"{at}: every set reached {reached}{easy}, {more} more"
    )
    return Proposal(
        load,
        slot.rep_low,
        slot.rep_high,
        rule,
        f"{reason}, from {slot.rep_low} repetitions on." if slot.rep_low else f"{reason}.",
    )
