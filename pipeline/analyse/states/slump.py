"""How the last weeks look beside the ones just before: the weight of evidence for a slump.

For a mean change m of precision p the log likelihood ratio of "lower by d" against "no change" is
`p (−d m − d²/2)` (normal errors); it is averaged over `DEPTHS` and over the last one to three weeks. It sees
sudden falls a week sooner than the running model in `regimes`, which must first believe that a level moved.
"""

from __future__ import annotations

import numpy as np

from pipeline.analyse.states.panel import Grid

TEMPER = 0.7
"""Share of each ratio believed: weeks are not quite independent."""
DEPTHS = (0.02, 0.035, 0.05, 0.075)
"""Depths weighed for a slump, log units."""


def slump_odds(changes: dict[int, tuple[Grid, Grid]]) -> Grid:
    """Log odds of a slump: `changes` holds (mean, precision) of the last a weeks against those before."""
    total = None
    for mean, precision in changes.values():
        for depth in DEPTHS:
            ratio = np.exp(np.clip(TEMPER * precision * (-depth * mean - depth**2 / 2), -12, 12))
            total = ratio if total is None else total + ratio
    if total is None:
        raise ValueError("changes is empty")
    return np.asarray(np.log(total / (len(changes) * len(DEPTHS))))
