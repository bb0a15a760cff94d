"""How a simulated client trains and writes it down: plan, sets by coaching style, effort, check-ins.

A lift's true capacity on a day is the common level plus its own drift, less fatigue, plus the day's and the
lift's noise. Repetitions to failure at a load follow a curve of the client's own, which is not the curve
the estimate assumes. What is logged: load on the plates there are, repetitions, and the effort the client
believes, if any.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.laboratory.dynamics import Course
from tests.laboratory.life import Life

MAINS = (
    ("back_squat", "Back Squat", "squat", "barbell", 1.25),
    ("bench_press", "Bench Press", "horizontal_press", "barbell", 1.0),
    ("deadlift", "Deadlift", "hip_hinge", "barbell", 1.5),
    ("overhead_press", "Overhead Press", "overhead_press", "barbell", 0.62),
    ("barbell_row", "Barbell Row", "row", "barbell", 0.85),
    ("leg_press", "Leg Press", "leg_press", "machine_plates", 2.4),
)
ACCESSORIES = (
    ("romanian_deadlift", "Romanian Deadlift", "hip_hinge", "barbell", 1.15),
    ("incline_dumbbell_press", "Incline Dumbbell Press", "horizontal_press", "dumbbell", 0.36),
    ("lat_pulldown", "Lat Pulldown", "vertical_pull", "cable", 0.85),
    ("seated_cable_row", "Seated Cable Row", "row", "cable", 0.85),
    ("dumbbell_shoulder_press", "Dumbbell Shoulder Press", "overhead_press", "dumbbell", 0.28),
    ("leg_extension", "Leg Extension", "isolation", "machine_stack", 0.8),
    ("leg_curl", "Leg Curl", "isolation", "machine_stack", 0.6),
    ("dumbbell_curl", "Dumbbell Curl", "isolation", "dumbbell", 0.2),
    ("triceps_pushdown", "Triceps Pushdown", "isolation", "cable", 0.45),
    ("lateral_raise", "Lateral Raise", "isolation", "dumbbell", 0.13),
    ("front_squat", "Front Squat", "squat", "barbell", 1.0),
    ("hip_thrust", "Hip Thrust", "hip_thrust", "barbell", 1.6),
    ("bulgarian_split_squat", "Bulgarian Split Squat", "lunge", "dumbbell", 0.3),
    ("face_pull", "Face Pull", "isolation", "cable", 0.35),
)
CATALOGUE = {row[0]: row for row in (*MAINS, *ACCESSORIES)}
RANGES = ((4, 6), (5, 8), (6, 10), (8, 12), (10, 15))
WEEKDAYS = {2: (0, 3), 3: (0, 2, 4), 4: (0, 1, 3, 4), 5: (0, 1, 2, 4, 5), 6: (0, 1, 2, 3, 4, 5)}
DAY_NAMES = ("Day A", "Day B", "Day C", "Day D", "Day E", "Day F")


@dataclass
class Slot:
    """A planned exercise of a block."""

    day: int
    slot: int
    exercise_id: str
    sets: int
    rep_low: int
    rep_high: int
    target_rir: float


@dataclass
class LiftState:
    """What coach and client carry from session to session for one exercise."""

    one_rep_max: float
    believed: float
    load: float = 0.0
    target_reps: int = 0
    exposures: int = 0
    drift: float = 0.0
    stuck: int = 0
    to_learn: float = 0.0


@dataclass
class Training:
    """Rows of one client: sets, plan versions, check-ins, excused spans; days counted from the first."""

    sets: list[dict[str, Any]] = field(default_factory=list)
    plan: list[dict[str, Any]] = field(default_factory=list)
    check_ins: list[dict[str, Any]] = field(default_factory=list)
    excused: list[tuple[int, int, str]] = field(default_factory=list)


def draw_block(rng: np.random.Generator, n_days: int, before: list[Slot] | None) -> list[Slot]:
    """The next block: main lifts mostly stay, some accessories and ranges change."""
    if before is not None:
        swap, shift = rng.random() < 0.7, rng.random() < 0.5
        used = {s.exercise_id for s in before}
        slots = []
        for old in before:
            exercise = old.exercise_id
            is_main = any(exercise == m[0] for m in MAINS)
            if swap and not is_main and rng.random() < 0.5:
                choices = [a[0] for a in ACCESSORIES if a[0] not in used]
                if choices:
                    exercise = str(rng.choice(choices))
                    used.add(exercise)
            low, high = (
                (old.rep_low, old.rep_high)
                if not shift
                else RANGES[int(rng.integers(0 if is_main else 2, 4 if is_main else 5))]
            )
            slots.append(Slot(old.day, old.slot, exercise, old.sets, low, high, old.target_rir))
        return slots
    slots = []
    accessories = [a[0] for a in rng.permutation(np.array(ACCESSORIES, dtype=object))]
    mains = [MAINS[i][0] for i in rng.permutation(len(MAINS))]
    for day in range(n_days):
        chosen = [mains[(2 * day + k) % len(mains)] for k in range(2)]
        for _ in range(int(rng.integers(2, 4))):
            chosen.append(
                accessories[len(slots) * 7 % len(accessories)]
                if not accessories
                else str(rng.choice(accessories))
            )
        seen: set[str] = set()
        for exercise in chosen:
            if exercise in seen:
                continue
            seen.add(exercise)
            is_main = any(exercise == m[0] for m in MAINS)
            low, high = RANGES[int(rng.integers(0, 4) if is_main else rng.integers(2, 5))]
            slots.append(
                Slot(
                    day,
                    len(seen),
                    exercise,
                    int(rng.integers(3, 5) if is_main else rng.integers(2, 4)),
                    low,
                    high,
                    float(rng.choice([1, 2, 3])),
                )
            )
    return slots


class Trainee:
    """One client in training; `run` walks the days."""

    def __init__(self, rng: np.random.Generator, life: Life, course: Course) -> None:
        self.rng, self.life, self.course = rng, life, course
        self.out = Training()
        self.lifts: dict[str, LiftState] = {}
        self.curve = float(rng.uniform(24, 36))
        self.bend = float(rng.uniform(0.95, 1.05))
        self.set_fade = float(rng.uniform(0.004, 0.02))
        self.level_factor = 1.0
        self.away = life.away()
        self.light = life.days(life.deloads) | life.days(life.own_deloads)
        self.gap = life.days(life.log_gaps)
        self.sandbag = life.days(life.sandbagging)
        self.compliance = float(rng.uniform(0.92, 0.99))
        self.off_sessions = life.days([(a, b) for a, b, k in life.off_plan if k == "sessions"])
        self.off_sets = life.days([(a, b) for a, b, k in life.off_plan if k == "sets"])
        self.more_sets = life.days(life.more_sets)
        self.off_share = float(rng.uniform(0.25, 0.55))
        cut_rate = rng.uniform(0.004, 0.009) / 7
        self.weight = life.bodyweight_kg * np.exp(
            np.cumsum(np.where(life.days(life.cuts), -cut_rate, 0.0001 * rng.normal() / 7))
        )

    def run(self) -> Training:
        """The whole life of the client."""
        life, blocks = self.life, [*self.life.blocks, self.life.n_days]
        slots: list[Slot] | None = None
        for start, stop in itertools.pairwise(blocks):
            slots = draw_block(self.rng, life.n_sessions_week, slots)
            if life.has_plan:
                self._write_plan(slots, start, stop)
            self._new_block(slots)
            self._train(slots, start, stop)
        self._check_in()
        for a, b, said in life.breaks:
            if said:
                self.out.excused.append((a, b, "break"))
        for a, b, said in life.illnesses:
            if said:
                self.out.excused.append((a, b, "illness"))
        return self.out

    def _write_plan(self, slots: list[Slot], start: int, stop: int) -> None:
        cuts = sorted(
            {start, stop} | {e for a, b in self.life.deloads for e in (a, b + 1) if start < e < stop}
        )
        for first, after in itertools.pairwise(cuts):
            is_deload = any(a <= first <= b for a, b in self.life.deloads)
            for s in slots:
                self.out.plan.append(
                    {
                        "plan": f"Block {start // 7 + 1}",
                        "first": first,
                        "last": after - 1,
                        "phase": "deload" if is_deload else "build",
                        "day": DAY_NAMES[s.day],
                        "weekday": WEEKDAYS[self.life.n_sessions_week][s.day] + 1,
                        "slot": s.slot,
                        "exercise_id": s.exercise_id,
                        "sets": max(1, round(s.sets * 0.6)) if is_deload else s.sets,
                        "rep_low": s.rep_low,
                        "rep_high": s.rep_high,
                        "target_rir": s.target_rir + (2 if is_deload else 0),
                    }
                )

    def _new_block(self, slots: list[Slot]) -> None:
        for s in slots:
            state = self.lifts.get(s.exercise_id)
            if state is None:
                ratio = CATALOGUE[s.exercise_id][4]
                base = self.life.bodyweight_kg * ratio * self.rng.lognormal(0, 0.2)
                base *= {"novice": 0.65, "intermediate": 1.0, "advanced": 1.25}[self.life.status]
                known = not self.out.sets and self.rng.random() < 0.6
                self.lifts[s.exercise_id] = LiftState(
                    base, np.log(base) - 0.03, to_learn=0.0 if known else float(self.rng.uniform(0.01, 0.08))
                )
            else:
                state.load, state.target_reps = 0.0, s.rep_low

    def _train(self, slots: list[Slot], start: int, stop: int) -> None:
        days = WEEKDAYS[self.life.n_sessions_week]
        by_day = {weekday: [s for s in slots if s.day == k] for k, weekday in enumerate(days)}
        carried: list[Slot] | None = None
        for day in range(start, stop):
            todo = by_day.get(day % 7)
            if carried is not None and todo is None:
                todo, carried = carried, None
            if todo is None or self.away[day]:
                continue
            if self.off_sessions[day]:
                if self.rng.random() > self.off_share:
                    continue
            elif self.rng.random() > self.compliance:
                continue
            elif self.rng.random() < 0.05 and (day + 1) % 7 not in by_day and day + 1 < stop:
                carried = todo
                by_day_today = None
                del by_day_today
                continue
            self._session(day, todo)

    def capacity(self, exercise_id: str) -> float:
        """Log capacity of a lift without the day's part."""
        state = self.lifts[exercise_id]
        learning = state.to_learn * np.exp(-state.exposures / 4.0)
        return float(np.log(state.one_rep_max) + state.drift - learning)

    def to_failure(self, log_capacity: float, load: float) -> float:
        """Repetitions to failure at a load: the client's own curve."""
        ratio = np.exp(log_capacity) / max(load, 0.1)
        return float(max(self.curve * max(ratio - 1, 0) ** self.bend + 0.3, 0.0)) if ratio > 0.97 else 0.0

    def load_for(self, log_capacity: float, reps: float) -> float:
        """Load at which `reps` are the most that is possible."""
        return float(np.exp(log_capacity) / (1 + (max(reps - 0.3, 0.05) / self.curve) ** (1 / self.bend)))

    def step(self, exercise_id: str) -> float:
        """Smallest load step there is, kg."""
        implement = CATALOGUE[exercise_id][3]
        if self.life.unit == "lb":
            return 0.45359237 * (5.0 if implement != "machine_stack" else 10.0)
        return {"dumbbell": 2.0, "machine_stack": 5.0}.get(implement, 2.5)

    def _round(self, load: float, exercise_id: str) -> float:
        step = self.step(exercise_id)
        return max(round(load / step), 1) * step

    def _session(self, day: int, todo: list[Slot]) -> None:
        rng, life, course = self.rng, self.life, self.course
        light = bool(self.light[day])
        bad_day = rng.normal(0, life.noise_day) - (0.06 if rng.random() < 0.02 else 0.0)
        for s in todo:
            state = self.lifts[s.exercise_id]
            state.drift += rng.normal(0, 0.002)
            c = self.capacity(s.exercise_id) + course.level[day] - course.fatigue[day] + bad_day
            c += rng.normal(0, life.noise_lift)
            n_sets = s.sets * (0.6 if light else 1.0) * (course.dose[day] if not light else 1.0)
            if self.off_sets[day]:
                n_sets *= 0.5
            if self.more_sets[day]:
                n_sets *= 1.35
            n_sets = max(1, int(n_sets + rng.random() * 0.999)) if n_sets % 1 else max(1, int(n_sets))
            self._exercise(day, s, state, c, n_sets, light)
            state.exposures += 1

    def _exercise(self, day: int, s: Slot, state: LiftState, c: float, n_sets: int, light: bool) -> None:
        rng, style = self.rng, self.life.style
        if s.exercise_id not in {m[0] for m in MAINS} and style in ("percent", "top_set"):
            style = "double_progression"
        middle = (s.rep_low + s.rep_high) // 2
        if state.load <= 0:
            state.load = self._round(
                self.load_for(state.believed, s.rep_low + s.target_rir + 0.5), s.exercise_id
            )
            state.target_reps = s.rep_low
        load, aims = state.load, [s.rep_high] * n_sets
        if style == "percent":
            aims = [s.rep_low + 1] * n_sets
        elif style in ("top_set", "autoregulated"):
            load = self._round(self.load_for(state.believed, middle + s.target_rir), s.exercise_id)
            aims = [middle] * n_sets
        loads = [load] * n_sets
        if style == "top_set":
            loads = [load] + [self._round(load * 0.9, s.exercise_id)] * (n_sets - 1)
        if light:
            loads = [self._round(w * 0.88, s.exercise_id) for w in loads]
            aims = [min(a, middle) for a in aims]
        reserve = max(s.target_rir + (1.5 if self.sandbag[day] else 0.0), 0.0)
        done, possible_first = [], 0.0
        for i, (w, aim) in enumerate(zip(loads, aims, strict=True)):
            possible = self.to_failure(c - i * self.set_fade, w) + rng.normal(0, 0.4)
            possible_first = possible if i == 0 else possible_first
            stop_at = (
                possible - reserve + rng.normal(0, 0.5)
                if style in ("double_progression", "rising_reps")
                else possible
            )
            reps = int(np.floor(max(min(aim, stop_at), 0)))
            if style in ("double_progression", "rising_reps") and reps < min(s.rep_low, aim):
                reps = int(np.floor(max(min(s.rep_low, possible), 0)))
            done.append((w, reps, max(possible - reps, 0.0)))
        if not self.gap[day]:
            self._write_sets(day, s, done)
        if light:
            return
        self._learn(s, state, style, done, possible_first)

    def _learn(
        self, s: Slot, state: LiftState, style: str, done: list[tuple[float, int, float]], possible: float
    ) -> None:
        """What coach and client change for next time."""
        load, reps, left = done[0]
        seen = np.log(load) + np.log(1 + (max(possible, 0.5)) / self.curve)
        state.believed += 0.35 * (seen - state.believed)
        step = self.step(s.exercise_id)
        if style == "percent":
            if reps < s.rep_low:
                state.stuck += 1
                if state.stuck >= 2:
                    state.load, state.stuck = self._round(state.load * 0.93, s.exercise_id), 0
            elif left >= 1.5 or self.rng.random() < 0.25:
                state.load, state.stuck = state.load + step, 0
            return
        top = s.rep_high if style == "double_progression" else s.rep_high + 2
        if min(r for _, r, _ in done) >= min(top, s.rep_high):
            state.load = self._round(max(state.load + step, state.load * 1.02), s.exercise_id)
            state.stuck = 0
        elif reps < s.rep_low:
            state.stuck += 1
            if state.stuck >= 2:
                state.load, state.stuck = self._round(state.load * 0.94, s.exercise_id), 0

    def _write_sets(self, day: int, s: Slot, done: list[tuple[float, int, float]]) -> None:
        rng, life = self.rng, self.life
        patchy = life.effort == "patchy" and rng.random() < 0.5
        for i, (load, reps, left) in enumerate(done):
            believed = left + (life.effort_bias if left > 0.3 else 0) + rng.normal(0, life.effort_noise)
            rir: float | None = float(
                np.clip(round(believed * 2) / 2 if life.effort == "rpe" else round(believed), 0, 5)
            )
            if life.effort == "none" or patchy or (life.effort == "last_set" and i < len(done) - 1):
                rir = None
            self.out.sets.append(
                {
                    "day": day,
                    "exercise_id": s.exercise_id,
                    "set_index": i + 1,
                    "load_kg": load,
                    "reps": reps,
                    "rir": rir,
                }
            )

    def _check_in(self) -> None:
        rng, life = self.rng, self.life
        if not life.has_check_ins:
            return
        base = {
            "sleep_h": rng.normal(7.2, 0.5),
            "soreness": rng.normal(2.2, 0.4),
            "motivation": rng.normal(3.8, 0.4),
            "stress": rng.normal(2.4, 0.5),
        }
        ill = life.days([(a, b) for a, b, _ in life.illnesses])
        for day in range(life.n_days):
            if day % max(7 // life.check_in_days, 1) or rng.random() < 0.1:
                continue
            strain = life.check_in_response * self.course.fatigue[day] / 0.04 + (1.0 if ill[day] else 0.0)
            self.out.check_ins.append(
                {
                    "day": day,
                    "bodyweight_kg": float(self.weight[day] * np.exp(rng.normal(0, 0.006))),
                    "sleep_h": round(
                        float(np.clip(base["sleep_h"] - 0.45 * strain + rng.normal(0, 0.6), 3, 11)), 1
                    ),
                    "soreness": float(
                        np.clip(round(base["soreness"] + 0.6 * strain + rng.normal(0, 0.6)), 1, 5)
                    ),
                    "motivation": float(
                        np.clip(round(base["motivation"] - 0.6 * strain + rng.normal(0, 0.6)), 1, 5)
                    ),
                    "stress": float(np.clip(round(base["stress"] + 0.3 * strain + rng.normal(0, 0.6)), 1, 5)),
                }
            )
