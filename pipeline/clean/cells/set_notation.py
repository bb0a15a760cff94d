"""Several sets in one text: `3x8@100`, `100x8,8,7`, `5,5,5 @ 100`, `100x8, 105x6 > 80x10`, `3x30s`.

A notation is unfolded into one part a set, still as text, which the parsers of loads, repetitions and effort
read afterwards: so a load means the same wherever it stands.

`a x b` alone can mean load × repetitions, sets × repetitions or repetitions × load. What the text itself does
not settle (a unit, a decimal, a number too large for a count of sets) is left to `pair_means`, which the
reader of the whole column decides; without it the reading is ambiguous and is asked about.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.loads import looks_like_date, parse_load
from pipeline.clean.cells.remembered import remembered

PairMeaning = Literal["load_reps", "sets_reps", "reps_load", "load_reps_sets", "load_sets_reps", ""]
MOST_SETS = 12  # nobody writes more sets of one exercise as a count; a larger number is a load


@dataclass(frozen=True)
class SetPart:
    """One set as text: load, repetitions, effort; `kind` is "", "warm_up" or "drop"; `drop_index` from 1."""

    load: str = ""
    reps: str = ""
    effort: str = ""
    kind: str = ""
    drop_index: int = 1


@dataclass(frozen=True)
class NotationReading:
    """Parts in order; `problem` a reason code ("set_notation_unreadable", "set_notation_ambiguous", …).

    `pair_means` says how a bare `a x b` was certainly meant, so that a column can be read as one.
    """

    parts: tuple[SetPart, ...] = ()
    problem: str = ""
    pair_means: PairMeaning = ""


_NUM = r"\d{1,4}(?:\.\d+)?"
_UNIT = r"(?:kgs?|kilos?|lbs?|pounds?|#)"
_BODY = r"(?:b\.?w\.?|bodyweight|body weight|korpergewicht|kg korper|pdc|peso corporal)"
_PER = r"(?: ?(?:/ ?(?:hand|side|arm)|per (?:hand|side|arm)|each|ea|pro hand|pro seite|total)\b)"
_LOAD = (
    rf"(?:{_BODY}(?: ?[+-] ?{_NUM} ?{_UNIT}?)?|{_NUM}s(?= ?x)|[+-] ?{_NUM} ?{_UNIT}?|2x{_NUM} ?{_UNIT}|{_NUM} ?{_UNIT}?{_PER}?"
    r"|(?:empty |the )?bar\b|(?:[a-z]+ )?band\b|#\d{1,2}\b|(?:pin|level|stack|plate|hole) ?\d{1,2}\b)"
)
_EACH = r"(?: ?(?:each(?: side| leg| arm)?|ea|e/s|per (?:side|leg|arm)|/ ?(?:side|leg|arm)|je seite|pro seite|p/s))"
_TIME = r"(?:\d{1,4} ?(?:s|sec|secs|seconds?|sek)\b|\d{1,2}:\d{2}|\d{1,2} ?min\b)"
_REP = rf"(?:{_TIME}|\d{{1,3}}(?:\+\d{{1,2}})+|\d{{1,3}}\+?(?: ?f\b)?(?:{_EACH})?(?: ?reps?\b)?|f(?:ail(?:ed)?)?\b)"
_REPS = rf"(?:{_REP}(?: ?[,/;] ?{_REP}| +(?={_REP}(?:$| ))(?:{_REP}))*)"
_AT = r" ?(?:@|at|with|mit|a|à|bei|con|avec|met) ?"

_EFFORT = re.compile(
    r"[ (,]*(?:@ ?)?((?:rpe|rir) ?[:=@]? ?\d{1,2}(?:\.5)?(?: ?[-/,] ?\d{1,2}(?:\.5)?)*|\d{1,2}(?:\.5)?(?: ?- ?\d)? ?(?:rir|rpe)\b|\d in (?:the )?tank)\)?$"
)
_SHORT_EFFORT = re.compile(r" ?@ ?((?:10|[5-9])(?:\.5)?(?: ?- ?(?:10|[5-9])(?:\.5)?)?)$")
_WARM_UP = re.compile(
    r"^\(?(?:w|wu|w/u|warm ?-?ups?|warmup sets?|aufwarmen|echauffement|calentamiento|riscaldamento)[ :.)-]+|[ (]*(?:warm ?-?up|wu|w/u)\)?$"
)
_DROP_MARK = re.compile(r" ?(?:->|>+|=>|\bdrop(?:ped)?(?: ?set)?(?: to)?\b:?|\bds\b:?|\bdann\b) ?")
_NEXT_GROUP = re.compile(rf" ?[,;|&/\n] ?(?={_LOAD} ?x ?(?:\d|f))| ?; ?| ?\n ?| (?:then|and|und|et|y) (?=\d)")
_SET_THEN_SET = re.compile(rf"(x ?\d{{1,3}}\+?f?) (?={_NUM} ?{_UNIT}? ?x ?\d)")
_AT_THEN_AT = re.compile(rf"(@ ?{_NUM} ?{_UNIT}?)(?![\d.]) ?[,;/|&]? ?(?=\d{{1,3}} ?@)")
_SETS_OF = re.compile(
    rf"(\d{{1,2}}) ?(?:sets?|satze|series|serie|x) ?(?:of|a|de|da|x|zu|mit)? ?({_REPS})(?: ?(?:reps?|wdh\.?))?({_AT}|[ ,]+| ?\(| ?x ?)({_LOAD})\)?"
)
_SETS_OF_ONLY = re.compile(rf"(\d{{1,2}}) ?(?:sets?|satze|series|serie) ?(?:of|a|de|da|x|zu)? ?({_REPS})")
_REPS_AT = re.compile(rf"({_REPS}){_AT}({_LOAD})")
_LOAD_FOR_SETS = re.compile(rf"({_LOAD})(?: ?[:;,-] ?| +| ?\(|{_AT})(\d{{1,2}}) ?x ?({_REP})\)?")
_LOAD_REPS = re.compile(rf"({_LOAD}) ?(?:x|for|fur|:| - ) ?({_REPS})")
_UNIT_REPS = re.compile(
    rf"((?:{_NUM} ?{_UNIT}{_PER}?|{_BODY}(?: ?[+-] ?{_NUM} ?{_UNIT}?)?)) ?[ ,:(-] ?({_REPS})\)?"
)
_REPS_UNIT = re.compile(
    rf"({_REPS}) ?[ ,(-] ?({_NUM} ?{_UNIT}{_PER}?|{_BODY}(?: ?[+-] ?{_NUM} ?{_UNIT}?)?)\)?"
)
_TRIPLE = re.compile(rf"({_LOAD}) ?x ?(\d{{1,3}}) ?x ?(\d{{1,3}})|(\d{{1,2}}) ?x ?({_REP}) ?x ?({_LOAD})")
_PAIR = re.compile(rf"({_NUM}) ?x ?({_REP})")
_REPS_TIMES_LOAD = re.compile(rf"(\d{{1,2}}) ?x ?({_NUM} ?{_UNIT}|{_NUM}\.\d+)")
_REPS_ONLY = re.compile(rf"(?:x ?)?({_REPS})")


def _prepared(text: str) -> str:
    folded = fold(text).strip(" .;,")
    folded = re.sub(r"(?<=[\d)kgsb ])\*(?= ?\d)", "x", folded)
    # a comma is a decimal comma before a unit, before x when it follows a load-sized number, and behind @
    folded = re.sub(rf"(\d),(\d{{1,2}})(?= ?{_UNIT}\b)", r"\1.\2", folded)
    folded = re.sub(r"(?<![x,.\d])(\d{1,3}),(5|25|75|50)(?= ?x)", r"\1.\2", folded)
    folded = re.sub(r"(x ?\d{1,3}) ?, ?(\d{2,3}),(5|25|75)(?= ?x)", r"\1;\2.\3", folded)
    folded = re.sub(r"(@ ?\d{1,3}),(\d{1,2})(?![\d,])(?! ?[,x])", r"\1.\2", folded)
    folded = re.sub(r"\b(r[pi][er]) ?(\d),5\b", r"\1 \2.5", folded)
    folded = _AT_THEN_AT.sub(r"\1;", folded)
    return _SET_THEN_SET.sub(r"\1;", folded)


@remembered
def parse_notation(text: str | None, pair_means: PairMeaning = "") -> NotationReading:
    """The sets of a notation. Never raises; what cannot be read whole is not read in part."""
    if is_blank(text):
        return NotationReading()
    if looks_like_date(text or ""):
        return NotationReading(problem="turned_into_date")
    groups = [g for g in _NEXT_GROUP.split(_prepared(text or "")) if g and g.strip(" ,;/")]
    parts: list[SetPart] = []
    certain: PairMeaning = ""
    for group in groups:
        reading = _read_group(group.strip(" ,;/|"), pair_means)
        if reading.problem:
            return reading
        parts += reading.parts
        certain = certain or reading.pair_means
    if len(parts) > 60:
        return NotationReading(problem="set_notation_unreadable")
    return NotationReading(tuple(parts), "" if parts else "set_notation_unreadable", certain)


def _read_group(group: str, pair_means: PairMeaning) -> NotationReading:
    kind = ""
    if _WARM_UP.search(group):
        kind, group = "warm_up", _WARM_UP.sub("", group).strip(" ()")
    drops = [piece for piece in _DROP_MARK.split(group) if piece.strip()]
    if len(drops) > 1:
        return _read_drops(drops, pair_means)
    reading = _read_plain(group, pair_means)
    return replace(reading, parts=tuple(replace(p, kind=kind) for p in reading.parts)) if kind else reading


def _read_drops(pieces: list[str], pair_means: PairMeaning) -> NotationReading:
    parts: list[SetPart] = []
    for index, piece in enumerate(pieces, start=1):
        reading = _read_plain(piece.strip(" ,;/"), pair_means or "load_reps")
        if reading.problem or len(reading.parts) != 1:
            return NotationReading(problem=reading.problem or "set_notation_unreadable")
        parts.append(replace(reading.parts[0], kind="drop", drop_index=index))
    return NotationReading(tuple(parts))


def _read_plain(group: str, pair_means: PairMeaning) -> NotationReading:
    effort = _EFFORT.search(group)
    if effort:
        reading = _read_sets(group[: effort.start()].strip(" ,(@"), pair_means)
        return _with_effort(reading, effort.group(1))
    short = _SHORT_EFFORT.search(group)
    if short and _is_load_first(group[: short.start()]):
        return _with_effort(_read_sets(group[: short.start()].strip(), pair_means), f"rpe {short.group(1)}")
    return _read_sets(group, pair_means)


def _is_load_first(text: str) -> bool:
    """`100x5 @8`: the load is said already, so what follows @ can only be effort."""
    if re.fullmatch(rf"{_REPS_AT.pattern}|\d{{1,2}} ?x ?{_REPS_AT.pattern}", text.strip()):
        return True
    if re.fullmatch(rf"{_LOAD} ?x ?\d{{1,3}} ?x ?\d{{1,3}}", text.strip()):
        return True
    match = re.match(rf"({_LOAD}) ?x ?{_REP}", text.strip())
    return bool(match) and _certain_load(match.group(1)) if match else False


def _is_said(connector: str, load: str) -> bool:
    """`3x8 @ 7` says that 7 is the load; `3x8, 7` does not."""
    return bool(re.search(r"[@a-z]", connector)) or _certain_load(load)


def _certain_load(text: str) -> bool:
    number = re.fullmatch(_NUM, text.strip())
    return not number or float(text) > MOST_SETS or "." in text


def _with_effort(reading: NotationReading, effort: str) -> NotationReading:
    if reading.problem:
        return reading
    scale = "rir" if "rir" in effort or "tank" in effort else "rpe"
    figures = re.split(r" ?[,/] ?", re.sub(r"[a-z:=@]+", " ", effort).strip())
    if len(figures) == len(reading.parts) > 1:
        texts = [f"{scale} {figure.strip()}" for figure in figures]
    elif len(figures) == 1:
        texts = [f"{scale} {figures[0].strip()}"] * len(reading.parts)
    else:
        texts = [effort] * len(reading.parts)
    parts = tuple(replace(p, effort=t) for p, t in zip(reading.parts, texts, strict=True))
    return replace(reading, parts=parts)


def _split_reps(text: str) -> list[str]:
    text = re.sub(rf"({_TIME})", lambda m: m.group(1).replace(" ", ""), text)
    each = r" ?(reps?\b|each(?: side| leg| arm)?\b|ea\b|e/s|(?:per|je|pro) (?:side|leg|arm|seite)|/ ?(?:side|leg|arm))"
    text = re.sub(each, lambda m: "_" + m.group(1).replace(" ", "_"), text)
    text = text.replace("_/", "~")
    pieces = [p for p in re.split(r"[,;/ ]+", text) if p]
    return [p.replace("~", " /").replace("_", " ") for p in pieces]


def _sets(load: str, reps: list[str], count: int = 1) -> NotationReading:
    return NotationReading(tuple(SetPart(load.strip(), rep) for _ in range(count) for rep in reps))


def _counted(count: int, reps_text: str, load: str) -> NotationReading:
    """`count` sets of `reps_text`: one figure for all, one a set, or two as left/right."""
    reps = _split_reps(reps_text)
    if not 1 <= count <= 30:
        return NotationReading(problem="set_notation_unreadable")
    if len(reps) == 1:
        return _sets(load, reps, count)
    if len(reps) == count:
        return _sets(load, reps)
    if len(reps) == 2 and "/" in reps_text:
        return _sets(load, [f"{reps[0]}/{reps[1]}"], count)
    return NotationReading(problem="set_notation_contradiction")


def _read_sets(group: str, pair_means: PairMeaning) -> NotationReading:
    group = group.strip()
    triple = _TRIPLE.fullmatch(group)
    if triple:
        return _read_triple(triple, pair_means)
    reps_load = _REPS_TIMES_LOAD.fullmatch(group)
    if reps_load and (re.search(_UNIT, reps_load.group(2)) or "." in reps_load.group(2)):
        return replace(_sets(reps_load.group(2), [reps_load.group(1)]), pair_means="reps_load")
    sets_of = _SETS_OF.fullmatch(group)
    if sets_of and int(sets_of.group(1)) <= MOST_SETS and _is_said(sets_of.group(3), sets_of.group(4)):
        return _counted(int(sets_of.group(1)), sets_of.group(2), sets_of.group(4))
    for_sets = _LOAD_FOR_SETS.fullmatch(group)
    if for_sets and _certain_load(for_sets.group(1)):
        return _counted(int(for_sets.group(2)), for_sets.group(3), for_sets.group(1))
    only = _SETS_OF_ONLY.fullmatch(group)
    if only:
        return replace(_counted(int(only.group(1)), only.group(2), ""), pair_means="sets_reps")
    pair = _PAIR.fullmatch(group)
    if pair:
        return _read_pair(pair.group(1), pair.group(2), pair_means)
    load_reps = _LOAD_REPS.fullmatch(group)
    if load_reps and not parse_load(load_reps.group(1)).problem:
        if not _certain_load(load_reps.group(1)) and pair_means != "load_reps":
            return _counted_or_ambiguous(load_reps, pair_means)
        return replace(_sets(load_reps.group(1), _split_reps(load_reps.group(2))), pair_means="load_reps")
    reps_at = _REPS_AT.fullmatch(group)
    if reps_at:
        return _sets(reps_at.group(2), _split_reps(reps_at.group(1)))
    unit_reps = _UNIT_REPS.fullmatch(group)
    if unit_reps:
        return _sets(unit_reps.group(1), _split_reps(unit_reps.group(2)))
    reps_unit = _REPS_UNIT.fullmatch(group)
    if reps_unit and len(_split_reps(reps_unit.group(1))) > 1:
        return _sets(reps_unit.group(2), _split_reps(reps_unit.group(1)))
    reps_only = _REPS_ONLY.fullmatch(group)
    if reps_only:
        return _sets("", _split_reps(reps_only.group(1)))
    ranged = re.search(r"x ?\d{1,2} ?- ?\d{1,2}\b", group)
    return NotationReading(problem="reps_range" if ranged else "set_notation_unreadable")


def _counted_or_ambiguous(match: re.Match[str], pair_means: PairMeaning) -> NotationReading:
    """`10x8,8,7` or `3x8,8,7`: as many repetitions as the count says are sets, else a small load."""
    count, reps = float(match.group(1)), _split_reps(match.group(2))
    if pair_means == "sets_reps" or count == len(reps):
        return _counted(int(count), match.group(2), "")
    if len(reps) == 2 and "/" in match.group(2):
        return NotationReading(problem="set_notation_ambiguous")
    return _sets(match.group(1), reps)


def _read_triple(match: re.Match[str], pair_means: PairMeaning) -> NotationReading:
    load, second, third, sets, reps, last_load = match.groups()
    if load is not None and _certain_load(load):
        if second == third:
            return _sets(load, [second], int(third))
        if pair_means == "load_reps_sets":
            return _sets(load, [second], int(third))
        if pair_means == "load_sets_reps":
            return _sets(load, [third], int(second))
        # load × repetitions × sets to one reader, load × sets × repetitions to another
        return NotationReading(problem="set_notation_ambiguous")
    if load is not None and _certain_load(third):
        return _counted(int(load), second, third)
    if sets is not None and last_load is not None and _certain_load(last_load):
        return _counted(int(sets), reps, last_load)
    return NotationReading(problem="set_notation_ambiguous")


def _read_pair(first: str, reps: str, pair_means: PairMeaning) -> NotationReading:
    if _certain_load(first):
        return replace(_sets(first, _split_reps(reps)), pair_means="load_reps")
    if re.fullmatch(_TIME, reps) or re.search(_EACH, reps):
        return replace(_counted(int(float(first)), reps, ""), pair_means="sets_reps")
    if pair_means == "load_reps":
        return _sets(first, _split_reps(reps))
    if pair_means == "sets_reps":
        return _counted(int(float(first)), reps, "")
    if pair_means == "reps_load":
        return _sets(reps, [first])
    return NotationReading(problem="set_notation_ambiguous")
