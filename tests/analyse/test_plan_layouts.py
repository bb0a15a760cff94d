"""Layouts of a split over the week, against every permutation scored by itself, and by hand."""

from itertools import permutations

import pytest
from planned import plan_day, planned, setting, version

from pipeline.analyse.plan.audit import layout_rows
from pipeline.analyse.plan.audit_week import demand_of
from pipeline.analyse.plan.demand import demanding_sets, neighbours
from pipeline.analyse.plan.layouts import best_layouts, layout_text, score_layout, split_shape

UPPER = [planned("bench", 4, 5, 8), planned("row", 4, 5, 8)]
LOWER = [planned("squat", 4, 5, 8), planned("hinge", 3, 5, 8)]
DEMAND = demand_of(setting())
SPLIT = tuple(
    plan_day(name, None, *lifts)
    for name, lifts in (("U1", UPPER), ("L1", LOWER), ("U2", UPPER), ("L2", LOWER))
)
SHAPE = split_shape(SPLIT, DEMAND)


def test_squats_and_hinges_count_one_and_a_half():
    assert demanding_sets(SPLIT[1], DEMAND) == 7 * 1.5


def test_neighbours_go_round_the_end_of_the_week():
    assert neighbours((1, 2, 5)) == [(0, 1, 1), (1, 2, 3), (2, 0, 3)]
    assert neighbours((3,)) == [(0, 0, 7)]


def test_no_permutation_is_better_than_the_first_layout():
    best = best_layouts(SHAPE)[0]
    assert best.merit == min(score_layout(SHAPE, days).merit for days in permutations(range(1, 8), 4))


def far_apart(weekdays, days):
    """Days between sessions of the same muscle and pairs of hard neighbours, told off day by day."""
    week = {
        weekday: {e.facts.exercise_id for e in day.exercises}
        for weekday, day in zip(weekdays, days, strict=True)
    }
    least, n_neighbours = 7, 0
    for weekday, lifts in week.items():
        for gap in range(1, 7):
            other = week.get((weekday + gap - 1) % 7 + 1)
            if other is not None and lifts & other:
                least = min(least, gap)
            if gap == 1 and other is not None and lifts & other:
                n_neighbours += 1
    return n_neighbours, -least


def test_the_first_layout_is_the_best_by_a_count_of_its_own():
    # upper and lower days share no muscle that counts, so same lifts and same muscles are one thing here
    counts = [far_apart(days, SPLIT) for days in permutations(range(1, 8), 4)]
    for layout in best_layouts(SHAPE):
        assert far_apart(layout.weekdays, SPLIT) == min(counts)


def test_equal_days_exchanged_are_one_layout():
    layouts = best_layouts(SHAPE, None, most=100)
    seen = set()
    for layout in layouts:
        week = ["-"] * 7
        for weekday, name in zip(layout.weekdays, "ULUL", strict=True):
            week[weekday - 1] = name
        seen.add(min("".join(week[k:] + week[:k]) for k in range(7)))
    assert len(seen) == len(layouts)
    # necklaces of 2 U, 2 L and 3 rest days: 7!/(2! 2! 3!)/7 = 30
    assert len(layouts) == 30


def test_an_upper_lower_split_keeps_three_days_between_the_same_muscles():
    best = best_layouts(SHAPE)[0]
    assert (best.least_days_same_muscle, best.n_interfering_neighbours) == (3, 0)


def test_two_equal_hard_days_lie_three_days_apart():
    shape = split_shape(SPLIT[::2], DEMAND)
    best = best_layouts(shape)[0]
    assert best.least_days_hard == 3
    assert score_layout(shape, (1, 2)).n_interfering_neighbours == 1


def test_layouts_that_are_the_same_but_for_their_first_day_count_once_and_keep_the_present_days():
    shape = split_shape(SPLIT[::2], DEMAND)
    layouts = best_layouts(shape, (2, 5))
    assert layouts[0].weekdays == (2, 5)
    turned = [tuple((day - layout.weekdays[0]) % 7 for day in layout.weekdays) for layout in layouts]
    assert len(turned) == len(set(turned))


def test_only_the_allowed_weekdays_are_used():
    for layout in best_layouts(SHAPE, None, (1, 2, 3, 4, 5)):
        assert set(layout.weekdays) <= {1, 2, 3, 4, 5}
    assert best_layouts(SHAPE, None, (1, 2)) == ()


def test_two_sessions_on_one_day_are_a_programmers_mistake():
    with pytest.raises(ValueError, match="two sessions on one day"):
        score_layout(SHAPE, (1, 1, 2, 3))


def test_the_present_layout_is_shown_after_the_best_ones():
    plan = version(*(plan_day(name, day, *UPPER) for name, day in (("A", 1), ("B", 2))))
    rows = layout_rows(plan, setting())
    assert [row["is_current"] for row in rows][-1] is True
    assert rows[0]["least_days_hard"] == 3
    assert rows[-1]["n_interfering_neighbours"] == 1


def test_a_layout_is_written_in_order_of_the_week():
    assert layout_text((4, 1), ["Lower", "Upper"]) == "Mon Upper · Thu Lower"
