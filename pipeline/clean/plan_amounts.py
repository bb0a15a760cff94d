"""Amounts of a planned exercise as coaches write them: sets, repetition ranges, holds, rest, effort,
percent."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from pipeline.clean.cells.effort import parse_effort
from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.cells.loads import looks_like_date
from pipeline.clean.cells.repetitions import parse_duration

MOST_SETS = 30
MOST_REPS = 100
_EACH = re.compile(
    r" ?(?:per|each|a|je|pro|par|por|cada|/)? ?(?:side|leg|arm|seite|bein|cote|jambe|bras|lado|pierna|brazo"
    r"|kant|been)s?$| ?(?:each|e/s|p/s|ea)\.?$"
)
_REPS_WORD = r"(?:reps?|wdh\.?|wh\.?|wiederholungen|repetitions?|repeticiones|ripetizioni|herhalingen)"
_SPAN = re.compile(
    rf"(\d{{1,3}})(?: ?(?:-|to|bis|a|/|till) ?(\d{{1,3}}))? ?{_REPS_WORD}?"
    rf" ?(\+|or more|plus)? ?{_REPS_WORD}?"
)
_LIST = re.compile(rf"(\d{{1,3}}(?: ?[,/;] ?\d{{1,3}}){{1,7}}) ?{_REPS_WORD}?")
_MOST_THERE_IS = re.compile(
    rf"(?:amrap|max\.?|maximum|as many as possible|failure|to failure|bis versagen)(?: ?{_REPS_WORD})?"
)
_SETS_TIMES = re.compile(r"(\d{1,2}) ?(?:sets? ?(?:of|x)?|satze?|series|serie|x|\*) ?(?:of |a |de )?(.+)")
_PROGRESSIONS = {
    "double": "double",
    "double progression": "double",
    "two for two": "two_for_two",
    "2 for 2": "two_for_two",
    "two_for_two": "two_for_two",
    "2-for-2": "two_for_two",
    "two-for-two": "two_for_two",
    "percent": "percent",
    "% 1rm": "percent",
    "%1rm": "percent",
    "percent of e1rm": "percent",
}


@dataclass(frozen=True)
class PlannedAmounts:
    """What cells of sets and repetitions say; `problem` is (column, text, reason code), `remark` the same for
    a cell whose row is read all the same."""

    sets: int | None = None
    rep_low: int | None = None
    rep_high: int | None = None
    duration_low_s: float | None = None
    duration_high_s: float | None = None
    target_rir: float | None = None
    percent: float | None = None
    problem: tuple[str, str, str] | None = None
    remark: tuple[str, str, str] | None = None


def parse_sets_and_reps(
    sets_text: str, reps_text: str, low_text: str = "", high_text: str = "", *, is_timed: bool = False
) -> PlannedAmounts:
    """Sets and range of `3` and `8-12`, of `3x8-12` in either cell, of `10/8/6`, `3 x 30 s`, `5 @ RPE 8`.

    A list of repetitions counts its sets where no number of sets is given. Repetitions of a timed exercise
    without a unit are seconds.
    """
    reps_text, effort = _without_effort(reps_text)
    if effort.problem:
        return effort
    both = _SETS_TIMES.fullmatch(fold(sets_text if is_blank(reps_text) else reps_text))
    if both and not looks_like_date(reps_text):
        stated = parse_number(sets_text) if not is_blank(reps_text) else None
        if stated is not None and stated != float(both.group(1)):
            return PlannedAmounts(problem=("sets", f"{sets_text} and {reps_text}", "plan_value_unreadable"))
        sets_text, reps_text = both.group(1), both.group(2)
    if is_blank(low_text) and is_blank(high_text):
        amounts = _span(reps_text, is_timed=is_timed)
    else:
        amounts = _two_cells(low_text, high_text, is_timed=is_timed)
    if amounts.problem:
        return amounts
    if is_blank(sets_text) and amounts.sets:
        sets_text = str(amounts.sets)
    sets, problem, remark = _sets(sets_text)
    return replace(
        amounts,
        sets=sets,
        problem=problem,
        remark=remark,
        target_rir=effort.target_rir,
        percent=effort.percent,
    )


def _without_effort(text: str) -> tuple[str, PlannedAmounts]:
    """`5 @ RPE 8`, `5 @ 2 RIR`, `5 @ 75 %` parted at the sign."""
    reps, at, rest = text.partition("@")
    if not at:
        return text, PlannedAmounts()
    percent = parse_percent(rest)
    if percent is not None:
        return reps.strip(), PlannedAmounts(percent=percent)
    rir, is_read = parse_target_effort(rest, "rpe")
    if not is_read or rir is None:
        return reps.strip(), PlannedAmounts(problem=("reps", text, "plan_value_unreadable"))
    return reps.strip(), PlannedAmounts(target_rir=rir)


def _sets(text: str) -> tuple[int | None, tuple[str, str, str] | None, tuple[str, str, str] | None]:
    if is_blank(text):
        return None, ("sets", "sets", "plan_row_incomplete"), None
    folded = re.sub(r" ?(?:sets?|satze?|series|serie|x)$", "", fold(text))
    span = re.fullmatch(r"(\d{1,2}) ?(?:-|to|bis|a|/) ?(\d{1,2})", folded)
    if span and not looks_like_date(text):
        low, high = sorted((int(span.group(1)), int(span.group(2))))
        return (
            (low, None, ("sets", text, "plan_sets_range"))
            if high <= MOST_SETS
            else (None, ("sets", text, "plan_value_unreadable"), None)
        )
    number = parse_number(folded)
    if number is None or number != int(number) or not 0 <= number <= MOST_SETS:
        code = "turned_into_date" if looks_like_date(text) else "plan_value_unreadable"
        return None, ("sets", text, code), None
    return int(number), None, None


def _span(text: str, *, is_timed: bool) -> PlannedAmounts:
    if is_blank(text) or _MOST_THERE_IS.fullmatch(fold(text)):
        return PlannedAmounts()
    if looks_like_date(text):
        return PlannedAmounts(problem=("reps", text, "turned_into_date"))
    folded = _EACH.sub("", fold(text)).strip()
    seconds = parse_seconds_span(folded)
    if seconds:
        return PlannedAmounts(duration_low_s=seconds[0], duration_high_s=seconds[1])
    match = _SPAN.fullmatch(folded)
    if match:
        low = int(match.group(1))
        high = int(match.group(2)) if match.group(2) else MOST_REPS if match.group(3) else low
        return _checked(min(low, high), max(low, high), text, is_timed=is_timed)
    listed = _LIST.fullmatch(folded)
    if listed:
        each = [int(part) for part in re.findall(r"\d+", listed.group(1))]
        amounts = _checked(min(each), max(each), text, is_timed=is_timed)
        return amounts if amounts.problem else replace(amounts, sets=len(each))
    return PlannedAmounts(problem=("reps", text, "plan_value_unreadable"))


def _two_cells(low_text: str, high_text: str, *, is_timed: bool) -> PlannedAmounts:
    ends = []
    for column, text in (("rep_low", low_text), ("rep_high", high_text)):
        number = parse_number(text)
        if (number is None and not is_blank(text)) or (number is not None and number != int(number)):
            code = "turned_into_date" if looks_like_date(text) else "plan_value_unreadable"
            return PlannedAmounts(problem=(column, text, code))
        ends.append(None if number is None else int(number))
    low, high = (one if one is not None else other for one, other in ((ends[0], ends[1]), (ends[1], ends[0])))
    if low is None or high is None:
        return PlannedAmounts()
    return _checked(low, high, f"{low_text}–{high_text}", is_timed=is_timed)


def _checked(low: int, high: int, text: str, *, is_timed: bool) -> PlannedAmounts:
    if low > high or low < 1 or high > (3600 if is_timed else MOST_REPS):
        return PlannedAmounts(problem=("reps", text, "plan_value_unreadable"))
    if is_timed:
        return PlannedAmounts(duration_low_s=float(low), duration_high_s=float(high))
    return PlannedAmounts(rep_low=low, rep_high=high)


def parse_seconds_span(text: str) -> tuple[float, float] | None:
    """Seconds of `30-45 s`, `45s`, `1 min`, `0:30-0:45`; None for anything without a unit of time."""
    folded = fold(text)
    single = parse_duration(folded)
    if single is not None:
        return single, single
    parts = re.fullmatch(r"([\d:.,]+) ?(?:-|to|bis|a) ?([\d:.,]+) ?([a-z\"']*)", folded)
    if not parts:
        return None
    unit = parts.group(3)
    ends = [parse_duration(f"{part} {unit}".strip()) for part in parts.groups()[:2]]
    if ends[0] is None or ends[1] is None or ends[0] > ends[1]:
        return None
    return ends[0], ends[1]


def parse_rest(text: str) -> float | None:
    """Seconds of rest: `90`, `90s`, `2-3 min` (its middle), `2:00`; a bare number up to 10 is minutes.

    Nobody plans ten seconds, nor eleven minutes. None for what cannot be read.
    """
    bare = parse_number(text)
    if bare is not None:
        return bare if bare > 10 else bare * 60
    span = re.fullmatch(
        r"([\d.,]{1,4}) ?(?:-|to|bis|a) ?([\d.,]{1,4}) ?(s|sec|secs|seconds|min|mins|m|minutes)?\.?",
        fold(text),
    )
    if span:
        low, high = parse_number(span.group(1)), parse_number(span.group(2))
        if low is None or high is None:
            return None
        middle = (low + high) / 2
        in_minutes = (span.group(3) or "").startswith("m") or (not span.group(3) and middle <= 10)
        return middle * 60 if in_minutes else middle
    seconds = parse_seconds_span(text)
    return None if seconds is None else sum(seconds) / 2


def parse_target_effort(text: str, scale: str) -> tuple[float | None, bool]:
    """Repetitions in reserve aimed at, and whether the text could be read; a range is its middle."""
    if is_blank(text):
        return None, True
    reading = parse_effort(text, "rir" if scale == "rir" else "rpe")
    if reading.problem:
        return None, False
    return (reading.rir if reading.rir is not None else 10 - (reading.rpe or 0.0)), True


def parse_percent(text: str) -> float | None:
    """Percent of the one-repetition maximum: `75%`, `75 % 1RM`, `70-75 %` (its middle), `0.75`; else None.

    A number without a percent sign counts only where it is a share below 1.1 or 20 to 110.
    """
    folded = re.sub(r" ?(?:of |der |du )?(?:e?1 ?rm|max)$", "", fold(text)).strip()
    match = re.fullmatch(r"([\d.,]+)(?: ?(?:-|to|bis|a) ?([\d.,]+))? ?%", folded)
    ends = [match.group(1), match.group(2) or match.group(1)] if match else [folded, folded]
    numbers = [parse_number(end) for end in ends]
    if numbers[0] is None or numbers[1] is None:
        return None
    middle = (numbers[0] + numbers[1]) / 2
    if not match and 0.2 <= middle <= 1.1:
        middle *= 100
    return middle if 20 <= middle <= 110 else None


def parse_progression(text: str) -> str | None:
    """The progression rule a cell names: double, two_for_two or percent; None where it names none."""
    return _PROGRESSIONS.get(fold(text).strip(" ."))
