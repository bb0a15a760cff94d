"""A load as people write it: units, per hand, per side plus bar, bodyweight, assistance, bands, machine pins."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from pipeline.clean.cells.folding import fold, is_blank, parse_number, with_spelled_parts
from pipeline.clean.cells.remembered import remembered

KG_PER_LB = 0.45359237  # exact, NIST SP 811

LoadKind = Literal[
    "empty",
    "plain",
    "bodyweight",
    "added",
    "assistance",
    "band",
    "machine_step",
    "per_hand",
    "one_hand",
    "plates",
    "unreadable",
]


@dataclass(frozen=True)
class LoadReading:
    """What a load cell says.

    `value` is in `unit` ("kg", "lb", or "" where the cell does not say). `added` is load on top of
    bodyweight, `assistance` a positive number taken off it. `plates` is one side's plates: the total is twice
    the value plus a bar, `bar` in the same unit where the cell gives its weight. `problem` is a reason code.
    """

    kind: LoadKind
    value: float | None = None
    unit: str = ""
    implements: int | None = None
    bar: float | None = None
    problem: str = ""


_N = r"(\d+(?:[.,]\d+)?|[.,]\d+)"
_KG = r"(?:kgs?|kilos?|kilogram(?:s|mes?|m)?|kilogramm|k)"
_LB = r"(?:lbs?|pounds?|libras?|livres?|libbre|pfund-lb|#)"
_U = rf"(?:\s*({_KG}|{_LB})\.?)?"
NO_WEIGHT = r"(?:ohne|without|no|sans|sin|senza|sem|zonder) (?:extra )?(?:gewicht|weight|poids|peso)"
_BW = (
    r"(?:b\.?w\.?t?|b/w|body ?-?weight|bodywt|body|korpergewicht|eigengewicht|kg korper|poids du corps|pdc|pc"
    r"|peso corporal|peso corporeo|corpo libero|lichaamsgewicht|peso do corpo|unweighted"
    rf"|{NO_WEIGHT})"
)
_HAND = (
    r"(?:(?:per|pro|each|a|je|par|por|cada|per la|/) ?(?:hand|arm|db|dumbbell|main|mano|mao|haltere|hantel|kb)s?"
    r"|/ ?(?:hand|db|arm)|each|ea\.?|p/h|ph|pro kh|dbs|kbs|dumbbells|halteres|kurzhanteln)"
)
_SIDE = r"(?:(?:per|pro|each|a|je|par|por|cada|per ogni|/) ?(?:side|seite|cote|lado|lato|kant)|/ ?(?:side|s)|p/s|ps)"
_BAR = (
    r"(?:(?:the |empty |olympic |just the |only the |just |only |oly |nur |leere )*"
    r"(?:bar|barbell|stange|barre|barra|stang|bilanciere)(?: only)?)"
)
_BAND = re.compile(
    r"\b(?:mini ?)?(?:bands?|banda?s?|gummiband|theraband|elastique|elastico|elastica|elastiek|loop)\b"
)
_COLOUR = re.compile(
    r"(?:light |heavy |medium |dark |hell)?(?:red|green|blue|black|purple|yellow|orange|grey|gray|pink|rot|grun|blau"
    r"|schwarz|gelb|rouge|vert|bleu|noir|rojo|verde|azul|negro|morada)(?: band)?"
)
_STEP = re.compile(
    r"(?:(?:pin|plate|plates|stack|level|lvl|lv|hole|notch|peg|position|pos|stufe|loch|step|setting|brick|bricks"
    r"|plaque|nivel|livello|stand|block|pos\.|nr\.?|no\.?)\s*[#:.]?\s*(\d{1,2})|#\s?(\d{1,2})"
    r"|(\d{1,2})(?:st|nd|rd|th)? (?:pins?|plates?|plaques?|platten|bricks?|holes?|blocks?|placas?))"
)
_DATE_LIKE = re.compile(
    r"\d{4}-\d{2}-\d{2}(?:[ t].*)?|\d{1,2}(?:\. ?|[- ])(?:jan|feb|mar|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-z]*"
    r"(?:[-. ]\d{2,4})?|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-. ]\d{1,2}"
)


@remembered
def looks_like_date(text: str) -> bool:
    """True when a cell that should hold a number holds a date, as spreadsheets make of `8-10`."""
    return _DATE_LIKE.fullmatch(fold(text)) is not None


@remembered
def parse_unit(word: str) -> str:
    """`kg`, `lb` or "" for anything else."""
    folded = fold(word).strip(" .()[]")
    if re.fullmatch(_KG, folded):
        return "kg"
    return "lb" if re.fullmatch(_LB, folded) else ""


def _value(number: str) -> float | None:
    return parse_number(number)


_RULES: list[tuple[LoadKind, re.Pattern[str]]] = [
    ("bodyweight", re.compile(_BW)),
    ("added", re.compile(rf"{_BW} ?(?:\+|plus|mit|w/|with|and|et|con) ?(?:1 ?[x*] ?)?{_N}{_U}")),
    ("added", re.compile(rf"(?:\+|weighted|plus) ?{_N}{_U}")),
    ("added", re.compile(rf"{_N}{_U} ?(?:added|extra|belt|zusatz|zusatzgewicht|vest|lest)")),
    (
        "assistance",
        re.compile(rf"{_BW} ?(?:-|minus) ?{_N}{_U}(?: ?\(?(?:assist(?:ed|ance)?|machine|band)\)?)?"),
    ),
    ("assistance", re.compile(rf"- ?{_N}{_U}(?: ?(?:assist(?:ed|ance)?))?")),
    (
        "assistance",
        re.compile(
            rf"(?:assist(?:ed|ance|ence)?|help|unterstutzung|assistencia|assistance de|aide) ?(?:by|with|of|:|-|of)? ?{_N}{_U}"
        ),
    ),
    (
        "assistance",
        re.compile(
            rf"{_N}{_U} ?(?:of )?\(?(?:assist(?:ed|ance|ence)?|help|unterstutzung|asistencia|aide)\)?"
        ),
    ),
    ("one_hand", re.compile(rf"1 ?[x*] ?{_N}{_U}(?: ?{_HAND})?")),
    ("per_hand", re.compile(rf"2 ?[x*] ?{_N}{_U}(?: ?{_HAND})?")),
    ("per_hand", re.compile(rf"{_N}{_U} ?(?:in )?{_HAND}")),
    ("per_hand", re.compile(rf"(?:je|each|per hand|par main|pro hand|cada) ?:? ?{_N}{_U}")),
    ("per_hand", re.compile(rf"{_N}s")),
    ("plates", re.compile(rf"{_N}{_U} ?{_SIDE}")),
    ("plates", re.compile(rf"(?:each side|per side|je seite|pro seite|par cote) ?:? ?{_N}{_U}")),
    ("plates", re.compile(rf"(?:2 ?[x*] ?)?{_N}{_U} ?(?:{_SIDE})? ?\(?(?:\+|plus|and) ?{_BAR}\)?")),
    ("plates", re.compile(rf"{_BAR} ?(?:\+|plus|and|with) ?(?:2 ?[x*] ?)?{_N}{_U} ?(?:{_SIDE})?")),
    (
        "plain",
        re.compile(
            rf"{_N}{_U}(?: ?(?:total|in total|gesamt|all in|incl\.? (?:the )?bar|inkl\.? stange|with (?:the )?bar))?"
        ),
    ),
    ("plain", re.compile(rf"({_KG}|{_LB})\.? ?:? ?{_N}")),
]
_SIDE_AND_BAR = re.compile(
    rf"(?:2 ?[x*] ?)?{_N}{_U} ?(?:{_SIDE})? ?(?:\+|plus|and|,) ?(?:a |an )?(?:{_N}{_U} ?{_BAR}|{_BAR} ?\(?{_N}{_U}\)?)"
)
# "40 + bar" does not say whether 40 is one side's plates or both sides'
_PLATES_NOBODY_COUNTED = re.compile(
    rf"{_N}{_U} ?(?:\+|plus|and) ?{_BAR}|{_BAR} ?(?:\+|plus|and|with) ?{_N}{_U}"
)
_BAR_AND_TWICE = re.compile(rf"{_N}{_U}(?: ?{_BAR})? ?\+ ?2 ?[x*] ?{_N}{_U}")
_BAR_THEN_SIDE = re.compile(rf"{_N}{_U}(?: ?{_BAR})? ?(?:\+|plus|and|with) ?(?:2 ?[x*] ?)?{_N}{_U} ?{_SIDE}")
_BAR_FIRST = re.compile(rf"^(?:empty |just the |the )?bar ?\(?{_N}{_U}\)?(?= ?\+|$)")
_BAR_WEIGHED = re.compile(rf"{_N}{_U} (?:empty )?bar")
_BOTH_UNITS = re.compile(rf"{_N} ?({_KG}|{_LB}) ?[(/=] ?{_N} ?({_KG}|{_LB}) ?\)?")


# 60kg (20 each side), 100kg total incl. bar: what the load is made of
_SAID_BESIDE = re.compile(
    r"^(\d{1,3}(?:[.,]\d+)? ?(?:kgs?|lbs?)(?: total)?)"
    r"(?: ?\(\d{1,3}(?:[.,]\d+)? ?(?:kgs?|lbs?)? ?(?:each|per|a|pro|je) (?:side|seite)\)"
    r"| ?\(?(?:incl(?:\.|uding)?|inkl\.?|with) ?(?:the )?(?:bar|stange)\)?)$"
)


@remembered
def parse_load(text: str | None) -> LoadReading:
    """The reading of a load cell; `kind` "unreadable" with a reason code in `problem` when it has none."""
    if is_blank(text):
        return LoadReading("empty")
    folded = with_spelled_parts(fold(text or "").strip(" ;,:"))
    if looks_like_date(folded):
        return LoadReading("unreadable", problem="turned_into_date")
    if re.search(r"\?|^(?:~|ca\.?|approx\.?|about|etwa|environ) ?\d|\bor\b|\bish\b|\dish$", folded):
        return LoadReading("unreadable", problem="load_uncertain")
    folded = _SAID_BESIDE.sub(r"\1", folded)
    folded = _BAR_FIRST.sub(r"\1\2 bar", folded)
    both = _BOTH_UNITS.fullmatch(folded)
    if both:
        return _both_units(both)
    step = _STEP.fullmatch(folded)
    if step:
        return LoadReading("machine_step", float(next(g for g in step.groups() if g)))
    side = _SIDE_AND_BAR.fullmatch(folded)
    if side:
        numbers = side.groups()
        bar = numbers[2] or numbers[4]
        return LoadReading(
            "plates",
            _value(numbers[0]),
            parse_unit(numbers[1] or numbers[3] or numbers[5] or ""),
            bar=_value(bar) if bar else None,
        )
    bar_first = _BAR_THEN_SIDE.fullmatch(folded) or _BAR_AND_TWICE.fullmatch(folded)
    if bar_first:
        bar, bar_unit, side_load, side_unit = bar_first.groups()
        return LoadReading(
            "plates", _value(side_load), parse_unit(side_unit or bar_unit or ""), bar=_value(bar)
        )
    weighed = _BAR_WEIGHED.fullmatch(folded)
    if weighed:
        return LoadReading("plain", _value(weighed.group(1)), parse_unit(weighed.group(2) or ""))
    if re.fullmatch(_BAR, folded):
        return LoadReading("plates", 0.0)
    if _PLATES_NOBODY_COUNTED.fullmatch(folded):
        return LoadReading("unreadable", problem="load_uncertain")
    for kind, pattern in _RULES:
        match = pattern.fullmatch(folded)
        if match:
            return _from_match(kind, match)
    if _BAND.search(folded) or _COLOUR.fullmatch(folded):
        return LoadReading("band")
    if re.fullmatch(rf"{_N}{_U} ?(?:-|/|to|bis|a) ?{_N}{_U}", folded):
        return LoadReading("unreadable", problem="load_range")
    return LoadReading("unreadable", problem="load_unreadable")


def _from_match(kind: LoadKind, match: re.Match[str]) -> LoadReading:
    groups = [g for g in match.groups() if g is not None]
    numbers = [_value(g) for g in groups if re.fullmatch(_N, g)]
    unit = next((parse_unit(g) for g in groups if parse_unit(g)), "")
    if kind == "bodyweight":
        return LoadReading(kind, 0.0)
    if not numbers or numbers[0] is None:
        return LoadReading("unreadable", problem="load_unreadable")
    reading = LoadReading(kind, numbers[0], unit)
    if kind == "one_hand":
        return replace(reading, kind="plain", implements=1)
    return replace(reading, implements=2) if kind == "per_hand" else reading


def _both_units(match: re.Match[str]) -> LoadReading:
    first, first_unit, second, second_unit = match.groups()
    a, b = _value(first), _value(second)
    units = parse_unit(first_unit), parse_unit(second_unit)
    if a is None or b is None or units[0] == units[1]:
        return LoadReading("unreadable", problem="load_unreadable")
    in_kg = a if units[0] == "kg" else a * KG_PER_LB
    other_kg = b if units[1] == "kg" else b * KG_PER_LB
    if abs(in_kg - other_kg) > max(1.5, 0.03 * in_kg):
        return LoadReading("unreadable", problem="load_contradiction")
    return LoadReading("plain", a, units[0])
