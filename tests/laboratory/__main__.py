"""Runs the laboratory: `python -m tests.laboratory fit|report|files|through-files` (see README.md)."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pipeline.analyse.states.score import SCORE_FILE, read_scores
from tests.laboratory.dynamics import DYNAMICS
from tests.laboratory.files import score_through_files, write_workspace
from tests.laboratory.fit import Sample, fit_all, take_sample, write_scores
from tests.laboratory.report import write_report
from tests.laboratory.roster import Roster, simulate
from tests.laboratory.weekly import simulate_weekly

FIT_SEEDS, REPORT_SEED = (1, 3), 4
KINDS = (*DYNAMICS, "weekly")
"""The four kinds of dynamics of the first simulator, and the second simulator."""
README = Path(__file__).with_name("README.md")
MARK = "<!-- figures below are written by: python -m tests.laboratory report -->"


def _roster(kind: str, n_clients: int, seed: int) -> Roster:
    return simulate_weekly(n_clients, seed) if kind == "weekly" else simulate(kind, n_clients, seed)


def _samples(n_clients: int, *seeds: int) -> list[Sample]:
    out = []
    for seed in seeds:
        for kind in KINDS:
            sys.stderr.write(f"{kind}: {n_clients} clients, seed {seed}\n")
            out.append(take_sample(_roster(kind, n_clients, seed)))
    return out


def main() -> None:
    """Read the arguments and run."""
    parser = argparse.ArgumentParser(prog="python -m tests.laboratory", description=__doc__)
    parser.add_argument("what", choices=("fit", "report", "files", "through-files"))
    parser.add_argument("--clients", type=int, default=150, help="clients of each kind of dynamics")
    parser.add_argument("--kind", choices=KINDS, default="breakpoints", help="for files")
    parser.add_argument("--seed", type=int, default=REPORT_SEED, help="for files")
    parser.add_argument("--out", type=Path, help="for files: a new workspace folder")
    args = parser.parse_args()
    if args.what in ("files", "through-files"):
        if args.out is None:
            parser.error(f"{args.what} needs --out FOLDER")
        roster = _roster(args.kind, args.clients, args.seed)
        if args.what == "files":
            write_workspace(roster, args.out)
        else:
            sys.stdout.write(score_through_files(roster, args.out) + "\n")
        return
    fitting = _samples(args.clients, *FIT_SEEDS)
    if args.what == "fit":
        note = (
            "Scores of the states: signal = [centre, scale, weight], in log odds.\n"
            "Made by `python -m tests.laboratory fit`: ridge logistic regression on simulated rosters of\n"
            f"{len(KINDS)} kinds, {args.clients} clients each, seeds {FIT_SEEDS[0]} and {FIT_SEEDS[1]}.\n"
            "Held-out figures: tests/laboratory/README.md."
        )
        SCORE_FILE.write_text(write_scores(fit_all(fitting), note), encoding="utf-8")
        return
    text = write_report(fitting, _samples(args.clients, REPORT_SEED), read_scores())
    head = README.read_text(encoding="utf-8").split(MARK)[0]
    README.write_text(f"{head}{MARK}\n\n{text}", encoding="utf-8")


if __name__ == "__main__":
    main()
