"""Some made files of every kind; `python -m tests.fuzz 600` runs it for longer."""

from __future__ import annotations

import random

import pytest

from tests.fuzz import files
from tests.fuzz.checks import KINDS, check, one_case
from tests.inbox_reading import knowledge

pytestmark = pytest.mark.slow

CASES_A_KIND = 40


@pytest.mark.parametrize("kind", KINDS)
def test_no_file_raises_loses_a_record_or_gives_a_set_that_does_not_stand_in_it(kind: str) -> None:
    for seed in range(CASES_A_KIND):
        one_case(kind, seed)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1"]
)
@pytest.mark.parametrize("separator", list(",;\t|"), ids=["comma", "semicolon", "tab", "bar"])
def test_a_good_log_loads_whole_in_any_encoding_with_any_separator(encoding: str, separator: str) -> None:
    rng = random.Random(f"{encoding}{separator}")
    rows, sets = files.good_log(rng)
    data = files.as_text(rows, separator).decode().replace("\n", rng.choice(("\n", "\r\n")))
    read = check("anna/log.csv", data.encode(encoding), knowledge())
    assert read.amounts == sets


@pytest.mark.parametrize("seed", range(10))
def test_blank_rows_titles_totals_and_repeated_headers_change_no_set_of_a_good_log(seed: int) -> None:
    rng = random.Random(seed)
    rows, sets = files.good_log(rng)
    harmless = [
        [],
        [""] * 7,
        rows[0],
        ["Total", "", "", "", "480", "", ""],
        ["", "Rest day", "", "", "", "", ""],
    ]
    made = [["My training log"], [], rows[0]]
    for row in rows[1:]:
        if rng.random() < 0.15:
            made.append(rng.choice(harmless))
        made.append(row)
    read = check("anna/log.csv", files.as_text(made, rng.choice(",;\t|")), knowledge())
    assert read.amounts == sets
    assert read.reasons == []


@pytest.mark.parametrize("seed", range(10))
def test_a_log_that_breaks_off_keeps_every_whole_record_before_the_break(seed: int) -> None:
    rng = random.Random(seed)
    rows, sets = files.good_log(rng)
    data = files.as_text(rows, ",")
    cut = rng.randrange(data.index(b"\n") + 60, len(data))
    n_whole = data[:cut].count(b"\n") - 1
    assert check("anna/log.csv", data[:cut], knowledge()).amounts[:n_whole] == sets[:n_whole]


@pytest.mark.parametrize("seed", range(10))
def test_one_bad_cell_costs_one_record_and_says_which(seed: int) -> None:
    rng = random.Random(seed)
    rows, sets = files.good_log(rng)
    at, column = rng.randrange(1, len(rows)), rng.choice((0, 3, 4))
    rows[at][column] = rng.choice(("??", "viel", "8:x", "💪", "1,000,000", "kg kg"))
    read = check("anna/log.csv", files.as_text(rows, ","), knowledge())
    assert [row for row, _ in read.reasons] == [at + 1]
    assert read.amounts == [pair for n, pair in enumerate(sets, start=1) if n != at]
