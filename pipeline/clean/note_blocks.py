"""Blocks of free lines that give one fact each: `Exercise: Bench Press`, `Weight: 40kg`, `Sets: 3`, `Reps: 8`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.clean.cells.folding import is_blank
from pipeline.clean.headers import parse_header_cell
from pipeline.clean.note_words import plain_line

_PAIR = re.compile(r"^([A-Za-zÀ-ÿ][A-Za-zÀ-ÿ #()/.]{0,30}?)\s*[:=]\s*(\S.*)$")
_ROLES = (
    *("client", "date", "exercise", "n_sets", "reps", "load", "rpe", "rir", "effort", "note", "unit"),
    *("duration", "set_number", "set_kind"),
)
_AMOUNTS = ("reps", "duration")


@dataclass(frozen=True)
class Block:
    """What the lines of a block say: role → text, and role → record; `unit` as the key of the load names it."""

    texts: dict[str, str]
    rows: dict[str, int]
    unit: str = ""


def fact_of_line(text: str) -> tuple[str, str, str]:
    """Role, value and unit of `Weight (kg): 40`; empty texts where the line is no such fact."""
    match = _PAIR.match(text)
    if not match:
        return "", "", ""
    header = parse_header_cell(match.group(1))
    if header.role not in _ROLES or header.set_number:
        return "", "", ""
    return header.role, match.group(2).strip(), header.unit


def _what_begins(lines: Sequence[tuple[int, str]]) -> set[str]:
    """Which facts begin a block: the exercise, and the day or client where the first block has them before it."""
    begins = {"exercise"}
    for _, raw in lines:
        role = fact_of_line(plain_line(raw))[0]
        if role in ("date", "client"):
            begins.add(role)
        elif role:
            break
    return begins


def find_blocks(lines: Sequence[tuple[int, str]]) -> Iterator[Block]:
    """The blocks that hold an exercise and what was done of it; anything else is left to be read line by line."""
    texts: dict[str, str] = {}
    rows: dict[str, int] = {}
    unit = ""
    begins = _what_begins(lines)
    for number, raw in (*lines, (0, "")):
        role, value, said = fact_of_line(plain_line(raw))
        ends = not role or role in texts or (role in begins and set(texts) & {*_AMOUNTS, "load", "n_sets"})
        if ends:
            if "exercise" in texts and set(texts) & set(_AMOUNTS):
                yield Block(texts, rows, unit)
            texts, rows, unit = {}, {}, ""
        if role and not is_blank(value):
            texts[role], rows[role] = value, number
            unit = said if role == "load" and said in ("kg", "lb") else unit
