"""Rules about sessions: length, supersets, order, repetition ranges, alternatives."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from pipeline.analyse.plan.antagonists import are_antagonists, can_stand_in, shared_muscles
from pipeline.analyse.plan.audit_muscles import is_for_strength
from pipeline.analyse.plan.findings import AuditSetting, Finding, finding
from pipeline.analyse.plan.session_length import paired_groups, pairing_saves_min, session_length
from pipeline.analyse.plan.versions import PlanDay, PlannedExercise, PlanVersion
from pipeline.analyse.plan.wording import count, figure, in_list, muscle_word

_MAIN_PATTERNS = ("squat", "hip_hinge", "horizontal_press", "overhead_press", "olympic")
_BARBELLS = ("barbell", "trap_bar")
_SQUAT_AND_HINGE = ("squat", "hip_hinge")
_PRESSES = ("horizontal_press", "overhead_press")


def check_session_length(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Length of each session as a range, with and without supersets."""
    rule = setting.rules["session_length"]
    for day in version.days:
        length = session_length(day, rule)
        text = f"{day.name}: {length.low_min:.0f} to {length.high_min:.0f} min"
        if length.unpaired_low_min - length.low_min >= 0.5:
            text += f", without its supersets {length.unpaired_low_min:.0f} to {length.unpaired_high_min:.0f}"
        is_long = length.middle_min > rule.number("most_min")
        yield finding(
            rule,
            day.name,
            length.middle_min,
            "min",
            f"{text}; more than {figure(rule.number('most_min'))} in the middle." if is_long else f"{text}.",
            fine=not is_long,
        )


def check_superset_pairs(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """What each superset pairs: antagonists, the same muscle, a heavy squat or hinge, or unrelated
    muscles."""
    rule = setting.rules["superset_pairs"]
    for day in version.days:
        for label, members in paired_groups(day).items():
            place = f"{day.name}, {label}"
            pair = in_list([e.name for e in members])
            shared = list(
                dict.fromkeys(
                    m for a, b in combinations(members, 2) for m in shared_muscles(a.facts, b.facts)
                )
            )
            heavy = [
                e.name
                for e in members
                if e.facts.pattern in _SQUAT_AND_HINGE
                and e.rep_high is not None
                and e.rep_high <= rule.number("heavy_max_reps")
            ]
            if heavy:
                yield finding(
                    rule,
                    place,
                    len(members),
                    "exercises",
                    f"{pair} in turn: {in_list(heavy)} at that load wants its rest.",
                )
            elif shared:
                yield finding(
                    rule,
                    place,
                    len(members),
                    "exercises",
                    f"{pair} in turn both tire the {in_list([muscle_word(m) for m in shared])}.",
                )
            else:
                opposed = all(are_antagonists(a.facts, b.facts) for a, b in combinations(members, 2))
                yield finding(
                    rule,
                    place,
                    len(members),
                    "exercises",
                    f"{pair} in turn " + ("are antagonists." if opposed else "do not share a muscle."),
                    fine=True,
                )


def check_superset_chance(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Antagonists of one session that are not paired yet, the pairs that save most first."""
    rule, length_rule = setting.rules["superset_chance"], setting.rules["session_length"]
    for day in version.days:
        if session_length(day, length_rule).middle_min < rule.number("from_min"):
            continue
        paired = {e.slot for members in paired_groups(day).values() for e in members}
        free = [
            e for e in day.exercises if e.slot not in paired and _may_be_paired(e, rule.number("from_reps"))
        ]
        chances = sorted(
            (
                (pairing_saves_min(a, b, length_rule), a, b)
                for a, b in combinations(free, 2)
                if are_antagonists(a.facts, b.facts) and not shared_muscles(a.facts, b.facts)
            ),
            key=lambda chance: (-chance[0], chance[1].slot, chance[2].slot),
        )
        taken: set[int] = set()
        pairs, saved = [], 0.0
        for minutes, a, b in chances:
            if a.slot not in taken and b.slot not in taken:
                taken |= {a.slot, b.slot}
                pairs.append(f"{a.name} with {b.name} ({minutes:.0f} min)")
                saved += minutes
        if saved >= rule.number("least_saving_min"):
            yield finding(
                rule,
                day.name,
                saved,
                "min saved",
                f"{day.name} could pair antagonists: {in_list(pairs)}, about {saved:.0f} min less a session.",
            )


def _may_be_paired(exercise: PlannedExercise, from_reps: float) -> bool:
    return (
        exercise.rep_low is not None and exercise.rep_low >= from_reps and exercise.facts.pattern != "olympic"
    )


def check_order(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Small muscles before the lifts they help, and the press after squat or deadlift where pressing is the
    goal."""
    rule = setting.rules["order"]
    goal = version.goal.lower()
    press_first = any(word in goal for word in rule.words("press_words"))
    n_found = 0
    for day in version.days:
        for found in _order_of(day, setting, press_first=press_first):
            n_found += 1
            yield found
    if not n_found:
        yield finding(
            rule,
            "",
            0.0,
            "places",
            "Multi-joint lifts come before the small muscles that help them.",
            fine=True,
        )


def _order_of(day: PlanDay, setting: AuditSetting, *, press_first: bool) -> Iterator[Finding]:
    rule = setting.rules["order"]
    early: dict[str, list[str]] = {}
    tiring: list[str] = []
    is_helper = False
    for small, big in combinations(day.exercises, 2):
        if (
            small.facts.is_multi_joint
            or not big.facts.is_multi_joint
            or small.facts.pattern not in ("isolation", "core")
        ):
            continue
        if small.superset and small.superset == big.superset:
            continue
        needed = [m for m in small.facts.direct if big.facts.muscles.get(m, 0.0) > 0]
        if needed:
            # flies before dips tire the very muscle that is aimed at, a choice; pushdowns spoil a press
            is_helper = is_helper or any(m not in big.facts.direct for m in needed)
            tiring.append(
                f"{small.name} before {big.name}, which needs the {in_list([muscle_word(m) for m in needed])}"
            )
        else:
            early.setdefault(small.name, []).append(big.name)
    if tiring:
        yield finding(
            rule, day.name, len(tiring), "places", f"{day.name}: {in_list(tiring, 3)} fresh.", far=is_helper
        )
    elif early:
        names = [f"{small} before {in_list(bigs, 3)}" for small, bigs in early.items()]
        yield finding(
            rule,
            day.name,
            len(early),
            "places",
            f"{day.name}: {in_list(names, 3)}; small muscles usually come last.",
        )
    legs = next((e for e in day.exercises if e.facts.pattern in _SQUAT_AND_HINGE and _is_main(e)), None)
    press = next((e for e in day.exercises if e.facts.pattern in _PRESSES and _is_main(e)), None)
    if press_first and legs and press and legs.slot < press.slot:
        yield finding(
            rule,
            day.name,
            1.0,
            "places",
            f"{day.name}: {press.name} comes after {legs.name}, though pressing is the goal.",
        )


def _is_main(exercise: PlannedExercise) -> bool:
    return exercise.facts.pattern in _MAIN_PATTERNS and exercise.facts.implement in _BARBELLS


def kind_of_lift(exercise: PlannedExercise) -> str:
    """main (barbell squats, hinges, presses, Olympic lifts), isolation (single-joint work) or accessory."""
    if _is_main(exercise):
        return "main"
    return "isolation" if exercise.facts.pattern == "isolation" else "accessory"


def check_rep_range(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Exercises whose repetition range has nothing in common with the usual one of their kind."""
    rule = setting.rules["rep_range"]
    if any(word in version.phase for word in rule.words("phases_left_out")):
        return
    if is_for_strength(version, setting):
        return
    outside: dict[tuple[str, int, int], list[str]] = {}
    n_looked = 0
    for exercise in (e for day in version.days for e in day.exercises):
        if (
            exercise.rep_low is None
            or exercise.rep_high is None
            or exercise.facts.pattern in ("core", "conditioning", "carry", "other")
        ):
            continue
        n_looked += 1
        low, high = rule.span(kind_of_lift(exercise))
        if exercise.rep_low > high or exercise.rep_high < low:
            names = outside.setdefault((kind_of_lift(exercise), exercise.rep_low, exercise.rep_high), [])
            if exercise.name not in names:
                names.append(exercise.name)
    for (kind, low_reps, high_reps), names in outside.items():
        low, high = rule.span(kind)
        words = {"main": "main lifts", "accessory": "accessory lifts", "isolation": "single-joint work"}[kind]
        span = str(low_reps) if low_reps == high_reps else f"{low_reps} to {high_reps}"
        yield finding(
            rule,
            in_list(names, 3),
            (low_reps + high_reps) / 2,
            "repetitions",
            f"{in_list(names, 4)}: {span} repetitions; {figure(low)} to {figure(high)} are usual"
            f" for {words}.",
        )
    if n_looked and not outside:
        yield finding(
            rule,
            "",
            n_looked,
            "exercises",
            f"{count(n_looked, 'exercise')}: repetition ranges as usual for their kind.",
            fine=True,
        )


def check_alternatives(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Alternatives that train something else than what they stand in for."""
    rule = setting.rules["alternatives"]
    n_looked, seen = 0, set()
    for exercise in (e for day in version.days for e in day.exercises):
        for other_id in exercise.alternatives:
            other = setting.catalogue.get(other_id)
            pair = (exercise.facts.exercise_id, other_id)
            if other is None or pair in seen:
                continue
            seen.add(pair)
            n_looked += 1
            if not can_stand_in(exercise.facts, other):
                trained = in_list([muscle_word(m) for m in other.direct]) or "other muscles"
                yield finding(
                    rule,
                    exercise.name,
                    None,
                    "",
                    f"{other.name} stands in for {exercise.name} but trains the {trained} instead of the"
                    f" {in_list([muscle_word(m) for m in exercise.facts.direct])}.",
                )
                n_looked -= 1
    if n_looked:
        yield finding(
            rule,
            "",
            n_looked,
            "alternatives",
            f"{count(n_looked, 'alternative trains', 'alternatives train')} what"
            f" {'it stands' if n_looked == 1 else 'they stand'} in for.",
            fine=True,
        )
