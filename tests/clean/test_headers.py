"""Header cells: what a column is called, in several languages, and what it then holds."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from pipeline.clean.headers import HeaderCell, header_phrases, is_date_heading, parse_header_cell

H = HeaderCell
CELLS = [
    ("Date", H("date")),
    ("DATUM", H("date")),
    ("fecha", H("date")),
    ("Session Date", H("date")),
    ("session_date", H("date")),
    ("Exercise", H("exercise")),
    ("Übung", H("exercise")),
    ("Exercice", H("exercise")),
    ("Ejercicio", H("exercise")),
    ("Lift", H("exercise")),
    ("Weight", H("load")),
    ("Weight (kg)", H("load", "kg")),
    ("weight_kg", H("load", "kg")),
    ("Load [lbs]", H("load", "lb")),
    ("kg", H("load", "kg")),
    ("LBS", H("load", "lb")),
    ("Gewicht in kg", H("load", "kg")),
    ("Poids (kg)", H("load", "kg")),
    ("Weight per hand (kg)", H("load", "kg", is_per_hand=True)),
    ("kg per hand", H("load", "kg", is_per_hand=True)),
    ("Reps", H("reps")),
    ("# Reps", H("reps")),
    ("Wdh.", H("reps")),
    ("Répétitions", H("reps")),
    ("Ripetizioni", H("reps")),
    ("Sets", H("n_sets")),
    ("Sätze", H("n_sets")),
    ("Set", H("set_number")),
    ("Set #", H("set_number")),
    ("RPE", H("rpe")),
    ("RPE (1-10)", H("rpe")),
    ("RIR", H("rir")),
    ("Reps in reserve", H("rir")),
    ("Time (s)", H("duration", "s")),
    ("Hold time", H("duration")),
    ("Left", H("reps_left")),
    ("Reps R", H("reps_right")),
    ("Notes", H("note")),
    ("Kommentar", H("note")),
    ("Client", H("client")),
    ("Athlete name", H("client")),
    ("Unit", H("unit")),
    ("Sets x Reps", H("notation")),
    ("Result", H("notation")),
    ("Superset", H("superset")),
    ("Target reps", H("ignored", planned="reps")),
    ("Tempo", H("ignored")),
    ("e1RM", H("ignored")),
    # side by side
    ("Set 1", H("set_cell", "", 1)),
    ("S3", H("set_cell", "", 3)),
    ("Satz 2", H("set_cell", "", 2)),
    ("Set 1 reps", H("reps", "", 1)),
    ("Set 2 kg", H("load", "kg", 2)),
    ("Set 2 (kg)", H("load", "kg", 2)),
    ("Set 3 RPE", H("rpe", "", 3)),
    ("Reps 1", H("reps", "", 1)),
    ("kg 2", H("load", "kg", 2)),
    ("Weight set 3", H("load", "", 3)),
    ("1st set reps", H("reps", "", 1)),
    # dates across
    ("2026-03-02", H("date_column", date_text="2026-03-02")),
    ("02.03.2026", H("date_column", date_text="02.03.2026")),
    ("Mon 2 March", H("date_column", date_text="Mon 2 March")),
    # no header word
    ("Bench Press", H()),
    ("100", H()),
    ("3x8@100", H()),
    ("", H()),
    ("Weight" * 20, H()),
]


@pytest.mark.parametrize(("messy", "expected"), CELLS, ids=[repr(c[0])[:40] for c in CELLS])
def test_a_header_cell_says_what_its_column_holds(messy: str, expected: HeaderCell) -> None:
    assert parse_header_cell(messy) == expected


@pytest.mark.parametrize("change", [str.upper, str.title, lambda text: f" {text} ", lambda text: f"{text}:"])
def test_capitals_blanks_and_a_colon_do_not_change_a_phrase(change) -> None:  # type: ignore[no-untyped-def]
    for phrase, role in header_phrases("log").items():
        reading = parse_header_cell(change(phrase))
        assert reading.role == role or reading.set_number or reading.unit, (change(phrase), reading, role)


def test_no_phrase_stands_for_two_roles() -> None:
    path = Path("pipeline/reference/header_word.csv")
    with path.open(encoding="utf-8", newline="") as handle:
        rows = [
            (r["table"], phrase, r["role"])
            for r in csv.DictReader(handle)
            for phrase in r["phrases"].split("|")
        ]
    roles: dict[tuple[str, str], set[str]] = {}
    for table, phrase, role in rows:
        roles.setdefault((table, phrase), set()).add(role)
    assert {key: found for key, found in roles.items() if len(found) > 1} == {}


@pytest.mark.parametrize(
    ("text", "expected"),
    [("2 March 2026", True), ("Mon 02.03.2026", True), ("46083", False), ("Bench", False), ("", False)],
)
def test_a_date_heading_is_nothing_but_a_date(text: str, expected: bool) -> None:
    assert is_date_heading(text) == expected
