"""The words exercise names are made of: short forms, fillers, other languages, what goes without saying."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from pipeline.reference.catalogue import plain_key, read_rows

_UMLAUTS_SPELT_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})


@dataclass(frozen=True)
class NameWords:
    """The words of name_word.csv, foreign_word.csv and implied_word.csv.

    `joined`: words side by side → what they make; `same`: short form, variant or foreign word → the words it
    stands for; `fillers` say nothing; `remarks` say something, but not which exercise; `others` are real
    words that must not be taken for a misspelt one; `foreign` are the single words of other languages, which
    may be run together; `implied`: exercise id → words that add nothing to its name (`standing` overhead
    press).
    """

    joined: dict[tuple[str, ...], str]
    same: dict[str, tuple[str, ...]]
    fillers: frozenset[str]
    remarks: frozenset[str]
    others: frozenset[str]
    foreign: frozenset[str]
    implied: dict[str, frozenset[str]]


def singular(word: str) -> str:
    """`presses` → press, `flies` → flie, `rows` → row; words of two letters or in -ss, -us, -is stay."""
    if len(word) <= 2 or word.endswith(("ss", "us", "is")) or not word.endswith("s"):
        return word
    if word.endswith(("sses", "ches", "shes", "xes")):
        return word[:-2]
    return word[:-1]


def _forms(row: dict[str, str]) -> Iterator[str]:
    """A row of foreign_word.csv with each of its endings (`-` is none), umlauts also as ae, oe, ue."""
    for ending in (row["endings"] or "-").split():
        form = row["words"] + ending.removeprefix("-")
        yield plain_key(form)
        if row["language"] == "de":
            yield plain_key(form.lower().translate(_UMLAUTS_SPELT_OUT))


@cache
def read_name_words() -> NameWords:
    """The words of the three files; our own short forms win over words of other languages."""
    rows = read_rows("name_word.csv")
    same = {r["words"]: tuple(r["stands_for"].split()) for r in rows if r["kind"] == "same"}
    joined = {tuple(r["words"].split()): r["stands_for"] for r in rows if r["kind"] == "joined"}
    foreign = [
        (form.split(), row["stands_for"]) for row in read_rows("foreign_word.csv") for form in _forms(row)
    ]
    for words, stands_for in foreign:
        if len(words) == 1:
            same.setdefault(words[0], tuple(stands_for.split()))
    for words, stands_for in foreign:
        if len(words) > 1:
            # phrases are looked for among words made singular
            joined.setdefault(tuple(w if w in same else singular(w) for w in words), stands_for)
    implied: dict[str, set[str]] = {}
    for row in read_rows("implied_word.csv"):
        for exercise_id in row["exercise_ids"].split(";"):
            implied.setdefault(exercise_id, set()).update(row["words"].split())
    return NameWords(
        joined=joined,
        same=same,
        fillers=frozenset(r["words"] for r in rows if r["kind"] == "filler"),
        remarks=frozenset(r["words"] for r in rows if r["kind"] == "remark"),
        others=frozenset(r["words"] for r in rows if r["kind"] == "other"),
        foreign=frozenset(words[0] for words, _ in foreign if len(words) == 1),
        implied={key: frozenset(words) for key, words in implied.items()},
    )
