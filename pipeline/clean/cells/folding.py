"""Texts made comparable: case, accents, exotic digits, dashes and spaces folded away."""

from __future__ import annotations

import re
import unicodedata

from pipeline.clean.cells.remembered import remembered

_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75", "⅓": ".33", "⅔": ".67"}
_SAME = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "—": "-",
        "‐": "-",
        "‑": "-",
        "×": "x",
        "✕": "x",
        "✖": "x",
        "х": "x",  # Cyrillic
        "Х": "x",
        "ø": "o",
        "Ø": "o",
        "æ": "ae",
        "Æ": "ae",
        "ł": "l",
        "·": " ",
        "’": "'",
        "‘": "'",
        "´": "'",
        "`": "'",
        "“": '"',
        "”": '"',
        "″": '"',
        "′": "'",
        "→": ">",
        "➔": ">",
        "➡": ">",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "ß": "ss",
        "＠": "@",
        # marks that nobody sees: zero-width spaces and joiners, byte order marks, soft hyphens
        **dict.fromkeys("\u200b\u200c\u200d\u2060\ufeff\u00ad\ufe0f", ""),
    }
)
_SPACES = re.compile(r"\s+")


@remembered
def fold(text: str) -> str:
    """Lower case, accents off, dashes, quotes and spaces unified; `½` after digits becomes `.5`."""
    if text.isascii():
        return _SPACES.sub(" ", text.replace("`", "'").lower()).strip()
    for sign, decimal in _FRACTIONS.items():
        if sign in text:
            # ½ before a digit is no half of anything
            text = re.sub(rf"(?<=\d)\s?{sign}(?!\d)", decimal, text)
            text = re.sub(rf"{sign}(?!\d)", "0" + decimal, text)
    text = unicodedata.normalize("NFKD", text.translate(_SAME))
    text = "".join(ch for ch in text if not unicodedata.combining(ch))
    return _SPACES.sub(" ", text.translate(_SAME).lower()).strip()


_SPELLED = {"1/2": ".5", "1/4": ".25", "3/4": ".75"}
_SPELLED_PART = re.compile(r"(?<=\d\d) (1/2|1/4|3/4)(?![\d/])")


def with_spelled_parts(folded: str) -> str:
    """`47 1/2` as `47.5`, in a folded text that speaks of loads."""
    return _SPELLED_PART.sub(lambda match: _SPELLED[match.group(1)], folded)


_RULE = re.compile(r" *:?-{2,}:? *")  # below the header of a table written with bars
_BLANK = {
    "",
    "-",
    "--",
    "---",
    ".",
    "..",
    "...",
    "n/a",
    "na",
    "n.a.",
    "none",
    "null",
    "nan",
    "nil",
    "/",
    "?",
    "k.a.",
}


@remembered
def is_blank(text: str | None) -> bool:
    """True for an empty cell and for the marks people put where there is nothing to say."""
    return text is None or fold(text) in _BLANK or _RULE.fullmatch(text) is not None


_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+")
_A_THOUSAND_OR_ONE = re.compile(r"[+-]?[1-9][.,]000")


@remembered
def parse_number(text: str) -> float | None:
    """A number with a decimal point or comma; None for anything else, and for `1,000` and `1.000`.

    Those two are a thousand to one reader and one to another, so they are nobody's number here.
    """
    text = text.strip().replace("−", "-")
    if not _NUMBER.fullmatch(text) or _A_THOUSAND_OR_ONE.fullmatch(text):
        return None
    return float(text.replace(",", "."))
