"""Estimated one-repetition maximum (e1RM): the published equations, their inverse and their error.

The models in sql/ compute the same for every set; a test holds the two against each other.
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
# linear equations hold up to 10 repetitions (Reynolds et al. 2006); the curved ones are left to the setting
VALID_TO = {"epley": 10.0, "brzycki": 10.0, "oconner": 10.0, "lander": 10.0}
LONGEST_SET = 20.0  # repetitions to failure beyond which no equation is asked at all


def e1rm_factor(reps_to_failure: npt.ArrayLike, equation: str) -> Floats:
    """e1RM over load: how much more than this load could be lifted once?

    `reps_to_failure` = repetitions done + in reserve, an array of any shape. A single to failure (1 or less)
    is the 1RM itself, so its factor is 1 whatever the equation. ValueError for an unknown equation or for
    more than 20 repetitions; figures that are shown keep to the setting e1rm_max_reps and to `VALID_TO`.

    Sources: see the table beside each equation above. Example: Epley, 10 repetitions: 1 + 10/30 = 1.333.
    """
    if equation not in _FACTORS:
        raise ValueError(f"equation {equation!r} is not one of {', '.join(EQUATIONS)}")
    reps = np.asarray(reps_to_failure, dtype=np.float64)
    if np.any(reps > LONGEST_SET):
        raise ValueError(f"reps_to_failure {float(reps.max()):g} is above {LONGEST_SET:g}")
    return np.where(reps <= 1, 1.0, _FACTORS[equation](np.maximum(reps, 1.0)))


def share_per_rep(reps_to_failure: npt.ArrayLike, equation: str) -> Floats:
    """By what share one repetition more moves the estimate; Epley 100/(30 + r) %, 2.9 % at 5 repetitions.

    A central difference of ln(factor) over the equation as printed (the single is no exception here).
    """
    if equation not in _FACTORS:
        raise ValueError(f"equation {equation!r} is not one of {', '.join(EQUATIONS)}")
    reps = np.asarray(reps_to_failure, dtype=np.float64)
    step = 1e-4
    factor = _FACTORS[equation]
    share: Floats = (np.log(factor(reps + step)) - np.log(factor(reps - step))) / (2 * step)
    return share


def load_for_reps(e1rm_kg: npt.ArrayLike, reps_to_failure: npt.ArrayLike, equation: str) -> Floats:
    """The load that could be lifted so often: the equation turned round, kg in, kg out."""
    load: Floats = np.asarray(e1rm_kg, dtype=np.float64) / e1rm_factor(reps_to_failure, equation)
    return load


def error_pct(reps: npt.ArrayLike, rir: npt.ArrayLike, equation: str) -> Floats:
    """Standard error of an estimate from `reps` done with `rir` in reserve, in % of it.

        100 x share per repetition x sqrt(sd_reps^2 + sd_rir^2)

    sd_reps: 0.7 at 4 repetitions to failure or fewer, 1.1 at 12, 1.3 at most (Mitter et al. 2022: 0.7 at 90
    %, 1.1 at 70 % of 1RM); sd_rir: none at failure, 1 repetition to 5 in reserve, then 0.3 more for each
    (Hackett et al. 2017: about 1 at 0 to 5, above 2 at 7 to 10). That is 2 to 3 % at failure, 3 to 4 %
    otherwise.
    """
    done, left = np.asarray(reps, dtype=np.float64), np.asarray(rir, dtype=np.float64)
    to_failure = done + left
    sd_reps = 0.7 + 0.4 * np.clip((to_failure - 4) / 8, 0.0, 1.5)
    sd_rir = np.where(left == 0, 0.0, np.where(left <= 5, 1.0, 1.0 + 0.3 * (left - 5)))
    error: Floats = 100 * share_per_rep(to_failure, equation) * np.sqrt(sd_reps**2 + sd_rir**2)
    return error
