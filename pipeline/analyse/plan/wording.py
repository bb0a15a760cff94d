"""Words of the plan's findings: muscles, lists, numbers, days."""

from __future__ import annotations

from collections.abc import Sequence


def muscle_word(muscle: str) -> str:
    """`rear_delts` as `rear delts`."""
    return muscle.replace("_", " ")


def in_list(words: Sequence[str], most: int = 6) -> str:
    """`a`, `a and b`, `a, b and c`; beyond `most` the rest is counted."""
    shown = list(words[:most])
    more = len(words) - len(shown)
    if more > 0:
        shown.append(f"{more} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}" if shown else ""


def figure(value: float, digits: int = 1) -> str:
    """A number without a needless zero: 12, 7.5."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def count(n: float, one: str, many: str = "") -> str:
    """`1 set`, `7.5 sets`."""
    return f"{figure(n)} {one if n == 1 else many or one + 's'}"


def capital(text: str) -> str:
    """The text with its first letter in upper case, the rest as it is."""
    return text[:1].upper() + text[1:]
