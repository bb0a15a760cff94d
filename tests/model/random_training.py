"""Random clients who train more or less to plan: input for properties that must always hold."""

import random

from given_tables import EXERCISES, logged, planned

LAST_WEEK = 11


def random_history(seed):
    """Two clients who train more or less to plan, with and without effort, some lifts swapped or left out."""
    rng = random.Random(seed)
    lifts = ["bench_press", "squat", "barbell_row", "deadlift", "curl", "pull_up", "incline_press"]
    sets, plan = [], []
    for client in ("c1", "c2"):
        for weekday, name in ((1, "A"), (3, "B"), (5, "C")):
            chosen = rng.sample(lifts, 3)
            plan += [
                planned(name, weekday, lift, slot=k, client_id=client)
                for k, lift in enumerate(chosen, start=1)
            ]
            for week in range(LAST_WEEK + 1):
                if rng.random() < 0.15:
                    continue
                when = min(7 * week + weekday - 1 + rng.choice([0, 0, 0, 1]), 7 * LAST_WEEK + 6)
                for lift in chosen if rng.random() < 0.8 else rng.sample(lifts, 3):
                    for k in range(1, rng.randint(2, 4)):
                        sets.append(
                            logged(
                                when,
                                lift,
                                rng.choice([60, 80, 82.5, 85]),
                                rng.randint(4, 12),
                                set_index=k,
                                client_id=client,
                                rir=rng.choice([None, 0.0, 1.0, 2.0, 5.0]),
                                system_kg=90.0 if EXERCISES[lift]["load_basis"] == "bodyweight" else None,
                            )
                        )
    return sets, plan
