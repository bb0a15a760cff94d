"""Folding: texts that a person takes for the same become the same."""

from __future__ import annotations

import pytest

from pipeline.clean.cells.folding import fold, is_blank, parse_number


@pytest.mark.parametrize(
    ("messy", "expected"),
    [
        ("  Bench   PRESS ", "bench press"),
        ("Übung", "ubung"),
        ("Développé", "developpe"),
        ("groß", "gross"),
        ("3×8", "3x8"),
        ("8–10", "8-10"),
        ("−5", "-5"),
        ("82½", "82.5"),
        ("½", "0.5"),
        ("80\u00a0kg", "80 kg"),
        ("8\u2009reps", "8 reps"),
        ("don’t", "don't"),
        ("１００", "100"),
        ("ﬁve", "five"),
        ("a\tb\nc", "a b c"),
        ("", ""),
    ],
)
def test_case_accents_dashes_digits_and_spaces_are_folded(messy: str, expected: str) -> None:
    assert fold(messy) == expected


@pytest.mark.parametrize("text", [None, "", "  ", "-", "—", "n/a", "N.A.", "none", "...", "?", "/"])
def test_marks_for_nothing_to_say_are_blank(text: str | None) -> None:
    assert is_blank(text)


@pytest.mark.parametrize("text", ["0", "x", "no", "8", "bw", "+"])
def test_what_says_something_is_not_blank(text: str) -> None:
    assert not is_blank(text)


@pytest.mark.parametrize(
    ("messy", "expected"),
    [
        ("80", 80.0),
        ("82.5", 82.5),
        ("82,5", 82.5),
        ("-2,5", -2.5),
        ("−2.5", -2.5),
        ("+5", 5.0),
        (".5", 0.5),
        ("60.000", 60.0),
        ("1,000", None),
        ("1.000", None),
        ("1,000.5", None),
        ("1 000", None),
        ("8x", None),
        ("", None),
        ("nan", None),
        ("inf", None),
        ("1e3", None),
    ],
)
def test_a_number_has_a_point_or_a_comma_and_nothing_else(messy: str, expected: float | None) -> None:
    assert parse_number(messy) == expected
