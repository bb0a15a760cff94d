"""What the command line turns into one line on stderr and exit code 1."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


class SetwrightError(Exception):
    """A problem the person at the keyboard can mend.

    `what` says what is wrong and where, `do_next` what to do about it; both are sentences.
    """

    def __init__(self, what: str, do_next: str = "") -> None:
        super().__init__(f"{what} {do_next}".strip())
        self.what = what
        self.do_next = do_next


class WorkspaceError(SetwrightError):
    """The workspace folder, its settings or its roster cannot be used."""


class UnknownClient(SetwrightError):
    """A client the history does not know; names the ids that are near, or the first ones."""

    def __init__(self, client_id: str, known_ids: Iterable[str]) -> None:
        ids = sorted(known_ids)
        near = get_close_matches(client_id, ids, n=3) or ids[:5]
        super().__init__(
            f"There is no client {client_id!r} in the history.",
            f"Clients are, for example: {', '.join(near)}." if near else "The history has no clients.",
        )


class PublishRefused(SetwrightError):
    """A table-level check failed: the last published history stays as it was."""
