"""Records that are no set, by named rules: totals, rest days, headings, statements of a unit, what was not done."""

from __future__ import annotations

import re

from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.headers import is_date_heading

_TOTAL = re.compile(
    r"(?:grand |sub ?-?|session |workout |weekly |week |daily )?(?:totals?|sum|summe|gesamt(?:volumen|summe)?|totaal|totale|suma|somme"
    r"|averages?|avg|mean|durchschnitt|moyenne|media|promedio|tonnage|volume|total volume|total tonnage)\b.*"
)
_REST = re.compile(
    r"(?:active )?(?:rest(?: ?day)?|off(?: ?day)?|day off|ruhetag|trainingsfrei|jour de repos|repos|descanso"
    r"|dia de descanso|riposo|giorno di riposo|rustdag|folga|no training|no workout|kein training|recovery(?: day)?)[ .!]*"
)
_NOT_DONE = re.compile(
    r"(?:skip(?:ped)?|not done|did ?n.?t do|dnf|dnc|no time|ran out of time|n/?a|ausgelassen|nicht gemacht"
    r"|pas fait|saute|no hecho|saltato|non fatto|overgeslagen|nao feito|left out|cut short)\b.*"
)
_UNIT_STATEMENT = re.compile(
    r"(?:.*\b(?:weights?|loads?|numbers?|everything|all|unit|units|now|from here|switch\w*|changed?|gewichte?|poids|pesos?"
    r"|einheit|ab hier|ab jetzt|alle|tous|todo|carga|pesi)\b.*)?"
    r"\b(kgs?|kilos?|kilograms?|kilogramm|lbs?|pounds?)\b[^0-9]*"
)
_CLIENT = re.compile(
    r"(?:client|athlete|name|kunde|kundin|klient|nom|nombre|nome|naam|cliente|atleta)\s*[:=]\s*(.+)",
    re.IGNORECASE,
)
_AFTER_DATE = re.compile(r"\s*[-–—:|•(,]\s*(?=[A-Za-zÀ-ÿ(])|\s+(?=[A-Za-zÀ-ÿ][A-Za-zÀ-ÿ /+&0-9]*$)")


def is_total(text: str | None) -> bool:
    """`Total`, `Summe`, `Weekly volume`: a row that sums others."""
    return not is_blank(text) and _TOTAL.fullmatch(fold(text or "")) is not None


def is_rest_day(text: str | None) -> bool:
    """`Rest day`, `OFF`, `Ruhetag`."""
    return not is_blank(text) and _REST.fullmatch(fold(text or "")) is not None


def is_not_done(text: str | None) -> bool:
    """`skipped`, `not done`: planned or listed, but no set."""
    return not is_blank(text) and _NOT_DONE.fullmatch(fold(text or "")) is not None


def parse_unit_statement(text: str | None) -> str:
    """`kg` or `lb` of a sentence that says which unit the loads are in; "" for any other text."""
    if is_blank(text) or len(text or "") > 80:
        return ""
    folded = fold(text or "").strip(" .!:;()*#-")
    match = _UNIT_STATEMENT.fullmatch(folded)
    if not match or re.search(r"\d", folded):
        return ""
    both = re.search(r"\b(?:kgs?|kilos?)\b", folded), re.search(r"\b(?:lbs?|pounds?)\b", folded)
    if all(both):
        arrow = re.search(r"(?:to|>|instead of|nach|a|not)", folded)
        if not arrow:
            return ""
    return "kg" if match.group(1).startswith("k") else "lb"


def parse_client_statement(text: str | None) -> str:
    """The name behind `Client:` or `Name:`; "" for any other text."""
    match = _CLIENT.fullmatch((text or "").strip())
    return match.group(1).strip() if match else ""


def parse_date_heading(text: str | None) -> str:
    """The date of a heading such as `Mon 3 March` or `3 March - Legs`; "" where there is none."""
    if is_blank(text) or len(text or "") > 60:
        return ""
    words = (text or "").strip().strip("#*=_- ").strip()
    words = re.sub(
        r"^(?:date|datum|fecha|data|session|workout|training|day \d+|tag \d+)\s*[:#-]\s*",
        "",
        words,
        flags=re.IGNORECASE,
    )
    if is_date_heading(words):
        return words
    for split in _AFTER_DATE.finditer(words):
        if is_date_heading(words[: split.start()].strip(" ,")):
            return words[: split.start()].strip(" ,")
    behind = re.match(r"^([A-Za-zÀ-ÿ /+&0-9]+?)\s*(?:[-–—:|•,(]|\bon\b|\bam\b)\s*(.{3,40}?)\)?$", words)
    if behind and is_date_heading(behind.group(2)) and fold(behind.group(1)) not in calendar_words("weekday"):
        return behind.group(2)
    return ""
