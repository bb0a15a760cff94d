"""What was lifted in a set: load, repetitions, time and effort texts, read for the exercise they belong to."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pipeline.clean.cells.effort import EffortReading, parse_effort, reconcile
from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.cells.loads import KG_PER_LB, LoadReading, parse_load
from pipeline.clean.cells.repetitions import RepsReading, one_side_each, parse_duration, parse_reps
from pipeline.clean.exercise_texts import is_yes, parse_set_kind

LB_BAR = 45.0
LEAST_BARE_SECONDS = 10
LEAST_RPE_THAT_COUNTS = 7  # below, RPE stands for a range of repetitions in reserve (Zourdos et al. 2016)


@dataclass(frozen=True)
class ExerciseFacts:
    """What the catalogue says of the exercise that matters for reading its loads."""

    implement: str
    load_basis: str
    implements: int
    is_one_sided: bool
    is_timed: bool


@dataclass(frozen=True)
class AmountTexts:
    """The texts of one set; `unit` is what header, row and heading say, `default_unit` what the profile says."""

    load: str
    reps: str
    left: str
    right: str
    duration: str
    duration_unit: str
    kind: str
    rpe: str
    rir: str
    effort: str
    unit: str
    default_unit: str
    is_per_hand: bool
    kind_is_warm_up_column: bool = False


@dataclass(frozen=True)
class Amounts:
    """A set's figures in kilograms and seconds; `problem` refuses it, `soft_problem` empties only its effort."""

    load_kg: float | None = None
    load_basis: str = ""
    load_unit: str = ""
    implements: int = 1
    set_kind: str = "work"
    reps: int | None = None
    reps_left: int | None = None
    reps_right: int | None = None
    is_at_least: bool = False
    duration_s: float | None = None
    rpe: float | None = None
    rir: float | None = None
    needs_unit: bool = False
    problem: str = ""
    problem_column: str = ""
    problem_text: str = ""
    soft_problem: str = ""
    soft_column: str = ""
    soft_text: str = ""


def read_amounts(texts: AmountTexts, exercise: ExerciseFacts, bar_kg: float) -> Amounts:
    """The figures of one set, or the first reason why it has none."""
    reps, duration, fault = read_count(texts, exercise)
    if fault.problem:
        return fault
    load = read_load_of_set(texts, exercise, bar_kg, has_duration=duration is not None)
    if load.problem:
        return load
    effort, effort_column, effort_text = read_effort_of_set(texts, reps)
    kind = parse_set_kind(texts.kind)
    if texts.kind_is_warm_up_column and is_yes(texts.kind):
        kind = "warm_up"
    if reps.clusters and kind == "work":
        kind = "rest_pause"
    if duration is not None and kind == "work":
        kind = "timed"
    return replace(
        load,
        set_kind=kind,
        reps=reps.reps if duration is None else None,
        reps_left=reps.left,
        reps_right=reps.right,
        is_at_least=reps.is_at_least,
        duration_s=duration,
        rpe=effort.rpe,
        rir=effort.rir,
        soft_problem=effort.problem,
        soft_column=effort_column if effort.problem else "",
        soft_text=effort_text if effort.problem else "",
    )


def _refused(problem: str, column: str, text: str) -> Amounts:
    return Amounts(problem=problem, problem_column=column, problem_text=text)


def read_count(texts: AmountTexts, exercise: ExerciseFacts) -> tuple[RepsReading, float | None, Amounts]:
    """Repetitions or seconds of the set."""
    reps = parse_reps(texts.reps)
    left, right = parse_reps(texts.left), parse_reps(texts.right)
    if is_blank(texts.reps) and left.reps is not None and right.reps is not None:
        reps = one_side_each(left.reps, right.reps)
    elif is_blank(texts.reps) and (left.reps is not None or right.reps is not None):
        one = left if left.reps is not None else right
        reps = RepsReading(one.reps, left.reps, right.reps, is_one_sided=True)
    if reps.duration_s is not None and not exercise.is_timed and texts.reps.strip().endswith(('"', "'")):
        return (
            reps,
            None,
            _refused("reps_unreadable", "reps", texts.reps),
        )  # 8" is a stray quote here, no hold
    duration = reps.duration_s if reps.duration_s is not None else None
    column_time = _seconds(texts.duration, texts.duration_unit)
    if exercise.is_timed and duration is None:
        duration = column_time
        if duration is None and parse_duration(texts.load) is not None:
            duration = parse_duration(texts.load)
        if duration is None and reps.reps is not None and not reps.problem:
            if reps.reps < LEAST_BARE_SECONDS:
                return reps, None, _refused("duration_unclear", "duration_s", texts.reps)
            duration = float(reps.reps)
        if duration is None:
            text = texts.duration or texts.reps
            return (
                reps,
                None,
                _refused(
                    "duration_unreadable" if not is_blank(text) else "duration_missing", "duration_s", text
                ),
            )
        return reps, duration, Amounts()
    if duration is None and is_blank(texts.reps) and reps.reps is None and column_time is not None:
        duration = column_time
    if reps.problem:
        return reps, None, _refused(reps.problem, "reps", texts.reps)
    if duration is None and reps.reps is None:
        return reps, None, _refused("reps_missing", "reps", texts.reps)
    return reps, duration, Amounts()


def _seconds(text: str, unit: str) -> float | None:
    if is_blank(text):
        return None
    bare = parse_number(text)
    if bare is not None:
        return bare * 60 if unit == "min" else bare if unit == "s" or bare >= LEAST_BARE_SECONDS else None
    return parse_duration(text)


def read_load_of_set(
    texts: AmountTexts, exercise: ExerciseFacts, bar_kg: float, *, has_duration: bool
) -> Amounts:
    reading = parse_load(texts.load)
    if has_duration and parse_duration(texts.load) is not None and reading.kind in ("unreadable", "per_hand"):
        reading = LoadReading("empty")
    moves_body = exercise.load_basis in ("bodyweight", "assistance")
    match reading.kind:
        case "unreadable":
            return _refused(reading.problem, "load_kg", texts.load)
        case "empty":
            return _without_load(texts, exercise, has_duration=has_duration)
        case "bodyweight":
            return Amounts(load_kg=0.0, load_basis="bodyweight", implements=exercise.implements)
        case "band":
            return Amounts(load_basis="band", implements=exercise.implements)
        case "machine_step":
            if exercise.implement in (
                "barbell",
                "dumbbell",
                "kettlebell",
                "bodyweight",
                "ez_bar",
                "trap_bar",
            ):
                return _refused("load_of_plates", "load_kg", texts.load)
            return Amounts(load_basis="machine_step", implements=exercise.implements)
        case "assistance" if not moves_body:
            return _refused("load_negative", "load_kg", texts.load)
        case "plates":
            return _plates(reading, texts, exercise, bar_kg)
        case "per_hand" if exercise.implement not in (
            "dumbbell",
            "kettlebell",
            "cable",
            "other",
            "bodyweight",
        ):
            return _refused("load_uncertain", "load_kg", texts.load)
    return _in_kilograms(reading, texts, exercise)


def _without_load(texts: AmountTexts, exercise: ExerciseFacts, *, has_duration: bool) -> Amounts:
    if exercise.load_basis == "bodyweight" or exercise.implement == "bodyweight":
        return Amounts(load_kg=0.0, load_basis="bodyweight", implements=exercise.implements)
    if exercise.load_basis == "band":
        return Amounts(load_basis="band", implements=exercise.implements)
    if exercise.load_basis == "none" or has_duration:
        return Amounts(
            load_kg=0.0 if exercise.load_basis == "none" else None,
            load_basis="none",
            implements=exercise.implements,
        )
    return _refused("load_missing", "load_kg", texts.load)


def _unit_of(reading: LoadReading, texts: AmountTexts) -> str:
    return reading.unit or texts.unit or texts.default_unit


def _plates(reading: LoadReading, texts: AmountTexts, exercise: ExerciseFacts, bar_kg: float) -> Amounts:
    """One side's plates: twice that, and the bar where there is one whose weight is known."""
    unit = _unit_of(reading, texts)
    if not unit:
        return Amounts(needs_unit=True)
    side = reading.value or 0.0
    if exercise.implement in ("dumbbell", "kettlebell") and reading.bar is None:
        return _in_kilograms(replace(reading, kind="per_hand"), texts, exercise)
    if exercise.implement == "machine_plates":
        bar = reading.bar or 0.0
    elif exercise.implement == "barbell" or reading.bar is not None:
        bar = reading.bar if reading.bar is not None else (LB_BAR if unit == "lb" else bar_kg)
    else:
        return _refused("load_of_plates", "load_kg", texts.load)
    total = 2 * side + bar
    return Amounts(
        load_kg=_kg(total, unit), load_basis="total", load_unit=unit, implements=exercise.implements
    )


def _in_kilograms(reading: LoadReading, texts: AmountTexts, exercise: ExerciseFacts) -> Amounts:
    value = reading.value or 0.0
    unit = _unit_of(reading, texts)
    if not unit and value:
        return Amounts(needs_unit=True)
    kg = _kg(value, unit or "kg")
    implements = reading.implements or exercise.implements
    basis = exercise.load_basis
    if reading.kind == "assistance" or (basis == "assistance" and reading.kind == "plain"):
        return Amounts(
            load_kg=-kg if kg else 0.0, load_basis="assistance", load_unit=unit, implements=implements
        )
    if reading.kind == "added" or basis in ("bodyweight", "assistance"):
        basis = "bodyweight"
    elif reading.kind == "per_hand" or (texts.is_per_hand and basis == "per_hand"):
        basis = "per_hand"
    elif basis == "band":
        return Amounts(load_basis="band", implements=implements)
    elif basis in ("none", "machine_step"):
        basis = "total"
    if basis == "per_hand" and "total" in fold(texts.load) and implements == 2:
        kg /= 2
    return Amounts(load_kg=kg, load_basis=basis, load_unit=unit, implements=implements)


def _kg(value: float, unit: str) -> float:
    return value * KG_PER_LB if unit == "lb" else value


def read_effort_of_set(texts: AmountTexts, reps: RepsReading) -> tuple[EffortReading, str, str]:
    """Effort of the set with the column and text of its fault; failure said beside the repetitions is RIR 0."""
    rpe = parse_effort(texts.rpe, "rpe")
    rir = parse_effort(texts.rir, "rir")
    loose = parse_effort(texts.effort, "")
    if loose.rpe is not None and rpe.rpe is None and not rpe.problem:
        rpe = EffortReading(rpe=loose.rpe)
    if loose.rir is not None and rir.rir is None and not rir.problem:
        rir = EffortReading(rir=loose.rir)
    reading = reconcile(rpe, rir)
    if loose.problem and not reading.problem and reading.rpe is None and reading.rir is None:
        return replace(reading, problem=loose.problem), "rpe", texts.effort
    if reading.problem == "effort_contradiction":
        return reading, "rir", f"RPE {texts.rpe or texts.effort} and RIR {texts.rir}"
    if reading.problem:
        return reading, ("rpe", "rir")[bool(rir.problem)], texts.rir if rir.problem else texts.rpe
    if reps.is_failure and reps.reps and reading.rpe is None and reading.rir is None:
        reading = EffortReading(rir=0.0)
    if reading.rir is None and reading.rpe is not None and reading.rpe >= LEAST_RPE_THAT_COUNTS:
        reading = replace(reading, rir=10 - reading.rpe)
    return reading, "", ""
