"""What stands around the name in an exercise cell: superset labels, warm-up and drop marks, sides."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pipeline.clean.cells.folding import fold
from pipeline.clean.cells.remembered import remembered

_LABEL = re.compile(r"^\(?([A-Ha-h]\d{1,2}|\d{1,2}[A-Ha-h]|[A-H])\)?\s*[.):-]\s*(?=\S)|^([A-H]\d)\s+(?=\S)")
_WARM_UP = re.compile(
    r"\s*[(\[-]?\s*\b(?:warm[ -]?ups?(?: sets?)?|w/u|wu|aufw[aä]rm(?:en|satz)?|[ée]chauffement|calentamiento|riscaldamento)\b\s*[)\]:-]?\s*",
    re.IGNORECASE,
)
_DROP = re.compile(r"\s*[(\[-]\s*(?:drop ?sets?|ds)\s*[)\]]?\s*$|\s+drop ?set\s*$", re.IGNORECASE)
_SIDE = re.compile(
    r"\s*(?:[(\[,-]\s*(l|r|left|right|links|rechts|gauche|droite|izq|izquierda|der|derecha|esquerda|direita|sinistra|destra|sx|dx)\.?\s*[)\]]?|\s(L|R|left|right|links|rechts))\s*$",
    re.IGNORECASE,
)
_EACH = re.compile(
    r"\s*[(\[]?\s*\b(?:each side|per side|per leg|per arm|each leg|each arm|e/s|p/s|je seite|pro seite|par c[oô]t[ée]|par jambe|par bras|por lado|por pierna"
    r"|por perna|por bra[cç]o|per lato|per gamba|per braccio|per kant|per been|per arm)\b\s*[)\]]?\s*$",
    re.IGNORECASE,
)
# what is worn, not what is done: Squat (belt) is no belt squat
_WORN = re.compile(
    r"\s*[(\[]\s*(?:no |with |w/ ?)?(?:belt|straps?|sleeves?|wraps?|chalk)\s*[)\]]", re.IGNORECASE
)
_NUMBERED = re.compile(r"^\d{1,2}[.)]\s+(?=\D)")


@dataclass(frozen=True)
class ExerciseText:
    """The bare name, and what the cell says beside it. `side` is "left", "right", "each" or ""."""

    name: str
    superset: str = ""
    kind: str = ""
    side: str = ""


@remembered
def parse_exercise_text(text: str) -> ExerciseText:
    """The parts of an exercise cell; the name is what a catalogue is asked for."""
    name = text.strip()
    superset = kind = side = ""
    label = _LABEL.match(name)
    if label:
        superset, name = (label.group(1) or label.group(2)).upper(), name[label.end() :]
    name = _WORN.sub("", _NUMBERED.sub("", name))
    if _WARM_UP.search(name) and _WARM_UP.sub(" ", name).strip():
        kind, name = "warm_up", _WARM_UP.sub(" ", name).strip()
    elif _DROP.search(name):
        kind, name = "drop", _DROP.sub("", name)
    sided = _SIDE.search(name)
    if sided and name[: sided.start()].strip():
        side, name = parse_side(sided.group(1) or sided.group(2)), name[: sided.start()]
    elif _EACH.search(name) and _EACH.sub("", name).strip():
        side, name = "each", _EACH.sub("", name)
    return ExerciseText(name.strip(" :-–—,"), superset, kind, side)


def parse_side(text: str | None) -> str:
    """`left`, `right` or "" of a side cell."""
    word = fold(text or "").strip(" .")
    if word in (
        "l",
        "left",
        "links",
        "li",
        "gauche",
        "g",
        "izq",
        "izquierda",
        "sx",
        "sinistra",
        "esq",
        "esquerda",
    ):
        return "left"
    if word in (
        "r",
        "right",
        "rechts",
        "re",
        "droite",
        "d",
        "der",
        "derecha",
        "dx",
        "destra",
        "dir",
        "direita",
    ):
        return "right"
    return "each" if word in ("both", "each", "b", "l/r", "beide", "both sides") else ""


_KINDS: tuple[tuple[str, re.Pattern[str]], ...] = (
    (
        "warm_up",
        re.compile(
            r"(?:w|wu|w/u|warm[ _]?-?up(?: set)?s?|warm|aufwarm(?:en|satz)?|echauffement|calentamiento|riscaldamento|aquecimento|opwarmen|warming up|true|yes|y|ja|oui|si|x|1)"
        ),
    ),
    ("drop", re.compile(r"(?:d|drop(?: ?sets?)?|ds|dropsatz|degressif|descendente)")),
    ("rest_pause", re.compile(r"(?:rp|rest[ _-]?pause|cluster(?: set)?|myo(?:[ -]?reps?)?)")),
    ("timed", re.compile(r"(?:timed?|hold|iso(?:metric)?|static)")),
)


@remembered
def parse_set_kind(text: str | None) -> str:
    """`warm_up`, `drop`, `rest_pause`, `timed`, or `work` for anything else a set-type cell says.

    A bare yes, x or 1 counts as a warm-up mark only where the caller knows the column is one.
    """
    word = fold(text or "").strip(" .()*")
    for kind, pattern in _KINDS:
        if pattern.fullmatch(word) and not (
            kind == "warm_up" and word in ("true", "yes", "y", "ja", "oui", "si", "x", "1")
        ):
            return kind
    return "work"


def kind_of_numbered_set(text: str | None) -> str:
    """The kind that stands for or before a set's number: `W`, `w1`, `WU 2`; "" for a plain number or label."""
    word = fold(text or "").strip(" .()*")
    if word[:1].isdigit():
        return ""
    kind = parse_set_kind(re.sub(r" ?#?\d{1,2}$", "", word))
    # D1 is the fourth superset to most, so only a warm-up may carry a number
    return kind if kind == "warm_up" or kind == parse_set_kind(text) else ""


def is_yes(text: str | None) -> bool:
    """True for the marks that say yes in a warm-up column."""
    return fold(text or "").strip(" .") in ("true", "yes", "y", "ja", "oui", "si", "x", "1", "✓", "v")


_SAID_IN_NOTE = (
    (
        "warm_up",
        re.compile(
            r"(?:warm[ -]?up|w/u|aufwarm\w*|echauffement|calentamiento|riscaldamento|opwarmen|aquecimento)\b"
        ),
    ),
    ("drop", re.compile(r"(?:drop ?set|dropsatz)\b")),
    ("rest_pause", re.compile(r"(?:rest[ -]?pause|cluster|myo[ -]?reps?)\b")),
)


def kind_said_in_note(note: str | None) -> str:
    """The kind of set a note begins with (`warm-up, easy`); "" where it says none."""
    folded = fold(note or "").strip(" (*")
    return next((kind for kind, pattern in _SAID_IN_NOTE if pattern.match(folded)), "")
