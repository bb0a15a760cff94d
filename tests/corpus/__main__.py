"""`python -m tests.corpus`: how much of the corpus is read, and every fault."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from pipeline.contract.records import LOGGED_SET
from pipeline.validate.judge import Judge
from tests.corpus.scoring import CASES, Score, score


def main() -> None:
    total, n_whole = Score(), 0
    cases = sorted(CASES.iterdir())
    with tempfile.TemporaryDirectory() as folder, Judge(LOGGED_SET, Path(folder)) as judge:
        for case in cases:
            found = score(case, judge)
            total.certain += found.certain
            total.exact += found.exact
            for name in ("wrong", "missed", "invented", "others"):
                getattr(total, name).extend(getattr(found, name))
            n_whole += not found.faults
            for fault in found.faults:
                sys.stdout.write(f"{case.name}: {fault}\n")
    sys.stdout.write(
        f"{len(cases)} cases, {n_whole} without a fault; {total.exact} of {total.certain} certain sets exact "
        f"({total.exact / total.certain:.1%}), {len(total.wrong)} wrong in silence, "
        f"{len(total.invented)} invented, {len(total.missed)} not read.\n"
    )


if __name__ == "__main__":
    main()
