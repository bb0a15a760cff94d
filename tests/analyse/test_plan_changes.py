"""Two plan versions side by side."""

from planned import plan_day, planned, version

from pipeline.analyse.plan.changes import compare_versions


def changes(before, after):
    return [(c.kind, c.place, c.before, c.after, c.figure) for c in compare_versions(before, after, 4.0)]


def test_versions_that_are_the_same_have_no_changes():
    plan = version(plan_day("A", 1, planned("bench")))
    assert changes(plan, plan) == []


def test_sets_repetitions_effort_and_rest_are_compared_exercise_by_exercise():
    before = version(plan_day("A", 1, planned("bench", 3, 8, 12, rest_s=120.0)))
    after = version(plan_day("A", 1, planned("bench", 4, 5, 8, rir=1.0, rest_s=180.0)))
    assert changes(before, after) == [
        ("sets", "A: Bench", "3", "4", 1.0),
        ("repetitions", "A: Bench", "8 to 12", "5 to 8", -3.5),
        ("effort", "A: Bench", "2", "1", -1.0),
        ("rest", "A: Bench", "120 s", "180 s", 60.0),
        ("muscle", "chest", "3", "4", 1.0),
        ("muscle", "triceps", "1.5", "2", 0.5),
    ]


def test_an_exercise_on_another_day_has_moved_and_one_that_is_gone_was_removed():
    before = version(plan_day("A", 1, planned("curl"), planned("raise")), plan_day("B", 4, planned("squat")))
    after = version(
        plan_day("A", 1, planned("plank", 2, None, None)), plan_day("B", 5, planned("squat"), planned("curl"))
    )
    assert [change[:2] for change in changes(before, after)] == [
        ("day", "B"),
        ("added", "A: Plank"),
        ("moved", "Curl"),
        ("removed", "A: Raise"),
        ("muscle", "abs"),
        ("muscle", "side_delts"),
    ]


def test_an_exercise_that_stands_twice_is_matched_in_order():
    before = version(plan_day("A", 1, planned("bench", 3, 5, 8), planned("bench", 3, 8, 12)))
    after = version(plan_day("A", 1, planned("bench", 3, 5, 8)))
    assert [change[0] for change in changes(before, after)] == ["removed", "muscle", "muscle"]
