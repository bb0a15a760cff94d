"""Rules about the week: days between, hard sessions in a row, spread, layout, and whether a deload is one."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.analyse.plan.demand import Demand, demanding_sets, interference, is_hard_session, neighbours
from pipeline.analyse.plan.findings import AuditSetting, Finding, finding
from pipeline.analyse.plan.layouts import best_layouts, layout_text, score_layout, split_shape
from pipeline.analyse.plan.versions import WEEKDAYS, PlanVersion
from pipeline.analyse.plan.wording import count, figure, in_list, muscle_word

_PATTERN_WORDS = {
    "squat": "squats",
    "hip_hinge": "hinges",
    "horizontal_press": "presses",
    "row": "rows",
    "overhead_press": "overhead presses",
    "vertical_pull": "pull-downs and pull-ups",
    "olympic": "Olympic lifts",
    "lunge": "lunges",
    "leg_press": "leg presses",
    "hip_thrust": "hip thrusts",
    "carry": "carries",
}


def demand_of(setting: AuditSetting) -> Demand:
    """The figures by which sessions are judged, from the rules in force."""
    return Demand.of(setting.rules["hard_days_in_a_row"], setting.rules["days_between"], setting.hard_max_rir)


def check_hard_days_in_a_row(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Hard sessions on following days: whether they tax the same muscles or the same movement at load."""
    rule, demand, weekdays = setting.rules["hard_days_in_a_row"], demand_of(setting), version.weekdays
    if weekdays is None or len(weekdays) < 2:
        return
    n_found = 0
    for i, j, gap in neighbours(weekdays):
        one, other = version.days[i], version.days[j]
        if gap != 1 or not (is_hard_session(one, demand) and is_hard_session(other, demand)):
            continue
        n_found += 1
        place = f"{one.name} → {other.name}"
        days = f"{one.name} ({WEEKDAYS[weekdays[i] - 1]}) and {other.name} ({WEEKDAYS[weekdays[j] - 1]})"
        found = interference(one, other, demand)
        if found:
            what = [f"train the {in_list([muscle_word(m) for m in found.muscles])}"] if found.muscles else []
            what += (
                [f"have {in_list([_PATTERN_WORDS.get(p, p) for p in found.patterns])} at load"]
                if found.patterns
                else []
            )
            yield finding(
                rule,
                place,
                1.0,
                "day between",
                f"{days} are hard, follow each other and both {' and '.join(what)}.",
            )
        else:
            yield finding(
                rule,
                place,
                1.0,
                "day between",
                f"{days} are hard and follow each other, but do not interfere.",
                fine=True,
            )
    if not n_found:
        yield finding(rule, "", 0.0, "pairs", "No two hard sessions lie on following days.", fine=True)


def check_days_between(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Least days between two sessions that train a muscle directly; pairs named as hard days are not
    repeated."""
    rule, demand, weekdays = setting.rules["days_between"], demand_of(setting), version.weekdays
    if weekdays is None:
        return
    least_days, from_sets = rule.number("least_days"), rule.number("from_sets")
    is_named = setting.rules["hard_days_in_a_row"].is_on
    close: dict[tuple[int, int, int], list[str]] = {}
    named: dict[tuple[int, int, int], list[str]] = {}
    for muscle in setting.targets:
        if muscle in demand.quick_muscles:
            continue
        days = [
            i
            for i, day in enumerate(version.days)
            if day.direct_sets(setting.hard_max_rir).get(muscle, 0.0) >= from_sets
        ]
        for i, j, gap in neighbours(tuple(weekdays[i] for i in days)):
            one, other = version.days[days[i]], version.days[days[j]]
            both_hard = is_hard_session(one, demand) and is_hard_session(other, demand)
            if len(days) > 1 and gap < least_days:
                found = named if both_hard and gap == 1 and is_named else close
                found.setdefault((days[i], days[j], gap), []).append(muscle_word(muscle))
    for (i, j, gap), muscles in close.items():
        yield finding(
            rule,
            f"{version.days[i].name} → {version.days[j].name}",
            gap,
            "days",
            f"{version.days[i].name} and {version.days[j].name} both train the {in_list(muscles)} directly,"
            f" {count(gap, 'day')} apart; {figure(least_days)} or more are usual.",
        )
    if not close and not named:
        yield finding(
            rule,
            "",
            least_days,
            "days",
            f"Sessions of the same muscle lie {figure(least_days)} days apart or more.",
            fine=True,
        )


def check_hard_work_spread(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """The largest share of the week's demanding sets that falls on three days in a row."""
    rule, demand, weekdays = setting.rules["hard_work_spread"], demand_of(setting), version.weekdays
    sets = [demanding_sets(day, demand) for day in version.days]
    if weekdays is None or len(weekdays) < rule.number("from_days") or not sum(sets):
        return
    by_day = dict(zip(weekdays, sets, strict=True))
    windows = [
        (sum(by_day.get((start + k - 1) % 7 + 1, 0.0) for k in range(3)), start) for start in range(1, 8)
    ]
    most, start = max(windows, key=lambda window: (window[0], -window[1]))
    share = 100 * most / sum(sets)
    days = f"{WEEKDAYS[start - 1]} to {WEEKDAYS[(start + 1) % 7]}"
    text = f"{share:.0f} % of the week's demanding sets fall on {days}"
    if share > rule.number("most_share_pct"):
        yield finding(
            rule, days, share, "% of demanding sets", f"{text}; the rest of the week is nearly free of them."
        )
    else:
        yield finding(
            rule, days, share, "% of demanding sets", f"{text}, the busiest three days in a row.", fine=True
        )


def check_layout(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Whether the same days on other weekdays would keep the same muscles or interfering sessions further
    apart."""
    rule = setting.rules["layout"]
    if not 2 <= len(version.days) <= 7:
        return
    shape = split_shape(version.days, demand_of(setting))
    best = best_layouts(shape, version.weekdays)[0]
    names = [day.name for day in version.days]
    if version.weekdays is None:
        if version.has_weekdays:  # two sessions on one day, or some days left open: the coach's own layout
            return
        yield finding(
            rule,
            "",
            best.least_days_hard,
            "days",
            f"The plan names no weekdays; {layout_text(best.weekdays, names)} keeps its days furthest apart.",
            fine=True,
        )
        return
    now = score_layout(shape, version.weekdays)
    if best.is_clearly_better(now):
        gains = []
        if best.n_interfering_neighbours < now.n_interfering_neighbours:
            gains.append(
                f"{_pairs(best.n_interfering_neighbours)} of hard sessions that interfere on following days"
                f" instead of {now.n_interfering_neighbours}"
            )
        if (best.least_days_same_muscle or 7) > (now.least_days_same_muscle or 7):
            gains.append(
                f"at least {count(best.least_days_same_muscle or 7, 'day')} between sessions of the same"
                f" muscle instead of {now.least_days_same_muscle}"
            )
        yield finding(
            rule,
            "",
            now.least_days_same_muscle,
            "days",
            f"Laid as {layout_text(best.weekdays, names)}, the days have {' and '.join(gains)}.",
        )
    else:
        yield finding(
            rule,
            "",
            now.least_days_same_muscle,
            "days",
            "No other layout of these days keeps the same muscles further apart.",
            fine=True,
        )


def _pairs(n: int) -> str:
    return count(n, "pair") if n else "no pair"


def check_deload(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Whether a deload is lighter than the training version before it, and how long it lasts."""
    rule, before = setting.rules["deload"], setting.previous
    if not version.is_light:
        return
    if version.valid_to is not None:
        n_days = (version.valid_to - version.valid_from).days + 1
        if n_days > rule.number("most_days"):
            yield finding(
                rule,
                version.phase,
                n_days,
                "days",
                f"The {version.phase} lasts {n_days} days; about a week is usual.",
            )
    if before is None or not before.n_sets:
        return
    share = version.n_sets / before.n_sets
    more = _mean_rir(version) - _mean_rir(before)
    text = (
        f"{version.n_sets} sets a week instead of {before.n_sets} ({100 * share:.0f} %), "
        f"{figure(abs(more))} repetitions {'more' if more >= 0 else 'fewer'} in reserve"
    )
    is_lighter = share <= rule.number("most_sets_share") or more >= rule.number("least_rir_more")
    if is_lighter:
        yield finding(
            rule, version.phase, 100 * share, "% of sets", f"Lighter than before: {text}.", fine=True
        )
    else:
        yield finding(rule, version.phase, 100 * share, "% of sets", f"Hardly lighter than before: {text}.")


def _mean_rir(version: PlanVersion) -> float:
    known = [
        (e.target_rir, e.sets) for day in version.days for e in day.exercises if e.target_rir is not None
    ]
    return sum(rir * sets for rir, sets in known) / sum(sets for _, sets in known) if known else 0.0
