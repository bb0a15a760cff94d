"""A second simulator that shares no code with the first (`life`, `dynamics`, `training`) but the exercises.

It is there to hold what was fitted on the first against. Where the first draws events independently and
lets them avoid each other, this one walks through a client's time segment by segment; strength is one line
with a wobble; logs are written with fewer lifts, fixed repetition targets and loads that follow what the
client can do or stay until the coach moves them; check-ins are weekly and, for those who answer, speak
plainly. Its rates are our own [P]; the rivals of the report show how hard its rosters are beside the others.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import numpy as np
import polars as pl

from tests.laboratory.roster import FIRST_DAY, Roster
from tests.laboratory.training import CATALOGUE

RATE = {"novice": 0.0065, "intermediate": 0.0038, "advanced": 0.0018}
"""Middle of the weekly gain (log units) while getting on; strong lifters gain little."""
EVENTS = ("plateau", "over_reaching", "off_plan", "break", "cut", "illness", "hard_weeks")
SHARES = (0.38, 0.25, 0.12, 0.09, 0.06, 0.06, 0.04)
LENGTHS = {
    "plateau": (42, 105),
    "over_reaching": (10, 32),
    "off_plan": (14, 49),
    "break": (9, 24),
    "cut": (42, 77),
    "illness": (4, 9),
    "hard_weeks": (14, 28),
}
"""Shortest and longest event in days. Hard weeks: more sets and tired answers that cost no strength."""
LEAST_DAYS = {"plateau": 42, "over_reaching": 10}
"""Shorter events are none."""
OFF_KINDS = ("sessions", "sets", "other")
TARGETS = (5, 6, 8, 10, 12)
WEEK_ANSWERS = {
    "sleep_h": (7.1, 0.45, -0.5),
    "soreness": (2.3, 0.5, 0.7),
    "motivation": (3.9, 0.45, -0.7),
    "stress": (2.4, 0.5, 0.6),
}
"""Mean, spread from week to week, and shift at full fatigue."""


@dataclass
class Path:
    """A client's time: event and level of every day, and the true spans."""

    event: list[str]
    level: np.ndarray
    strain: np.ndarray
    deload: np.ndarray
    spans: list[tuple[str, int, int]] = field(default_factory=list)


def _walk(rng: np.random.Generator, n_days: int, rate: float, has_deloads: bool) -> Path:
    """Gain, an event, gain, an event …; deloads lie across everything but breaks."""
    event = ["gain"] * n_days
    path = Path(event, np.zeros(n_days), np.zeros(n_days), np.zeros(n_days, dtype=bool))
    day = int(rng.integers(28, 100))
    while day < n_days - 14:
        kind = str(rng.choice(EVENTS, p=SHARES))
        last = min(day + int(rng.integers(LENGTHS[kind][0], LENGTHS[kind][1] + 1)) - 1, n_days - 1)
        for d in range(day, last + 1):
            event[d] = kind
        path.spans.append((kind, day, last))
        day = last + 1 + int(rng.gamma(2.2, 32))
    if has_deloads:
        week = int(rng.integers(4, 8))
        while 7 * week + 7 <= n_days:
            days = slice(7 * week, 7 * week + 7)
            if not {"break", "illness"} & set(event[days]):
                path.deload[days] = True
            week += int(rng.integers(4, 9))
    daily = np.full(n_days, rate / 7)
    for kind, first, last in path.spans:
        here = slice(first, last + 1)
        if kind == "plateau":
            daily[here] = rng.normal(0, 0.0003) / 7
        elif kind == "cut":
            daily[here] = rng.uniform(-0.002, 0.0002) / 7
        elif kind == "break":
            daily[here] = -rng.uniform(0.001, 0.0025)
            back = slice(last + 1, min(last + 15, n_days))
            daily[back] += 0.8 * -daily[first] * (last + 1 - first) / 14
        elif kind == "off_plan":
            daily[here] *= rng.uniform(0.2, 0.8)
        elif kind == "illness":
            daily[here] = 0.0
        elif kind == "over_reaching":
            depth, climb = rng.uniform(0.035, 0.1), rng.uniform(3, 9)
            path.strain[here] = depth * np.minimum(np.arange(1, last - first + 2) / climb, 1.0)
            after = np.arange(last + 1, min(last + 12, n_days))
            path.strain[after] += depth * np.exp(-(after - last) / 4)
            daily[here] *= 0.5
    wobble, step = np.zeros(n_days), rng.uniform(0.0003, 0.0009)
    for d in range(1, n_days):
        wobble[d] = 0.96 * wobble[d - 1] + rng.normal(0, step)
    path.level = np.cumsum(daily) + wobble
    return path


@dataclass
class Lift:
    """A lift in the present block: target, sets, load in use, what the coach thinks the client can lift."""

    exercise_id: str
    days: list[int]
    one_rep_max: float
    believed: float
    target: int = 8
    sets: int = 3
    load: float = 0.0


class _Client:
    """Writes one client's rows."""

    def __init__(self, rng: np.random.Generator, client_id: str, weeks: int) -> None:
        self.rng, self.client_id, self.n_days = rng, client_id, 7 * weeks
        self.status = str(rng.choice(list(RATE), p=[0.35, 0.4, 0.25]))
        self.rate = RATE[self.status] * float(rng.lognormal(0, 0.3))
        self.weekdays = sorted(rng.choice(7, size=int(rng.choice([2, 3, 4, 5])), replace=False).tolist())
        self.path = _walk(rng, self.n_days, self.rate, bool(rng.random() < 0.7))
        self.in_plan = bool(rng.random() < 0.85)
        self.has_plan = bool(rng.random() < 0.9)
        self.effort = float(rng.choice([0.0, 0.3, 1.0], p=[0.3, 0.2, 0.5]))
        self.bias, self.blur = float(rng.normal(-0.4, 0.7)), float(rng.uniform(0.4, 1.0))
        self.noise, self.day_noise = float(rng.uniform(0.010, 0.022)), float(rng.uniform(0.003, 0.009))
        self.curve, self.follows = float(rng.uniform(25, 37)), bool(rng.random() < 0.55)
        self.answers = bool(rng.random() < 0.75)
        self.speaks = float(rng.choice([0.2, 1.0, 1.6], p=[0.15, 0.5, 0.35]))
        self.bodyweight = float(rng.normal(80, 12))
        self.unit = "lb" if rng.random() < 0.3 else "kg"
        self.grid = 0.45359237 * 5 if self.unit == "lb" else 2.5
        self.skips = float(rng.uniform(0.01, 0.07))
        self.sets: list[dict[str, Any]] = []
        self.plan: list[dict[str, Any]] = []
        self.check_ins: list[dict[str, Any]] = []
        self.excused: list[dict[str, Any]] = []

    def _lifts(self) -> list[Lift]:
        rng = self.rng
        names = rng.permutation(list(CATALOGUE))[: int(rng.integers(6, 11))]
        scale = {"novice": 0.6, "intermediate": 0.95, "advanced": 1.3}[self.status] * self.bodyweight
        out = []
        for k, name in enumerate(names):
            days = {self.weekdays[k % len(self.weekdays)]}
            if rng.random() < 0.4:
                days.add(int(rng.choice(self.weekdays)))
            best = scale * CATALOGUE[str(name)][4] * float(rng.lognormal(0, 0.15))
            out.append(Lift(str(name), sorted(days), best, np.log(best) + rng.normal(-0.03, 0.02)))
        return out

    def run(self) -> _Client:
        """Blocks of six to fourteen weeks; in each the targets, and sometimes a lift, change."""
        rng, lifts, start = self.rng, self._lifts(), 0
        off = {first: str(rng.choice(OFF_KINDS)) for kind, first, _ in self.path.spans if kind == "off_plan"}
        self.off_kind = {
            d: off[first]
            for kind, first, last in self.path.spans
            if kind == "off_plan"
            for d in range(first, last + 1)
        }
        self.off_share = float(rng.uniform(0.25, 0.55))
        while start < self.n_days:
            stop = min(start + 7 * int(rng.integers(6, 15)), self.n_days)
            for lift in lifts:
                if start == 0 or rng.random() < 0.5:
                    lift.target, lift.load = int(rng.choice(TARGETS)), 0.0
                lift.sets = int(rng.integers(2, 5))
            if self.has_plan:
                self._write_plan(lifts, start, stop)
            for day in range(start, stop):
                self._day(lifts, day)
            start = stop
        self._surroundings()
        return self

    def _write_plan(self, lifts: list[Lift], start: int, stop: int) -> None:
        light = self.path.deload if self.in_plan else np.zeros(self.n_days, dtype=bool)
        edges = [start, *(d for d in range(start + 1, stop) if light[d] != light[d - 1]), stop]
        for first, after in itertools.pairwise(edges):
            for k, lift in enumerate(lifts):
                for weekday in lift.days:
                    self.plan.append(
                        {
                            "client_id": self.client_id,
                            "plan": f"Plan {start // 7 + 1}",
                            "first": first,
                            "last": after - 1,
                            "phase": "deload" if light[first] else "build",
                            "day": f"Session {self.weekdays.index(weekday) + 1}",
                            "weekday": weekday + 1,
                            "slot": k + 1,
                            "exercise_id": lift.exercise_id,
                            "sets": max(1, lift.sets // 2) if light[first] else lift.sets,
                            "rep_low": max(lift.target - 2, 1),
                            "rep_high": lift.target + 1,
                            "target_rir": 4.0 if light[first] else 2.0,
                        }
                    )

    def _day(self, lifts: list[Lift], day: int) -> None:
        rng, event, path = self.rng, self.path.event[day], self.path
        if day % 7 not in self.weekdays or event in ("break", "illness") or rng.random() < self.skips:
            return
        off = self.off_kind.get(day, "")
        if off == "sessions" and rng.random() > self.off_share:
            return
        today = rng.normal(0, self.day_noise) + path.level[day] - path.strain[day]
        for lift in lifts:
            if day % 7 not in lift.days:
                continue
            chosen = lift
            if off == "other" and rng.random() < 0.65:
                chosen = lifts[int(rng.integers(len(lifts)))]
                if day % 7 in chosen.days or rng.random() < 0.4:
                    continue
            sets = lift.sets * (0.4 if off == "sets" else 1.0) * (1.3 if event == "hard_weeks" else 1.0)
            sets *= 0.5 if path.deload[day] else 1.0
            self._sets(chosen, day, today, max(1, round(sets)), bool(path.deload[day]))

    def _sets(self, lift: Lift, day: int, today: float, n: int, light: bool) -> None:
        rng = self.rng
        can = np.log(lift.one_rep_max) + today + rng.normal(0, self.noise)
        if lift.load <= 0 or (self.follows and not light):
            lift.load = np.exp(lift.believed) / (1 + (lift.target + 2) / self.curve)
        load = max(round(lift.load * (0.87 if light else 1.0) / self.grid), 1) * self.grid
        most = []
        for i in range(n):
            possible = self.curve * (np.exp(can - 0.008 * i) / load - 1) + rng.normal(0, 0.3)
            most.append(possible)
            wanted = lift.target + (0 if self.follows or light else 2)
            reps = int(np.clip(np.floor(min(wanted, possible - rng.uniform(0, 2))), 0, 25))
            reps = max(reps, int(min(lift.target, max(possible, 0))))
            rir = None
            if rng.random() < self.effort:
                rir = float(np.clip(round(possible - reps + self.bias + rng.normal(0, self.blur)), 0, 6))
            row = {
                "client_id": self.client_id,
                "day": day,
                "exercise_id": lift.exercise_id,
                "set_index": i + 1,
                "load_kg": load,
                "reps": reps,
                "rir": rir,
            }
            self.sets.append(row)
        if light:
            return
        seen = np.log(load) + np.log1p(max(most[0], 0.5) / self.curve)
        lift.believed += 0.3 * (seen - lift.believed)
        if not self.follows and most[0] >= lift.target + 3:
            lift.load = load + self.grid
        elif not self.follows and most[0] < lift.target - 2:
            lift.load = load * 0.95

    def _surroundings(self) -> None:
        """Weekly answers and weight, and what was announced."""
        rng, path = self.rng, self.path
        usual = {name: rng.normal(mean, 0.4) for name, (mean, _, _) in WEEK_ANSWERS.items()}
        weight = self.bodyweight
        for day in range(6, self.n_days, 7):
            week = path.event[day - 6 : day + 1]
            weight *= np.exp(-0.006 * week.count("cut") / 7 + rng.normal(0, 0.001))
            if not self.answers or rng.random() < 0.15:
                continue
            burden = self.speaks * (path.strain[day - 6 : day + 1].mean() / 0.05)
            burden += 0.7 * (week.count("hard_weeks") > 3) + 1.2 * (week.count("illness") > 2)
            row: dict[str, Any] = {"client_id": self.client_id, "day": day}
            row["bodyweight_kg"] = round(weight * float(np.exp(rng.normal(0, 0.004))), 1)
            for name, (_, spread, shift) in WEEK_ANSWERS.items():
                value = usual[name] + rng.normal(0, spread) + shift * burden
                row[name] = (
                    round(float(np.clip(value, 3, 11)), 1)
                    if name == "sleep_h"
                    else float(np.clip(round(value), 1, 5))
                )
            self.check_ins.append(row)
        for kind, first, last in path.spans:
            if kind in ("break", "illness") and rng.random() < 0.6:
                self.excused.append({"client_id": self.client_id, "first": first, "last": last, "kind": kind})


def _truth(client: _Client) -> list[dict[str, Any]]:
    rows = []
    spans = [s for s in client.path.spans if s[0] not in ("illness", "hard_weeks", "break")]
    spans += [("returning", b + 1, b + 14) for kind, a, b in client.path.spans if kind == "break"]
    edges = np.flatnonzero(np.diff(np.r_[0, client.path.deload.astype(int), 0]))
    spans += [("deload", int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    for kind, first, last in spans:
        if last - first + 1 < LEAST_DAYS.get(kind, 1) or (kind == "off_plan" and not client.has_plan):
            continue
        rows.append(
            {
                "client_id": client.client_id,
                "kind": kind,
                "first": FIRST_DAY + timedelta(days=first),
                "last": FIRST_DAY + timedelta(days=min(last, client.n_days - 1)),
            }
        )
    return rows


def simulate_weekly(n_clients: int, seed: int, weeks: int = 60) -> Roster:
    """A roster of the second simulator; the same seed gives the same roster."""
    people = [
        _Client(np.random.default_rng([seed, k, 77]), f"w{k:04d}", weeks).run() for k in range(n_clients)
    ]

    def dated(rows: list[dict[str, Any]], schema: dict[str, Any], **names: str) -> pl.DataFrame:
        frame = pl.DataFrame(rows, schema=schema)
        return frame.with_columns(
            (pl.lit(FIRST_DAY) + pl.duration(days=pl.col(old))).cast(pl.Date).alias(new)
            for old, new in names.items()
        ).drop(names)

    text, whole, real = pl.String, pl.Int64, pl.Float64
    return Roster(
        kind="weekly",
        sets=dated(
            [row for p in people for row in p.sets],
            {
                "client_id": text,
                "day": whole,
                "exercise_id": text,
                "set_index": whole,
                "load_kg": real,
                "reps": whole,
                "rir": real,
            },
            day="session_date",
        ),
        plan=dated(
            [row for p in people for row in p.plan],
            {
                "client_id": text,
                "plan": text,
                "first": whole,
                "last": whole,
                "phase": text,
                "day": text,
                "weekday": whole,
                "slot": whole,
                "exercise_id": text,
                "sets": whole,
                "rep_low": whole,
                "rep_high": whole,
                "target_rir": real,
            },
            first="valid_from",
            last="valid_to",
        ),
        check_ins=dated(
            [row for p in people for row in p.check_ins],
            {
                "client_id": text,
                "day": whole,
                "bodyweight_kg": real,
                **dict.fromkeys(WEEK_ANSWERS, real),
            },
            day="check_in_date",
        ),
        excused=dated(
            [row for p in people for row in p.excused],
            {"client_id": text, "first": whole, "last": whole, "kind": text},
            first="date_from",
            last="date_to",
        ),
        clients=pl.DataFrame(
            [
                {
                    "client_id": p.client_id,
                    "status": p.status,
                    "unit": p.unit,
                    "bodyweight_kg": p.bodyweight,
                    "effort": f"{p.effort:.0%}",
                    "has_check_ins": p.answers,
                    "has_plan": p.has_plan,
                }
                for p in people
            ]
        ),
        truth=pl.DataFrame([row for p in people for row in _truth(p)]),
        weeks=weeks,
    )
