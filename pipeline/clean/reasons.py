"""Why a record was refused, as a sentence a coach understands: data in reference/reason.csv."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

_REASON_CSV = Path(__file__).resolve().parents[1] / "reference" / "reason.csv"


@cache
def reasons() -> dict[str, tuple[str, str]]:
    """Reason code → (message with `{text}`, suggestion)."""
    with _REASON_CSV.open(encoding="utf-8", newline="") as handle:
        return {row["reason_code"]: (row["message"], row["suggestion"]) for row in csv.DictReader(handle)}


def explain(code: str, text: str | None) -> tuple[str, str]:
    """Message and suggestion for a code, the text in question put in; KeyError for a code without a sentence."""
    message, suggestion = reasons()[code]
    return message.replace("{text}", (text or "").strip()[:80]), suggestion
