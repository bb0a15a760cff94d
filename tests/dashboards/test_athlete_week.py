"""The week's planned exercises and the sets that were done of each."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from dashboards.athlete_week import set_list, share_out

DAY = dt.date(2025, 6, 23)


def made_set(**changed: Any) -> dict[str, Any]:
    """A set as `AthleteHistory.week_sets` gives it."""
    return {
        "session_date": DAY, "exercise_id": "squat", "set_index": 1, "drop_index": 1, "set_kind": "work",
        "load_kg": 100.0, "load_basis": "total", "implements": 1, "reps": 5, "reps_left": None, "reps_right": None,
        "is_at_least": False, "duration_s": None, "rir": None, **changed,
    }  # fmt: skip


def planned(done_sets: int | None, exercise_id: str = "squat") -> dict[str, Any]:
    """A planned exercise, done as it was planned."""
    return {
        "session_date": DAY if done_sets else None,
        "exercise_id": exercise_id,
        "done_exercise_id": exercise_id if done_sets else None,
        "done_sets": done_sets,
    }


SQUATS = [made_set(set_index=number) for number in (1, 2, 3, 4)]


def test_an_exercise_planned_twice_on_a_day_shares_its_sets_and_loses_none() -> None:
    first, second = share_out([planned(1), planned(2)], SQUATS)
    assert [one[0]["set_index"] for one in first] == [1]
    assert [one[0]["set_index"] for one in second] == [2, 3, 4]


def test_an_exercise_without_sets_gets_none_of_its_neighbours() -> None:
    assert share_out([planned(4), planned(None, "press")], SQUATS)[1] == []


def test_drops_stay_with_their_set_and_sets_of_one_number_stay_apart() -> None:
    drop = [made_set(), made_set(drop_index=2, load_kg=80.0), made_set(), made_set(set_index=2)]
    [shared] = share_out([planned(3)], drop)
    assert [len(one) for one in shared] == [2, 1, 1]


@pytest.mark.parametrize(
    ("sets", "said"),
    [
        ([[made_set()], [made_set(reps=4)]], "100 kg × 5, 4"),
        ([[made_set()], [made_set(load_kg=90.0, reps=8)]], "100 kg × 5 · 90 kg × 8"),
        ([[made_set(reps=8, is_at_least=True)]], "100 kg × 8+"),
        ([[made_set(reps_left=8, reps_right=7)]], "100 kg × 8 | 7"),
        ([[made_set(), made_set(drop_index=2, load_kg=80.0, reps=6)]], "5 + 80 kg × 6 (drop set)"),
        ([[made_set(load_kg=0.0, load_basis="bodyweight", reps=None, duration_s=45.0)]], "45 s"),
        ([[made_set(load_kg=10.0, load_basis="bodyweight")]], "10 kg added × 5"),
        ([[made_set(load_kg=None, load_basis="band")]], "band × 5"),
        ([[made_set(load_kg=24.0, load_basis="per_hand")]], "24 kg × 5"),
        ([[made_set(load_kg=24.0, load_basis="per_hand", implements=2)]], "24 kg a hand × 5"),
        ([[made_set(reps=None)]], "100 kg × –"),
    ],
    ids=[
        "two sets",
        "two loads",
        "at least",
        "sides",
        "drop",
        "hold",
        "added",
        "band",
        "one dumbbell",
        "two dumbbells",
        "no repetitions",
    ],
)
def test_sets_are_told_as_one_says_them(sets: list[list[dict[str, Any]]], said: str) -> None:
    assert said in set_list(sets, "kg")


def test_effort_stands_set_by_set_with_a_dash_where_it_was_not_written() -> None:
    assert "RIR 2, –, 0.5" in set_list([[made_set(rir=2.0)], [made_set()], [made_set(rir=0.5)]], "kg")
    assert "RIR" not in set_list([[made_set()]], "kg")


def test_loads_stand_in_the_clients_unit() -> None:
    assert "220.5 lb × 5" in set_list([[made_set()]], "lb")
