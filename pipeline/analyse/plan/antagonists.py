"""Which exercises are antagonists, and which tire the same muscle."""

from __future__ import annotations

from pipeline.analyse.plan.versions import ExerciseFacts

# common practice [P]
ANTAGONISTS = frozenset(
    frozenset(pair)
    for pair in (
        ("chest", "upper_back"),
        ("lats", "front_delts"),
        ("biceps", "triceps"),
        ("quads", "hamstrings"),
        ("front_delts", "rear_delts"),
        ("abs", "spinal_erectors"),
        ("adductors", "abductors"),
    )
)
_OPPOSED_PATTERNS = frozenset(
    frozenset(pair)
    for pair in (
        ("horizontal_press", "row"),
        ("overhead_press", "vertical_pull"),
        ("horizontal_press", "vertical_pull"),
        ("overhead_press", "row"),
    )
)


def are_antagonists(one: ExerciseFacts, other: ExerciseFacts) -> bool:
    """A press and a pull, or single-joint work of opposed muscles; never where both train one muscle
    directly."""
    if set(one.direct) & set(other.direct):
        return False
    if frozenset((one.pattern, other.pattern)) in _OPPOSED_PATTERNS:
        return True
    return any(frozenset((a, b)) in ANTAGONISTS for a in one.direct for b in other.direct)


def shared_muscles(one: ExerciseFacts, other: ExerciseFacts) -> tuple[str, ...]:
    """Muscles that one trains directly and the other directly or indirectly."""
    return tuple(
        muscle
        for muscle in dict.fromkeys([*one.direct, *other.direct])
        if one.muscles.get(muscle, 0.0) > 0 and other.muscles.get(muscle, 0.0) > 0
    )


def can_stand_in(one: ExerciseFacts, other: ExerciseFacts) -> bool:
    """The same movement, or in single-joint and core work a muscle both train directly; also a multi-joint
    lift whose directly trained muscles are the same."""
    if one.exercise_id == other.exercise_id:
        return True
    same_direct = set(one.direct) & set(other.direct)
    if one.is_multi_joint and one.pattern == other.pattern:
        return True
    if one.is_multi_joint and other.is_multi_joint:
        return bool(one.direct) and set(one.direct) == set(other.direct)
    return bool(same_direct)
