"""Effort cells: messy left, expected right. RIR = 10 − RPE (Zourdos et al. 2016)."""

from __future__ import annotations

import pytest

from pipeline.clean.cells.effort import EffortReading, Scale, parse_effort, reconcile

E = EffortReading
CELLS: list[tuple[str, Scale, EffortReading]] = [
    ("8", "rpe", E(rpe=8)),
    ("8.5", "rpe", E(rpe=8.5)),
    ("8,5", "rpe", E(rpe=8.5)),
    ("8½", "rpe", E(rpe=8.5)),
    ("@8", "rpe", E(rpe=8)),
    ("@8", "", E(rpe=8)),
    ("RPE 8", "", E(rpe=8)),
    ("RPE8", "rir", E(rpe=8)),
    ("8 RPE", "", E(rpe=8)),
    ("RPE: 8", "", E(rpe=8)),
    ("8/10", "rpe", E(rpe=8)),
    ("8-9", "rpe", E(rpe=8.5)),
    ("8–9", "rpe", E(rpe=8.5)),
    ("8/9", "rpe", E(rpe=8.5)),
    ("8 to 9", "rpe", E(rpe=8.5)),
    ("2", "rir", E(rir=2)),
    ("0", "rir", E(rir=0)),
    ("1-2", "rir", E(rir=1.5)),
    ("2 RIR", "", E(rir=2)),
    ("2 RIR", "rpe", E(rir=2)),
    ("RIR 2", "rpe", E(rir=2)),
    ("2 in the tank", "", E(rir=2)),
    ("2 left", "", E(rir=2)),
    ("2 reps in reserve", "", E(rir=2)),
    ("failure", "rpe", E(rpe=10)),
    ("to failure", "rir", E(rir=0)),
    ("Muskelversagen", "", E(rir=0)),
    ("10", "rpe", E(rpe=10)),
    ("10", "rir", E(rir=10)),
    ("1", "rpe", E(rpe=1)),
    ("", "rpe", E()),
    ("-", "rir", E()),
    ("11", "rpe", E(problem="effort_out_of_range")),
    ("0", "rpe", E(problem="effort_out_of_range")),
    ("11", "rir", E(problem="effort_out_of_range")),
    ("-1", "rir", E(problem="effort_out_of_range")),
    ("85", "rpe", E(problem="effort_out_of_range")),
    ("9-11", "rpe", E(problem="effort_out_of_range")),
    ("9+", "rpe", E(problem="effort_unreadable")),
    ("3+", "rir", E(problem="effort_unreadable")),
    ("hard", "rpe", E(problem="effort_unreadable")),
    ("😅", "rpe", E(problem="effort_unreadable")),
    ("8", "", E(problem="effort_scale_unknown")),
    ("2026-09-08", "rpe", E(problem="turned_into_date")),
]


@pytest.mark.parametrize(
    ("messy", "scale", "expected"), CELLS, ids=[f"{text!r} in {scale or 'any'}" for text, scale, _ in CELLS]
)
def test_an_effort_cell_is_read_as_a_careful_person_reads_it(
    messy: str, scale: Scale, expected: EffortReading
) -> None:
    assert parse_effort(messy, scale) == expected


@pytest.mark.parametrize(
    ("rpe", "rir", "expected"),
    [
        (E(rpe=8), E(), E(8, None)),
        (E(), E(rir=2), E(None, 2)),
        (E(rpe=8), E(rir=2), E(8, 2)),
        (E(rpe=8), E(rir=1), E(8, 1)),
        (E(rpe=8), E(rir=3), E(8, 3)),
        (E(rpe=9), E(rir=4), E(problem="effort_contradiction")),
        (E(rpe=8), E(problem="effort_unreadable"), E(8, None, "effort_unreadable")),
        (E(), E(), E()),
    ],
)
def test_effort_on_both_scales_is_kept_where_it_agrees_within_one_repetition(
    rpe: E, rir: E, expected: E
) -> None:
    assert reconcile(rpe, rir) == expected
