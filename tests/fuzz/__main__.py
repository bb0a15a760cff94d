"""`python -m tests.fuzz [SECONDS] [FIRST_SEED]`: read made files until the time is over; print what fails."""

from __future__ import annotations

import sys
import time
import traceback
from collections import Counter

from tests.fuzz.checks import KINDS, one_case


def main(seconds: float, seed: int) -> int:
    """Number of cases that failed."""
    end, n_done, failed = time.monotonic() + seconds, 0, Counter[str]()
    while time.monotonic() < end:
        for kind in KINDS:
            try:
                one_case(kind, seed)
            except Exception as err:  # noqa: BLE001 - whatever is raised is what we look for
                where = traceback.extract_tb(err.__traceback__)[-1]
                signature = f"{type(err).__name__} at {where.filename.rsplit('/', 1)[-1]}:{where.lineno}"
                failed[signature] += 1
                if failed[signature] <= 3:
                    sys.stdout.write(f"{kind} {seed}: {signature}: {str(err)[:600]}\n")
                    sys.stdout.flush()
            n_done += 1
        seed += 1
    sys.stdout.write(f"{n_done} files read, next seed {seed}; failed: {dict(failed)}\n")
    return sum(failed.values())


if __name__ == "__main__":
    given = [float(word) for word in sys.argv[1:3]]
    sys.exit(min(1, main(given[0] if given else 60.0, int(given[1]) if len(given) > 1 else 1_000)))
