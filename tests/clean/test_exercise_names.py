"""Names of exercises as clients write them, and what a careful coach reads in them."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import reference
from pipeline.clean.exercise_names import NameMatcher
from pipeline.reference import load_catalogue

MATCHER = NameMatcher(load_catalogue())
IDS = frozenset(load_catalogue().exercise["exercise_id"])
# exercise_id is what a sure name means, and for an unsure one an exercise that must be among its candidates
with (Path(__file__).parent / "exercise_name_cases.csv").open(encoding="utf-8", newline="") as handle:
    CASES = [(row["reading"], row["text"], row["exercise_id"]) for row in csv.DictReader(handle)]
READ_WITH_CERTAINTY = [(text, expected) for reading, text, expected in CASES if reading == "sure"]
UNSURE = [(text, candidate) for reading, text, candidate in CASES if reading == "unsure"]
UNKNOWN = [text for reading, text, _ in CASES if reading == "unknown"]


@pytest.mark.parametrize(("text", "expected"), READ_WITH_CERTAINTY)
def test_what_a_careful_coach_reads_with_certainty_is_read(text: str, expected: str) -> None:
    match = MATCHER.match(text)
    assert (match.exercise_id, match.how not in ("unsure", "unknown")) == (expected, True), match


@pytest.mark.parametrize(("text", "candidate"), UNSURE)
def test_what_could_be_several_exercises_is_asked_with_candidates(text: str, candidate: str) -> None:
    match = MATCHER.match(text)
    assert match.how == "unsure"
    assert match.exercise_id is None
    assert candidate in match.candidates


@pytest.mark.parametrize("text", UNKNOWN)
def test_what_is_no_known_exercise_is_unknown(text: str) -> None:
    match = MATCHER.match(text)
    assert (match.how, match.exercise_id) == ("unknown", None)


# exercise_id is what the name means, or `asked` where a careful coach could not tell for certain
with (Path(__file__).parent / "exercise_names_by_language.csv").open(encoding="utf-8", newline="") as handle:
    BY_LANGUAGE = [(row["language"], row["text"], row["exercise_id"]) for row in csv.DictReader(handle)]


@pytest.mark.parametrize(("language", "text", "expected"), BY_LANGUAGE)
def test_gym_names_of_seven_languages_are_read_or_asked(language: str, text: str, expected: str) -> None:
    assert (MATCHER.match(text).exercise_id or "asked") == expected


@pytest.mark.parametrize(
    ("text", "how"),
    [
        ("Bench Press", "exact"),
        ("bench presses", "exact"),
        ("Bench", "known spelling"),
        ("BB bench", "known spelling"),
        ("Benhc press", "close spelling"),
        ("Press", "unsure"),
        ("Yoga", "unknown"),
    ],
)
def test_it_says_how_the_name_was_read(text: str, how: str) -> None:
    match = MATCHER.match(text)
    assert match.how == how
    assert (match.score < 100) == (how in ("close spelling", "unknown"))


def test_no_foreign_word_stands_for_two_things_and_implied_words_belong_to_exercises() -> None:
    folder = Path(reference.__file__).parent
    with (folder / "foreign_word.csv").open(encoding="utf-8", newline="") as handle:
        meant: dict[str, set[str]] = {}
        for row in csv.DictReader(handle):
            for ending in (row["endings"] or "-").split():
                form = reference.plain_key(row["words"] + ending.removeprefix("-"))
                meant.setdefault(form, set()).add(row["stands_for"])
    assert {form: words for form, words in meant.items() if len(words) > 1} == {}
    assert set(reference.read_name_words().implied) <= IDS


NAMES = [*load_catalogue().exercise["exercise_name"], *load_catalogue().spelling["spelling"]]
CHANGING_WORDS = (
    "incline",
    "decline",
    "front",
    "seated",
    "standing",
    "single arm",
    "single leg",
    "romanian",
    "sumo",
    "close grip",
    "wide grip",
    "hack",
    "goblet",
    "split",
    "reverse",
    "assisted",
    "weighted",
    "dumbbell",
    "barbell",
    "machine",
    "cable",
    "paused",
    "tempo",
    "deficit",
    "smith",
    "lying",
    "hanging",
    "overhead",
)


def test_every_spelling_of_the_catalogue_is_read_as_its_exercise() -> None:
    spelling = load_catalogue().spelling
    wrong = [
        (row["spelling"], MATCHER.match(row["spelling"]).exercise_id)
        for row in spelling.to_dicts()
        if MATCHER.match(row["spelling"]).exercise_id != row["exercise_id"]
    ]
    assert wrong == []


@given(st.sampled_from(NAMES), st.sampled_from(CHANGING_WORDS))
@settings(deadline=None)
def test_an_added_word_that_changes_the_exercise_is_never_taken_for_a_typo(name: str, word: str) -> None:
    assert MATCHER.match(f"{word} {name}").how != "close spelling"


@given(st.sampled_from(NAMES), st.data())
@settings(deadline=None)
def test_two_letters_swapped_never_lead_to_another_exercise(name: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, max(0, len(name) - 2)))
    if not name[at : at + 2].isalpha():
        return
    match = MATCHER.match(name[:at] + name[at + 1] + name[at] + name[at + 2 :])
    assert match.exercise_id in (None, MATCHER.match(name).exercise_id)


@given(st.text(max_size=80))
@settings(deadline=None)
def test_no_text_raises_and_candidates_are_exercises(text: str) -> None:
    match = MATCHER.match(text)
    assert set(match.candidates) <= IDS
    assert (match.exercise_id in IDS) == (match.how in ("exact", "known spelling", "close spelling"))
    assert 0 <= match.score <= 100


@given(st.sampled_from(NAMES), st.sampled_from([str.upper, str.lower, str.title, str.swapcase]))
@settings(deadline=None)
def test_capitals_make_no_difference(name: str, recase: object) -> None:
    assert MATCHER.match(recase(name)) == MATCHER.match(name)  # type: ignore[operator]


FRAMES = ("  {}", "{} ", "{}.", "{}:", "A1) {}", "{} 💪", "the {}", "{} exercise")


@given(st.sampled_from(NAMES), st.sampled_from(FRAMES))
@settings(deadline=None)
def test_marks_and_fillers_around_a_name_make_no_difference(name: str, frame: str) -> None:
    assert MATCHER.match(frame.format(name)).exercise_id == MATCHER.match(name).exercise_id
