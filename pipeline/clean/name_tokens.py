"""Names of exercises as words: `A1) BB Bench-Presses (comp)` → bench press with barbell, comp on the side."""

from __future__ import annotations

import re

from pipeline.clean.cells.folding import fold
from pipeline.reference import NameWords

_WITH = re.compile(r"\b[wc]/(?!o\b)")
_SUPERSET_MARK = re.compile(r"^(?:[a-h]\d{1,2}\s*[-.:)]?\s+|[a-h]\d?\s*[.:)]\s*|\d{1,2}[.)]\s+)")
_ASIDE = re.compile(
    r"\d+\s?x\s?\d+(?:\s?-\s?\d+)?"  # a set scheme
    r"|@?\s?\d+(?:[.,]\d+)?\s?%"
    r"|@?\s?rpe\s?\d+(?:[.,]\d+)?"
    r"|\d+\s?(?:°|deg\b|degrees?\b|grad\b)"  # an angle of the bench or the sled
    r"|[(\[]\s*(?:kgs?|lbs?)\s*[)\]]"
)
_EACH_SIDE = re.compile(
    r"\b(?:each|per|every|left|right|pro|par|por|je|cada) ?-?(?:sides?|seite|cote|lado)\b"
    r"|\b(?:each|per|every|pro|par|por|je|cada)[ -](?:arms?|legs?|hands?|bein|jambe|bras|pierna|brazo)\b"
    r"|[(\[]\s*[lr]\s*[)\]]|(?<=[a-z]{2}) [lr]$"
)
_PAUSE_LENGTH = re.compile(r"\d+(?:[.,]\d+)?[ -]?(?:s|secs?|seconds?|counts?|ct)\b")
_TEMPO_FIGURES = re.compile(r"\b\d(?:[-/:. ]?[\dx]){2,3}\b")  # 3-1-1, 31x1
_ELIDED = re.compile(r"\b[dl]'")  # French and Italian: haussement d'épaules
_WORD = re.compile(r"[^\W_]+")
_LETTER_THEN_DIGIT = re.compile(r"(?<=[a-z]{3})(?=\d)|(?<=\d)(?=[a-z]{3})")


def singular(word: str) -> str:
    """`presses` → press, `flies` → fly, `rows` → row; words of two letters or in -ss, -us, -is stay."""
    if len(word) <= 2 or word.endswith(("ss", "us", "is")) or not word.endswith("s"):
        return word
    if word.endswith(("sses", "ches", "shes", "xes")):
        return word[:-2]
    return word[:-1]


def plain_words(text: str) -> list[str]:
    """The words of a name as they stand: lower case, no marks, no figures of sets, percent or angle."""
    plain = _WITH.sub(" with ", fold(text))
    plain = _SUPERSET_MARK.sub("", plain)
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
        for length in (3, 2):
            whole = joined.get(tuple(words[at : at + length])) if at + length <= len(words) else None
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
