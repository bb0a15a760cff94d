"""Simple rivals: random flags, weeks since the last best, a pooled slope, a drop, a drop with check-ins.

Each is tuned on the very rosters it is scored on, which flatters it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from pipeline.analyse.states.panel import Grid
from pipeline.analyse.states.score import latch
from tests.laboratory.fit import Sample, pooled_flags
from tests.laboratory.scorer import Result

Rival = Callable[[Sample], Grid]


def _random(sample: Sample) -> Grid:
    """Random numbers whose largest values last six weeks: random flags of that length."""
    rng = np.random.default_rng(7)
    drawn = rng.random(sample.axis.shape)
    out = drawn.copy()
    for lag in range(1, 6):
        out[:, lag:] = np.maximum(out[:, lag:], drawn[:, :-lag])
    return out


RIVALS: dict[str, dict[str, Rival]] = {
    "plateau": {
        "flags at random": _random,
        "weeks since the last best": lambda s: s.grids["shown_best_age"] + 1e-3 * s.grids["weeks_known"],
        "pooled slope of eight weeks": lambda s: -s.grids["slope_8"],
    },
    "over_reaching": {
        "flags at random": _random,
        "e1RM drop across lifts": lambda s: -s.grids["shown_z_1"],
        "drop and check-ins": lambda s: -s.grids["shown_z_1"] + 1.5 * s.grids["strain"],
    },
}


def best_rival(samples: list[Sample], kind: str, rival: Rival, alarms: float) -> Result | None:
    """The rival's best threshold with at most `alarms` false alarms a client-year."""
    values, told = [], []
    for sample in samples:
        g = sample.grids
        tells = (
            (g["n_sessions"] > 0)
            & (g["planned_light"] == 0)
            & (g["is_returning"] == 0)
            & (g["n_points"] >= 6)
        )
        told.append(tells)
        values.append(np.where(tells, np.nan_to_num(rival(sample)), -99.0))
    known = np.concatenate([v[t] for v, t in zip(values, told, strict=True)])
    best: Result | None = None
    for quantile in np.linspace(0.75, 0.998, 32):
        for width in (0.0, 0.5):
            enter = float(np.quantile(known, quantile))
            flags = [
                latch(v, enter, enter - width * float(known.std()), ~t)[s.at]
                for v, t, s in zip(values, told, samples, strict=True)
            ]
            result = pooled_flags(samples, flags, kind)
            if result.false_alarms <= alarms and (best is None or result.found > best.found):
                best = result
    return best
