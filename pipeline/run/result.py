"""What an update reports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

RULES_VERSION = "1"
MOST_REFUSED_FILES_NAMED = 3


@dataclass(frozen=True)
class UpdateResult:
    """What a run did: counts over the inbox, and the file that was published.

    `some_refused_files`: the first of the files that could not be read at all, by name.
    """

    as_of: date
    n_files: int
    counts: dict[str, int]
    n_sets: int
    n_questions: int
    n_refused_files: int
    published: Path
    some_refused_files: Sequence[str] = ()
