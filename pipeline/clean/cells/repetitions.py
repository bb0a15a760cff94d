"""Repetitions as people write them: 8, x8, 12+, 8/7, 8L 7R, 8+3+2, failed, 45s, and what is no count."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.loads import looks_like_date
from pipeline.clean.cells.remembered import remembered


@dataclass(frozen=True)
class RepsReading:
    """What a repetitions cell says; one set.

    `reps` is one side's count where sides are given. `clusters` are the parts of a rest-pause or cluster set,
    which `reps` sums. `duration_s` is set instead of `reps` for holds. `is_failure` says that the set ended at
    failure, `problem` is a reason code.
    """

    reps: int | None = None
    left: int | None = None
    right: int | None = None
    is_at_least: bool = False
    is_failure: bool = False
    is_one_sided: bool = False
    clusters: tuple[int, ...] = ()
    duration_s: float | None = None
    problem: str = ""


_WORD = r"(?:reps?|repetitions?|r|wdh\.?|wh\.?|wiederholungen|repes|reps\.|repeticiones|repetitions|ripetizioni|rip\.?|herh\.?)"
_EACH = (
    r"(?:(?:per|each|a|je|pro|par|por|cada|/) ?(?:side|leg|arm|seite|bein|arm|cote|jambe|bras|lado|pierna|gamba|lato"
    r"|kant|been|hand|way)|each|ea\.?|e/s|p/s|/s|/side|/leg|/arm|l/r|l&r|l\+r|both sides)"
)
_PLAIN = re.compile(rf"[x*]? ?(\d{{1,4}})(?:[.,]0+)? ?[x]? ?{_WORD}?")
_AT_LEAST = re.compile(
    rf"(\d{{1,3}}) ?(?:\+|or more|plus){_WORD}?|(\d{{1,3}}) ?\(?(?:amrap|max reps?|max)\)?|(?:amrap|max(?: reps?)?) ?:?-? ?\(?(\d{{1,3}})\)?"
)
_FAILED = re.compile(
    r"f|fail|failed|failure|miss|missed|no lift|no rep|nl|0 ?\(?(?:fail(?:ed)?|miss(?:ed)?)?\)?|fehlversuch|ungultig|echec|rate"
    r"|fallo|fallito|mislukt|(?:failed|missed) ?(?:attempt|rep|1|single)"
)
_TO_FAILURE = re.compile(
    rf"(\d{{1,3}}) ?{_WORD}? ?\(? ?(?:f|to failure|failure|tf|til failure|bis versagen|mv|fail|failed|\+ ?f(?:ail(?:ed)?)?"
    rf"|,? ?(?:then )?(?:failed|missed|fail) ?(?:on |at |the )?(?:\d{{1,3}}(?:st|nd|rd|th)?|next|last)?(?: rep)?)\)?"
)
_EACH_SIDE = re.compile(rf"(\d{{1,3}}) ?{_WORD}? ?{_EACH}")
_LEFT_WORDS, _RIGHT_WORDS = (
    r"(?:l|left|links|li|g|gauche|izq|izquierda|sx|sinistra)",
    r"(?:r|right|rechts|re|d|droite|der|derecha|dx|destra)",
)
_SIDES = [
    re.compile(rf"(?P<l>\d{{1,3}}) ?{_LEFT_WORDS} ?[/,;| -]? ?(?P<r>\d{{1,3}}) ?{_RIGHT_WORDS}"),
    re.compile(rf"(?P<r>\d{{1,3}}) ?{_RIGHT_WORDS} ?[/,;| -]? ?(?P<l>\d{{1,3}}) ?{_LEFT_WORDS}"),
    re.compile(rf"{_LEFT_WORDS} ?[:=]? ?(?P<l>\d{{1,3}}) ?[/,;| ]? ?{_RIGHT_WORDS} ?[:=]? ?(?P<r>\d{{1,3}})"),
    re.compile(rf"{_RIGHT_WORDS} ?[:=]? ?(?P<r>\d{{1,3}}) ?[/,;| ]? ?{_LEFT_WORDS} ?[:=]? ?(?P<l>\d{{1,3}})"),
    re.compile(r"(?P<l>\d{1,3}) ?[/|] ?(?P<r>\d{1,3})"),
]
_CLUSTERS = re.compile(
    rf"\(?(\d{{1,2}}(?: ?\+ ?\d{{1,2}})+)\)? ?{_WORD}? ?(?:\(?(?:rp|rest[- ]?pause|cluster|myo(?:[- ]?reps)?)\)?)?"
)
_SECONDS = [
    (
        re.compile(
            r"(\d{1,4}(?:[.,]\d+)?) ?(?:s|sec|secs|seconds?|sek|sekunden|segundos?|secondi|secondes?|segs?|sg|\"|'')\.?(?: hold)?"
        ),
        1,
    ),
    (re.compile(r"(\d{1,3}(?:[.,]\d+)?) ?(?:m|min|mins|minutes?|minuten|minutos?|minuti|')\.?"), 60),
]
_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,2}):(\d{2})(?: ?min)?")
_MINUTES_SECONDS = re.compile(r"(\d{1,2}) ?(?:m|min|') ?(\d{1,2}) ?(?:s|sec|\"|'')?")


@remembered
def parse_duration(text: str | None) -> float | None:
    """Seconds of `45s`, `0:45`, `1:30`, `1 min`, `1'30`; None for anything else (a bare number included)."""
    if is_blank(text):
        return None
    folded = re.sub(rf" ?{_EACH}$", "", fold(text or ""))
    clock = _CLOCK.fullmatch(folded)
    if clock:
        hours, minutes, seconds = (int(part or 0) for part in clock.groups())
        return float(hours * 3600 + minutes * 60 + seconds) if seconds < 60 else None
    both = _MINUTES_SECONDS.fullmatch(folded)
    if both:
        return float(int(both.group(1)) * 60 + int(both.group(2)))
    for pattern, factor in _SECONDS:
        match = pattern.fullmatch(folded)
        if match:
            return float(match.group(1).replace(",", ".")) * factor
    return None


@remembered
def parse_reps(text: str | None) -> RepsReading:
    """The reading of a repetitions cell; empty (no problem) for a blank one."""
    if is_blank(text):
        return RepsReading()
    raw = (text or "").strip()
    folded = fold(raw).strip(" .;:")
    if looks_like_date(folded):
        return RepsReading(problem="turned_into_date")
    plain = _PLAIN.fullmatch(folded)
    if plain:
        return RepsReading(int(plain.group(1)))
    if _FAILED.fullmatch(folded):
        return RepsReading(0, is_failure=True)
    duration = parse_duration(folded)
    if duration is not None:
        return RepsReading(duration_s=duration)
    return _with_words(folded)


def _with_words(folded: str) -> RepsReading:
    at_least = _AT_LEAST.fullmatch(folded)
    if at_least:
        return RepsReading(
            int(next(g for g in at_least.groups() if g)), is_at_least=folded.rstrip(" )").endswith("+")
        )
    to_failure = _TO_FAILURE.fullmatch(folded)
    if to_failure:
        return RepsReading(int(to_failure.group(1)), is_failure=True)
    for pattern in _SIDES:
        sides = pattern.fullmatch(folded)
        if sides:
            return one_side_each(int(sides["l"]), int(sides["r"]))
    each = _EACH_SIDE.fullmatch(folded)
    if each:
        return RepsReading(int(each.group(1)), is_one_sided=True)
    clusters = _CLUSTERS.fullmatch(folded)
    if clusters:
        parts = tuple(int(part) for part in re.findall(r"\d+", clusters.group(1)))
        return RepsReading(sum(parts), clusters=parts)
    rest_pause = re.fullmatch(
        rf"(\d{{1,2}}) ?{_WORD}? ?\(?(?:rp|rest[- ]?pause|cluster|myo(?:[- ]?reps)?)\)?", folded
    )
    if rest_pause:
        return RepsReading(int(rest_pause.group(1)), clusters=(int(rest_pause.group(1)),))
    if re.fullmatch(r"-\d+", folded):
        return RepsReading(problem="reps_negative")
    if re.fullmatch(r"\d+ ?(?:-|to|bis|a) ?\d+", folded):
        return RepsReading(problem="reps_range")
    if re.fullmatch(r"\d+[.,]\d+", folded):
        return RepsReading(problem="reps_not_whole")
    if re.search(r"\d ?\?|^(?:~|ca\.?|approx\.?|about)", folded):
        return RepsReading(problem="reps_uncertain")
    return RepsReading(problem="reps_unreadable")


def one_side_each(left: int, right: int) -> RepsReading:
    """Both sides' counts: `reps` is what both sides did, the sides are kept where they differ."""
    if left == right:
        return RepsReading(left, is_one_sided=True)
    return RepsReading(min(left, right), left, right, is_one_sided=True)
