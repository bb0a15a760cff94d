"""Text on its way into a csv file: what a spreadsheet program would run as a formula is kept from running.

The first characters that start a formula are those of OWASP, "CSV Injection", with their full-width forms.
"""

from __future__ import annotations

import re

STARTS = "=+@\t\r\n＝＋＠－-"
"""A cell that begins with one of these may run; one that is a plain number does not."""

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


def defused(text: str) -> str:
    """`text` with an apostrophe before it where a spreadsheet would run it."""
    return f"'{text}" if text[:1] and text[0] in STARTS and not _NUMBER.fullmatch(text) else text
