"""How strong the client is: the table of lifts and the personal bests, in the reader's words."""

from __future__ import annotations

from dashboards.report.blocks import Block, heading, table, text
from dashboards.report.facts import Best, Level, Lift, MonthFacts
from dashboards.report.words import Words

MOST_LIFTS = 10
MOST_BESTS = 8


def strength_table(facts: MonthFacts, words: Words) -> list[Block]:
    """Lifts with level, range and change; those with too few sessions are named below."""
    told = [lift for lift in facts.lifts if lift.now is not None]
    blocks: list[Block] = []
    if told:
        blocks.append(
            table(
                [
                    (words.text("strength.lift"), "left"),
                    (words.text("strength.now"), "right"),
                    (words.text("strength.range"), "right"),
                    (words.text("strength.before"), "right"),
                    (words.text("strength.trend"), "right"),
                    (words.text("strength.verdict"), "left"),
                ],
                [_lift_row(lift, words) for lift in told[:MOST_LIFTS]],
                words.text("strength.table", unit=words.unit),
            )
        )
        if (hidden := len(told) - MOST_LIFTS) > 0:
            blocks.append(text(words.text("strength.more", hidden), "small"))
        if any(lift.now and lift.now.is_at_least for lift in told):
            blocks.append(text(words.text("strength.at_least_explain"), "small"))
    few = [lift.exercise_name for lift in facts.lifts if lift.now is None]
    if few and told:
        blocks.append(
            text(words.text("strength.too_few", len(few), lifts=words.listing(few[:MOST_LIFTS])), "small")
        )
    return blocks


def _lift_row(lift: Lift, words: Words) -> list[str]:
    none = words.text("number.none")
    now, before = lift.now, lift.before
    trend = none
    if now and lift.slope_pct is not None and lift.slope_error_pct is not None:
        trend = words.text(
            "strength.trend_figure",
            trend=words.signed(lift.slope_pct, 2),
            error=words.fixed(lift.slope_error_pct, 2),
        )
    limits = none
    if now and now.high_kg is not None:
        limits = words.text(
            "number.range", low=words.estimate_number(now.low_kg), high=words.estimate_number(now.high_kg)
        )
    return [
        lift_name(lift, words),
        _level_number(now, words) if now else none,
        limits,
        _level_number(before, words) if before else none,
        trend,
        words.text(f"verdict.{lift.verdict}"),
    ]


def lift_name(lift: Lift, words: Words) -> str:
    """The lift's name; where its level holds the body's weight too, the name says so."""
    if lift.basis == "system":
        return words.text("strength.with_bodyweight", lift=lift.exercise_name)
    return lift.exercise_name


def _level_number(level: Level, words: Words) -> str:
    number = words.estimate_number(level.kg)
    return words.text("strength.at_least", value=number) if level.is_at_least else number


def bests(facts: MonthFacts, words: Words) -> list[Block]:
    """Personal bests, newest first."""
    if not facts.bests:
        return []
    blocks = [
        heading(words.text("bests.heading")),
        table(
            [
                (words.text("bests.lift"), "left"),
                (words.text("bests.best"), "left"),
                (words.text("bests.before"), "right"),
                (words.text("bests.date"), "right"),
            ],
            [
                [best.exercise_name, best_text(best, words), _best_before(best, words), words.day(best.on)]
                for best in facts.bests[:MOST_BESTS]
            ],
            words.text("bests.explain"),
        ),
    ]
    if (hidden := len(facts.bests) - MOST_BESTS) > 0:
        blocks.append(text(words.text("bests.more", hidden), "small"))
    return blocks


def best_text(best: Best, words: Words) -> str:
    """A best as a phrase in the client's unit."""
    if best.kind == "load":
        if best.reps:
            return words.text(
                "bests.load_reps",
                value=load_text(best.value, best.load_basis, words),
                reps=words.number(best.reps),
            )
        return words.text("bests.load", value=load_text(best.value, best.load_basis, words))
    if best.kind == "reps_at_load":
        load = words.text("number.none")
        if best.load_kg is not None:
            load = load_text(best.load_kg, best.load_basis, words)
        return words.text("bests.reps_at_load", best.value, load=load)
    if best.kind == "e1rm":
        return words.text("bests.e1rm", value=words.estimate(best.value))
    return words.text("bests.volume", value=_volume(best.value, words))


def load_text(kg: float, basis: str, words: Words) -> str:
    """A load as one says it: with what it is added to, taken off, or how many there are of it."""
    if kg < 0:
        return words.text("load.assistance", load=words.load(-kg))
    if basis == "bodyweight":
        return words.text("load.added", load=words.load(kg)) if kg > 0 else words.text("load.bodyweight")
    if basis == "per_hand":
        return words.text("load.per_hand", load=words.load(kg))
    return words.load(kg)


def _best_before(best: Best, words: Words) -> str:
    if best.previous is None:
        return words.text("number.none")
    if best.kind == "reps_at_load":
        value = words.number(best.previous)
    elif best.kind == "volume":
        value = _volume(best.previous, words)
    else:
        is_load = best.kind == "load"
        value = load_text(best.previous, best.load_basis, words) if is_load else words.estimate(best.previous)
    if best.previous_on is None:
        return value
    return words.text("bests.before_value", value=value, date=words.day(best.previous_on))


def _volume(kg: float, words: Words) -> str:
    return words.text("number.load", number=words.number(words.in_unit(kg)), unit=words.unit)
