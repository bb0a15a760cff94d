"""A progress line on stderr: overwritten in a terminal, one line a stage elsewhere."""

from __future__ import annotations

import shutil
import sys
import time
from types import TracebackType

_STAGES = {
    "start": "Starting",
    "ingest": "Reading files",
    "clean": "Reading records",
    "validate": "Checking rows",
    "model": "Computing",
    "spark": "Computing on Spark",
    "publish": "Publishing",
}


class Progress:
    """Shows stage and item; use as a context manager so that the line is cleared at the end."""

    def __init__(self, *, enabled: bool, is_terminal: bool) -> None:
        self._enabled, self._is_terminal = enabled, is_terminal
        self._stage, self._shown_at = "", 0.0

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._enabled and self._is_terminal:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()

    def show(self, stage: str, item: str) -> None:
        """Show what is being done; at most ten times a second."""
        if not self._enabled:
            return
        label = _STAGES.get(stage, stage)
        if not self._is_terminal:
            if stage != self._stage:
                sys.stderr.write(f"{label} …\n")
            self._stage = stage
            return
        now = time.monotonic()
        if stage == self._stage and now - self._shown_at < 0.1:
            return
        self._stage, self._shown_at = stage, now
        width = shutil.get_terminal_size().columns - 1
        sys.stderr.write(f"\r\x1b[K{f'{label}: {item}'[:width]}")
        sys.stderr.flush()
