"""Words joined by x and @: which of them is the load, which the repetitions, which the count of sets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from pipeline.clean.cells.set_runs import MOST_SETS, PairMeaning, Run, Unreadable
from pipeline.clean.cells.set_tokens import Token

_REPS_KINDS = ("reps", "time", "each", "seconds")


class Context(Protocol):
    """What was read before the chain and decides what it means."""

    pair_means: PairMeaning
    certain: set[PairMeaning]

    def knows_load(self) -> bool:
        """True where the load was said before."""
        ...

    def counts_sets(self) -> bool:
        """True where the load was said by itself, so that a pair counts sets."""
        ...

    def is_in_drop(self) -> bool:
        """True within a drop set, where each piece is load × repetitions."""
        ...

    def peek(self, ahead: int = 0) -> Token | None:
        """The word behind the chain."""
        ...


def read_chain(
    atoms: Sequence[Token], joins: Sequence[str], context: Context, *, has_brackets: bool = False
) -> Run:
    """The run of one chain of two or more words. Raises Unreadable.

    `joins[i]` is "x" or "at", what stands before `atoms[i]` ("" for the first).
    """
    split = next((i for i, join in enumerate(joins) if join == "at"), len(atoms))
    left, right = list(atoms[:split]), list(atoms[split:])
    if any(atom.kind == "range" for atom in left):
        raise Unreadable("reps_range")
    if any(atom.kind == "range" for atom in right):
        raise Unreadable("load_range")
    if not right:
        return _by_x(left, context, has_brackets=has_brackets)
    if len(left) == 1 and left[0].kind == "load":
        return _load_at(left[0], right, joins[split:])
    run = Run() if len(left) == 1 else _before_at(left, right[0], context)
    if len(left) == 1:
        run.add_reps(_reps(left[0]), "")
    return _with_right(run, right, joins[split:], context)


def _before_at(left: list[Token], behind: Token, context: Context) -> Run:
    """`3x8` before `@ 100` counts sets; `100x5` before `@ 8` has its load."""
    first, last = left[0], left[-1]
    if len(left) == 2 and first.kind == "number" and last.kind != "load" and not certain_load(first):
        settled = context.pair_means == "load_reps" and is_effort(behind) and not context.knows_load()
        if not settled and last.kind in ("number", *_REPS_KINDS) and last.is_whole:
            run = Run(count=_count(first))
            run.add_reps(_reps(last), "")
            return run
    return _by_x(left, context)


def _load_at(load: Token, right: list[Token], joins: Sequence[str]) -> Run:
    """`60kg @ 8 reps`, `60kg @ 3x8`; `60kg @ 8` may be repetitions or effort."""
    run = Run(load=load.text)
    if len(right) == 1 and (
        right[0].kind in ("reps", "time") or (right[0].number or 0) > 10 or (right[0].number or 0) < 5
    ):
        run.add_reps(_reps(right[0]), "")
        return run
    if len(right) == 2 and joins[1] == "x" and right[0].kind == "number":
        run.count = _count(right[0])
        run.add_reps(_reps(right[1]), "")
        return run
    raise Unreadable("set_notation_ambiguous")


def _with_right(run: Run, right: list[Token], joins: Sequence[str], context: Context) -> Run:
    """What stands behind @: the load where it is not said yet, effort where it is, a count behind that."""
    if len(right) == 2 and joins[1] == "x" and right[0].number == 2 and right[1].kind == "load":
        run.load, run.is_load_behind = f"2x{right[1].text}", True
        return run
    for atom, join in zip(right, joins, strict=True):
        if join == "x":
            if atom.kind != "count":
                raise Unreadable("set_notation_ambiguous")
            run.repeat(_count(atom))
        elif is_effort(atom) and (run.load is not None or run.either is not None or context.knows_load()):
            run.settle("load_reps")
            run.add_effort(f"rpe {atom.text}")
        elif run.load is None and is_effort(atom) and not context.pair_means:
            raise Unreadable("set_notation_ambiguous")  # 3x8 @8: eight kilograms, or an effort of 8
        elif run.load is None and atom.kind in ("load", "number", "each", "seconds"):
            run.load, run.is_load_behind = atom.text, True
        else:
            raise Unreadable("set_notation_unreadable")
    return run


def _by_x(atoms: list[Token], context: Context, *, has_brackets: bool = False) -> Run:
    if len(atoms) == 2:
        return _two(atoms[0], atoms[1], context)
    if len(atoms) == 3:
        return _three(atoms, context, has_brackets=has_brackets)
    first, *others = atoms
    if _is_load(first) and all(
        atom.kind in ("number", "reps") and (atom.number or 99) <= 50 for atom in others
    ):
        return _run(first.text, [_reps(atom) for atom in others])
    raise Unreadable("set_notation_unreadable")


def _two(first: Token, second: Token, context: Context) -> Run:
    if first.kind == "count":
        return _counted(first, second)
    if second.kind == "count":
        return _count_behind(first, second)
    if second.kind == "load":
        return _reps_times_load(first, second, context)
    if first.kind == "load" or first.kind == "each":
        return _run(first.text, [_reps(second)])
    if first.kind == "seconds":
        return _seconds_first(first, second, context)
    if first.kind in ("reps", "time"):
        if second.kind != "number":
            raise Unreadable("set_notation_unreadable")
        return _run(None, [_reps(first)], count=_count(second))
    if second.kind == "number" and not second.is_whole:
        context.certain.add("reps_load")
        return _run(second.text, [_reps(first)])
    if certain_load(first):
        context.certain.add("load_reps")
        return _run(first.text, [_reps(second)])
    if second.kind in ("time", "each", "seconds"):
        context.certain.add("sets_reps")
        return _run(None, [_reps(second)], count=_count(first))
    if context.counts_sets():
        return _run(None, [_reps(second)], count=_count(first))
    if context.is_in_drop():
        return _run(first.text, [_reps(second)])
    run = _run(None, [_reps(second)])
    run.either = first.text
    return run


def _counted(count: Token, what: Token) -> Run:
    """`3 sets x 10`, `3 sets x 60kg` (with the repetitions behind)."""
    run = Run(count=_count(count))
    if what.kind == "load":
        raise Unreadable("set_notation_unreadable")
    run.add_reps(_reps(what), "")
    return run


def _count_behind(what: Token, count: Token) -> Run:
    if what.kind == "load" or certain_load(what):
        raise Unreadable("set_notation_unreadable")
    return _run(None, [_reps(what)], count=_count(count), count_is_first=False)


def _reps_times_load(first: Token, load: Token, context: Context) -> Run:
    """`8x60kg` is eight with 60 kg; `2x12kg 3x12` is a pair of 12 kg dumbbells."""
    follows, behind = context.peek(), context.peek(1)
    if first.number == 2 and follows is not None and follows.is_apart:
        counts = follows.kind == "count" or (
            behind is not None and behind.kind == "x" and follows.kind == "number"
        )
        third = context.peek(2)
        if counts and not (third is not None and third.kind == "load"):
            return Run(load=f"2x{load.text}")
    # 2x18kg: 10, 9, 9 is a pair, too, with the repetitions behind
    if first.number == 2 and follows is not None and follows.text == ":" and behind is not None:
        return Run(load=f"2x{load.text}")
    if first.kind == "reps" or (first.kind == "number" and first.is_whole and (first.number or 0) <= 50):
        context.certain.add("reps_load")
        return _run(load.text, [_reps(first)])
    raise Unreadable("set_notation_unreadable")


def _seconds_first(first: Token, second: Token, context: Context) -> Run:
    """`30s x 10` is a pair of dumbbells of 30; `30s x 3` may be three holds of 30 seconds."""
    follows = context.peek()
    has_list = follows is not None and follows.text in (",", "/")
    if second.kind not in ("number", "reps") or ((second.number or 0) < 5 and not has_list):
        raise Unreadable("set_notation_ambiguous")
    return _run(first.text, [_reps(second)])


def _three(atoms: list[Token], context: Context, *, has_brackets: bool) -> Run:
    first, second, third = atoms
    if third.kind == "count":
        return _three_counted(first, second, third)
    if first.kind == "number" and second.kind == "load":
        load = f"2x{second.text}" if first.number == 2 else second.text
        return _run(load, [_reps(third)], count=None if first.number == 2 else _count(first))
    if has_brackets and first.kind == "number" and second.kind == "number":
        return _run(second.text, [_reps(third)], count=_count(first))
    if first.kind == "count" and (third.kind == "load" or third.kind == "number"):
        return _run(third.text, [_reps(second)], count=_count(first))
    if third.kind == "load" and first.kind == "number":
        return _run(third.text, [_reps(second)], count=_count(first))
    if _is_load(first) and second.kind == third.kind == "number":
        return _load_then_two(first, second, third, context)
    if first.kind == "number" and second.kind in ("number", *_REPS_KINDS) and certain_load(third):
        return _run(third.text, [_reps(second)], count=_count(first))
    raise Unreadable("set_notation_ambiguous")


def _three_counted(first: Token, second: Token, count: Token) -> Run:
    if _is_load(first):
        return _run(first.text, [_reps(second)], count=_count(count), count_is_first=False)
    if second.kind == "load":
        return _run(second.text, [_reps(first)], count=_count(count), count_is_first=False)
    raise Unreadable("set_notation_unreadable")


def _load_then_two(load: Token, second: Token, third: Token, context: Context) -> Run:
    """Load × repetitions × sets to one reader, load × sets × repetitions to another."""
    if second.number == third.number:
        return _run(load.text, [_reps(second)], count=_count(third))
    if context.pair_means == "load_reps_sets":
        return _run(load.text, [_reps(second)], count=_count(third))
    if context.pair_means == "load_sets_reps":
        return _run(load.text, [_reps(third)], count=_count(second))
    raise Unreadable("set_notation_ambiguous")


def _run(load: str | None, reps: list[str], count: int | None = None, *, count_is_first: bool = True) -> Run:
    run = Run(load=load, count=count, count_is_first=count_is_first)
    for text in reps:
        run.add_reps(text, ",")
    return run


def _reps(atom: Token) -> str:
    if atom.kind not in ("number", *_REPS_KINDS):
        raise Unreadable("set_notation_unreadable")
    if atom.kind == "number" and not atom.is_whole:
        raise Unreadable("set_notation_unreadable")
    return atom.text


def _count(atom: Token) -> int:
    if not atom.is_whole or not 1 <= (atom.number or 0) <= 30:
        raise Unreadable("set_notation_unreadable")
    return int(atom.number or 0)


def _is_load(atom: Token) -> bool:
    return atom.kind in ("load", "each") or certain_load(atom) or (atom.kind == "seconds")


def certain_load(atom: Token) -> bool:
    """A unit, a decimal or a number too large for a count of sets: it can only be a load."""
    if atom.kind == "number":
        return (atom.number or 0) > MOST_SETS or "." in atom.text
    return atom.kind == "load"


def is_effort(atom: Token) -> bool:
    """5 to 10 in halves: an RPE where it stands behind @ and the load is known."""
    return atom.kind == "number" and 5 <= (atom.number or 0) <= 10 and (atom.number or 0) * 2 % 1 == 0
