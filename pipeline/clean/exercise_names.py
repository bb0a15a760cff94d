"""Which exercise a name means: exactly, by a known spelling, by a forgiven typo, or not for certain.

What a careful coach could not read with certainty is "unsure", with candidates, and is asked once. A typo
within a word is forgiven; a word more or less (incline, seated, dumbbell …) never is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product
from math import prod
from typing import Literal

from pipeline.clean.name_tokens import canonical, join_words, plain_words
from pipeline.reference import Catalogue, read_name_words

How = Literal["exact", "known spelling", "close spelling", "answered by the coach", "unsure", "unknown"]

Bag = frozenset[str]

# words that say only what the exercise has in its nature: `barbell back squat`, `cable triceps pushdown`
_IMPLIED_BY_IMPLEMENT = {
    "barbell": ("barbell",),
    "dumbbell": ("dumbbell",),
    "kettlebell": ("kettlebell",),
    "machine_plates": ("machine",),
    "machine_stack": ("machine",),
    "cable": ("cable",),
    "smith": ("machine",),
    "bodyweight": ("bodyweight",),
    "band": ("band",),
    "trap_bar": ("trapbar",),
    "ez_bar": ("ezbar",),
}
_IMPLEMENT_PREFIXES = frozenset({"db", "bb", "kb"})
_LEG_PATTERNS = ("squat", "lunge", "leg_press", "hip_hinge", "hip_thrust")
_LEG_WORDS = frozenset({"leg", "hip", "glute", "calf"})
_MOST_SPARED = 4
_ONE_SIDE = "unilateral"
_LEAST_SCORE_UNSURE = 70.0
_LEAST_SCORE_CANDIDATE = 58.0
_LEAST_SCORE_APART = 80.0
_MOST_CANDIDATES = 5
_LONGEST_KEPT = 100
_MOST_COMBINATIONS = 64
_SHORTEST_FORGIVEN = 5  # letters; shorter words are abbreviations or too near to one another
_SHORTEST_FORGIVEN_TWICE = 8


@dataclass(frozen=True)
class NameMatch:
    """What a name means.

    `exercise_id` is given for exact, known and close spellings only. `score` is 100 where the words are
    known, else the likeness (0–100) of the name as corrected, or of the nearest candidate. `candidates`
    are exercise ids, the likeliest first; empty where the name is sure or nothing is near.
    """

    exercise_id: str | None
    how: How
    score: float
    candidates: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Spelled:
    """A set of words and what it stands for: one exercise when `is_sure`, else candidates."""

    exercise_ids: tuple[str, ...]
    is_sure: bool
    how: How = "known spelling"


@lru_cache(maxsize=20_000)
def _words_of(spelling: str) -> tuple[str, ...]:
    """The words of a catalogue's text, read once a process: the next catalogue is nearly the same."""
    return tuple(canonical(plain_words(spelling), read_name_words()))


class NameMatcher:
    """Reads exercise names against one catalogue; the index is built once, `match` is pure.

    Order of authority: the coach's own spellings, the catalogue's names, its spellings, the names that are
    always asked about, and last a known name with a word its implement implies.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self._known = read_name_words()
        self._matched: dict[str, NameMatch] = {}
        self._index: dict[Bag, _Spelled] = {}
        self._texts: dict[str, str] = {}
        self._texts_with: dict[str, list[str]] = {}
        exercises = catalogue.exercise.to_dicts()
        spellings = catalogue.spelling.to_dicts()
        names = {(row["exercise_id"], row["exercise_name"]) for row in exercises}
        for row in spellings:
            if row["is_coach_own"]:
                is_name = (row["exercise_id"], row["spelling"]) in names
                self._add(row["spelling"], row["exercise_id"], "exact" if is_name else "known spelling")
        for row in exercises:
            self._add(row["exercise_name"], row["exercise_id"], "exact")
            self._add(row["exercise_id"], row["exercise_id"], "exact")
        for row in spellings:
            self._add(row["spelling"], row["exercise_id"], "known spelling")
        for unsure in catalogue.unsure_spellings:
            bag = frozenset(_words_of(unsure.spelling))
            self._index.setdefault(bag, _Spelled(unsure.candidates, is_sure=False))
        self._implied = {str(row["exercise_id"]): self._implied_words(row) for row in exercises}
        self._sparable = frozenset(word for words in self._implied.values() for word in words)
        for text in self._texts:
            for word in text.split():
                self._texts_with.setdefault(word, []).append(text)
        self._vocabulary = (
            frozenset(word for bag in self._index for word in bag) | self._known.remarks | self._sparable
        )
        self._right_words = self._vocabulary | self._known.others | self._known.fillers | {_ONE_SIDE}
        parts = {part for words in self._known.joined for part in words}
        self._right_words |= parts | self._known.same.keys()
        self._targets: dict[int, list[str]] = {}
        foreign = frozenset(word for word in self._known.foreign if len(word) >= 4)
        for target in sorted(w for w in self._vocabulary | parts | foreign if len(w) >= 4):
            self._targets.setdefault(len(target), []).append(target)
        self._short_words = frozenset(w for w in self._vocabulary | parts if len(w) in (2, 3))
        self._segments = (
            frozenset(w for w in self._vocabulary | parts | foreign if len(w) >= 3) | _IMPLEMENT_PREFIXES
        )

    def _add(self, text: str, exercise_id: str, how: How) -> None:
        words = _words_of(text)
        if words:
            self._index.setdefault(frozenset(words), _Spelled((exercise_id,), is_sure=True, how=how))
            self._texts.setdefault(" ".join(words), exercise_id)

    def _implied_words(self, row: dict[str, object]) -> frozenset[str]:
        """What goes without saying of an exercise: its implement, its one side, implied_word.csv."""
        exercise_id = str(row["exercise_id"])
        words = {
            *_IMPLIED_BY_IMPLEMENT.get(str(row["implement"]), ()),
            *self._known.implied.get(exercise_id, ()),
        }
        if row["is_one_sided"] and row["pattern"] != "core" and "_stance_" not in exercise_id:
            is_leg_work = row["pattern"] in _LEG_PATTERNS or _LEG_WORDS & set(exercise_id.split("_"))
            words.add("oneleg" if is_leg_work else "onearm")
        if row["is_one_sided"] or row["implement"] in ("dumbbell", "kettlebell"):
            words.add("eachside")
        return frozenset(words)

    def match(self, text: str) -> NameMatch:
        """The exercise a name means, or candidates; never raises. A name is looked for once."""
        if len(text) > _LONGEST_KEPT:
            return self._match(text)
        if text not in self._matched:
            self._matched[text] = self._match(text)
        return self._matched[text]

    def _match(self, text: str) -> NameMatch:
        plain = plain_words(text)
        words = canonical(plain, self._known)
        if not words:
            return NameMatch(None, "unknown", 0.0)
        found = self._look_up(words)
        if found is None:
            words = self._whole_words(words)
            found = self._look_up(words)
        if found is not None:
            if found.is_sure:
                return NameMatch(found.exercise_ids[0], found.how, 100.0)
            return NameMatch(None, "unsure", 100.0, found.exercise_ids)
        return self._close_spelling(words) or self._close_spelling(plain) or self._candidates(words)

    def _look_up(self, words: list[str]) -> _Spelled | None:
        """The words as they stand, then without remarks such as comp, left, heavy."""
        if _ONE_SIDE in words:
            return self._look_up_one_side(words)
        bag = frozenset(words)
        kept = bag - self._known.remarks
        return self._index.get(bag) or self._index.get(kept) or self._without_implied(kept)

    def _look_up_one_side(self, words: list[str]) -> _Spelled | None:
        """A name that says unilateral: with one arm or with one leg, whichever is an exercise."""
        others = [word for word in words if word != _ONE_SIDE]
        found = [s for side in ("onearm", "oneleg") if (s := self._look_up([*others, side])) is not None]
        return found[0] if len(found) == 1 else None

    def _without_implied(self, bag: Bag) -> _Spelled | None:
        """The exercise whose name the words are once those that go without saying of it are left out."""
        spare = sorted(bag & self._sparable)
        for n in range(1, min(len(spare), len(bag) - 1, _MOST_SPARED) + 1):
            found: dict[str, None] = {}
            for words in combinations(spare, n):
                spelled = self._index.get(bag.difference(words))
                if spelled is not None and spelled.is_sure:
                    exercise_id = spelled.exercise_ids[0]
                    if self._implied[exercise_id].issuperset(words):
                        found[exercise_id] = None
            if found:
                return _Spelled(tuple(found), is_sure=len(found) == 1)
        return None

    def _whole_words(self, words: list[str]) -> list[str]:
        """Words run together or torn apart, mended where no letter is wrong: latpulldown, dead lift."""
        mended: list[str] = []
        for word in words:
            before = mended[-1] if mended else ""
            if before and before + word in self._vocabulary and not {before, word} <= self._vocabulary:
                mended[-1] = before + word
            elif word in self._right_words or len(word) < 5:
                mended.append(word)
            else:
                splits = {tuple(join_words(cut, self._known.joined)) for cut in self._splits(word)}
                mended.extend(splits.pop() if len(splits) == 1 else [word])
        return canonical(mended, self._known)

    def _splits(self, word: str, depth: int = 4) -> Iterator[list[str]]:
        """Every way to cut a word into known words of three letters or more, or db, bb, kb before them."""
        if word in self._segments:
            yield [word]
        if depth > 1:
            for at in range(2, len(word) - 2):
                if word[:at] in self._segments:
                    for rest in self._splits(word[at:], depth - 1):
                        yield [word[:at], *rest]

    def _close_spelling(self, words: list[str]) -> NameMatch | None:
        """The name with its misspelt words put right; None where there are none or no name comes of it.

        Sure only where every way of putting it right leads to the same exercise, and one of them by slips.
        """
        if all(word in self._right_words for word in words):
            return None
        choices = [self._right_spellings(word) for word in words]
        if not 0 < prod(len(choice) for choice in choices) <= _MOST_COMBINATIONS:
            return None
        scores: dict[str, float] = {}
        by_slips: set[str] = set()
        several: list[str] = []
        for combination in product(*choices):
            spelled = self._look_up(canonical(join_words(list(combination), self._known.joined), self._known))
            if spelled is None:
                continue
            if not spelled.is_sure:
                several += spelled.exercise_ids
                continue
            exercise_id = spelled.exercise_ids[0]
            scores[exercise_id] = max(scores.get(exercise_id, 0.0), _likeness(words, combination))
            if all(_is_a_slip(*pair, len(words)) for pair in zip(words, combination, strict=True)):
                by_slips.add(exercise_id)
        ranked = sorted(scores, key=lambda exercise_id: (-scores[exercise_id], exercise_id))
        if len(ranked) == 1 and by_slips and not several:
            return NameMatch(ranked[0], "close spelling", scores[ranked[0]])
        if not ranked and not several:
            return None
        ids = tuple(dict.fromkeys(ranked + several))[:_MOST_CANDIDATES]
        return NameMatch(None, "unsure", scores[ranked[0]] if ranked else 90.0, ids)

    def _right_spellings(self, word: str) -> list[str]:
        """The known words a misspelt one may stand for, all at the least distance; itself when it is right.

        One letter swapped, dropped, added or wrong in words of up to 7 letters, two in longer ones.
        """
        from rapidfuzz.distance import OSA

        if word in self._right_words:
            return [word]
        undoubled = {word[:at] + word[at + 1 :] for at in range(1, len(word)) if word[at] == word[at - 1]}
        if undoubled & self._short_words:
            return sorted(undoubled & self._short_words)
        if not word.isalpha() or len(word) < 4:
            return []
        most = 2 if len(word) >= _SHORTEST_FORGIVEN_TWICE else 1
        best: dict[str, int] = {}
        for length in range(len(word) - most, len(word) + most + 1):
            for target in self._targets.get(length, ()):
                distance = OSA.distance(word, target, score_cutoff=most)
                if distance <= most:
                    best[target] = distance
        least = min(best.values(), default=0)
        return [target for target, distance in best.items() if distance == least]

    def _likely_word(self, word: str) -> str:
        right = self._right_spellings(word)
        return right[0] if len(right) == 1 and _is_a_slip(word, right[0], n_words=2) else word

    def _candidates(self, words: list[str]) -> NameMatch:
        """The nearest exercises, for the coach to choose from: those that share a word first."""
        from rapidfuzz import fuzz, process

        query = " ".join(self._likely_word(word) for word in words)
        pool = {text for word in query.split() for text in self._texts_with.get(word, ())}
        scores: dict[str, float] = {}
        if pool:
            near = process.extract(query, sorted(pool), scorer=fuzz.token_set_ratio, limit=40)
            for text, set_score, _ in near:
                score = 0.5 * set_score + 0.5 * fuzz.token_sort_ratio(query, text)
                exercise_id = self._texts[text]
                scores[exercise_id] = max(score, scores.get(exercise_id, 0.0))
        else:
            alike = process.extract(
                query, self._texts.keys(), scorer=fuzz.ratio, limit=10, score_cutoff=_LEAST_SCORE_APART
            )
            for text, score, _ in alike:
                scores.setdefault(self._texts[text], score)
        ranked = sorted(scores.items(), key=lambda item: (-item[1], item[0]))[:_MOST_CANDIDATES]
        kept = tuple(exercise_id for exercise_id, score in ranked if score >= _LEAST_SCORE_CANDIDATE)
        best = round(ranked[0][1], 1) if ranked else 0.0
        return NameMatch(None, "unsure" if best >= _LEAST_SCORE_UNSURE and kept else "unknown", best, kept)


def _likeness(words: Sequence[str], corrected: Sequence[str]) -> float:
    from rapidfuzz import fuzz

    return round(fuzz.ratio(" ".join(words), " ".join(corrected)), 1)


def _is_a_slip(word: str, target: str, n_words: int) -> bool:
    """Whether a word is its target, or its target misspelt rather than another word.

    The first letter must be right or swapped with the second (encline may be incline or decline). Words of
    four letters and less are forgiven only beside other words, and no wrong letter in them (pull is no push).
    """
    if word == target:
        return True
    if word[0] != target[0] and (word[0], word[1]) != (target[1], target[0]):
        return False
    if min(len(word), len(target)) >= _SHORTEST_FORGIVEN:
        return True
    return n_words > 1 and (len(word) != len(target) or sorted(word) == sorted(target))
