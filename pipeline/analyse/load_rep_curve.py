"""The client's own load-repetition curve for a lift, against the published one.

At a given share of the 1RM some lifters do 6 repetitions and others 26 (Nuzzo et al. 2024: 70 % of the
squat), so a published equation reads a change of repetition range as strength won or lost. One figure,
`curve`, bends the published curve f to the lifter's:

    ln load(r) = level - ln f(r) - curve (ln f(r) - ln f(r0))

level: log of the e1RM that sets of r0 repetitions to failure give by the published equation; r0: the lift's
repetitions when it was first seen; curve: 0 as published, 0.3: the load falls 30 % faster with repetitions
(in logs), -0.3: slower. The filter of `trend` estimates it without hindsight, shrunk to 0 (sd 0.3): with
sets of one length only, nothing is learnt and 0 stays.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LONGEST_LN_FACTOR = 0.7  # ln f at about 30 repetitions to failure
STEEPEST, FLATTEST = 1.5, -0.6  # bounds within which a curve is used at all


def ln_load_at(level: Floats, ln_factor: Floats, curve: Floats, usual_ln_factor: Floats) -> Floats:
    """Log of the load a lifter of this level and curve lifts when the published log factor is `ln_factor`.

    All arrays of one shape. Example: level ln 100, curve 0, Epley at 10 repetitions (ln 1.333): ln 75.
    """
    load: Floats = level - ln_factor - curve * (ln_factor - usual_ln_factor)
    return load


def expected_ln_factor(level: Floats, ln_load: Floats, curve: Floats, usual_ln_factor: Floats) -> Floats:
    """The published log factor of the repetitions this load should allow: `ln_load_at` turned round.

    Clipped to what a set can be: from a single to some 30 repetitions.
    """
    bent = np.clip(curve, FLATTEST, STEEPEST)
    return np.clip((level - ln_load + bent * usual_ln_factor) / (1 + bent), 0.0, LONGEST_LN_FACTOR)
