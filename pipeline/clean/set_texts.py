"""The amounts of one entry — load, repetitions, notation, number of sets — as the texts of single sets."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.loads import parse_load
from pipeline.clean.cells.remembered import remembered
from pipeline.clean.cells.repetitions import parse_reps
from pipeline.clean.cells.set_notation import (
    MOST_COUNTED,
    NotationReading,
    PairMeaning,
    SetPart,
    parse_notation,
)
from pipeline.clean.cells.set_runs import MOST_SETS_A_ROW


@dataclass(frozen=True)
class SetTexts:
    """Parts in order, or a reason code with the column it is about.

    `is_counted`: made from a count of sets; `words`: said among the figures, for the note.
    """

    parts: tuple[SetPart, ...] = ()
    problem: str = ""
    column: str = ""
    is_counted: bool = False
    words: str = ""


_LIST = re.compile(r"\d{1,3}\+?(?: ?reps?)?(?: ?[,;/ ] ?\d{1,3}\+?){1,}")
_TWO = re.compile(r"\d{1,2} ?/ ?\d{1,2}")
_DASHED = re.compile(r"\d{1,2}(?: ?- ?\d{1,2}){2,}")  # 12-12-10; 10-8 may be a range
_CLUSTER = re.compile(r"\d{1,2}(?: ?\+ ?\d{1,2})+")
_LOADS = re.compile(r"(.+?)(?: ?[,;/] ?.+?)+")
_WARM_UP_LOAD = re.compile(r"(.*\d.*?)[ (]+(?:warm ?-?up|w/u|wu|aufwarmen)(?: set)?\)?")
_NOTATION_MARK = re.compile(r"\d ?x|x ?\d|@", re.IGNORECASE)


def single_sets(
    load: str | None,
    reps: str | None,
    notation: str | None,
    n_sets: str | None,
    pair_means: PairMeaning = "",
    *,
    is_one_set: bool = False,
    is_unloaded: bool = False,
    is_two_sided: bool = False,
) -> SetTexts:
    """Texts of the single sets that one row's amounts stand for.

    `n_sets` repeats a row, `reps` may list several sets, `notation` may hold them all; a load cell fills what
    the notation leaves out. `is_one_set`: the table numbers its sets, so a row that lists as many loads as
    repetitions is one drop set. `is_unloaded`: the exercise is done without a load, so `3x12` counts sets;
    `is_two_sided`: both sides do it at once, so `5/5` lists two sets.
    """
    if is_two_sided and not is_one_set and reps and _TWO.fullmatch(reps.strip()):
        reps = reps.replace("/", ",")
    texts = _single_sets(load, reps, notation, n_sets, pair_means, is_one_set=is_one_set)
    if is_unloaded and texts.problem == "set_notation_ambiguous":
        counted = _single_sets(load, reps, notation, n_sets, "sets_reps", is_one_set=is_one_set)
        if len(counted.parts) <= MOST_COUNTED:
            return counted
    return texts


@remembered
def _single_sets(
    load: str | None,
    reps: str | None,
    notation: str | None,
    n_sets: str | None,
    pair_means: PairMeaning,
    *,
    is_one_set: bool,
) -> SetTexts:
    warm_up = _WARM_UP_LOAD.fullmatch(fold(load or ""))
    if warm_up:
        done = _single_sets(warm_up.group(1), reps, notation, n_sets, pair_means, is_one_set=is_one_set)
        return replace(done, parts=tuple(replace(part, kind="warm_up") for part in done.parts))
    drops = _drop_set(load, reps, is_one_set=is_one_set)
    if drops:
        return SetTexts(drops, is_counted=True)
    if not is_blank(notation) and (is_blank(reps) or parse_reps(reps).problem == "reps_range"):
        has_load = not is_blank(load)
        meaning = pair_means or ("sets_reps" if has_load else "")
        reading = parse_notation(notation, meaning, load_is_known=has_load)
        return _from_notation(reading, load, "notation", n_sets)
    if is_blank(reps):
        if not is_blank(load) and _NOTATION_MARK.search(fold(load or "")) and parse_load(load).problem:
            return _from_notation(parse_notation(load, pair_means), None, "load_kg", n_sets)
        if not is_blank(n_sets) and _NOTATION_MARK.search(fold(n_sets or "")):
            return _from_notation(parse_notation(n_sets, pair_means or "sets_reps"), load, "reps", None)
        return SetTexts((SetPart(load or "", ""),))
    return _from_reps(load, reps or "", n_sets, pair_means)


def _drop_set(load: str | None, reps: str | None, *, is_one_set: bool) -> tuple[SetPart, ...]:
    """`50>40>30` with `12>10>10`, or `20/15/10` with `10/8/6` where a row is one set."""
    for sign in (">", "/", ",", "-", ";") if is_one_set else (">",):
        loads = [piece.strip() for piece in fold(load or "").replace("->", ">").split(sign)]
        counts = [piece.strip() for piece in fold(reps or "").replace("->", ">").split(sign)]
        if len(loads) == len(counts) >= 2 and all(re.fullmatch(r"\d{1,3}", c) for c in counts):
            values = [parse_load(piece).value for piece in loads]
            if all(v is not None for v in values) and values == sorted(values, reverse=True):  # type: ignore[type-var]
                return tuple(
                    SetPart(one, c, kind="drop", drop_index=i)
                    for i, (one, c) in enumerate(zip(loads, counts, strict=True), start=1)
                )
    return ()


def _from_notation(reading: NotationReading, load: str | None, column: str, n_sets: str | None) -> SetTexts:
    if reading.problem:
        return SetTexts(problem=reading.problem, column=column)
    parts = reading.parts
    count = _count(n_sets)
    if count and len(parts) == 1:
        parts = parts * count
    loads = _split_loads(load, len(parts))
    return SetTexts(
        tuple(
            SetPart(p.load or loads[i], p.reps, p.effort, p.kind, p.drop_index) for i, p in enumerate(parts)
        ),
        is_counted=True,
        words=reading.words,
    )


def _from_reps(load: str | None, reps: str, n_sets: str | None, pair_means: PairMeaning) -> SetTexts:
    count = _count(n_sets)
    if count is None and not is_blank(n_sets):
        return SetTexts(problem="sets_unreadable", column="sets")
    if count is not None and not 1 <= count <= MOST_SETS_A_ROW:
        return SetTexts(problem="sets_unreadable", column="sets")
    folded = fold(reps)
    if count and count > 1 and folded.count("+") == count - 1 and _CLUSTER.fullmatch(folded):
        return SetTexts(problem="reps_uncertain", column="reps")  # two sets of 5, or two of 5+5
    if _DASHED.fullmatch(folded):
        folded = folded.replace("-", ",")
    listed = re.split(r"[,;/ ]+", folded) if _LIST.fullmatch(folded) else []
    is_sides = len(listed) == 2 and "/" in folded and count != 2
    if listed and not is_sides:
        if count not in (None, len(listed)):
            return SetTexts(problem="sets_contradict_reps", column="reps")
        loads = _split_loads(load, len(listed))
        return SetTexts(tuple(SetPart(loads[i], r) for i, r in enumerate(listed)), is_counted=True)
    if _NOTATION_MARK.search(folded) and parse_reps(reps).problem:
        return _from_notation(parse_notation(reps, pair_means or "sets_reps"), load, "reps", None)
    loads = _split_loads(load, count or 1)
    return SetTexts(tuple(SetPart(loads[i], reps) for i in range(count or 1)), is_counted=count is not None)


def _count(text: str | None) -> int | None:
    if is_blank(text):
        return None
    match = re.fullmatch(r"(\d{1,3})(?:[.,]0+)?(?: ?(?:sets?|satze|series|x))?", fold(text or ""))
    return int(match.group(1)) if match else None


def _split_loads(load: str | None, count: int) -> list[str]:
    """One load a set: the same for all, or a list as long as the sets."""
    text = load or ""
    if count > 1 and _LOADS.fullmatch(text) and parse_load(text).problem:
        pieces = [piece.strip() for piece in re.split(r"[;/]|, |,(?=\d{2,})", text) if piece.strip()]
        if len(pieces) == count:
            unit = re.search(r"[a-z#]+\.?$", pieces[-1].lower())
            return [
                p if re.search(r"[a-z#]", p.lower()) or not unit else f"{p} {unit.group(0)}" for p in pieces
            ]
    return [text] * count
