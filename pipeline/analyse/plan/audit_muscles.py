"""Rules about muscles: weekly sets, frequency, sets in one session, muscles left out, push and pull."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.analyse.plan.findings import AuditSetting, Finding, finding
from pipeline.analyse.plan.versions import PlanVersion
from pipeline.analyse.plan.wording import capital, count, figure, in_list, muscle_word

_PUSH, _PULL = ("horizontal_press", "overhead_press"), ("row", "vertical_pull")


def check_weekly_sets(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Weekly hard sets a muscle (direct and fractional) against its target range, muscle by muscle."""
    rule = setting.rules["weekly_sets"]
    direct, fractional = version.weekly_sets(setting.hard_max_rir)
    slack, for_strength = rule.number("slack_share"), is_for_strength(version, setting)
    for muscle, (usual_low, high) in setting.targets.items():
        sets = fractional.get(muscle, 0.0)
        if sets == 0:
            continue  # rule left_out
        low = min(usual_low, rule.number("novice_low_sets")) if version.status == "novice" else usual_low
        share = f"{count(sets, 'weekly set')}, {figure(direct.get(muscle, 0.0))} of them direct"
        target = f"{figure(low)} to {figure(high)}"
        name = capital(muscle_word(muscle))
        is_main = usual_low >= rule.number("far_of_target_from") and not for_strength
        if sets < low * (1 - slack):
            yield finding(
                rule,
                muscle,
                sets,
                "sets a week",
                f"{name}: {share}; the target is {target}.",
                far=is_main and sets < rule.number("far_below_sets"),
            )
        elif sets > high * (1 + slack):
            yield finding(
                rule,
                muscle,
                sets,
                "sets a week",
                f"{name}: {share}, above the target of {target}.",
                far=is_main and sets >= high * rule.number("far_above_share"),
            )
        else:
            where = "within" if low <= sets <= high else "just below" if sets < low else "just above"
            yield finding(rule, muscle, sets, "sets a week", f"{name}: {share}, {where} {target}.", fine=True)


def is_for_strength(version: PlanVersion, setting: AuditSetting) -> bool:
    """Whether the client's goal is strength itself, by the words of the rule rep_range."""
    goal = version.goal.lower()
    return any(word in goal for word in setting.rules["rep_range"].words("goals_left_out"))


def check_left_out(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Muscles with a target that no exercise of the plan trains."""
    rule = setting.rules["left_out"]
    _, fractional = version.weekly_sets(setting.hard_max_rir)
    missing = [m for m, (low, _) in setting.targets.items() if low > 0 and not fractional.get(m)]
    for muscle in missing:
        yield finding(
            rule,
            muscle,
            0.0,
            "sets a week",
            f"{capital(muscle_word(muscle))}: no exercise of the plan trains them, directly or not.",
            far=setting.targets[muscle][0] >= rule.number("far_of_target_from")
            and version.status != "novice"
            and not is_for_strength(version, setting),
        )
    if not missing:
        yield finding(rule, "", 0.0, "muscles", "Every muscle with a target is trained.", fine=True)


def check_frequency(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Days a week on which a muscle is trained, directly or by enough indirect work."""
    rule = setting.rules["frequency"]
    least, enough = rule.number("least_days"), rule.number("indirect_day_sets")
    few = 0
    _, weekly = version.weekly_sets(setting.hard_max_rir)
    for muscle, (low, _) in setting.targets.items():
        if low < rule.number("of_target_from") or not weekly.get(muscle):
            continue
        direct = sum(muscle in day.direct_sets(setting.hard_max_rir) for day in version.days)
        trained = sum(
            day.fractional_sets(setting.hard_max_rir).get(muscle, 0.0) >= enough for day in version.days
        )
        if trained < least:
            few += 1
            yield finding(
                rule,
                muscle,
                trained,
                "days a week",
                f"{capital(muscle_word(muscle))}: trained on {count(trained, 'day')} a week"
                f" ({direct} directly); about {figure(least)} is usual.",
            )
    if not few:
        yield finding(
            rule,
            "",
            least,
            "days a week",
            f"Every muscle with a target of {figure(rule.number('of_target_from'))} sets or more is trained"
            f" on {figure(least)} days a week or more.",
            fine=True,
        )


def check_session_dose(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Direct sets of one muscle in one session."""
    rule = setting.rules["session_dose"]
    most = rule.number("most_sets")
    largest = (0.0, "", "")
    for day in version.days:
        for muscle, sets in day.direct_sets(setting.hard_max_rir).items():
            largest = max(largest, (sets, muscle, day.name))
            if sets > most:
                yield finding(
                    rule,
                    day.name,
                    sets,
                    "sets",
                    f"{day.name}: {count(sets, 'direct set')} for the {muscle_word(muscle)} in one session;"
                    f" beyond {figure(most)} another day would use them better.",
                )
    if 0 < largest[0] <= most:
        yield finding(
            rule,
            largest[2],
            largest[0],
            "sets",
            f"The most for one muscle in one session: {count(largest[0], 'direct set')} for the"
            f" {muscle_word(largest[1])} on {largest[2]}.",
            fine=True,
        )


def check_push_pull(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Pressing sets for one pulling set."""
    rule = setting.rules["push_pull"]
    sets = {
        pattern: sum(e.sets for day in version.days for e in day.exercises if e.facts.pattern in pattern)
        for pattern in (_PUSH, _PULL)
    }
    push, pull = sets[_PUSH], sets[_PULL]
    if push + pull < rule.number("from_sets"):
        return
    share = push / pull if pull else float("inf")
    text = f"{count(push, 'pressing set')} and {count(pull, 'pulling set')} a week"
    shown = None if pull == 0 else share
    unit = "pressing sets for a pulling set"
    if share < rule.number("least_share"):
        yield finding(rule, "", shown, unit, f"{text}: pressing falls behind.")
    elif share > rule.number("most_share"):
        yield finding(rule, "", shown, unit, f"{text}: pulling falls behind.")
    else:
        yield finding(rule, "", shown, unit, f"{text} balance.", fine=True)


def check_effort_given(version: PlanVersion, setting: AuditSetting) -> Iterator[Finding]:
    """Working sets without a target effort; timed holds have none."""
    rule = setting.rules["effort_given"]
    counted = [
        e
        for day in version.days
        for e in day.exercises
        if not e.facts.is_timed and e.facts.load_basis != "band" and e.facts.pattern != "conditioning"
    ]
    total = sum(e.sets for e in counted)
    without = sum(e.sets for e in counted if e.target_rir is None)
    if not total:
        return
    share = 100 * without / total
    if share > rule.number("most_share_pct"):
        names = list(dict.fromkeys(e.name for e in counted if e.target_rir is None))
        yield finding(
            rule,
            "",
            share,
            "% of sets",
            f"{without} of {total} sets have no target effort ({in_list(names, 4)});"
            " they count as hard here.",
        )
    else:
        yield finding(
            rule,
            "",
            share,
            "% of sets",
            f"{total - without} of {total} sets say how close to failure they go.",
            fine=True,
        )
