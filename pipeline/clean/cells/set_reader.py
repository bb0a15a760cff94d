"""Reads the words of a set notation left to right into runs of sets under one load."""

from __future__ import annotations

import re
from typing import Literal

from pipeline.clean.cells.set_chains import certain_load, is_effort, read_chain
from pipeline.clean.cells.set_runs import MOST_SETS, PairMeaning, Run, Unreadable, is_small
from pipeline.clean.cells.set_tokens import Token

_MOST_REPS = 30  # in a list behind a load; a larger number is another load
_SAID_ONCE = ("load", "number", "reps", "each", "seconds", "time", "range")


class SetReader:
    """Reads words left to right into runs of sets."""

    def __init__(self, tokens: list[Token], pair_means: PairMeaning, *, load_is_known: bool) -> None:
        self.tokens = tokens
        self.place = 0
        self.pair_means = pair_means
        self.load_is_known = load_is_known
        self.runs: list[Run] = []
        self.leading: str | None = None  # a load that was said before its sets
        self.stands_alone = False  # … by itself (60kg 3x8), not within a pair (60x8)
        self.pending_count: int | None = None
        self.separator = ""
        self.warm_up: Literal["", "next", "until ;"] = ""
        self.drops_on = False
        self.are_all_drops = False
        self.next_kind = ""
        self.certain: set[PairMeaning] = set()

    def certain_meaning(self) -> PairMeaning:
        return next(iter(self.certain)) if len(self.certain) == 1 else ""

    def peek(self, ahead: int = 0) -> Token | None:
        place = self.place + ahead
        return self.tokens[place] if place < len(self.tokens) else None

    def is_next(self, *kinds: str) -> bool:
        token = self.peek()
        return token is not None and token.kind in kinds

    def read(self) -> list[Run]:
        while self.place < len(self.tokens):
            token = self.tokens[self.place]
            if token.kind == "aside":
                self.place += 1
            elif token.kind in ("separator", "label", "open", "close"):
                self._between(token)
            elif token.kind == "warm_up":
                self._warm_up()
            elif token.kind == "drop":
                self._drop()
            elif token.kind == "rest_pause":
                self._rest_pause()
            elif token.kind == "effort":
                self.place += 1
                self._effort(token.text.lstrip("@ "))
            elif token.kind == "count" and not self._is_joined(self.peek(1)):
                self._count(token)
            else:
                self._chain()
        if self.pending_count is not None or self.drops_on:
            raise Unreadable("set_notation_unreadable")
        for run in self.runs:
            is_open = run.either is not None and is_small(run.either)
            run.settle(self.pair_means or ("" if is_open else self.certain_meaning()))
        self._carry_last_load()
        if self.are_all_drops:
            self._all_drops()
        return self.runs

    # what stands between the sets

    def _between(self, token: Token) -> None:
        self.place += 1
        if token.kind == "label" or token.text in (";", "\n"):
            self.warm_up = ""
        if token.text in ("+", "-") and not self.runs:
            raise Unreadable("set_notation_unreadable")
        self.separator = ";" if token.kind == "label" else token.text

    def _warm_up(self) -> None:
        self.place += 1
        run = self._last_with_sets()
        in_brackets = self.separator == "("
        follows = run is not None and (in_brackets or self.separator == "")
        if follows and run is not None and not run.kind:
            run.kind = "warm_up"
            return
        colon = self.peek()
        self.warm_up = "until ;" if colon is not None and colon.text == ":" else "next"

    def _drop(self) -> None:
        self.place += 1
        run = self._last_with_sets()
        closes = all(token.kind == "close" for token in self.tokens[self.place :])
        if run is None or (closes and len(self.runs) > 1):
            self.are_all_drops = True
            return
        if not run.drop_index:
            if len(run.reps) > 1 or run.count not in (None, 1):
                raise Unreadable("set_notation_unreadable")
            run.drop_index = 1
        self.drops_on = True

    def _all_drops(self) -> None:
        """`drop set: 60x10, 45x8` and `60x10, 45x8 (drop set)`: each set a drop from the one before it."""
        if any(len(run.reps) != 1 or run.count not in (None, 1) for run in self.runs) or len(self.runs) < 2:
            raise Unreadable("set_notation_unreadable")
        for index, run in enumerate(self.runs, start=1):
            run.drop_index = index

    def _rest_pause(self) -> None:
        self.place += 1
        run = self._last_with_sets()
        if run is not None:
            run.kind = run.kind or "rest_pause"
        else:
            self.next_kind = "rest_pause"

    def _effort(self, text: str) -> None:
        run = self._last_with_sets()
        if run is None:
            raise Unreadable("set_notation_unreadable")
        run.add_effort(text)

    def _count(self, token: Token) -> None:
        """`30kg x 10, 3 sets` counts the set before it, `3 sets of 10` the one behind it."""
        self.place += 1
        run = self._last_with_sets()
        ends = self.peek() is None or self.is_next("separator", "close", "effort", "label")
        number = int(token.number or 0)
        if run is not None and run.count is None and run is self.runs[-1] and ends:
            run.repeat(number)
        elif self.pending_count is None:
            self.pending_count = number
        else:
            raise Unreadable("set_notation_unreadable")

    # loads and repetitions

    @staticmethod
    def _is_joined(token: Token | None) -> bool:
        return token is not None and token.kind in ("x", "at")

    def _chain(self) -> None:
        """Words joined by x and @; one word alone is a load or repetitions."""
        joins, atoms, has_brackets = self._collect()
        if not atoms:
            raise Unreadable("set_notation_unreadable")
        if joins[0] == "x":
            self._behind_x(atoms, joins)
        elif joins[0] == "at":
            self._behind_at(atoms)
        elif len(atoms) == 1:
            self._single(atoms[0])
        else:
            self._add(read_chain(atoms, joins, self, has_brackets=has_brackets))
        self.separator = ""

    def _collect(self) -> tuple[list[str], list[Token], bool]:
        joins: list[str] = []
        atoms: list[Token] = []
        has_brackets = False
        join = ""
        if self.is_next("x", "at"):
            join = self.tokens[self.place].kind
            self.place += 1
        while self.is_next(*_SAID_ONCE, "count") and (join or not atoms):
            joins.append(join)
            atoms.append(self.tokens[self.place])
            self.place += 1
            join = ""
            if not self.is_next("x", "at"):
                break
            effort = self.peek(1)
            counts_sets = effort is not None and self._counts_sets(effort)
            if effort is None:
                raise Unreadable("set_notation_unreadable")
            if effort.kind == "effort" or counts_sets:
                self.place += 1
                break
            join = self.tokens[self.place].kind
            self.place += 1
            if self.is_next("open"):
                has_brackets = True
                self.place += 1
        if join and atoms:
            raise Unreadable("set_notation_unreadable")
        return joins, atoms, has_brackets

    def _counts_sets(self, number: Token) -> bool:
        """`for 3x10` behind a load: what follows is a count of sets and its repetitions."""
        behind = self.peek(2)
        is_word = self.tokens[self.place].text.isalpha() and self.tokens[self.place].text != "x"
        return is_word and number.kind == "number" and behind is not None and behind.kind == "x"

    def _behind_x(self, atoms: list[Token], joins: list[str]) -> None:
        """`x8` repeats the load said before it; `(100x5) x 3` and `(x3)` count the set before them."""
        run = self._last_with_sets()
        if len(atoms) == 1 and atoms[0].kind in ("number", "count") and self.separator in (")", "("):
            if run is None or run.count is not None:
                raise Unreadable("set_notation_unreadable")
            run.repeat(int(atoms[0].number or 0))
            return
        if "x" in joins[1:]:
            for atom in atoms:
                self._add_reps(atom)
        else:
            self._add_reps(atoms[0])
            for atom in atoms[1:]:
                self._behind_at([atom])

    def _behind_at(self, atoms: list[Token]) -> None:
        """`… @ 8` behind something that is not joined to it: effort once the load is known, else the load."""
        run = self._last_with_sets()
        if run is None or len(atoms) != 1:
            raise Unreadable("set_notation_unreadable")
        if is_effort(atoms[0]) and (run.load is not None or self.load_is_known):
            run.add_effort(f"rpe {atoms[0].text}")
        elif atoms[0].kind in ("load", "number", "each", "seconds"):
            self._trailing_load(atoms[0].text)
        else:
            raise Unreadable("set_notation_unreadable")

    def _single(self, atom: Token) -> None:
        run = self.runs[-1] if self.runs else None
        if run is not None and run.is_load_behind and self._lists_loads(atom):
            run.loads.append(atom.text)
            return
        colon = self.peek()
        is_headed = colon is not None and colon.text in (":", "-") and atom.kind == "number"
        waits_for_load = run is not None and run.load is None and run.reps and not self.load_is_known
        if atom.kind == "load" or (atom.kind == "number" and not atom.is_whole) or self._heads_a_count(atom):
            self._load(atom.text)
        elif is_headed and not waits_for_load and self._lists_behind(atom, 1):
            self.place += 1
            self._load(atom.text)
        elif (
            atom.kind == "number"
            and waits_for_load
            and run is not None
            and len(run.reps) == 1
            and self._is_load_of_counted(run, atom)
        ):
            self._trailing_load(atom.text)
        else:
            self._add_reps(atom)

    def _heads_a_count(self, atom: Token) -> bool:
        """`225 3x5`: a number too large for repetitions before a count of sets."""
        count, behind = self.peek(), self.peek(1)
        is_count = (
            count is not None
            and count.is_apart
            and count.kind == "number"
            and (count.number or 99) <= MOST_SETS
        )
        is_load = atom.kind == "number" and (atom.number or 0) > _MOST_REPS
        return is_load and is_count and behind is not None and behind.text == "x"

    @staticmethod
    def _is_load_of_counted(run: Run, atom: Token) -> bool:
        """`3x8 100` and `4x6 80`: a number too large for repetitions behind counted sets is their load."""
        number = atom.number or 0
        if run.either is not None and MOST_SETS < number <= _MOST_REPS:
            raise Unreadable("set_notation_ambiguous")
        return (run.count is not None and number > MOST_SETS) or (
            run.either is not None and number > _MOST_REPS
        )

    def _lists_loads(self, atom: Token) -> bool:
        """`@ 100/105/110` and `@ 100, 105, 110`: one load a set, too many for repetitions."""
        if atom.kind not in ("number", "load"):
            return False
        return self.separator == "/" or (self.separator == "," and (atom.number or 0) > _MOST_REPS)

    def _lists_behind(self, number: Token, ahead: int) -> bool:
        """True where repetitions follow behind a colon: two numbers, or one behind a number that must be a load."""
        first, between, second = self.peek(ahead), self.peek(ahead + 1), self.peek(ahead + 2)
        if certain_load(number) and first is not None and first.kind == "number":
            return between is None or between.kind in ("x", "separator", "effort")
        if first is None or first.kind not in ("number", "reps") or between is None:
            return False
        if between.kind in ("number", "reps"):
            return True
        return between.kind == "separator" and second is not None and second.kind in ("number", "reps")

    def _load(self, text: str) -> None:
        """A load alone: it is that of the sets before it that have none, else of those that follow."""
        if any(run.load is None and run.reps for run in self.runs) and not self.load_is_known:
            self._trailing_load(text)
            return
        self.leading, self.stands_alone = text, True
        self.runs.append(Run(load=text, kind=self._kind()))

    def _trailing_load(self, text: str) -> None:
        waiting = [run for run in self.runs if run.load is None and run.reps]
        if not waiting:
            raise Unreadable("set_notation_unreadable")
        for run in waiting:
            run.settle("sets_reps")
            run.load = text
            run.is_load_behind = True
        self.leading = None
        follows = self.peek()
        if follows is not None and follows.kind == "number" and not self._is_joined(self.peek(1)):
            raise Unreadable("set_notation_ambiguous")

    def _add_reps(self, atom: Token) -> None:
        if atom.kind == "range":
            raise Unreadable("reps_range")
        if self.separator == "(" and self._last_with_sets() is not None:
            raise Unreadable("set_notation_unreadable")
        if atom.text.startswith("f") or (atom.kind == "number" and not atom.is_whole):
            raise Unreadable("set_notation_unreadable")
        run = self.runs[-1] if self.runs else None
        if self.separator == "+":
            self._extend_cluster(atom)
            return
        is_open = run is not None and not run.is_load_behind and not run.drop_index and run.count_is_first
        if run is None or not is_open or self.drops_on:
            run = Run(load=self.leading, kind=self._kind())
            self._open(run)
        run.add_reps(atom.text, self.separator)
        self._use_pending_count(run)
        self.separator = ""

    def _extend_cluster(self, atom: Token) -> None:
        """`12 + 5 + 3` is one set done in parts, as `12+5+3` is."""
        run = self._last_with_sets()
        if run is None or atom.kind != "number" or not re.fullmatch(r"\d+(?:\+\d+)*", run.reps[-1]):
            raise Unreadable("set_notation_unreadable")
        run.reps[-1] += f"+{atom.text}"
        self.separator = ""

    def _add(self, run: Run) -> None:
        last = self.runs[-1] if self.runs else None
        if last is not None and not last.reps and run.load is None and last.load is not None:
            run.load = last.load
            self.runs.pop()
        elif run.load is None and self.leading is not None and run.either is None:
            run.load = self.leading
        elif run.load is not None and not run.is_load_behind:
            self.leading, self.stands_alone = run.load, not run.reps
        elif run.is_load_behind and run.count is None and last is not None and last.load is None:
            last.join(run, self.separator)  # 5,5,5 @ 100
            return
        elif run.is_load_behind and self.separator == "+" and last is not None and last.load is None:
            self._trailing_load(run.load or "")  # 2x8 + 1x6 @ 100
        if not run.kind:
            run.kind = self._kind()
        self._open(run)
        self._use_pending_count(run)

    def _open(self, run: Run) -> None:
        if self.drops_on:
            self.drops_on = False
            run.drop_index = self.runs[-1].drop_index + 1
        self.runs.append(run)

    def _use_pending_count(self, run: Run) -> None:
        if self.pending_count is not None and run.reps:
            if run.count is not None:
                raise Unreadable("set_notation_contradiction")
            run.count, self.pending_count = self.pending_count, None
            self.certain.add("sets_reps")

    def _kind(self) -> str:
        kind = "warm_up" if self.warm_up else self.next_kind
        self.next_kind = ""
        self.warm_up = self.warm_up if self.warm_up == "until ;" else ""
        return kind

    def _last_with_sets(self) -> Run | None:
        return self.runs[-1] if self.runs and self.runs[-1].reps else None

    def _carry_last_load(self) -> None:
        """`8@100, 7, 7`: what comes last without a load was lifted with the one said before."""
        loads = [run.load for run in self.runs if run.load is not None]
        if any(run.load is not None and not run.reps for run in self.runs):
            raise Unreadable("set_notation_unreadable")
        if loads and any(run.load is None for run in self.runs):
            first = next(index for index, run in enumerate(self.runs) if run.load is None)
            if first == 0 or any(run.load is not None for run in self.runs[first:]):
                raise Unreadable("set_notation_unreadable")
            for run in self.runs[first:]:
                run.load = self.runs[first - 1].load

    def knows_load(self) -> bool:
        """True where the load of what is being read was said before it."""
        return self.leading is not None or self.load_is_known

    def counts_sets(self) -> bool:
        """True where the load was said by itself, so that a pair can only be sets × repetitions."""
        return (self.leading is not None and self.stands_alone) or self.load_is_known

    def is_in_drop(self) -> bool:
        """True behind a sign that the load was dropped, or before one."""
        ahead = self.peek()
        return self.drops_on or (ahead is not None and ahead.kind == "drop")
