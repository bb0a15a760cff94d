"""Lines of a pasted chat: when a message was sent, by whom, and what it says.

What a client writes was done on the day it was written, unless the message speaks of another day or was sent in
the small hours. What the coach writes is no log.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from pipeline.clean.cells.folding import fold

_CHAT = re.compile(
    r"^\[?\s*(?P<day>\d{1,4}[./-]\d{1,2}[./-]\d{2,4}),?\s+(?P<hour>\d{1,2})[:.]\d{2}(?:[:.]\d{2})?\s*(?P<half>[ap]\.?\s?m\.?)?\s*"
    r"(?:\]\s*[-–—]?|\s[-–—])\s*(?P<who>[^\W\d][^:]{0,40}):\s*(?P<said>.*)$",
    re.IGNORECASE,
)
_MORNING = 4
_COACH = re.compile(r"\b(?:coach|trainer(?:in)?|entrenador|entraineur|allenatore|treinador|pt)\b")
_OTHER_DAY = re.compile(
    r"\b(?:yesterday|tomorrow|last (?:night|week|time)|gestern|morgen|hier|demain|ayer|manana|ieri|domani|gisteren"
    r"|ontem|igar|(?:mon|tues|wednes|thurs|fri|satur|sun)day|montag|dienstag|mittwoch|donnerstag|freitag|samstag|sonntag"
    r"|lundi|mardi|mercredi|jeudi|vendredi|samedi|dimanche|lunes|martes|miercoles|jueves|viernes|sabado|domingo"
    r"|lunedi|martedi|mercoledi|giovedi|venerdi|domenica|maandag|dinsdag|woensdag|donderdag|vrijdag|zaterdag|zondag)\b"
)


@dataclass(frozen=True)
class ChatLine:
    """The day a message was sent ("" where it need not be the day of training), its sender, its words."""

    day: str
    sent: str
    who: str
    said: str

    @property
    def is_from_coach(self) -> bool:
        """True for a sender called so."""
        return _COACH.search(fold(self.who)) is not None


def parse_chat_line(text: str) -> ChatLine | None:
    """`[02/03/2026, 19:41] Marco: Squat 100kg 3x5`; None for any other text."""
    match = _CHAT.match(re.sub("[\u200e\u202f\u00a0]", " ", text).strip())
    if not match:
        return None
    hour = int(match["hour"]) % 12 if match["half"] else int(match["hour"])
    is_small_hour = hour < _MORNING and not (match["half"] or "").lower().startswith("p")
    is_open = is_small_hour or _OTHER_DAY.search(fold(match["said"])) is not None
    day = match["day"]
    return ChatLine("" if is_open else day, day, match["who"].strip(), match["said"].strip())
