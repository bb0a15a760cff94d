"""Kills updates at random moments and looks at what is left; the suite runs a few, this runs as many as asked.

    python tests/trust/kills.py --moments 200 --steps all --seed 7

A moment is a time after the start, drawn evenly over the length of an undisturbed update; a step is the n-th time
the run opens a file to write, renames, removes, links … Every run finds other files in the inbox than the one
before, so that each has a new history to publish. After each kill: the published history is the one before or
the new one, every block of it readable; every file, answer and note is as it was. Every fifth run is left to end
and must publish.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

from made_workspace import AS_OF, as_csv, coachs_word, digest, log_rows, make_workspace
from nursery import Nursery


@dataclass
class Tally:
    """What came of it."""

    n_killed: int = 0
    n_ended_before: int = 0
    n_old: int = 0
    n_new: int = 0
    n_healed: int = 0
    faults: list[str] = field(default_factory=list)


class Trial:
    """A workspace that is updated, with a file that comes and goes."""

    def __init__(self, folder: Path, nursery: Nursery) -> None:
        self.root, self.nursery, self.tally = make_workspace(folder), nursery, Tally()
        self._extra = self.root / "inbox/bram/later.csv"
        self._extra_text = as_csv([[*row[:2], "Leg Press", *row[3:]] for row in log_rows("bram", 4)])
        self.digests = {}
        for is_there in (True, False):
            self._put(is_there)
            found = nursery.run(self.root, AS_OF)
            if found["code"] != 0:
                raise RuntimeError(f"an undisturbed update failed: {found['said']}")
            self.digests[is_there] = digest(self.root)[:2]
        # a run that finds something new, as all that follow do: one that finds nothing ends early
        self._put(True)
        timed = nursery.run(self.root, AS_OF)
        self.seconds, self.n_steps = float(timed["seconds"]), int(timed["steps"])
        self._shown = True

    def _put(self, is_there: bool) -> None:
        if is_there:
            self._extra.write_text(self._extra_text, encoding="utf-8")
        else:
            self._extra.unlink(missing_ok=True)

    def kill(self, where: str, **ending: float) -> None:
        """One killed run, and what it left."""
        self._put(not self._shown)
        before = coachs_word(self.root)
        found = self.nursery.run(self.root, AS_OF, **ending)
        tally = self.tally
        if found["code"] == -9:
            tally.n_killed += 1
        else:
            tally.n_ended_before += 1
            if found["code"] != 0 or found["said"]:
                tally.faults.append(
                    f"{where}: an update left alone ended with {found['code']}: {found['said']}"
                )
        self._look(where, before)

    def heal(self) -> None:
        """A run that is left alone must publish."""
        self._put(not self._shown)
        before = coachs_word(self.root)
        found = self.nursery.run(self.root, AS_OF)
        if found["code"] != 0:
            self.tally.faults.append(f"the run after the kills failed: {found['said']}")
        was = self._shown
        self._look("healing", before)
        if self._shown == was:
            self.tally.faults.append("the run after the kills did not publish")
        self.tally.n_healed += 1

    def _look(self, where: str, before: tuple[object, ...]) -> None:
        tally = self.tally
        try:
            sets = digest(self.root)[:2]
        except Exception as err:  # noqa: BLE001 whatever it is, it is what is looked for
            tally.faults.append(f"{where}: the history cannot be read: {type(err).__name__}")
            return
        if sets == self.digests[not self._shown]:
            self._shown = not self._shown
            tally.n_new += 1
        elif sets == self.digests[self._shown]:
            tally.n_old += 1
        else:
            tally.faults.append(f"{where}: the history is neither the old nor the new one")
        if coachs_word(self.root) != before:
            tally.faults.append(f"{where}: a file, an answer or a note is not as it was")
        page = self.root / "reports/what came in.html"
        if not page.read_text(encoding="utf-8").endswith("</html>"):
            tally.faults.append(f"{where}: the page of what came in is half-written")


def run_kills(
    folder: Path,
    nursery: Nursery,
    moments: int,
    steps: int | None,
    seed: int,
    say: Callable[[str], None] | None = None,
) -> Tally:
    """Kill at `moments` random moments and before `steps` random steps (None: before every one)."""
    chance = random.Random(seed)
    trial = Trial(folder, nursery)
    ends: list[tuple[str, dict[str, float]]] = []
    for _ in range(moments):
        after_s = chance.uniform(0, trial.seconds)
        ends.append((f"after {after_s:.3f} s", {"after_s": after_s}))
    numbers = range(1, trial.n_steps + 1)
    for n in numbers if steps is None else sorted(chance.sample(numbers, min(steps, trial.n_steps))):
        ends.append((f"before step {n} of {trial.n_steps}", {"at_step": n}))
    for number, (where, ending) in enumerate(ends, 1):
        trial.kill(where, **ending)
        if number % 5 == 0:
            trial.heal()
        if say is not None:
            say(f"{number} of {len(ends)}, {len(trial.tally.faults)} faults")
    trial.heal()
    return trial.tally


def _say(text: str) -> None:
    sys.stderr.write(f"\r{text} ")
    sys.stderr.flush()


def main() -> None:
    """Run as many as asked and print what came of it."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--moments", type=int, default=100)
    asked.add_argument("--steps", default="all", help="a number, or all")
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    nursery = Nursery()
    with tempfile.TemporaryDirectory() as folder:
        steps = None if given.steps == "all" else int(given.steps)
        tally = run_kills(Path(folder) / "w", nursery, given.moments, steps, given.seed, _say)
    nursery.close()
    sys.stdout.write(
        f"{tally.n_killed} killed, {tally.n_ended_before} had ended before; history: {tally.n_old} times the one "
        f"before, {tally.n_new} times the new one; {tally.n_healed} healing runs; {len(tally.faults)} faults\n"
    )
    for fault in tally.faults:
        sys.stdout.write(f"  {fault}\n")
    sys.exit(1 if tally.faults else 0)


if __name__ == "__main__":
    main()
