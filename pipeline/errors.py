"""What the command line turns into one line on stderr and exit code 1."""


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


class PublishRefused(SetwrightError):
    """A table-level check failed: the last published history stays as it was."""
