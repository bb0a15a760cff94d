"""What an update reports."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

RULES_VERSION = "1"


@dataclass(frozen=True)
class UpdateResult:
    """What a run did: counts over the inbox, and the file that was published."""

    as_of: date
    n_files: int
    counts: dict[str, int]
    n_sets: int
    n_questions: int
    n_refused_files: int
    published: Path
