"""A planned exercise, its last sessions, what stands in the way, and what is proposed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class TargetSlot:
    """A planned exercise as next week's plan has it; `implements` 2: one in each hand."""

    exercise_name: str
    implement: str
    load_basis: str
    sets: int
    rep_low: int | None = None
    rep_high: int | None = None
    target_rir: float | None = None
    percent_e1rm: float | None = None
    progression: str = ""
    phase: str = "build"
    is_timed: bool = False
    bodyweight_share: float = 0.0
    duration_low_s: float | None = None
    duration_high_s: float | None = None
    implements: int = 1


@dataclass(frozen=True)
class LiftSession:
    """One session of the exercise: its working load and the sets at that load.

    `load_kg` as logged (negative: assistance; None: no kilograms); `reps`, `rirs` set by set; `n_missed`
    attempts without a repetition; `body_kg` what of the body is moved besides; `is_in_plan_range`: it served
    a planned exercise of the same repetition range, or no plan and its repetitions lie there.
    """

    session_date: date
    load_kg: float | None
    reps: tuple[int, ...]
    rirs: tuple[float | None, ...] = ()
    n_missed: int = 0
    body_kg: float = 0.0
    is_in_plan_range: bool = True
    is_deload: bool = False
    durations_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class PainNote:
    """A note of pain, word for word; `is_for_exercise`: written beside this exercise; a warning sign ends
    coaching for the whole client until licensed medical care has cleared it."""

    note_date: date
    words: str
    is_for_exercise: bool
    is_warning_sign: bool = False


@dataclass(frozen=True)
class LiftNow:
    """What is known of client and lift on the first day of next week; `e1rm_kg` on the lift's basis,
    `step_kg` the least step seen between this client's loads, `is_fatigued` that the last complete week's
    state is over_reaching."""

    first_day: date
    unit: str = "kg"
    e1rm_kg: float | None = None
    e1rm_is_system: bool = False
    equation: str = "epley"
    pain: PainNote | None = None
    step_kg: float | None = None
    is_fatigued: bool = False


@dataclass(frozen=True)
class Proposal:
    """What the rule proposes: load (None: none), repetitions, the rule's name and its reason in a
    sentence."""

    load_kg: float | None
    rep_low: int | None
    rep_high: int | None
    rule: str
    reason: str
