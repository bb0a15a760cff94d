"""Names of exercises as words: `A1) BB Bench-Presses (comp)` → bench press with barbell, comp on the side."""

from __future__ import annotations

import re

from pipeline.clean.cells.folding import fold
from pipeline.reference import NameWords, singular

_WITH = re.compile(r"\b[wc]/(?!o\b)")
_SUPERSET_MARK = re.compile(r"^(?:[a-h]\d{1,2}\s*[-.:)]?\s+|[a-h]\d?\s*[.:)]\s*|\d{1,2}[.)]\s+)")
_ASIDE = re.compile(
    r"\d+\s?x\s?\d+(?:\s?-\s?\d+)?"  # a set scheme
    r"|@?\s?\d+(?:[.,]\d+)?\s?%"
    r"|@?\s?rpe\s?\d+(?:[.,]\d+)?"
    r"|\d+\s?(?:°|deg\b|degrees?\b|degres\b|grad(?:en|i|os)?\b|graus\b)"  # an angle of the bench or the sled
    r"|[(\[]\s*(?:kgs?|lbs?)\s*[)\]]"
)
_EACH_SIDE = re.compile(
    r"\b(?:each|per|every|left|right|pro|par|por|je|cada) ?-?(?:sides?|seite|cote|lado)\b"
    r"|\b(?:each|per|every|pro|par|por|je|cada)[ -](?:arms?|legs?|hands?|bein|jambe|bras|pierna|brazo)\b"
    r"|[(\[]\s*[lr]\s*[)\]]|(?<=[a-z]{2}) [lr]$"
)
_PAUSE_LENGTH = re.compile(r"\d+(?:[.,]\d+)?[ -]?(?:s|secs?|seconds?|counts?|ct)\b")
_TEMPO_FIGURES = re.compile(r"\b\d(?:[-/:. ]?[\dx]){2,3}\b")  # 3-1-1, 31x1
# in Italian gyms an angle of the trunk, not of the bench: bent over
_RAISES_AT_NINETY = re.compile(r"\b(alzate(?: laterali)?)(?: a)? 90 ?(?:°|gradi\b|grad\b|deg\b)?")
_ELIDED = re.compile(r"\b[dl]'")  # French and Italian: haussement d'épaules
_WORD = re.compile(r"[^\W_]+")
_LONGEST_PHRASE = 5
_LETTER_THEN_DIGIT = re.compile(r"(?<=[a-z]{3})(?=\d)|(?<=\d)(?=[a-z]{3})")


def plain_words(text: str) -> list[str]:
    """The words of a name as they stand: lower case, no marks, no figures of sets, percent or angle."""
    plain = _WITH.sub(" with ", fold(text))
    plain = _RAISES_AT_NINETY.sub(r"\1 novanta", _SUPERSET_MARK.sub("", plain))
    if "tempo" in plain:
        plain = _TEMPO_FIGURES.sub(" ", plain)
    plain = _EACH_SIDE.sub(" eachside ", _ASIDE.sub(" ", plain))
    if "paus" in plain or "hold" in plain:
        plain = _PAUSE_LENGTH.sub(" ", plain)
    plain = _ELIDED.sub(" ", plain).replace("'", "")
    return _WORD.findall(_LETTER_THEN_DIGIT.sub(" ", plain))


def join_words(words: list[str], joined: dict[tuple[str, ...], str]) -> list[str]:
    """Words that belong together made one: pull up → pullup, single arm → onearm; the longest first."""
    made: list[str] = []
    at = 0
    while at < len(words):
        for length in range(min(_LONGEST_PHRASE, len(words) - at), 1, -1):
            whole = joined.get(tuple(words[at : at + length]))
            if whole is not None:
                made.extend(whole.split())
                at += length
                break
        else:
            made.append(words[at])
            at += 1
    return made


def canonical(words: list[str], known: NameWords) -> list[str]:
    """Singular, joined, short forms spelt out, fillers gone (unless nothing would be left)."""
    words = [w if w in known.same else singular(w) for w in words]
    words = join_words(words, known.joined)
    spelt = [part for word in words for part in known.same.get(word, (word,))]
    spelt = join_words(spelt, known.joined)
    return [w for w in spelt if w not in known.fillers] or spelt
