"""Estimated one-repetition maximum (e1RM): the published equations and their inverse.

sql/marts/set_e1rm.sql computes the same for every set, with its error and the range an equation is valid
for; a test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

_FACTORS: dict[str, Callable[[Floats], Floats]] = {
    "epley": lambda r: 1 + r / 30,  # Epley 1985
    "brzycki": lambda r: 36 / (37 - r),  # Brzycki 1993; no meaning near 37
    "lombardi": lambda r: r**0.10,  # Lombardi 1989
    "mayhew": lambda r: 100 / (52.2 + 41.9 * np.exp(-0.055 * r)),  # Mayhew et al. 1992
    "oconner": lambda r: 1 + 0.025 * r,  # O'Conner et al. 1989
    "wathan": lambda r: 100 / (48.8 + 53.8 * np.exp(-0.075 * r)),  # Wathan 1994
    "lander": lambda r: 100 / (101.3 - 2.67123 * r),  # Lander 1985; no meaning near 37.9
}
EQUATIONS = tuple(_FACTORS)
LONGEST_SET = 20.0  # repetitions to failure beyond which no equation is asked at all


def e1rm_factor(reps_to_failure: npt.ArrayLike, equation: str) -> Floats:
    """e1RM over load: how much more than this load could be lifted once?

    `reps_to_failure` = repetitions done + in reserve, an array of any shape. A single to failure (1 or less)
    is the 1RM itself, so its factor is 1 whatever the equation. ValueError for an unknown equation or for
    more than 20 repetitions; figures that are shown stop earlier (sql/marts/set_e1rm.sql).

    Sources: see the table beside each equation above. Example: Epley, 10 repetitions: 1 + 10/30 = 1.333.
    """
    if equation not in _FACTORS:
        raise ValueError(f"equation {equation!r} is not one of {', '.join(EQUATIONS)}")
    reps = np.asarray(reps_to_failure, dtype=np.float64)
    if np.any(reps > LONGEST_SET):
        raise ValueError(f"reps_to_failure {float(reps.max()):g} is above {LONGEST_SET:g}")
    return np.where(reps <= 1, 1.0, _FACTORS[equation](np.maximum(reps, 1.0)))


def load_for_reps(e1rm_kg: npt.ArrayLike, reps_to_failure: npt.ArrayLike, equation: str) -> Floats:
    """The load that could be lifted so often: the equation turned round, kg in, kg out."""
    load: Floats = np.asarray(e1rm_kg, dtype=np.float64) / e1rm_factor(reps_to_failure, equation)
    return load
