"""Records that are no set, by named rules: totals, rest days, headings, statements of a unit, what was not done."""

from __future__ import annotations

import re

from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.headers import is_date_heading
from pipeline.clean.pain import find_pain

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
_AROUND = re.compile(r"^[^\w(]+|[\s#*=_:-]+$|[^\w\s).,]+$")
_BEFORE_DATE = re.compile(
    r"^(?:date|datum|fecha|data|dato|(?:training|session|workout|entrainement|seance|sesion|entreno|allenamento|einheit"
    r"|treino|day|tag|dag|jour|dia)(?: ?#?\d{1,3})?)(?:\s*[:#-]\s*|\s+(?:(?:on|am|vom|du|del|de|van|op|do)\s+)?(?=\d{1,4}[./-]\d|\d{1,2}\.? [a-z]))",
    re.IGNORECASE,
)
_OF_A_SESSION = re.compile(
    r"\b(?:training|session|workout|day|tag|dag|jour|dia|giorno|upper|lower|push|pull|legs?|full ?body|chest|back|arms?"
    r"|shoulders?|beine|oberkorper|unterkorper|ganzkorper|gym|week|woche|semaine|semana|settimana|date|datum|fecha)\b"
)
_BEFORE_LAST = re.compile(
    r"\s*[:|•(,]\s*|(?<!\d)\s*[-–—]\s*|\s+[-–—]\s+|\s+(?:on|am|vom)\s+|\s+(?=\d{1,4}[./-]\d|\d{1,2}\.? [A-Za-z])"
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
    words = _AROUND.sub("", text or "")
    words = _BEFORE_DATE.sub("", words)
    if is_date_heading(words):
        return words
    if (text or "").rstrip().endswith(":") and (within := _date_within(words)):
        return within
    for split in _AFTER_DATE.finditer(words):
        if is_date_heading(words[: split.start()].strip(" ,")):
            return words[: split.start()].strip(" ,")
    return next(filter(None, (_behind(words, split) for split in _BEFORE_LAST.finditer(words))), "")


def _date_within(words: str) -> str:
    """The whole date in a line that leads to others (`On Monday 2 March 2026 I did`); "" where there is none."""
    parts = words.split()
    for size in range(min(6, len(parts)), 2, -1):
        for start in range(len(parts) - size + 1):
            piece = " ".join(parts[start : start + size]).strip(" ,;")
            if re.search(r"[A-Za-zÀ-ÿ]{3}", piece) and re.search(r"\d{4}", piece) and is_date_heading(piece):
                return piece
    return ""


def _behind(words: str, split: re.Match[str]) -> str:
    """The date behind a label: `Upper A - 12/04/2025`, `Legs, Wed 5 March`."""
    label, date_text = words[: split.start()], words[split.end() :].rstrip(") ")
    if not re.match(r"[A-Za-zÀ-ÿ]", label) or len(date_text) > 40 or not is_date_heading(date_text):
        return ""
    is_short = re.fullmatch(r"\d{1,2} ?[/.-] ?\d{1,2}\.?", date_text.strip()) is not None
    if fold(label) in calendar_words("weekday") or (is_short and _is_rated(label)):
        return ""
    return date_text


def _is_rated(label: str) -> bool:
    """`lower back pain, 3/10`, `sleep: 7/10`: out of ten, where the words speak of pain or of no session."""
    return find_pain(label) is not None or _OF_A_SESSION.search(fold(label)) is None
