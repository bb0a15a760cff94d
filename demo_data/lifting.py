"""Turns a client, a plan and a story into the sets that were lifted.

True strength moves week by week (gain by training age). A day is good or bad (1.4 %), a lift on that day
too (1.8 %), so that the e1RM of a session scatters by about 2.5 to 4 % around the truth. Repetitions left
follow the load-repetition curve load = e1RM / (1 + r / k) with a k of the client's own. Effort is reported
with a bias and noise of about 0.6 repetitions. Loads move by double progression: when every set reaches
the top of the range, the next session is a step heavier.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from demo_data.lifts import LIFTS, Lift
from demo_data.roster import Client, Phase, monday_of
from demo_data.splits import ROLE_REPS, ROLE_RIR, Day, Slot
from demo_data.stories import turns_of

KG_PER_LB = 0.45359237
DAY_SCATTER = 0.014
LIFT_SCATTER = 0.018
PIN_KG = 5.0

# what a client does when the planned machine or lift does not appeal
SWAPS = ("goblet_squat", "leg_extension", "cable_fly", "hammer_curl", "triceps_pushdown", "push_up")
NOTES = (
    "felt fast",
    "grip went first",
    "short night",
    "gym packed, long rests",
    "new shoes",
    "belt on",
    "last set was a grind",
    "easy today",
    "video sent",
    "different bar than usual",
    "rushed, lunch break",
)


@dataclass(frozen=True)
class DoneSet:
    """A set as it was done; `load` in the client's unit, `rir` as reported (None: not known)."""

    day: date
    plan_day: str
    lift_id: str
    set_no: int
    kind: str
    load: float | None
    reps: int | None
    seconds: int | None = None
    rir: float | None = None
    note: str = ""


@dataclass
class Standing:
    """Where a client stands on one lift: truth in kg, working load in the client's unit."""

    truth_kg: float
    load: float | None = None
    rep_range: tuple[int, int] = (0, 0)
    below: int = 0
    seconds: int = 30


@dataclass
class Lifter:
    """A client in the simulation, with an own seeded source of chance."""

    client: Client
    rng: random.Random
    curve_k: float
    bodyweight_kg: float
    standings: dict[str, Standing] = field(default_factory=dict)

    def standing(self, lift: Lift) -> Standing:
        """The standing on a lift, drawn at first need."""
        if lift.lift_id not in self.standings:
            ratio = lift.ratio * self.client.strength * math.exp(self.rng.gauss(0, 0.06))
            if lift.basis == "bodyweight":
                # whoever is given a bodyweight lift can do the low end of the range
                ratio = max(ratio, lift.share * 1.38)
            self.standings[lift.lift_id] = Standing(ratio * self.client.bodyweight_kg)
        return self.standings[lift.lift_id]

    def to_kg(self, load: float) -> float:
        """A load of the client's unit in kilograms."""
        return load * KG_PER_LB if self.client.unit == "lb" else load

    def moved_kg(self, lift: Lift, load: float) -> float:
        """What is moved at a load: with the body's share, less the assistance."""
        if lift.basis == "bodyweight":
            return lift.share * self.bodyweight_kg + self.to_kg(load)
        if lift.basis == "assisted":
            return max(self.bodyweight_kg - self.to_kg(load), 10.0)
        if lift.basis == "pin":
            return load * PIN_KG
        return self.to_kg(load)


def rep_range(client: Client, slot: Slot, block: int) -> tuple[int, int]:
    """Planned repetitions of a slot; one client's last block is heavier."""
    if client.client_id == "grace" and block == 5:
        return {"main": (3, 5), "accessory": (6, 8)}.get(slot.role, ROLE_REPS[slot.role])
    return ROLE_REPS[slot.role]


def simulate(client: Client, seed: int) -> tuple[list[DoneSet], dict[int, float]]:
    """All sets of a client in order, and bodyweight in kg by week."""
    rng = random.Random(f"{seed}:{client.client_id}" + (f":{client.draw}" if client.draw else ""))
    lifter = Lifter(client, rng, rng.uniform(27, 34), client.bodyweight_kg)
    done: list[DoneSet] = []
    weights: dict[int, float] = {}
    for phase in client.phases:
        for week in range(phase.first_week, phase.last_week + 1):
            _grow(lifter, week, phase)
            weights[week] = lifter.bodyweight_kg
            for day in client.days:
                when = _when(lifter, week, day, phase)
                if when is not None:
                    done.extend(_session(lifter, week, day, when, phase))
    return sorted(done, key=lambda s: s.day), weights


def _grow(lifter: Lifter, week: int, phase: Phase) -> None:
    client = lifter.client
    span = max(client.phases[-1].last_week - client.first_week, 1)
    start, end = client.gain_pct
    usual = start + (end - start) * (week - client.first_week) / span
    turns = turns_of(client.client_id, week)
    for lift_id, standing in lifter.standings.items():
        gain = usual if phase.kind != "deload" else usual * 0.5
        for turn in turns:
            if turn.gain_pct is not None and (not turn.only_lifts or lift_id in turn.only_lifts):
                gain = turn.gain_pct
        standing.truth_kg *= 1 + gain / 100
    for turn in turns:
        lifter.bodyweight_kg *= 1 + turn.weight_pct / 100


def _when(lifter: Lifter, week: int, day: Day, phase: Phase) -> date | None:
    """The date a planned day was trained; None when it was not."""
    if phase.kind == "break":
        return None
    chance = 0.96 if lifter.client.status != "novice" else 0.94
    if monday_of(week) == date(2025, 12, 22):
        chance = 0.7
    for turn in turns_of(lifter.client.client_id, week):
        chance = turn.attendance if turn.attendance is not None else chance
    draw, shift = lifter.rng.random(), lifter.rng.random()
    if draw >= chance:
        return None
    moved = 1 if shift < 0.05 and day.weekday < 7 else 0
    return monday_of(week) + timedelta(days=day.weekday - 1 + moved)


def _session(lifter: Lifter, week: int, day: Day, when: date, phase: Phase) -> list[DoneSet]:
    turns = turns_of(lifter.client.client_id, week)
    good_day = lifter.rng.gauss(0, DAY_SCATTER)
    dip = sum(turn.dip(week) for turn in turns) / 100
    dose = math.prod(turn.dose for turn in turns)
    swap = max((turn.swap for turn in turns), default=0.0)
    done: list[DoneSet] = []
    seen: set[str] = set()
    for slot in day.slots:
        chosen = slot
        if swap and lifter.rng.random() < swap:
            free = [s for s in SWAPS if s not in seen and s not in {d.lift_id for d in day.slots}]
            chosen = replace(slot, lift_id=lifter.rng.choice(free)) if free else slot
        seen.add(chosen.lift_id)
        lift = LIFTS[chosen.lift_id]
        form = math.exp(good_day + lifter.rng.gauss(0, LIFT_SCATTER)) * (1 - dip)
        n_sets = max(1, round(slot.sets * dose))
        if phase.kind == "deload":
            n_sets = max(2, round(slot.sets * 0.6))
        if lift.basis in ("timed", "band"):
            done.extend(_holds(lifter, lift, day, when, n_sets, phase))
        else:
            done.extend(_exercise(lifter, lift, chosen, day, when, n_sets, form, phase, week))
    if done and lifter.rng.random() < 0.12:
        at = lifter.rng.randrange(len(done))
        done[at] = replace(done[at], note=lifter.rng.choice(NOTES))
    return done


def _holds(lifter: Lifter, lift: Lift, day: Day, when: date, n_sets: int, phase: Phase) -> list[DoneSet]:
    standing = lifter.standing(lift)
    if lift.basis == "band":
        return [
            DoneSet(when, day.name, lift.lift_id, n + 1, "work", None, 15 + lifter.rng.randrange(4))
            for n in range(n_sets)
        ]
    if phase.kind == "build" and lifter.rng.random() < 0.25:
        standing.seconds = min(standing.seconds + 5, 90)
    return [
        DoneSet(when, day.name, lift.lift_id, n + 1, "timed", None, None, standing.seconds)
        for n in range(n_sets)
    ]


def _exercise(
    lifter: Lifter,
    lift: Lift,
    slot: Slot,
    day: Day,
    when: date,
    n_sets: int,
    form: float,
    phase: Phase,
    week: int,
) -> list[DoneSet]:
    turns = turns_of(lifter.client.client_id, week)
    standing = lifter.standing(lift)
    low, high = rep_range(lifter.client, slot, phase.block)
    aim = float(ROLE_RIR[slot.role])
    step = lift.step_lb if lifter.client.unit == "lb" and lift.basis != "pin" else lift.step_kg
    if standing.load is None or standing.rep_range != (low, high) or phase.kind == "return":
        standing.load = _first_load(lifter, lift, standing.truth_kg, (low + high) / 2 + aim, step)
        standing.rep_range, standing.below = (low, high), 0
    load, top, aim_now = standing.load, high, max(aim - sum(t.push for t in turns), 0.0)
    if phase.kind == "deload":
        load, top, aim_now = _lighter(lift, load, step), low + 1, 4.0
    sets = []
    capacity = standing.truth_kg * form
    for n in range(n_sets):
        to_failure = lifter.curve_k * (capacity * (1 - 0.012 * n) / lifter.moved_kg(lift, load) - 1)
        reps = math.floor(to_failure - aim_now + 0.5 + lifter.rng.gauss(0, 0.35))
        reps = max(min(reps, top, math.floor(max(to_failure, 1.0))), 1)
        reported = _reported(lifter, to_failure - reps)
        sets.append(DoneSet(when, day.name, lift.lift_id, n + 1, "work", load, reps, rir=reported))
    if phase.kind != "deload":
        _progress(standing, sets, lift, step, any(t.holds_load for t in turns))
    return sets


def _first_load(lifter: Lifter, lift: Lift, truth_kg: float, reps: float, step: float) -> float:
    """The load that should allow that many repetitions to failure, rounded down to a step."""
    moved = truth_kg / (1 + reps / lifter.curve_k)
    if lift.basis == "bodyweight":
        load_kg = moved - lift.share * lifter.bodyweight_kg
    elif lift.basis == "assisted":
        load_kg = lifter.bodyweight_kg - moved
    elif lift.basis == "pin":
        return float(max(1, round(moved / PIN_KG)))
    else:
        load_kg = moved
    load = load_kg / KG_PER_LB if lifter.client.unit == "lb" else load_kg
    if step == 0:
        return 0.0
    least = 0.0 if lift.basis in ("bodyweight", "assisted") else step
    if lift.basis == "barbell":
        least = 45.0 if lifter.client.unit == "lb" else 20.0
    rounded = math.ceil(load / step) if lift.basis == "assisted" else math.floor(load / step)
    return max(rounded * step, least)


def _lighter(lift: Lift, load: float, step: float) -> float:
    if lift.basis == "assisted":
        return load + step
    if step == 0 or lift.basis == "bodyweight":
        return 0.0 if lift.basis == "bodyweight" else load
    return max(round(load * 0.88 / step) * step, step)


def _reported(lifter: Lifter, left: float) -> float | None:
    """RIR as the client would report it: a little too low, rounded, four or more as four."""
    if lifter.client.effort == "none":
        return None
    felt = left - 0.3 + lifter.rng.gauss(0, 0.6)
    grain = 0.5 if lifter.client.effort == "rpe" and lifter.client.status == "advanced" else 1.0
    return min(max(round(felt / grain) * grain, 0.0), 4.0)


def _progress(standing: Standing, sets: list[DoneSet], lift: Lift, step: float, holds_load: bool) -> None:
    low, high = standing.rep_range
    reps = [s.reps or 0 for s in sets]
    load = standing.load or 0.0
    up = -step if lift.basis == "assisted" else step
    standing.below = standing.below + 1 if reps[0] < low else 0
    if all(r >= high for r in reps):
        standing.load = max(load + up, 0.0)
    elif standing.below >= 2 and not holds_load:
        standing.load, standing.below = max(load - up, 0.0 if lift.basis == "bodyweight" else step), 0
