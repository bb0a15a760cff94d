"""Readings kept: the same text in the next file is not read again."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import Concatenate, ParamSpec, TypeVar

MOST_TEXTS = 100_000
LONGEST = 100  # longer texts are rare and would fill the memory, so they are read each time

Text = TypeVar("Text", str, str | None)
Rest = ParamSpec("Rest")
Reading = TypeVar("Reading")


def remembered(
    read: Callable[Concatenate[Text, Rest], Reading],
) -> Callable[Concatenate[Text, Rest], Reading]:
    """`read`, a pure function of a text (and of other texts or words), with its last readings kept.

    What it returns must be immutable: every caller gets the same object.
    """
    kept = lru_cache(maxsize=MOST_TEXTS)(read)

    @wraps(read)
    def look_up(text: Text, /, *args: Rest.args, **words: Rest.kwargs) -> Reading:
        if text is not None and len(text) > LONGEST:
            return read(text, *args, **words)
        if args and any(isinstance(one, str) and len(one) > LONGEST for one in args):
            return read(text, *args, **words)
        return kept(text, *args, **words)  # type: ignore[arg-type]

    return look_up
