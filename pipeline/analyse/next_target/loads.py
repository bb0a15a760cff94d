"""Loads on the grid of what can be loaded, and how loads are said."""

from __future__ import annotations

import math
from datetime import date

from pipeline.analyse.next_target.lifts import LiftNow, LiftSession, TargetSlot
from pipeline.reference.progression import Progression

KG_PER_LB = 0.45359237  # NIST SP 811


def same_load(one: LiftSession, other: LiftSession) -> bool:
    """Whether two sessions were done at one load."""
    return one.load_kg is not None and other.load_kg is not None and abs(one.load_kg - other.load_kg) < 0.3


def step_kg(slot: TargetSlot, now: LiftNow, how: Progression) -> float:
    """The step up in kg: the usual one of the implement, or the least the client is seen to take if
    larger."""
    step = how.step(slot.implement, now.unit) * (KG_PER_LB if now.unit == "lb" else 1.0)
    return max(step, now.step_kg or 0.0)


def scaled(session: LiftSession, share: float) -> float:
    """External load when what is moved, body included, is scaled by `share`."""
    return ((session.load_kg or 0.0) + session.body_kg) * share - session.body_kg


def loadable(
    wanted_kg: float,
    last: LiftSession,
    slot: TargetSlot,
    now: LiftNow,
    how: Progression,
    *,
    is_nearest: bool = False,
) -> float:
    """A load that can be loaded: whole steps away from the last one, at or below `wanted_kg` (or the
    nearest).

    Steps count from the last load, which is known to exist: 11 kg dumbbells in steps of 2 go to 9, not to 10.
    Bodyweight lifts go no lower than 0, assistance no higher. Example: wanted 71, last 80, step 2.5: 70.
    """
    start, step = last.load_kg or 0.0, step_kg(slot, now, how)
    steps = (wanted_kg - start) / step
    n_steps = round(steps) if is_nearest else math.floor(steps + 1e-6)
    load = start + n_steps * step
    if slot.load_basis == "assistance":
        return min(load, 0.0)
    return max(load, 0.0)


def amount_text(kg: float, now: LiftNow) -> str:
    """A load in the client's unit: 102.5 kg, 225 lb."""
    return f"{kg / KG_PER_LB:.0f} lb" if now.unit == "lb" else f"{kg:.1f} kg".replace(".0 kg", " kg")


def step_text(kg: float, slot: TargetSlot, now: LiftNow) -> str:
    """A step in the client's unit, a hand where each holds one: 2 kg a hand."""
    value = kg / KG_PER_LB if now.unit == "lb" else kg
    return f"{value:.3g} {now.unit}" + (" a hand" if _is_a_hand(slot) else "")


def more_text(kg: float, slot: TargetSlot, now: LiftNow) -> str:
    """A step up as it is done: 2.5 kg more, or 5 kg less of assistance."""
    more = "less of assistance" if slot.load_basis == "assistance" else "more"
    return f"{step_text(kg, slot, now)} {more}"


def _is_a_hand(slot: TargetSlot) -> bool:
    return slot.load_basis == "per_hand" and slot.implements == 2


def load_text(kg: float | None, slot: TargetSlot, now: LiftNow) -> str:
    """A load as one would say it: 20 kg a hand, 15 kg of assistance, bodyweight."""
    if kg is None:
        return "no stated load"
    if kg == 0 and slot.load_basis in ("bodyweight", "assistance"):
        return "bodyweight"
    value = abs(kg) / KG_PER_LB if now.unit == "lb" else abs(kg)
    text = f"{value:.2f}".rstrip("0").rstrip(".") + f" {now.unit}"
    if _is_a_hand(slot):
        return f"{text} a hand"
    if kg < 0:
        return f"{text} of assistance"
    return f"{text} added" if slot.load_basis == "bodyweight" else text


def reps_text(session: LiftSession) -> str:
    """Repetitions set by set: 8, 8, 7."""
    return ", ".join(str(reps) for reps in session.reps) or "no repetition"


def range_text(slot: TargetSlot) -> str:
    """The planned range: 5 to 8."""
    return str(slot.rep_low) if slot.rep_low == slot.rep_high else f"{slot.rep_low} to {slot.rep_high}"


def day_text(day: date) -> str:
    """A day: 24 Jun."""
    return f"{day.day} {day:%b}"
