"""What holds for every text: nothing raises, nothing is invented, what is written by rule is read back."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.clean.cells.dates import parse_date, to_date
from pipeline.clean.cells.effort import parse_effort, reconcile
from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.cells.loads import KG_PER_LB, looks_like_date, parse_load, parse_unit
from pipeline.clean.cells.repetitions import parse_duration, parse_reps
from pipeline.clean.cells.set_notation import parse_notation
from pipeline.clean.exercise_texts import kind_said_in_note, parse_exercise_text, parse_set_kind, parse_side
from pipeline.clean.headers import parse_header_cell
from pipeline.clean.notes import split_remark
from pipeline.clean.pain import find_pain
from pipeline.clean.row_rules import (
    is_not_done,
    is_rest_day,
    is_total,
    parse_client_statement,
    parse_date_heading,
    parse_unit_statement,
)
from pipeline.clean.session_dates import date_in_name, year_in_name
from pipeline.clean.set_texts import single_sets

pytestmark = pytest.mark.slow

# pieces that cells are made of: random text hardly ever looks like a log, so these are mixed in
_PIECE_FILE = Path(__file__).parents[1] / "fuzz" / "cell_pieces.txt"
_PIECES = st.sampled_from([*_PIECE_FILE.read_text(encoding="utf-8").split(), "\u00a0", "\n", "\t"])
MESSY = st.one_of(
    st.text(max_size=40),
    st.lists(_PIECES, max_size=9).map("".join),
    st.lists(_PIECES, max_size=9).map(" ".join),
)


def figures(text: str) -> set[float]:
    """All numbers that stand in a text, with point or comma."""
    folded = fold(text)
    whole = re.findall(r"\d+", folded)
    decimal = re.findall(r"(?=(?<!\d)(\d*[.,]\d+))", folded)  # overlapping: 0,1.1 may be 0 and 1.1
    return {float(f.replace(",", ".")) for f in [*whole, *decimal]}


PARSERS: dict[str, Callable[[str], object]] = {
    "fold": fold,
    "is_blank": is_blank,
    "parse_number": parse_number,
    "parse_unit": parse_unit,
    "looks_like_date": looks_like_date,
    "parse_load": parse_load,
    "parse_reps": parse_reps,
    "parse_duration": parse_duration,
    "parse_effort": lambda text: [parse_effort(text, scale) for scale in ("rpe", "rir", "")],
    "parse_date": parse_date,
    "parse_notation": lambda text: [
        parse_notation(text, m) for m in ("", "sets_reps", "load_reps", "reps_load")
    ],
    "split_remark": split_remark,
    "parse_header_cell": lambda text: [
        parse_header_cell(text, t) for t in ("log", "plan", "check_in", "client")
    ],
    "parse_exercise_text": parse_exercise_text,
    "parse_set_kind": parse_set_kind,
    "parse_side": parse_side,
    "kind_said_in_note": kind_said_in_note,
    "find_pain": find_pain,
    "row rules": lambda text: (is_total(text), is_rest_day(text), is_not_done(text)),
    "statements": lambda text: (
        parse_unit_statement(text),
        parse_client_statement(text),
        parse_date_heading(text),
    ),
    "dates in names": lambda text: (date_in_name(text), year_in_name(text)),
}


@pytest.mark.parametrize("parser", PARSERS.values(), ids=PARSERS)
@given(text=MESSY)
def test_no_text_makes_a_parser_raise_and_it_says_the_same_again(
    parser: Callable[[str], object], text: str
) -> None:
    assert parser(text) == parser(text)


@given(load=MESSY, reps=MESSY, notation=MESSY, n_sets=MESSY)
def test_no_combination_of_cells_raises_or_gives_sets_together_with_a_problem(
    load: str, reps: str, notation: str, n_sets: str
) -> None:
    texts = single_sets(load, reps, notation, n_sets)
    assert not (texts.parts and texts.problem)
    assert bool(texts.problem) == bool(texts.column)


@given(text=st.text(max_size=60))
def test_folding_twice_is_folding_once(text: str) -> None:
    assert fold(fold(text)) == fold(text)


@given(text=MESSY)
def test_a_number_is_the_number_that_stands_there(text: str) -> None:
    value = parse_number(text)
    if value is not None:
        assert abs(value) in figures(text)


@given(text=MESSY)
def test_a_load_is_a_figure_of_the_cell_or_nothing(text: str) -> None:
    reading = parse_load(text)
    assert (reading.kind == "unreadable") == bool(reading.problem)
    given_figures = figures(text)
    for value in (reading.value, reading.bar):
        assert value is None or value in given_figures | {0.0}
    if reading.value == 0.0 and 0.0 not in given_figures:
        assert reading.kind in ("bodyweight", "plates")
    if reading.unit:
        assert re.search("kg|kilo|k|lb|pound|#|libr|livre|pfund", fold(text))


@given(text=MESSY)
def test_repetitions_are_a_figure_of_the_cell_their_sum_or_a_failure(text: str) -> None:
    reading = parse_reps(text)
    given_figures = figures(text)
    if reading.problem:
        assert (reading.reps, reading.duration_s) == (None, None)
        return
    if reading.clusters:
        assert reading.reps == sum(reading.clusters)
        assert set(map(float, reading.clusters)) <= given_figures
    elif reading.reps is not None and not (reading.reps == 0 and reading.is_failure):
        assert float(reading.reps) in given_figures
    if reading.left is not None and reading.right is not None:
        assert reading.reps == min(reading.left, reading.right)
        assert {float(reading.left), float(reading.right)} <= given_figures
    assert reading.reps is None or reading.duration_s is None


@given(text=MESSY, scale=st.sampled_from(["rpe", "rir", ""]))
def test_effort_stays_on_its_scale_and_between_the_figures_given(text: str, scale: str) -> None:
    reading = parse_effort(text, scale)  # type: ignore[arg-type]
    assert reading.rpe is None or 1 <= reading.rpe <= 10
    assert reading.rir is None or 0 <= reading.rir <= 10
    assert reading.rpe is None or reading.rir is None
    value = reading.rpe if reading.rpe is not None else reading.rir
    if value is not None and figures(text):
        assert min(figures(text)) <= value <= max(figures(text))
    assert not (reading.problem and value is not None)


@given(first=MESSY, second=MESSY)
def test_reconciled_effort_never_contradicts_itself(first: str, second: str) -> None:
    reading = reconcile(parse_effort(first, "rpe"), parse_effort(second, "rir"))
    if reading.rpe is not None and reading.rir is not None:
        assert abs(10 - reading.rpe - reading.rir) <= 1


@given(text=MESSY)
def test_a_day_is_made_of_figures_of_the_cell(text: str) -> None:
    reading = parse_date(text)
    day = to_date(reading, "dmy", 2026)
    if day is None or reading.serial is not None:
        return
    digits = re.sub(r"\D", " ", fold(text)).split()
    assert any(int(d) == day.day for d in digits) or f"{day:%Y%m%d}" in digits


@given(text=MESSY, meaning=st.sampled_from(["", "sets_reps", "load_reps", "reps_load"]))
def test_a_notation_is_read_whole_and_holds_only_figures_of_the_text(text: str, meaning: str) -> None:
    reading = parse_notation(text, meaning)  # type: ignore[arg-type]
    if reading.problem:
        assert reading.parts == ()
        return
    given_figures = figures(text)
    for part in reading.parts:
        for piece in (part.load, part.reps, part.effort):
            assert figures(piece) <= given_figures, (piece, text)
    assert len(reading.parts) <= 60


@given(text=MESSY)
def test_a_remark_split_from_sets_is_text_that_stood_there(text: str) -> None:
    reading, remark = split_remark(text)
    assert remark in text
    if reading.parts and remark:
        assert not parse_notation(text).parts


# what a person writes by rule is read back as it was meant
LOADS = st.integers(13, 320).map(float) | st.integers(26, 640).map(lambda n: n / 2) | st.just(82.25)
REPS = st.integers(1, 30)


def written(load: float, comma: bool = False) -> str:
    return f"{load:g}".replace(".", "," if comma else ".")


RENDERINGS: dict[str, Callable[[float, list[int]], str]] = {
    "3x8@100": lambda load, reps: f"{len(reps)}x{reps[0]}@{written(load)}",
    "3 x 8 @ 100 kg": lambda load, reps: f"{len(reps)} x {reps[0]} @ {written(load)} kg",
    "3x8 @ 100,5kg": lambda load, reps: f"{len(reps)}x{reps[0]} @ {written(load, comma=True)}kg",
    "3 sets of 8 at 100": lambda load, reps: f"{len(reps)} sets of {reps[0]} at {written(load)}",
    "100kg 3x8": lambda load, reps: f"{written(load)}kg {len(reps)}x{reps[0]}",
    "100x8, 100x8": lambda load, reps: ", ".join(f"{written(load)}x{r}" for r in reps),
    "100kg x 8; 100kg x 7": lambda load, reps: "; ".join(f"{written(load)}kg x {r}" for r in reps),
    "100 x 8 / 8 / 6": lambda load, reps: f"{written(load)} x {' / '.join(map(str, reps))}",
    "100x8,8,7": lambda load, reps: f"{written(load)}x{','.join(map(str, reps))}",
    "100 kg: 8, 8, 7": lambda load, reps: f"{written(load)} kg: {', '.join(map(str, reps))}",
    "5,5,5 @ 100": lambda load, reps: f"{','.join(map(str, reps))} @ {written(load)}",
    "8 reps @ 100kg; …": lambda load, reps: "; ".join(f"{r} reps @ {written(load)}kg" for r in reps),
}
_SAME_REPS = {"3x8@100", "3 x 8 @ 100 kg", "3x8 @ 100,5kg", "3 sets of 8 at 100", "100kg 3x8"}


@pytest.mark.parametrize("form", RENDERINGS)
@given(load=LOADS, reps=st.lists(REPS, min_size=1, max_size=6))
def test_known_sets_written_in_a_notation_are_read_back(form: str, load: float, reps: list[int]) -> None:
    if form in _SAME_REPS:
        reps = reps[:1] * len(reps)
    text = RENDERINGS[form](load, reps)
    reading = parse_notation(text)
    assert reading.problem == "", text
    found = [(parse_load(part.load).value, parse_reps(part.reps).reps) for part in reading.parts]
    assert found == [(load, r) for r in reps], text


@given(first=LOADS, second=LOADS, reps=st.tuples(REPS, REPS), effort=st.sampled_from(["", " RPE 8", " @8"]))
def test_sets_of_different_loads_are_read_back_with_their_effort(
    first: float, second: float, reps: tuple[int, int], effort: str
) -> None:
    text = f"{written(first)}x{reps[0]}{effort}, {written(second)}x{reps[1]}{effort}"
    reading = parse_notation(text)
    found = [(parse_load(part.load).value, parse_reps(part.reps).reps) for part in reading.parts]
    assert found == [(first, reps[0]), (second, reps[1])], text
    assert {part.effort for part in reading.parts} == {"rpe 8" if effort else ""}


@given(value=LOADS, unit=st.sampled_from(["kg", " kg", "KG", " lbs", "lb", "#"]), comma=st.booleans())
def test_a_load_with_its_unit_is_read_back(value: float, unit: str, comma: bool) -> None:
    reading = parse_load(written(value, comma) + unit)
    assert (reading.kind, reading.value) == ("plain", value)
    assert reading.unit == ("kg" if "k" in unit.lower() else "lb")


@given(value=LOADS)
def test_kilograms_and_pounds_of_one_load_agree_and_of_another_contradict(value: float) -> None:
    pounds = round(value / KG_PER_LB)
    assert parse_load(f"{value:g} kg ({pounds} lb)").value == value
    assert parse_load(f"{value:g} kg ({pounds + 30} lb)").problem == "load_contradiction"


DAYS = st.integers(0, 9_000).map(lambda n: date(2002, 1, 1) + timedelta(days=n))
DATE_FORMS = [
    "%Y-%m-%d",
    "%d.%m.%Y",
    "%d %B %Y",
    "%B %d, %Y",
    "%d-%b-%y",
    "%a %d %b %Y",
    "%Y%m%d",
    "%A, %d.%m.%Y",
]


@pytest.mark.parametrize("form", DATE_FORMS)
@given(day=DAYS)
def test_a_day_written_in_a_clear_form_is_read_back(form: str, day: date) -> None:
    reading = parse_date(day.strftime(form))
    assert (reading.problem, to_date(reading, "")) == ("", day)


@given(day=DAYS, form=st.sampled_from(["%d/%m/%Y", "%d-%m-%Y", "%d/%m/%y"]))
def test_a_day_written_day_first_is_read_back_once_the_order_is_known_and_never_otherwise(
    day: date, form: str
) -> None:
    reading = parse_date(day.strftime(form))
    assert to_date(reading, "dmy") == day
    assert to_date(reading, "") in (day, None)
    if day.day <= 12 and day.day != day.month:
        assert reading.order == ""


@given(day=st.integers(0, 20_000))
def test_a_day_number_is_read_back_in_both_date_systems(day: int) -> None:
    serial = 30_000 + day
    assert to_date(parse_date(str(serial)), "") == date(1899, 12, 30) + timedelta(days=serial)
    assert to_date(parse_date(str(serial)), "", epoch="1904") == date(1904, 1, 1) + timedelta(days=serial)


@given(rpe=st.integers(2, 20).map(lambda n: n / 2))
def test_effort_is_read_back_on_either_scale(rpe: float) -> None:
    assert parse_effort(f"RPE {rpe:g}", "").rpe == rpe
    assert parse_effort(f"{10 - rpe:g}", "rir").rir == 10 - rpe


@given(seconds=st.integers(1, 3_599))
def test_a_time_is_read_back(seconds: int) -> None:
    assert parse_duration(f"{seconds}s") == seconds
    assert parse_duration(f"{seconds // 60}:{seconds % 60:02d}") == seconds


@given(left=REPS, right=REPS)
def test_both_sides_are_read_back(left: int, right: int) -> None:
    assume(left != right)
    for text in (f"{left}/{right}", f"L{left} R{right}", f"{left}L {right}R", f"{right}R/{left}L"):
        reading = parse_reps(text)
        assert (reading.left, reading.right) == (left, right), text
