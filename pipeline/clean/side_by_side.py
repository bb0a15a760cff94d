"""Tables that stand side by side in one sheet: the same header words again to the right, each with its own rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.clean.headers import HeaderCell


@dataclass(frozen=True)
class Span:
    """The columns of one of several tables side by side.

    `columns` are those its records are read from, with the ones that all tables share on the left; `region` are
    those above which its own titles stand.
    """

    columns: tuple[str, ...]
    region: tuple[str, ...]


def find_spans(
    cells: Mapping[str, HeaderCell], columns: Sequence[str], amounts: frozenset[str]
) -> list[Span]:
    """The tables of a header, left to right; empty where it heads one table.

    A table begins again where exercises (else dates) are headed again, with the columns before them that come
    again, too. Each must hold amounts of its own.
    """
    roles = [cells[c].role if c in cells and not cells[c].date_text else "" for c in columns]
    for key in ("exercise", "date"):
        heads = [place for place, role in enumerate(roles) if role == key]
        if len(heads) >= 2:
            break
    else:
        return []
    before = 0
    while all(
        place - before - 1 >= (heads[i - 1] + 1 if i else 0)
        and roles[place - before - 1]
        and roles[place - before - 1] == roles[heads[0] - before - 1]
        for i, place in enumerate(heads)
    ):
        before += 1
    starts = [place - before for place in heads]
    shared = tuple(columns[: starts[0]])
    if any(cells[c].role in amounts for c in shared if c in cells):
        return []
    spans = []
    for i, start in enumerate(starts):
        end = starts[i + 1] if i + 1 < len(starts) else len(columns)
        own = tuple(columns[start:end])
        if not any(cells[c].role in amounts for c in own if c in cells):
            return []
        spans.append(Span((*shared, *own), own if i else (*shared, *own)))
    return spans
