"""Repetition and time cells: messy left, expected right."""

from __future__ import annotations

import pytest

from pipeline.clean.cells.repetitions import RepsReading, one_side_each, parse_duration, parse_reps

R = RepsReading
CELLS = [
    ("8", R(8)),
    (" 8 ", R(8)),
    ("8.0", R(8)),
    ("8,0", R(8)),
    ("x8", R(8)),
    ("×8", R(8)),
    ("8x", R(8)),
    ("8 reps", R(8)),
    ("8 Wdh.", R(8)),
    ("8 repes", R(8)),
    ("8 rip.", R(8)),
    ("0", R(0)),
    ("12+", R(12, is_at_least=True)),
    ("12 or more", R(12)),
    ("AMRAP 12", R(12)),
    ("12 (AMRAP)", R(12)),
    ("max 12", R(12)),
    # failed attempts
    ("F", R(0, is_failure=True)),
    ("failed", R(0, is_failure=True)),
    ("miss", R(0, is_failure=True)),
    ("no lift", R(0, is_failure=True)),
    ("0 (failed)", R(0, is_failure=True)),
    ("Fehlversuch", R(0, is_failure=True)),
    ("échec", R(0, is_failure=True)),
    ("fallito", R(0, is_failure=True)),
    ("8 to failure", R(8, is_failure=True)),
    ("8F", R(8, is_failure=True)),
    ("8+F", R(8, is_failure=True)),
    ("4, failed 5th", R(4, is_failure=True)),
    # sides
    ("8/7", R(7, 8, 7, is_one_sided=True)),
    ("8/8", R(8, is_one_sided=True)),
    ("8L 7R", R(7, 8, 7, is_one_sided=True)),
    ("L8 R7", R(7, 8, 7, is_one_sided=True)),
    ("7R/8L", R(7, 8, 7, is_one_sided=True)),
    ("links 8, rechts 7", R(7, 8, 7, is_one_sided=True)),
    ("8 each", R(8, is_one_sided=True)),
    ("8 per side", R(8, is_one_sided=True)),
    ("8/leg", R(8, is_one_sided=True)),
    ("8 e/s", R(8, is_one_sided=True)),
    ("8 je Seite", R(8, is_one_sided=True)),
    # clusters and rest-pause
    ("8+3+2", R(13, clusters=(8, 3, 2))),
    ("8 + 3", R(11, clusters=(8, 3))),
    ("(8+3+2) rp", R(13, clusters=(8, 3, 2))),
    ("12 rest-pause", R(12, clusters=(12,))),
    ("5+5+5 cluster", R(15, clusters=(5, 5, 5))),
    # holds
    ("45s", R(duration_s=45)),
    ("45 sec", R(duration_s=45)),
    ("0:45", R(duration_s=45)),
    ("1:30", R(duration_s=90)),
    ("1 min", R(duration_s=60)),
    ("1'30", R(duration_s=90)),
    ("45s each side", R(duration_s=45)),
    # nothing to say
    ("", R()),
    ("-", R()),
    ("n/a", R()),
    # what is no count
    ("8-10", R(problem="reps_range")),
    ("8 – 10", R(problem="reps_range")),
    ("8 to 10", R(problem="reps_range")),
    ("7.5", R(problem="reps_not_whole")),
    ("8,5", R(problem="reps_not_whole")),
    ("-8", R(problem="reps_negative")),
    ("8?", R(problem="reps_uncertain")),
    ("~8", R(problem="reps_uncertain")),
    ("eight", R(problem="reps_unreadable")),
    ("some", R(problem="reps_unreadable")),
    ("8 kg", R(problem="reps_unreadable")),
    ("2026-10-08", R(problem="turned_into_date")),
    ("8-Oct", R(problem="turned_into_date")),
    ("#N/A", R(problem="reps_unreadable")),
]


@pytest.mark.parametrize(("messy", "expected"), CELLS, ids=[repr(c[0]) for c in CELLS])
def test_a_repetitions_cell_is_read_as_a_careful_person_reads_it(messy: str, expected: R) -> None:
    assert parse_reps(messy) == expected


@pytest.mark.parametrize(
    ("messy", "seconds"),
    [
        ("45s", 45),
        ("45 Sek", 45),
        ('45"', 45),
        ("0:45", 45),
        ("00:00:45", 45),
        ("1:00:00", 3600),
        ("1:30", 90),
        ("1:75", None),
        ("1:59", 119),
        ("1:60", None),
        ("1m30s", 90),
        ("1 min 30", 90),
        ("1,5 min", 90),
        ("2 Minuten", 120),
        ("30s hold", 30),
        ("30s/side", 30),
        ("45", None),
        ("", None),
        ("a while", None),
    ],
)
def test_a_time_is_seconds_and_a_bare_number_is_none(messy: str, seconds: float | None) -> None:
    assert parse_duration(messy) == seconds


@pytest.mark.parametrize(("left", "right"), [(8, 7), (7, 8), (0, 5)])
def test_the_weaker_side_stands_for_a_set_with_uneven_sides(left: int, right: int) -> None:
    reading = one_side_each(left, right)
    assert (reading.reps, reading.left, reading.right) == (min(left, right), left, right)
