"""Text of clients as a terminal may show it: without the characters that move its cursor or retitle its window."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TypeVar

Value = TypeVar("Value")
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def without_controls(value: Value) -> Value:
    """`value` with the control characters of every text in it shown as a question mark."""
    if isinstance(value, str):
        return _CONTROLS.sub("\ufffd", value)  # type: ignore[return-value]
    if isinstance(value, list):
        return [without_controls(one) for one in value]  # type: ignore[return-value]
    if isinstance(value, dict):
        return {key: without_controls(one) for key, one in value.items()}  # type: ignore[return-value]
    return value


def first_of(names: Sequence[str], n: int) -> str:
    """`a.png, b.png and 3 more`: the names given of `n` there are."""
    more = f" and {n - len(names):,} more" if len(names) < n else ""
    return without_controls(", ".join(names)) + more
