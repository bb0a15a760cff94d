"""Header cells: which word means which column, in several languages, as data in reference/header_word.csv."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path

from pipeline.clean.cells.dates import DateReading, parse_date
from pipeline.clean.cells.folding import fold
from pipeline.clean.cells.loads import parse_unit
from pipeline.clean.cells.set_runs import PairMeaning

_REFERENCE = Path(__file__).resolve().parents[1] / "reference"
_HEADER_CSV, _SIDE_CSV = _REFERENCE / "header_word.csv", _REFERENCE / "side_word.csv"
SET_ROLES = ("reps", "load", "rpe", "rir", "duration", "note", "reps_left", "reps_right", "effort")
_AMOUNT_ROLES = (*(role for role in SET_ROLES if role != "note"), "n_sets", "notation", "set_cell")


@dataclass(frozen=True)
class HeaderCell:
    """What a header cell says of its column.

    `role` is a name of reference/header_word.csv, "set_cell" for a column that holds whole sets, "date_column"
    for a date that heads a column, "" for a word that is not known. `set_number` is given where columns stand
    side by side for set 1, 2 …; `unit` where the header names one ("kg", "lb", "s").
    """

    role: str = ""
    unit: str = ""
    set_number: int = 0
    date_text: str = ""
    is_per_hand: bool = False
    planned: str = ""
    exercise_text: str = ""


@cache
def _side_words() -> dict[str, str]:
    """Folded word → "planned" or "done", the longest first."""
    with _SIDE_CSV.open(encoding="utf-8", newline="") as handle:
        words = {word: row["side"] for row in csv.DictReader(handle) for word in row["words"].split("|")}
    return dict(sorted(words.items(), key=lambda pair: -len(pair[0])))


@lru_cache(maxsize=10_000)
def parse_side(text: str | None) -> tuple[str, str]:
    """The side a header cell is on, "planned" or "done", and its other words; ("", "") where it is on none."""
    words = _plain(text or "")
    for word, side in _side_words().items():
        if f" {word} " in f" {words} ":
            return side, f" {words} ".replace(f" {word} ", " ", 1).strip()
    return "", ""


def as_planned(cell: HeaderCell) -> HeaderCell:
    """The column of what was planned for it; columns that hold no amounts stay what they are."""
    if cell.planned or cell.role not in _AMOUNT_ROLES:
        return cell
    return HeaderCell("ignored", cell.unit, is_per_hand=cell.is_per_hand, planned=cell.role)


@cache
def header_phrases(table: str) -> dict[str, str]:
    """Folded phrase → role, for one of the tables log, plan, check_in, client."""
    with _HEADER_CSV.open(encoding="utf-8", newline="") as handle:
        return {
            _plain(phrase): row["role"]
            for row in csv.DictReader(handle)
            if row["table"] == table
            for phrase in row["phrases"].split("|")
        }


def _plain(text: str) -> str:
    folded = re.sub(r"[^a-z0-9%#?]+", " ", fold(text)).strip()
    return re.sub(r" ?\?$", "", folded) or folded


_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")
_SET_FIRST = re.compile(r"(?:set|satz|serie|series|s|st|sett|reeks|ronde) ?#? ?(\d{1,2})(?: (.*))?$")
_SET_ORDINAL = re.compile(r"(\d{1,2}) ?(?:st|nd|rd|th|er|e|a|o)? ?(?:set|satz|serie|reeks)(?: (.*))?$")
_NUMBER_LAST = re.compile(r"(.*?[a-z%]) ?#?(\d{1,2})$")
_SET_LAST = re.compile(r"(.*?) (?:of |for |in )?(?:set|satz|serie|s) ?(\d{1,2})$")
_SECONDS = {"s", "sec", "secs", "seconds", "sek", "sekunden", "segundos", "secondi", "secondes"}
_PER_HAND = re.compile(
    r"\b(?:per|pro|par|por|each|je|cada) ?(?:hand|db|dumbbell|arm|main|mano|hantel)s?\b|\bp ?h\b"
)


@lru_cache(maxsize=100_000)
def parse_header_cell(text: str | None, table: str = "log") -> HeaderCell:
    """The reading of one header cell; an empty `HeaderCell` for what no list knows."""
    if not text or len(text) > 60:
        return HeaderCell()
    phrases = header_phrases(table)
    inside = " ".join(_BRACKETS.findall(text))
    outside = _plain(_BRACKETS.sub(" ", text))
    whole = _plain(text)
    unit = _unit_in(inside) or _unit_in(outside)
    per_hand = bool(_PER_HAND.search(fold(text)))
    side = _on_a_side(text) if table == "log" else None
    if side is not None and (side.planned or whole not in phrases):
        return side
    if whole in phrases:
        return HeaderCell(phrases[whole], unit, is_per_hand=per_hand)
    if parse_unit(outside) and outside:
        return HeaderCell("load", parse_unit(outside), is_per_hand=per_hand)
    if table == "log":
        set_cell = _set_column(outside, unit, phrases, per_hand)
        if set_cell.role:
            return set_cell
    stripped = _without_unit(_PER_HAND.sub(" ", outside))
    for candidate in (outside, stripped):
        if candidate in phrases:
            # Effort (RPE), Intensity (RIR): the brackets name the scale
            named = phrases.get(_plain(inside), "") if phrases[candidate] == "effort" else ""
            role = named if named in ("rpe", "rir") else phrases[candidate]
            return HeaderCell(role, unit, is_per_hand=per_hand)
    for part in re.split(r"[/|&]| or ", text):
        if part != text and _plain(part) in phrases and len(_plain(part)) > 1:
            return HeaderCell(phrases[_plain(part)], unit, is_per_hand=per_hand)
    if _plain(inside) in phrases and phrases[_plain(inside)] in ("rpe", "rir", "load", "reps"):
        return HeaderCell(phrases[_plain(inside)], unit, is_per_hand=per_hand)  # Ressenti (RPE)
    if table == "log" and legend_of(text):
        return HeaderCell("notation", unit, is_per_hand=per_hand)
    if stripped == "" and unit in ("kg", "lb"):
        return HeaderCell("load", unit, is_per_hand=per_hand)
    if table == "log":
        reading = parse_date(text)
        if not reading.is_empty and not reading.problem:
            return HeaderCell("date_column", date_text=text)
    return HeaderCell()


def _on_a_side(text: str) -> HeaderCell | None:
    """`Planned reps`, `kg (actual)`: what the other words say, on one of the sides; None for a header on none."""
    side, rest = parse_side(text)
    if not side:
        return None
    if not rest:
        return HeaderCell("ignored", planned="notation") if side == "planned" else HeaderCell("done")
    inner = parse_header_cell(rest)
    if inner.role == "exercise":
        return HeaderCell("ignored", planned="exercise") if side == "planned" else inner
    if inner.role not in _AMOUNT_ROLES:
        return None
    return as_planned(inner) if side == "planned" else inner


def _set_column(outside: str, unit: str, phrases: dict[str, str], per_hand: bool) -> HeaderCell:
    for pattern in (_SET_FIRST, _SET_ORDINAL):
        match = pattern.fullmatch(outside)
        if match:
            rest = _without_unit(match.group(2) or "")
            if parse_unit(match.group(2) or ""):
                return HeaderCell(
                    "load", parse_unit(match.group(2)), int(match.group(1)), is_per_hand=per_hand
                )
            role = phrases.get(match.group(2) or "", phrases.get(rest, ""))
            if rest == "" and (not unit or re.fullmatch(r"s ?#? ?\d{1,2}", outside)):  # S1 is no second
                return HeaderCell("set_cell", "", int(match.group(1)))
            if rest == "" and unit in ("kg", "lb"):
                return HeaderCell("load", unit, int(match.group(1)), is_per_hand=per_hand)
            if role in SET_ROLES or role == "notation":
                return HeaderCell(
                    "set_cell" if role == "notation" else role,
                    unit,
                    int(match.group(1)),
                    is_per_hand=per_hand,
                )
    for pattern in (_SET_LAST, _NUMBER_LAST):
        match = pattern.fullmatch(outside)
        if match:
            base = match.group(1).strip()
            if base == "w":
                return HeaderCell("load", unit, int(match.group(2)), is_per_hand=per_hand)
            if parse_unit(base):
                return HeaderCell("load", parse_unit(base), int(match.group(2)), is_per_hand=per_hand)
            role = phrases.get(base, phrases.get(_without_unit(base), ""))
            if role in (*SET_ROLES, "exercise"):
                return HeaderCell(role, unit, int(match.group(2)), is_per_hand=per_hand)
    return HeaderCell()


_LEGEND_WORDS = {
    **dict.fromkeys(("sets", "set", "satze", "saetze", "series", "serie", "serien"), "sets"),
    **dict.fromkeys(("reps", "rep", "wdh", "repetitions", "repeticiones", "ripetizioni", "rip"), "reps"),
    **dict.fromkeys(
        ("weight", "load", "kg", "kgs", "lb", "lbs", "wt", "gewicht", "poids", "peso", "carga"), "load"
    ),
}
_MEANINGS: dict[str, PairMeaning] = {
    "load reps": "load_reps",
    "reps load": "reps_load",
    "sets reps": "sets_reps",
    "sets reps load": "sets_reps",
    "load reps sets": "load_reps_sets",
    "load sets reps": "load_sets_reps",
}


@lru_cache(maxsize=10_000)
def legend_of(text: str) -> PairMeaning:
    """What `weight x reps x sets` says of the figures below it; "" for any other text."""
    pieces = re.split(r" ?[x*@] ?(?![a-z]*x)| x ", fold(text).strip(" ()[].:"))
    words = [re.sub(r"[^a-z ]", " ", piece).split() for piece in pieces]
    kinds = [
        next((_LEGEND_WORDS[w] for w in (piece[:1] if place else piece[-1:]) if w in _LEGEND_WORDS), "")
        for place, piece in enumerate(words)
    ]
    return _MEANINGS.get(" ".join(kinds), "") if len(kinds) > 1 and not re.search(r"\d", text) else ""


def _unit_in(text: str) -> str:
    for word in re.split(r"[^a-z]+", fold(text)):
        if word in _SECONDS:
            return "s"
        if word and word != "k" and parse_unit(word):
            return parse_unit(word)
    return ""


def _without_unit(text: str) -> str:
    words = [w for w in text.split() if not (w != "k" and parse_unit(w)) and w not in ("in", "min")]
    return " ".join(w for w in words if w not in _SECONDS or len(words) == 1)


def is_date_heading(text: str | None) -> bool:
    """True for a cell that is nothing but a date."""
    reading: DateReading = parse_date(text)
    return not reading.is_empty and not reading.problem and reading.serial is None


def with_top_sets(cells: dict[str, HeaderCell]) -> dict[str, HeaderCell]:
    """`Top set` and `Back-off` as columns of whole sets, where no other column says how much was done."""
    if any(cell.role in _AMOUNT_ROLES for cell in cells.values()):
        return cells
    places = [c for role in ("top_set", "back_off") for c, cell in cells.items() if cell.role == role]
    return {
        **cells,
        **{c: HeaderCell("set_cell", cells[c].unit, place) for place, c in enumerate(places, start=1)},
    }


def with_reps_of_sides(cells: dict[str, HeaderCell], texts: Mapping[str, str]) -> dict[str, HeaderCell]:
    """`Reps left` beside `Reps right` is a side; in `W1, R1, W2, R2` R is for repetitions, as no L is there."""
    if any(cell.role == "reps_left" for cell in cells.values()):
        return cells
    left = [c for c, text in texts.items() if _plain(text) == "reps left" and c in cells]
    if left and any(cell.role == "reps_right" for cell in cells.values()):  # alone they are in reserve
        return {**cells, left[0]: replace(cells[left[0]], role="reps_left")}
    return {
        c: replace(cell, role="reps") if cell.role == "reps_right" and cell.set_number else cell
        for c, cell in cells.items()
    }


_FEWEST_AGAIN = 3  # two may be planned and done, or two lifts


def with_groups_again(cells: dict[str, HeaderCell], texts: Mapping[str, str]) -> dict[str, HeaderCell]:
    """`kg, reps, kg, reps, kg, reps`: the same words again to the right, three times or more, are set 1, 2, 3."""
    roles = [cell.role for cell in cells.values()]
    if roles.count("exercise") > 1 or roles.count("date") > 1:
        return cells  # tables side by side
    amounts = [
        (c, cell, fold(texts.get(c, "")).strip())
        for c, cell in cells.items()
        if cell.role in SET_ROLES and cell.role != "note" and not cell.set_number
    ]
    words = [word for _, _, word in amounts]
    if not words:
        return cells
    size = words.index(words[0], 1) if words.count(words[0]) > 1 else 0
    n_groups = len(words) // size if size else 0
    if n_groups < _FEWEST_AGAIN or words != words[:size] * n_groups or len(set(words[:size])) < size:
        return cells
    return {
        **cells,
        **{c: replace(cell, set_number=place // size + 1) for place, (c, cell, _) in enumerate(amounts)},
    }


def with_sides(cells: dict[str, HeaderCell], texts: Mapping[str, str]) -> dict[str, HeaderCell]:
    """`Reps` beside `Reps done` is what was planned."""
    done = {
        cell.role
        for c, cell in cells.items()
        if cell.role in _AMOUNT_ROLES and parse_side(texts.get(c))[0] == "done"
    }
    return {
        c: as_planned(cell)
        if cell.role in done and not cell.set_number and not parse_side(texts.get(c))[0]
        else cell
        for c, cell in cells.items()
    }
