"""Several sets in one text: `3x8@100`, `100x8,8,7`, `5,5,5 @ 100`, `100x8, 105x6 > 80x10`, `3x30s`.

A notation is unfolded into one part a set, still as text, which the parsers of loads, repetitions and effort
read afterwards: so a load means the same wherever it stands. The text is cut into words (set_tokens.py); words
joined by x and @ make a chain (set_chains.py); chains, loads and repetitions that follow each other make runs
of sets under one load (set_runs.py). What is not understood to the last word is not read at all.

`a x b` alone can mean load × repetitions, sets × repetitions or repetitions × load. What the text itself does
not settle (a unit, a decimal, a number too large for a count of sets) is left to `pair_means`, which the
reader of the whole column decides; without it the reading is ambiguous and is asked about.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.loads import looks_like_date
from pipeline.clean.cells.remembered import remembered
from pipeline.clean.cells.set_reader import SetReader
from pipeline.clean.cells.set_runs import MOST_COUNTED, PairMeaning, SetPart, Unreadable, parts_of_runs
from pipeline.clean.cells.set_tokens import Token, tokenise

__all__ = ["MOST_COUNTED", "NotationReading", "PairMeaning", "SetPart", "column_meaning", "parse_notation"]
_MOST_PARTS = 60


@dataclass(frozen=True)
class NotationReading:
    """Parts in order; `problem` a reason code ("set_notation_unreadable", "set_notation_ambiguous", …).

    `pair_means` says how a bare `a x b` was certainly meant, so that a column can be read as one. `words`: what
    is said beside the figures (tempo, easy), for the note.
    """

    parts: tuple[SetPart, ...] = ()
    problem: str = ""
    pair_means: PairMeaning = ""
    words: str = ""


_COUNTS_SETS = re.compile(rf"(?<![\d.,x@])[1-{MOST_COUNTED}] ?[x*] ?\d")


def column_meaning(text: str, voted: PairMeaning) -> PairMeaning:
    """What the other cells of a column say of a text's `a x b`; "" where a is small enough to count sets.

    Beside 60x8 for the bench press, 10x12 is a load, too; 3x12 for push-ups is not.
    """
    return "" if voted != "sets_reps" and _COUNTS_SETS.search(fold(text)) else voted


@remembered
def parse_notation(
    text: str | None, pair_means: PairMeaning = "", load_is_known: bool = False
) -> NotationReading:
    """The sets of a notation. Never raises; what cannot be read whole is not read in part.

    `load_is_known`: another cell gives the load, so a small number behind @ is effort.
    """
    if is_blank(text):
        return NotationReading()
    if looks_like_date(text or ""):
        return NotationReading(problem="turned_into_date")
    last = _LAST_SET.search(fold(text or ""))
    if last:
        return _with_last(parse_notation(fold(text or "")[: last.start()], pair_means, load_is_known), last)
    tokens = tokenise(text or "")
    if not tokens or re.search(r"\d{5}", text or ""):  # 12345 is one number, not 1234 and 5
        return NotationReading(problem="set_notation_unreadable")
    reading = _read(tokens, pair_means, load_is_known=load_is_known)
    certain = column_meaning(text or "", reading.pair_means)
    if reading.problem == "set_notation_ambiguous" and certain and not pair_means:
        # another pair of the same text says which way round it is written
        return _read(tokens, certain, load_is_known=load_is_known)
    return reading


_LAST_SET = re.compile(
    r"[ ,;]*\(?\b(?:last|final)(?: set)?:? (?:only |was |at |amrap ?:? ?)?(\d{1,2})(?: reps?)?\)?$"
)


def _with_last(reading: NotationReading, last: re.Match[str]) -> NotationReading:
    """`5x5 @ 100 (last set 4)`: the last of several equal sets had another number of repetitions."""
    if len(reading.parts) < 2 or len(set(reading.parts)) > 1:
        return NotationReading(problem=reading.problem or "set_notation_unreadable")
    return replace(reading, parts=(*reading.parts[:-1], replace(reading.parts[-1], reps=last.group(1))))


def _read(tokens: list[Token], pair_means: PairMeaning, *, load_is_known: bool) -> NotationReading:
    reader = SetReader(tokens, pair_means, load_is_known=load_is_known)
    try:
        parts = parts_of_runs(reader.read(), pair_means)
    except Unreadable as fault:
        return NotationReading(problem=fault.reason_code, pair_means=reader.certain_meaning())
    if not parts or len(parts) > _MOST_PARTS:
        return NotationReading(problem="set_notation_unreadable")
    words = ", ".join(token.text for token in tokens if token.kind == "aside")
    return NotationReading(parts, pair_means=reader.certain_meaning(), words=words)
