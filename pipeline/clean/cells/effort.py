"""Effort as people write it: RPE and repetitions in reserve, with halves, ranges and words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.loads import looks_like_date
from pipeline.clean.cells.remembered import remembered

Scale = Literal["rpe", "rir", ""]


@dataclass(frozen=True)
class EffortReading:
    """`rpe` (1–10) and `rir` (0–10) as written; a range is its middle. `problem` is a reason code."""

    rpe: float | None = None
    rir: float | None = None
    problem: str = ""


_N = r"(\d{1,3}(?:[.,]\d+)?)"
_FORMS = re.compile(
    rf"(?P<word>rpe|rir|@|r\.p\.e\.?|r\.i\.r\.?|wdh in reserve|reserve)? ?[:=@]? ?{_N}(?: ?(?:-|to|bis|/|a) ?{_N})?"
    r" ?(?P<more>\+)?"
    r" ?(?P<tail>/ ?10|rpe|rir|in (?:the )?tank|in reserve|left|reps? (?:left|in reserve)|uebrig|ubrig|im tank|de reserve|en reserve)?"
)
_FAILURE = re.compile(
    r"(?:to |muscular |bis )?(?:failure|fail|failed|max|all out|versagen|muskelversagen|echec|fallo|cedimento|falen)"
)


@remembered
def parse_effort(text: str | None, scale: Scale) -> EffortReading:
    """The reading of an effort cell in a column of `scale` ("" where the header does not say which).

    A word in the cell (RPE 8, 2 RIR, 2 in the tank) beats the column. `9+` and words such as "hard" are no
    figure: empty with `effort_unreadable`. Outside 1–10 (RPE) or 0–10 (RIR): `effort_out_of_range`.
    """
    if is_blank(text):
        return EffortReading()
    folded = fold(text or "").strip(" ().;")
    if looks_like_date(folded):
        return EffortReading(problem="turned_into_date")
    if _FAILURE.fullmatch(folded):
        return EffortReading(rpe=10.0) if scale == "rpe" else EffortReading(rir=0.0)
    match = _FORMS.fullmatch(folded)
    if not match:
        minus = re.fullmatch(r"(?:rir|rpe)? ?-\d+(?:[.,]\d+)?", folded)
        return EffortReading(problem="effort_out_of_range" if minus else "effort_unreadable")
    scale = _scale_of(match["word"] or "", match["tail"] or "") or scale
    first, second = (float(g.replace(",", ".")) if g else None for g in (match.group(2), match.group(3)))
    if match["tail"] is None and second == 10 and re.search(r"/ ?10$", folded):
        second = None
    if first is None or not scale or match["more"]:
        return EffortReading(problem="effort_unreadable" if scale else "effort_scale_unknown")
    low, high = (1.0, 10.0) if scale == "rpe" else (0.0, 10.0)
    values = [first] if second is None else [first, second]
    if any(not low <= value <= high for value in values):
        return EffortReading(problem="effort_out_of_range")
    middle = sum(values) / len(values)
    return EffortReading(rpe=middle) if scale == "rpe" else EffortReading(rir=middle)


def _scale_of(word: str, tail: str) -> Scale:
    words = f"{word} {tail}"
    if "rpe" in words or "r.p.e" in words or "/" in tail or word == "@":
        return "rpe"
    return "rir" if word.startswith(("rir", "r.i.r", "wdh", "reserve")) or (tail and "/" not in tail) else ""


def reconcile(rpe: EffortReading, rir: EffortReading) -> EffortReading:
    """Both given: kept where they say the same within one repetition, else `effort_contradiction`."""
    problem = rpe.problem or rir.problem
    rpe_value = rpe.rpe if rpe.rpe is not None else rir.rpe
    rir_value = rir.rir if rir.rir is not None else rpe.rir
    if rpe_value is not None and rir_value is not None and abs((10 - rpe_value) - rir_value) > 1:
        return EffortReading(problem="effort_contradiction")
    return EffortReading(rpe_value, rir_value, problem)
