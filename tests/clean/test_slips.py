"""Loads far from the client's own history are held with a suggestion; real jumps and first files pass."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.clean.cells.loads import KG_PER_LB
from tests.inbox_reading import ReadInbox, knowledge, read_inbox, read_log

FIRST = date(2026, 1, 5)


def log(
    loads: list[float], exercise: str = "Bench Press", reps: int = 5, every: int = 7, unit: str = "kg"
) -> str:
    """A session a week with three sets at each load."""
    rows = [f"Date,Exercise,{unit},Reps"]
    for n, load in enumerate(loads):
        rows += [f"{FIRST + timedelta(days=n * every)},{exercise},{load:g},{reps}"] * 3
    return "\n".join(rows) + "\n"


def held(read: ReadInbox) -> list[float]:
    """Suggested load of each question about a load, 0 where it has none."""
    return [float(q["suggested"] or 0) for q in read.questions if q["kind"] == "load"]


STEADY = [80.0, 80.0, 82.5, 82.5, 85.0, 85.0]


@pytest.mark.parametrize(
    ("last", "suggested"),
    [(850, [85.0]), (8.5, [85.0]), (190, [86.2]), (1000, [100.0]), (145, [0.0])],
    ids=["a zero too many", "a point too early", "pounds for kilograms", "a thousand", "far beyond"],
)
def test_a_slip_is_held_with_a_suggestion_and_not_corrected(last: float, suggested: list[float]) -> None:
    text = (
        log(STEADY)
        + f"2026-03-02,Bench Press,85,5\n2026-03-02,Bench Press,{last:g},5\n2026-03-02,Bench Press,85,5\n"
    )
    read = read_log(text)
    assert held(read) == pytest.approx(suggested, abs=0.1)
    assert read.waiting == [(21, "load")]
    assert last not in [load for load, _ in read.amounts]
    assert read.cleaned.tables.waiting_row["message"].to_list()[0].startswith(f"{last:g} kg is ")


@pytest.mark.parametrize(
    "loads",
    [
        [80, 82.5, 85, 87.5, 90, 92.5],
        [80, 80, 100],
        [80, 80, 80, 110],
        [60, 60, 85],
        [20, 30, 40, 50, 60],
        [100, 100, 60, 100],
        [100, 100, 100, 50, 50],
        [5, 7.5, 10, 12.5],
    ],
    ids=[
        "steady",
        "a best",
        "a great best",
        "a jump",
        "a novice",
        "a deload",
        "a light block",
        "small weights",
    ],
)
def test_real_jumps_bests_and_deloads_pass(loads: list[float]) -> None:
    read = read_log(log([float(load) for load in loads]))
    assert held(read) == []
    assert len(read.sets) == 3 * len(loads)


def test_a_first_file_has_no_history_to_be_judged_by() -> None:
    assert held(read_log(log([250.0], "Squat"))) == []


def test_a_slip_beside_other_sets_of_a_first_session_is_held() -> None:
    text = log([80.0]) + f"{FIRST},Bench Press,800,5\n"
    assert held(read_log(text)) == [80.0]


def test_what_is_held_is_no_history_for_the_next_session() -> None:
    read = read_log(log([80, 80, 80, 800, 80, 80]))
    assert set(held(read)) == {80.0}
    assert len(read.sets) == 15


def test_a_warm_up_with_the_bar_is_no_slip() -> None:
    text = "Date,Exercise,kg,Reps\n" + "".join(
        f"{FIRST + timedelta(days=7 * n)},Squat,{load},5\n" for n in range(4) for load in (20, 100, 100, 100)
    )
    assert held(read_log(text)) == []


def test_a_whole_session_in_the_other_unit_is_held() -> None:
    rows = ["Date,Exercise,kg,Reps"]
    for n in range(5):
        factor = 1 if n < 4 else KG_PER_LB
        for exercise, load in (("Bench Press", 80), ("Squat", 120), ("Deadlift", 150)):
            rows += [f"{FIRST + timedelta(days=7 * n)},{exercise},{load * factor:.1f},5"] * 3
    read = read_log("\n".join(rows) + "\n")
    assert sorted(set(held(read))) == pytest.approx([80, 120, 150], abs=0.3)
    assert read.fates["waiting"] == 9


@pytest.mark.parametrize(
    ("answer", "load"),
    [("keep", 850.0), ("85", 85.0), ("85 kg", 85.0), ("85kg", 85.0), ("85,0", 85.0), ("187.4 lb", 85.0)],
)
def test_an_answer_keeps_the_load_or_puts_the_right_one_in_its_place(answer: str, load: float) -> None:
    text = log(STEADY) + "2026-03-02,Bench Press,850,5\n"
    (question,) = [q for q in read_log(text).questions if q["kind"] == "load"]
    row = ("load", "anna", question["source_file"], question["raw_text"], answer)
    read = read_log(text, answers=[row])
    assert read.questions == []
    assert read.amounts[-1][0] == pytest.approx(load, abs=0.01)


@pytest.mark.parametrize("answer", ["no", "wrong", "--5", "8?5"])
def test_an_answer_that_names_no_load_leaves_the_set_held(answer: str) -> None:
    text = log(STEADY) + "2026-03-02,Bench Press,850,5\n"
    (question,) = [q for q in read_log(text).questions if q["kind"] == "load"]
    row = ("load", "anna", question["source_file"], question["raw_text"], answer)
    assert held(read_log(text, answers=[row])) == [85.0]


@pytest.mark.parametrize("added", [5, 10, 15])
def test_a_first_disc_on_a_bodyweight_lift_is_no_slip(added: float) -> None:
    rows = ["Date,Exercise,Load,Reps"]
    for n in range(6):
        rows += [f"{FIRST + timedelta(days=7 * n)},Pull-ups,BW+2.5,6"] * 3
    rows += [f"{FIRST + timedelta(days=49)},Pull-ups,BW+{added},5"] * 3
    assert held(read_log("\n".join(rows) + "\n")) == []


def test_a_slipped_digit_on_a_bodyweight_lift_is_held() -> None:
    rows = ["Date,Exercise,Load,Reps"]
    for n, load in enumerate((25, 25, 27.5, 250)):
        rows += [f"{FIRST + timedelta(days=7 * n)},Pull-ups,BW+{load},5"] * 3
    assert held(read_log("\n".join(rows) + "\n")) == [25.0]


def test_another_client_of_the_same_file_is_judged_by_another_history() -> None:
    rows = ["Client,Date,Exercise,kg,Reps"]
    for n in range(4):
        rows += [
            f"{who},{FIRST + timedelta(days=7 * n)},Squat,{load},5"
            for who, load in (("anna", 40), ("ben", 200))
        ]
    assert held(read_inbox({"saturday.csv": "\n".join(rows) + "\n"}, knowledge())) == []


def test_a_slip_is_the_same_whatever_the_order_of_the_rows() -> None:
    rows = log([*STEADY, 850.0]).splitlines()
    turned = "\n".join([rows[0], *reversed(rows[1:])]) + "\n"
    assert sorted(held(read_log("\n".join(rows) + "\n"))) == sorted(held(read_log(turned)))
