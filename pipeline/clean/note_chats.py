"""Lines of a pasted chat: when a message was sent, by whom, and what it says."""

from __future__ import annotations

import re
from dataclasses import dataclass

_CHAT = re.compile(
    r"^\[?\s*(?P<day>\d{1,4}[./-]\d{1,2}[./-]\d{2,4}),?\s+\d{1,2}[:.]\d{2}(?:[:.]\d{2})?\s*(?:[ap]\.?\s?m\.?)?\s*"
    r"(?:\]\s*[-–—]?|\s[-–—])\s*(?P<who>[^\W\d][^:]{0,40}):\s*(?P<said>.*)$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class ChatLine:
    """The day a message was sent, its sender, its words; the day of the training it tells of stays open."""

    day: str
    who: str
    said: str


def parse_chat_line(text: str) -> ChatLine | None:
    """`[02/03/2026, 19:41] Marco: Squat 100kg 3x5`; None for any other text."""
    match = _CHAT.match(re.sub("[\u200e\u202f\u00a0]", " ", text).strip())
    return ChatLine(match["day"], match["who"].strip(), match["said"].strip()) if match else None
