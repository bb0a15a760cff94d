"""The observations, from sets to sentences: circumstances of lifts, amounts that went with progress."""

import random

import pytest
from given_tables import day, logged, rows_of, run_on


def test_a_lift_that_shows_less_the_day_after_a_session_is_told():
    # squats on Mondays, and on Tuesdays four per cent weaker: fewer repetitions at the load
    rng = random.Random(1)
    sets = []
    for week in range(20):
        for offset, reps in ((0, 8), (1, 6), (4, 8)):
            sets.append(logged(7 * week + offset, "squat", 100, reps + rng.choice([-1, 0, 0, 1]), rir=0.0))
    con = run_on(["session_context"], sets)
    found = rows_of(
        con,
        "select difference_pct, difference_high_pct, n_with, n_without, sentence from session_context"
        " where circumstance = 'day_after_session'",
    )
    [(difference, high, n_with, n_without, sentence)] = found
    assert difference == pytest.approx(100 * (38 / 36 - 1) * -1, abs=2)
    assert high < 0
    assert (n_with, n_without) == (20, 38)
    assert "less strength" in sentence
    assert "not a cause" in sentence


def test_too_few_sessions_on_one_side_say_nothing():
    sets = [logged(7 * week, "squat", 100, 5, rir=1.0) for week in range(20)] + [
        logged(1, "squat", 100, 5, rir=1.0)
    ]
    assert rows_of(run_on(["session_context"], sets), "select * from session_context") == []


def test_an_amount_that_went_with_progress_is_told_with_its_uncertainty_and_no_cause():
    rng = random.Random(2)
    sets = []
    for client in ("c1", "c2", "c3"):
        load = 100.0
        for week in range(40):
            n_sets = 12 if (week // 8) % 2 else 4
            load *= 1 + 0.0005 * n_sets
            for k in range(1, n_sets + 1):
                sets.append(
                    logged(
                        7 * week,
                        "squat",
                        round(load * rng.uniform(0.99, 1.01), 1),
                        5,
                        rir=1.0,
                        set_index=k,
                        client_id=client,
                    )
                )
    con = run_on(["volume_response"], sets)
    found = rows_of(con, "select n_blocks, gain_low_pct, gain_high_pct, sentence from volume_response")
    assert len(found) == 3
    for n_blocks, low, high, sentence in found:
        assert n_blocks == 10
        assert low < high
        assert "no proof that one caused the other" in sentence


def test_a_client_who_always_does_the_same_amount_is_not_told_what_amounts_do():
    sets = [logged(7 * week, "squat", 100 + week, 5, rir=1.0) for week in range(40)]
    assert rows_of(run_on(["volume_response"], sets, as_of=day(279)), "select * from volume_response") == []
