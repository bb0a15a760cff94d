"""The words of a set notation: loads, repetitions, counts of sets, effort, and the signs between them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from pipeline.clean.cells.folding import fold, with_spelled_parts

Kind = Literal[
    "load",  # 60kg, bw+10, 2x.. is not one; -20kg, red band, pin 9, bar
    "number",  # 8, 102.5: a load, repetitions or a count, by where it stands
    "reps",  # 8 reps, 12+, 5+3+2, fail, 8L/7R
    "each",  # 22.5 each: a load before x, repetitions behind it
    "seconds",  # 30s: a hold, or a pair of dumbbells of 30
    "time",  # 45 sec, 1:00
    "range",  # 6-8: a plan, not what was done
    "count",  # 3 sets of
    "effort",  # rpe 8, 2 rir
    "x",
    "at",
    "separator",
    "open",
    "close",
    "warm_up",
    "drop",
    "rest_pause",
    "label",  # Set 1:
    "aside",  # tempo 3-1-1, rest 3 min, AMRAP, felt easy: said beside the sets, no figure of theirs
]


@dataclass(frozen=True)
class Token:
    """One word; `number` where it is one, `is_apart` for a space before it."""

    kind: Kind
    text: str
    number: float | None = None
    is_apart: bool = False

    @property
    def is_whole(self) -> bool:
        """True for a number without a fraction."""
        return self.number is not None and self.number % 1 == 0


_NUM = r"\d{1,4}(?:\.\d+)?"
_UNIT = r"(?:kgs?|kilos?|lbs?|pounds?|livres?|libras?|#)(?![a-wyz])(?!x[a-z])"
_BODY = r"(?:b\.?w\.?t?|bodyweight|body weight|korpergewicht|eigengewicht|kg korper|pdc|poids du corps|peso corporal|peso corporeo|peso do corpo|lichaamsgewicht|without (?:extra )?weight|no (?:extra )?weight|ohne gewicht|sans poids|sin peso|senza peso|sem peso|zonder gewicht)(?![a-z])"
_HAND = (
    r"(?: ?(?:/ ?(?:hand|side|arm|db|main|mano|seite|kant)|(?:per|pro|par|por|je|a) (?:hand|side|arm|seite|main|mano|kant|db)"
    r"|each|ea|dbs?|dumbbells?|kbs?|total)(?![a-z]))"
)
_EACH = (
    r"(?:each(?: (?:side|leg|arm|way))?|ea|e/s|p/s|per (?:side|leg|arm)|/ ?(?:side|leg|arm)"
    r"|(?:je|pro) (?:seite|bein|arm)|par (?:cote|jambe|bras)|por (?:lado|pierna|perna)|per (?:lato|gamba|kant|been))(?![a-z])"
)
REPS_WORD = r"(?:reps?|repetitions?|repeticiones|repeticoes|ripetizioni|wdh\.?|wiederholungen|herhalingen|herh\.?)(?![a-z])"
_EFFORT_NUMBER = r"\d{1,2}(?:\.5)?"
_NOT_A_SET = r"(?![\d.]| ?(?:x|@|kg|lb|rpe|rir))"

_WORDS: tuple[tuple[Kind, str], ...] = (
    (
        "aside",
        r"(?:tempo|kadenz|cadence)(?![a-z])"
        r"|(?:rest(?:ed|ing)?|pause|repos|descanso) ?:? ?\d{1,3}(?::\d{2})? ?(?:min(?:s|utes?)?|m|secs?|seconds?|s|'|\")(?![a-z])"
        r"|\d{1,3} ?(?:secs?|seconds?|min|s) (?:rest|between|pause|apart)(?![a-z])"
        r"|(?:[01]?\d|2[0-3]):[0-5]\d ?- ?(?:[01]?\d|2[0-3]):[0-5]\d(?!\d)"
        r"|(?:amrap|max reps|as many as possible)(?![a-z]):?"
        r"|(?:(?:felt|was|very|really|super|quite|pretty|bit|too) )*"
        r"(?:easy|ok(?:ay)?|good|hard|tough|heavy|light|smooth|fast|slow|solid|grindy|a grind|fine|strong|clean)(?![a-z]| ?-?band)",
    ),
    (
        "label",
        r"(?:work(?:ing)?(?: sets?)?|top ?sets?|back-? ?offs?(?: sets?)?|(?:first|second|third|fourth) set"
        r"|arbeitssatze)(?![a-z]) ?[:-]?"
        r"|(?:set|satz|serie|s) ?#?\d{1,2} ?[:.)](?!\d)|(?<![\w(.])\d{1,2}\)(?= ?\S)",
    ),
    (
        "warm_up",
        r"(?:warm ?-?ups?(?: sets?)?|w/u|wu|w(?=[ :]\d)|aufwarm(?:en|satze?)|echauffement|calentamiento|riscaldamento"
        r"|aquecimento|opwarmen)(?![a-z])",
    ),
    (
        "effort",
        rf"@? ?r(?:pe|ir) ?[:=@]? ?{_EFFORT_NUMBER}(?: ?[-/,] ?{_EFFORT_NUMBER}{_NOT_A_SET})*"
        rf"|@? ?{_EFFORT_NUMBER}(?: ?- ?\d)? ?(?:rir|rpe)(?! ?[:=@]? ?\d)|\d(?: ?- ?\d)? (?:left )?in (?:the )?(?:tank|reserve)",
    ),
    ("drop", r"->|=>|>+|drop(?:ped)?(?: ?-?set)?(?: to)?(?![a-z]):?|ds(?![a-z]):?|dann(?![a-z])"),
    ("rest_pause", r"(?:rest[ -]?pause|clusters?|myo[ -]?reps?|rp)(?![a-z])(?: ?-?sets?(?![a-z]))?:?"),
    (
        "count",
        r"\d{1,2} ?(?:sets?|satze|series|serie|rounds?)(?![a-z])(?: ?(?:of|a|de|da|van|zu|mit je)(?![a-z]))?",
    ),
    (
        "load",
        rf"{_BODY}(?: ?[+-] ?{_NUM}(?: ?{_UNIT})?)?|(?:assist(?:ed|ance)?)(?: (?:by|with))? ?:? ?-?{_NUM}(?: ?{_UNIT})?"
        rf"|{_NUM}(?: ?{_UNIT})? ?assist(?:ed|ance)?|{_NUM} ?{_UNIT}{_HAND}?|\d{{1,3}}\.\ds(?![a-z])"
        r"|(?:empty |the |just the )?bar(?: only)?(?![a-z])|(?:[a-z]+ )?band(?![a-z])|#\d{1,2}(?!\d)"
        r"|(?:pin|level|stack|plate|hole) ?#?\d{1,2}(?!\d)",
    ),
    (
        "time",
        rf"\d{{1,4}} ?(?:s|secs?|seconds?|sek) ?{_EACH}|"
        r"(?:10|\d):[0-5]\d(?!\d)|\d'[0-5]\d(?:''|\")?|\d{1,3} ?(?:''|\")(?![\w'\"])|\d{1,4} ?(?:secs?|seconds?|segs?|sek|sekunden|segundos|secondi)(?![a-z])|\d{1,2} ?min(?![a-z])",
    ),
    ("seconds", r"\d{1,4} ?s(?![a-z]| ?#?\d{1,2} ?[:.)])"),
    (
        "reps",
        rf"\d{{1,3}} ?[lr] ?[/,]? ?\d{{1,3}} ?[lr](?![a-z])|\d{{1,3}}(?:\+\d{{1,2}})+(?![\d.]| ?x| ?kg)"
        rf"|\d{{1,3}}(?:/\d{{1,3}})* ?{REPS_WORD}(?: {_EACH})?|\d{{1,3}}\+(?! ?\d)|\d{{1,3}} ?f(?![a-z])|f(?:ail(?:ed|ure)?)?(?![a-z])",
    ),
    ("each", rf"{_NUM} ?{_EACH}"),
    ("range", r"\d{1,3} ?(?:-|to|bis) ?\d{1,3}(?![\d.]| ?x| ?kg| ?lb)"),
    ("number", _NUM),
    ("x", r"[x*]|(?:for|fur|por|voor)(?![a-z])"),
    ("at", r"@|(?:at|with|mit|bei|con|com|avec|met|auf|med|a)(?: je| each)?(?![a-z])|w/"),
    ("open", r"[(\[]"),
    ("close", r"[)\]]"),
    ("separator", r"[,;/|:&+\n-]|(?:then|and|und|et|y|e|en)(?= )"),
)
_TEMPO = re.compile(r"(?:tempo|kadenz|cadence) ?:? ?[\dx](?:[-/:. ]?[\dx]){2,3}(?![a-z\d])")
_TICK = re.compile("[✔✓✅☑]\ufe0f?")
_TOKEN = re.compile(r" *(?:" + "|".join(f"(?P<{kind}>{pattern})" for kind, pattern in _WORDS) + ")")
_SIGNED = re.compile(rf" *(?P<load>[+-] ?{_NUM}(?: ?{_UNIT})?{_HAND}?)")
_DASHED = re.compile(r"(?<![\d.,/-])(?<!- )\d{1,2}(?: ?- ?\d{1,2})+(?![\d.]| ?(?:x|kg|lb|rir|rpe|in ))")


def tokenise(text: str) -> list[Token] | None:
    """The words of a notation in order; None where something in it is no word of any notation."""
    folded = _with_decimal_points(_TICK.sub(" ", re.sub(r"[、，]", ",", text)))
    folded = _REPS_FIRST.sub(": ", _VOLUME.sub("", _LISTS.sub(_paired, folded)))
    folded = _PAIR_AND_LIST.sub(r"\1 x ", _MISSED.sub(_as_missed, folded))
    folded = _DASHED.sub(_as_list, _TEMPO.sub("tempo", folded))
    tokens: list[Token] = []
    place = 0
    while place < len(folded.rstrip(" .;,")):
        match = _signed_load(folded, place, tokens) or _TOKEN.match(folded, place)
        if match is None or match.end() == place:
            return None
        kind: Kind = match.lastgroup  # type: ignore[assignment]
        word = match.group(kind)
        tokens.append(
            Token(
                kind,
                word.strip(),
                float(word) if kind == "number" else _first_number(word),
                is_apart=match.start(kind) > place or (place > 0 and folded[place - 1] == " "),
            )
        )
        place = match.end()
    return tokens


def _first_number(word: str) -> float | None:
    found = re.search(r"\d+(?:\.\d+)?", word)
    return float(found.group()) if found else None


def _signed_load(folded: str, place: int, tokens: list[Token]) -> re.Match[str] | None:
    """`+15kg` and `-20kg` where a sign stands for added load or assistance, not between two things."""
    match = _SIGNED.match(folded, place)
    if match is None or re.match(r" ?\d*\+", folded[match.end() :]):
        return None
    word = match.group("load")
    starts = not tokens or tokens[-1].kind in ("at", "x", "open", "label") or tokens[-1].text in ":,;"
    has_unit = re.search(r"[a-z#]", word) is not None
    stands_apart = match.start("load") > place and word[1] != " "
    return match if starts or (stands_apart and (has_unit or word[0] == "+")) else None


# 80/85/90kg x 8/6/4: as many loads as repetitions
_LISTS = re.compile(
    rf"^({_NUM}(?: ?[,/] ?{_NUM})+) ?({_UNIT}) ?(?:x|for|@) ?(\d{{1,2}}(?: ?[,/] ?\d{{1,2}})+)$"
)
_VOLUME = re.compile(rf" ?= ?\d{{2,5}}(?:\.\d+)? ?(?:{_UNIT})?(?= ?(?:[,;]|$))")  # 90kg x 5 = 450
_REPS_FIRST = re.compile(rf"(?<!\d)(?<!\d )[,;]? ?\b{REPS_WORD}:? ?(?=\d{{1,2}}(?: ?[-,/] ?\d{{1,2}})+)")


# 55 fail, 170kg missed: an attempt without a repetition; 8 fail is eight to failure
_MISSED = re.compile(
    rf"(?:(?<=[,;:] )|(?<=[,;:])|^)({_NUM})( ?{_UNIT})? ?\(?(?:fail(?:ed)?|miss(?:ed)?|no ?(?:rep|lift))\)?(?= ?(?:[,;]|$))"
)
_LEAST_ATTEMPT = 30
_PAIR_AND_LIST = re.compile(r"^(\d{1,2}(?:\.5)?s):? (?=\d{1,2}(?: ?[,/] ?\d{1,2})+$)")  # 12s 12,12,10


def _as_missed(match: re.Match[str]) -> str:
    number, unit = match.group(1), match.group(2) or ""
    return f"{number}{unit} x f" if unit or float(number) >= _LEAST_ATTEMPT else match.group()


def _paired(match: re.Match[str]) -> str:
    loads, reps = (re.split(r" ?[,/] ?", match.group(i)) for i in (1, 3))
    if len(loads) != len(reps):
        return match.group()
    return "; ".join(f"{load}{match.group(2)} x {count}" for load, count in zip(loads, reps, strict=True))


def _as_list(match: re.Match[str]) -> str:
    """`8-7-8` and `8-7` list repetitions; `6-8` is a range and stays one."""
    numbers = [int(n) for n in re.findall(r"\d+", match.group())]
    return ",".join(map(str, numbers)) if len(numbers) > 2 or numbers[0] >= numbers[1] else match.group()


def _with_decimal_points(text: str) -> str:
    """Folded, with a point for each comma that can only be a decimal comma."""
    folded = with_spelled_parts("\n".join(fold(line) for line in text.split("\n")).strip(" .;,"))
    # 3x12x42,5: the third figure is a load, and half a kilogram is a plate
    folded = re.sub(r"(\dx\d{1,2}x\d{2,3}),(5|25|75)(?!\d)", r"\1.\2", folded)
    # 60kgx8,60kgx8 has a comma between two sets, 8x62,5kg a decimal comma
    folded = re.sub(rf"(x ?\d{{1,2}}),(?=\d{{1,3}} ?{_UNIT} ?x)", r"\1;", folded)
    folded = re.sub(rf"(\d),(\d{{1,2}})(?= ?{_UNIT})", r"\1.\2", folded)
    folded = re.sub(r"(?<![x,.\d])(\d{1,3}),(5|25|75|50)(?= ?[x:])", r"\1.\2", folded)
    folded = re.sub(r"(x ?\d{1,3}) ?, ?(\d{2,3}),(5|25|75)(?= ?x)", r"\1;\2.\3", folded)
    folded = re.sub(r"(@ ?\d{1,3}),(\d{1,2})(?![\d,])(?! ?[,x@])", r"\1.\2", folded)
    return re.sub(r"\b(r[pi][er]) ?(\d),5\b", r"\1 \2.5", folded)
