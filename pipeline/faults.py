"""What to say when something other than the coach's files goes wrong: disk, rights, memory, our own mistake.

The sentence never quotes what was being read: an error text is copied into mails and tickets, and names and
notes of clients must not travel with it.
"""

from __future__ import annotations

import errno
import traceback
from pathlib import Path

from pipeline.errors import SetwrightError

_STANDS = "The last published history stands; run again once that is mended."
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_FULL_SIGNS = ("No space left on device", "File too large", "Disk quota exceeded", "Could not write all")
"""How libraries that are no Python say it, in errors of their own kinds."""
_DENIED = {errno.EACCES, errno.EPERM, errno.EROFS}


def in_a_sentence(err: BaseException) -> SetwrightError:
    """`err` as what happened and what to do; our own errors come back as they are."""
    if isinstance(err, SetwrightError):
        return err
    if isinstance(err, MemoryError) or _is_duckdb(err, "OutOfMemoryException"):
        return SetwrightError("The machine has too little free memory for this.", _STANDS)
    if isinstance(err, OSError):
        return _of_system(err)
    if any(sign in str(err) for sign in _FULL_SIGNS):
        return SetwrightError("The disk is full, or a file may not grow further.", _STANDS)
    if _is_duckdb(err, "IOException", "InternalException", "FatalException"):
        return SetwrightError(
            "A database file could not be read or written.", f"{_STANDS} See: setwright doctor"
        )
    return SetwrightError(
        f"Something went wrong inside setwright: {type(err).__name__} at {_place(err)}.",
        "Your files are untouched. Run again with --traceback before the command to see more.",
    )


def _of_system(err: OSError) -> SetwrightError:
    where = f" at {Path(str(err.filename)).name}" if err.filename else ""
    if err.errno in _FULL:
        return SetwrightError("The disk is full, or a file may not grow further.", _STANDS)
    if err.errno in _DENIED:
        return SetwrightError(
            f"Writing or reading is not allowed{where}: {err.strerror}.",
            f"Check that the folder is yours. {_STANDS}",
        )
    return SetwrightError(f"The system refused a file{where}: {err.strerror or type(err).__name__}.", _STANDS)


def _is_duckdb(err: BaseException, *names: str) -> bool:
    """Whether DuckDB raised it, without importing DuckDB for commands that never used it."""
    return any(kind.__name__ in names and "duckdb" in kind.__module__.lower() for kind in type(err).__mro__)


def _place(err: BaseException) -> str:
    """Module and line of ours where an error arose."""
    frames = traceback.extract_tb(err.__traceback__)
    ours = [frame for frame in frames if "/pipeline/" in frame.filename or "/dashboards/" in frame.filename]
    last = (ours or frames)[-1] if frames else None
    return f"{Path(last.filename).name}:{last.lineno}" if last else "an unknown place"
