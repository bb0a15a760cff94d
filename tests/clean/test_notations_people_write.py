"""A long list of notations as people write them (common practice [P], collected by us), each read or refused.

notation_cases.csv: the notation, then its sets as load × repetitions @ effort (`r`: in reserve),
`w:` before a warm-up, `d:` a drop, `r:` rest-pause, `*3` for three such sets, or why it is not read.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from pipeline.clean.cells.set_notation import NotationReading, parse_notation

CASES = list(csv.DictReader((Path(__file__).parent / "notation_cases.csv").open(encoding="utf-8")))


def as_written(reading: NotationReading) -> str:
    if reading.problem:
        return reading.problem
    sets = []
    for part in reading.parts:
        effort = re.sub(r"[a-z: ]", "", part.effort)
        scale = "@r" if "rir" in part.effort else "@"
        mark = {"warm_up": "w:", "drop": "d:", "rest_pause": "r:"}.get(part.kind, "")
        sets.append(f"{mark}{part.load}x{part.reps}{scale + effort if effort else ''}")
    return plain(";".join(sets))


def plain(text: str) -> str:
    return re.sub(r"\s+", "", text.lower())


def expanded(sets: str) -> str:
    out = []
    for one in sets.split(";"):
        match = re.fullmatch(r"(.*)\*(\d+)", one)
        out += [match.group(1)] * int(match.group(2)) if match else [one]
    return plain(";".join(out))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["notation"])
def test_a_notation_that_people_write_gives_its_sets(case: dict[str, str]) -> None:
    assert as_written(parse_notation(case["notation"])) == expanded(case["sets"])


def test_a_small_number_behind_at_is_effort_once_the_load_is_known_and_asked_before() -> None:
    assert [part.effort for part in parse_notation("3x8 @ 8", load_is_known=True).parts] == ["rpe 8"] * 3
    assert parse_notation("3x8 @ 8").problem == "set_notation_ambiguous"
    assert [part.load for part in parse_notation("3x8 @ 8", "sets_reps").parts] == ["8"] * 3
    assert [part.load for part in parse_notation("3x8 @ 8kg").parts] == ["8kg"] * 3


def test_one_pair_that_is_certain_settles_the_others_of_the_same_text() -> None:
    assert as_written(parse_notation("8x8; 10x6; 15x3")) == "8x8;10x6;15x3"
    assert as_written(parse_notation("15x3, 10x6")) == "15x3;10x6"
    assert parse_notation("8x8; 10x6; 12x3").problem == "set_notation_ambiguous"
