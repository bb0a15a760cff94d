"""Load cells: messy left, expected right."""

from __future__ import annotations

import pytest
import scipy.constants

from pipeline.clean.cells.loads import KG_PER_LB, LoadReading, looks_like_date, parse_load, parse_unit


def plain(value: float, unit: str = "") -> LoadReading:
    return LoadReading("plain", value, unit)


def per_hand(value: float, unit: str = "") -> LoadReading:
    return LoadReading("per_hand", value, unit, implements=2)


def plates(value: float, unit: str = "", bar: float | None = None) -> LoadReading:
    return LoadReading("plates", value, unit, bar=bar)


def refused(problem: str) -> LoadReading:
    return LoadReading("unreadable", problem=problem)


EMPTY, BODY, BAND = LoadReading("empty"), LoadReading("bodyweight", 0.0), LoadReading("band")
CELLS = [
    # numbers and units
    ("80", plain(80)),
    ("82.5", plain(82.5)),
    ("82,5", plain(82.5)),
    (" 82,5 ", plain(82.5)),
    (".5", plain(0.5)),
    ("80kg", plain(80, "kg")),
    ("80 KG", plain(80, "kg")),
    ("80 kgs.", plain(80, "kg")),
    ("80kilos", plain(80, "kg")),
    ("80 kg;", plain(80, "kg")),
    ("kg 80", plain(80, "kg")),
    ("185 lbs", plain(185, "lb")),
    ("185lb.", plain(185, "lb")),
    ("185#", plain(185, "lb")),
    ("185 Pounds", plain(185, "lb")),
    ("82½ kg", plain(82.5, "kg")),
    ("82 ½", plain(82.5)),
    ("½0", refused("load_unreadable")),
    ("80\u00a0kg", plain(80, "kg")),
    ("80 kg total", plain(80, "kg")),
    ("100 incl. bar", plain(100)),
    ("1,000", refused("load_unreadable")),
    ("1.000", refused("load_unreadable")),
    ("60.000", plain(60)),
    ("0", plain(0)),
    ("1x25 kg", LoadReading("plain", 25, "kg", implements=1)),
    ("20 per side + bar (20 kg)", plates(20, "kg", 20)),
    # two units in one cell
    ("100 kg (220 lb)", plain(100, "kg")),
    ("225 lb / 102 kg", plain(225, "lb")),
    ("100 kg (185 lb)", refused("load_contradiction")),
    # bodyweight
    ("BW", BODY),
    ("bw", BODY),
    ("Bodyweight", BODY),
    ("body-weight", BODY),
    ("Körpergewicht", BODY),
    ("poids du corps", BODY),
    ("corpo libero", BODY),
    ("BW+20", LoadReading("added", 20, "")),
    ("BW + 20 kg", LoadReading("added", 20, "kg")),
    ("bw plus 45lb", LoadReading("added", 45, "lb")),
    ("+10", LoadReading("added", 10, "")),
    ("+10kg", LoadReading("added", 10, "kg")),
    ("10kg belt", LoadReading("added", 10, "kg")),
    ("BW-15", LoadReading("assistance", 15, "")),
    ("-15", LoadReading("assistance", 15, "")),
    ("−15 kg", LoadReading("assistance", 15, "kg")),
    ("-80 lb assist", LoadReading("assistance", 80, "lb")),
    ("assisted 20kg", LoadReading("assistance", 20, "kg")),
    ("20kg assistance", LoadReading("assistance", 20, "kg")),
    # per hand
    ("2x25kg", per_hand(25, "kg")),
    ("2 x 25", per_hand(25)),
    ("2×22,5 kg", per_hand(22.5, "kg")),
    ("25kg/hand", per_hand(25, "kg")),
    ("25 per hand", per_hand(25)),
    ("25kg each", per_hand(25, "kg")),
    ("50 lb per db", per_hand(50, "lb")),
    ("25s", per_hand(25)),
    ("je 25 kg", per_hand(25, "kg")),
    ("25 kg par main", per_hand(25, "kg")),
    # per side and bar
    ("40/side", plates(40)),
    ("40 kg per side", plates(40, "kg")),
    ("2x40 + bar", plates(40)),
    ("40kg/side + bar", plates(40, "kg")),
    ("40/side + 20kg bar", plates(40, "kg", 20)),
    ("bar + 20/side", plates(20)),
    ("20kg bar + 30 per side", plates(30, "kg", 20)),
    ("20kg bar + 2x40kg", plates(40, "kg", 20)),
    ("bar (20kg) + 40kg per side", plates(40, "kg", 20)),
    ("20 + 40/side", plates(40, "", 20)),
    ("bar", plates(0)),
    ("empty bar", plates(0)),
    ("just the bar", plates(0)),
    ("40 + bar", refused("load_uncertain")),
    ("bar + 40", refused("load_uncertain")),
    # bands and machines
    ("red band", BAND),
    ("green", BAND),
    ("Gummiband", BAND),
    ("light band", BAND),
    ("pin 7", LoadReading("machine_step", 7)),
    ("#7", LoadReading("machine_step", 7)),
    ("level 12", LoadReading("machine_step", 12)),
    ("7 plates", LoadReading("machine_step", 7)),
    ("Stufe 5", LoadReading("machine_step", 5)),
    # nothing to say
    ("", EMPTY),
    ("-", EMPTY),
    ("–", EMPTY),
    ("n/a", EMPTY),
    ("   ", EMPTY),
    # what cannot be known
    ("80?", refused("load_uncertain")),
    ("~80", refused("load_uncertain")),
    ("ca. 80", refused("load_uncertain")),
    ("80ish", refused("load_uncertain")),
    ("80 or 85", refused("load_uncertain")),
    ("80-85", refused("load_range")),
    ("80 to 85 kg", refused("load_range")),
    ("2026-10-08", refused("turned_into_date")),
    ("8-Oct", refused("turned_into_date")),
    ("Oct-08", refused("turned_into_date")),
    ("heavy", refused("load_unreadable")),
    ("8o", refused("load_unreadable")),
    ("80 stone", refused("load_unreadable")),
    ("80kg80", refused("load_unreadable")),
    ("#VALUE!", refused("load_unreadable")),
    ("#REF!", refused("load_unreadable")),
    ("=A1*2", refused("load_unreadable")),
    ("80%", refused("load_unreadable")),
    ("1e3", refused("load_unreadable")),
]


@pytest.mark.parametrize(("messy", "expected"), CELLS, ids=[repr(c[0]) for c in CELLS])
def test_a_load_cell_is_read_as_a_careful_person_reads_it(messy: str, expected: LoadReading) -> None:
    assert parse_load(messy) == expected


def test_a_missing_cell_is_empty() -> None:
    assert parse_load(None) == EMPTY


@pytest.mark.parametrize(
    ("word", "unit"),
    [("kg", "kg"), ("KGS.", "kg"), ("(lb)", "lb"), ("[lbs]", "lb"), ("#", "lb"), ("stone", ""), ("", "")],
)
def test_a_unit_word_is_kilograms_pounds_or_neither(word: str, unit: str) -> None:
    assert parse_unit(word) == unit


def test_a_pound_is_what_the_standard_says() -> None:
    assert KG_PER_LB == 0.45359237  # NIST SP 811, exact
    assert pytest.approx(scipy.constants.lb, rel=1e-15) == KG_PER_LB


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-10-08", True),
        ("2026-10-08 00:00:00", True),
        ("8-Oct", True),
        ("10. Aug", True),
        ("Aug 10", True),
        ("8-10", False),
        ("80", False),
        ("10 aug 10 aug", False),
    ],
)
def test_a_number_that_a_spreadsheet_turned_into_a_date_is_noticed(text: str, expected: bool) -> None:
    assert looks_like_date(text) == expected
