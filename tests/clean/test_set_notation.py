"""Set notations: messy left, expected right, read on by the parsers of load and repetition cells."""

from __future__ import annotations

import pytest

from pipeline.clean.cells.loads import parse_load
from pipeline.clean.cells.repetitions import parse_reps
from pipeline.clean.cells.set_notation import PairMeaning, column_meaning, parse_notation

Sets = list[tuple[float | None, int | None]]


def read(text: str, pair_means: PairMeaning = "") -> Sets | str:
    """Load and repetitions of each set, or the problem."""
    reading = parse_notation(text, pair_means)
    if reading.problem:
        assert reading.parts == ()
        return reading.problem
    return [(parse_load(part.load).value, parse_reps(part.reps).reps) for part in reading.parts]


def sets(load: float | None, *reps: int) -> Sets:
    return [(load, r) for r in reps]


CELLS: list[tuple[str, Sets | str]] = [
    # sets × repetitions @ load
    ("3x8@100", sets(100, 8, 8, 8)),
    ("3 x 8 @ 100kg", sets(100, 8, 8, 8)),
    ("3×8 @ 102,5 kg", sets(102.5, 8, 8, 8)),
    ("3x8 @ 7.5", "set_notation_ambiguous"),
    ("3x8 @ 12.5", sets(12.5, 8, 8, 8)),
    ("3x8,8", "set_notation_ambiguous"),
    ("60x8, 3x12", "set_notation_ambiguous"),
    ("3 sets of 8 at 100 kg", sets(100, 8, 8, 8)),
    ("3 Sätze zu 8 mit 100 kg", sets(100, 8, 8, 8)),
    ("3x8 (100 kg)", sets(100, 8, 8, 8)),
    ("3x8 100kg", sets(100, 8, 8, 8)),
    ("3x8x100", sets(100, 8, 8, 8)),
    ("3x8,8,7 @ 100", sets(100, 8, 8, 7)),
    ("3x8/8/7@100kg", sets(100, 8, 8, 7)),
    ("5x5 @ 60", sets(60, 5, 5, 5, 5, 5)),
    ("1x5@140", sets(140, 5)),
    # load × repetitions
    ("100x8", sets(100, 8)),
    ("100x8,8,7", sets(100, 8, 8, 7)),
    ("10x8/8/7", sets(10, 8, 8, 7)),
    ("100 x 8 / 8 / 6", sets(100, 8, 8, 6)),
    ("100kg x 8, 8, 7", sets(100, 8, 8, 7)),
    ("102.5x8", sets(102.5, 8)),
    ("102,5 x 8", sets(102.5, 8)),
    ("100*8", sets(100, 8)),
    ("60 kg for 8", sets(60, 8)),
    ("60kg: 8, 8, 7", sets(60, 8, 8, 7)),
    ("60kg 3x8", sets(60, 8, 8, 8)),
    ("60: 3x8", sets(60, 8, 8, 8)),
    ("60kg - 8,8,7", sets(60, 8, 8, 7)),
    ("60 kg (8, 8, 7)", sets(60, 8, 8, 7)),
    # repetitions @ load
    ("5,5,5 @ 100", sets(100, 5, 5, 5)),
    ("5/5/5 @ 100 kg", sets(100, 5, 5, 5)),
    ("8@100", sets(100, 8)),
    ("8 reps @ 60 kg", sets(60, 8)),
    ("8, 8, 7 with 60 kg", sets(60, 8, 8, 7)),
    ("8x60kg", sets(60, 8)),
    ("50x20kg", sets(20, 50)),
    ("51x20kg", "set_notation_unreadable"),
    ("8 reps -20kg", sets(20, 8)),
    ("6-8-10 @ 100kg", sets(100, 6, 8, 10)),
    # several loads
    ("60x8, 62.5x8, 65x7", [(60, 8), (62.5, 8), (65, 7)]),
    ("60x8; 62,5x8; 65x7", [(60, 8), (62.5, 8), (65, 7)]),
    ("60x8 62.5x8 65x7", [(60, 8), (62.5, 8), (65, 7)]),
    ("60x8 / 62.5x8", [(60, 8), (62.5, 8)]),
    ("60x8\n62.5x8", [(60, 8), (62.5, 8)]),
    ("60kgx8 then 70kgx5", [(60, 8), (70, 5)]),
    ("5@100, 3@110, 1@120", [(100, 5), (110, 3), (120, 1)]),
    ("2x5@100; 1x3@110", [(100, 5), (100, 5), (110, 3)]),
    ("8x60, 8x62.5kg", [(60, 8), (62.5, 8)]),
    ("20x10 > 6x12", [(20, 10), (6, 12)]),
    ("2x12kg 3x12", sets(12, 12, 12, 12)),
    ("2x12kg 3 sets of 12", sets(12, 12, 12, 12)),
    ("2x12kg 3x12 60kg", "set_notation_unreadable"),
    # bodyweight, assistance, bands, steps
    ("BW x 12, 10, 8", sets(0, 12, 10, 8)),
    ("3x12 @ BW", sets(0, 12, 12, 12)),
    ("BW+20 x 5", sets(20, 5)),
    ("BW+20kg x 5,5,4", sets(20, 5, 5, 4)),
    ("+20 x 5", sets(20, 5)),
    ("-20 x 8", sets(20, 8)),
    ("2x25kg x 8", sets(25, 8)),
    ("25s x 8", sets(25, 8)),
    ("bar x 10", sets(0, 10)),
    ("red band x 15", sets(None, 15)),
    ("pin 7 x 12", sets(7, 12)),
    # repetitions alone
    ("8,8,7", sets(None, 8, 8, 7)),
    ("8/8/7", sets(None, 8, 8, 7)),
    ("8 8 7", sets(None, 8, 8, 7)),
    ("12", sets(None, 12)),
    ("8 each side, 7 each side", sets(None, 8, 7)),
    ("3x5 @ 100 @ 8", sets(100, 5, 5, 5)),
    ("4x5 @ 82.5kg @8", sets(82.5, 5, 5, 5, 5)),
    ("3 sets of 12", sets(None, 12, 12, 12)),
    ("8 x 3 sets", sets(None, 8, 8, 8)),
    ("8 x 3 sets @ 60kg", sets(60, 8, 8, 8)),
    ("60kg x 3 sets", "set_notation_unreadable"),
    ("62.5 x 3 sets", "set_notation_unreadable"),
    ("20 10", sets(None, 20, 10)),
    ("19 9", sets(None, 19, 9)),
    ("20 9", "set_notation_ambiguous"),
    ("3x12 each side", sets(None, 12, 12, 12)),
    # marks
    ("100x8+", sets(100, 8)),
    ("100xF", sets(100, 0)),
    ("140 x fail", sets(140, 0)),
    ("100 x 8+3+2", sets(100, 13)),
    ("2 x 8/7 @ 20kg", sets(20, 8, 7)),
    ("3 x 8/7 @ 20kg", sets(20, 7, 7, 7)),
    # what is open or unreadable
    ("3x8", "set_notation_ambiguous"),
    ("10x10", "set_notation_ambiguous"),
    ("100x5x3", "set_notation_ambiguous"),
    ("10x8/7", "set_notation_ambiguous"),
    ("drop 60x8", "set_notation_unreadable"),
    ("3x8,8 @ 100", "set_notation_contradiction"),
    ("4x8,8,7@100", "set_notation_contradiction"),
    ("100x8-10", "reps_range"),
    ("3x8-10 @ 100", "reps_range"),
    ("felt good", "set_notation_unreadable"),
    ("100kg", "set_notation_unreadable"),
    ("100x", "set_notation_unreadable"),
    ("x100x8x", "set_notation_unreadable"),
    ("100x8, ???", "set_notation_unreadable"),
    ("100x12345", "set_notation_unreadable"),
    ("60x8 12345", "set_notation_unreadable"),
    ("100x8, squeaky", "set_notation_unreadable"),
    ("2026-08-03", "turned_into_date"),
    ("3-Aug", "turned_into_date"),
]


@pytest.mark.parametrize(("messy", "expected"), CELLS, ids=[repr(c[0]) for c in CELLS])
def test_a_notation_is_read_whole_or_not_at_all(messy: str, expected: Sets | str) -> None:
    assert read(messy) == expected


@pytest.mark.parametrize(
    ("text", "meaning", "expected"),
    [
        ("3x8", "sets_reps", sets(None, 8, 8, 8)),
        ("10x8", "load_reps", sets(10, 8)),
        ("8x10", "reps_load", sets(10, 8)),
        ("100x5x3", "load_reps_sets", sets(100, 5, 5, 5)),
        ("100x5x3", "load_sets_reps", sets(100, 3, 3, 3, 3, 3)),
        ("100x3x3", "", sets(100, 3, 3, 3)),
        ("100x8", "sets_reps", sets(100, 8)),
        ("3x10,8", "sets_reps", "set_notation_contradiction"),
        ("20x10,8", "load_reps", sets(20, 10, 8)),
    ],
)
def test_what_two_readers_read_differently_follows_what_the_column_means(
    text: str, meaning: PairMeaning, expected: Sets | str
) -> None:
    assert read(text, meaning) == expected


@pytest.mark.parametrize(
    ("text", "voted", "meant"),
    [
        ("10x12", "load_reps", "load_reps"),
        ("7x12", "load_reps", "load_reps"),
        ("6x12", "load_reps", ""),
        ("3 x 12", "load_reps", ""),
        ("10x12, 3x8", "load_reps", ""),
        ("3x12", "sets_reps", "sets_reps"),
        ("3x12", "", ""),
    ],
)
def test_a_number_that_may_count_sets_does_not_follow_a_column_of_loads(
    text: str, voted: PairMeaning, meant: PairMeaning
) -> None:
    assert column_meaning(text, voted) == meant


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("100x8", "load_reps"),
        ("3 sets of 8", "sets_reps"),
        ("8x100kg", "reps_load"),
        ("3x8", ""),
        ("3x8@100", ""),
    ],
)
def test_a_certain_notation_says_how_its_column_means_a_pair(text: str, meaning: PairMeaning) -> None:
    assert parse_notation(text).pair_means == meaning


@pytest.mark.parametrize(
    ("text", "efforts"),
    [
        ("100x5 @8", ["rpe 8"]),
        ("100x5 @8.5", ["rpe 8.5"]),
        ("3x5@100 RPE 8", ["rpe 8"] * 3),
        ("3x5 @ 100 @ 8", ["rpe 8"] * 3),
        ("100x8,8,7 RIR 2", ["rir 2"] * 3),
        ("100x8,8,7 (2 RIR)", ["rir 2"] * 3),
        ("100x8,8,7 RPE 7, 8, 9", ["rpe 7", "rpe 8", "rpe 9"]),
        ("100x5", [""]),
    ],
)
def test_effort_behind_a_notation_belongs_to_its_sets(text: str, efforts: list[str]) -> None:
    assert [part.effort for part in parse_notation(text).parts] == efforts


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("wu 40x10", ["warm_up"]),
        ("warm-up: 40x10", ["warm_up"]),
        ("40x10 (warm-up)", ["warm_up"]),
        ("Aufwärmen 40x10", ["warm_up"]),
        ("100x8", [""]),
        ("100x8 > 80x6 > 60x5", ["drop", "drop", "drop"]),
        ("100x8 -> 80x6", ["drop", "drop"]),
        ("100x8 drop to 80x6", ["drop", "drop"]),
    ],
)
def test_warm_ups_and_drops_are_marked(text: str, kinds: list[str]) -> None:
    assert [part.kind for part in parse_notation(text).parts] == kinds


def test_the_loads_of_a_drop_set_are_numbered() -> None:
    assert [part.drop_index for part in parse_notation("100x8 > 80x6 > 60x5").parts] == [1, 2, 3]


@pytest.mark.parametrize("text", ["", None, "-", "n/a", " "])
def test_a_blank_notation_holds_no_set_and_no_fault(text: str | None) -> None:
    assert parse_notation(text).parts == ()
    assert parse_notation(text).problem == ""


def test_a_hold_keeps_its_time() -> None:
    assert [part.reps for part in parse_notation("3x45s").parts] == ["45s"] * 3
