"""How long a state has lasted, and how scores start and end it."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.analyse.states.decision import run_lengths
from pipeline.analyse.states.score import Score, Term, latch, parse_scores, read_scores, smooth


@pytest.mark.parametrize(
    ("states", "weeks"),
    [
        pytest.param("P P S S", [1, 2, 1, 2], id="a new state starts at one"),
        pytest.param(
            "P P D P P", [1, 2, 1, 4, 5], id="a planned lighter week does not end the run around it"
        ),
        pytest.param("P D D P", [1, 1, 2, 4], id="two planned lighter weeks do not either"),
        pytest.param("P D D D P", [1, 1, 2, 3, 1], id="three do"),
        pytest.param("P D S P", [1, 1, 1, 1], id="another state does"),
        pytest.param("P S P", [1, 1, 1], id="without a lighter week between them two runs stay two"),
    ],
)
def test_a_run_counts_the_weeks_of_one_state(states: str, weeks: list[int]) -> None:
    names = {"P": "plateau", "S": "steady", "D": "planned_deload"}
    grid = np.array([[names[c] for c in states.split()]], dtype="U16")
    assert run_lengths(grid, np.ones(grid.shape, dtype=bool))[0].tolist() == weeks


def test_a_state_stays_between_its_two_thresholds_and_rests_while_a_week_tells_nothing() -> None:
    value = np.array([[0.0, 1.2, 0.7, 0.7, 0.2, 0.7, 0.1]])
    held = np.array([[False, False, False, False, True, False, False]])
    assert latch(value, 1.0, 0.5, held)[0].tolist() == [False, True, True, True, True, True, False]


def test_a_state_that_lapses_must_be_earned_anew_after_a_week_that_tells_nothing() -> None:
    value = np.array([[1.2, 0.7, 0.7, 0.7, 1.1]])
    held = np.array([[False, False, True, False, False]])
    assert latch(value, 1.0, 0.5, held, lapses=True)[0].tolist() == [True, True, False, False, True]


def test_smoothing_is_an_exponentially_weighted_mean_that_starts_with_the_first_week() -> None:
    # by hand: 0.5 × 4 + 0.5 × 0 = 2; 0.5 × 2 + 0.5 × 2 = 2
    assert smooth(np.array([[4.0, 0.0, 2.0]]), 0.5)[0].tolist() == [4.0, 2.0, 2.0]


def test_one_signal_cannot_outvote_the_others_and_a_missing_one_is_silent() -> None:
    score = Score("x", -1.0, 0, 0, 0, 1, 0, (Term("a", 0.0, 1.0, 0.5), Term("b", 0.0, 2.0, 1.0)))
    grids = {"a": np.array([[100.0, 1.0, np.nan]]), "b": np.array([[2.0, -2.0, 4.0]])}
    # by hand: −1 + 3 × 0.5 + 1 = 1.5; −1 + 0.5 − 1 = −1.5; −1 + 0 + 2 = 1
    assert score.raw(grids)[0].tolist() == [1.5, -1.5, 1.0]


def test_the_shipped_scores_are_complete_and_point_the_right_way() -> None:
    scores = read_scores()
    assert set(scores) == {"plateau", "over_reaching"}
    for score in scores.values():
        assert score.leave < score.enter
        assert score.slope > 0
    weight = {term.signal: term.weight for term in scores["over_reaching"].terms}
    assert weight["strain"] > 0
    assert weight["slump_chance"] > 0
    assert {t.signal: t.weight for t in scores["plateau"].terms}["stall_chance"] > 0


def test_a_score_file_without_a_threshold_is_refused_by_name() -> None:
    with pytest.raises(KeyError, match="leave"):
        parse_scores("[x]\nintercept=0\nmemory=0\nenter=0\nslope=1\nshift=0\n[x.signals]\na=[0,1,1]")
