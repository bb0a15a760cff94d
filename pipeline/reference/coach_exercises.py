"""The coach's own exercises.csv: exercises the catalogue lacks, and other muscle credit for those it has.

Columns, in any order and any capitals: exercise_id or exercise (name), pattern, implement, load_basis,
bodyweight_share, implements, spellings (separated by ;), muscles (`quads:1; glutes:0.5`), one_sided, timed,
e1rm. A row that names a known exercise changes only what it fills in; its muscles replace the known ones.
A row with a cell that cannot be used is left out whole and becomes a problem.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path

from pipeline.contract.inputs import IMPLEMENTS, LOAD_BASES, MUSCLES, PATTERNS
from pipeline.reference.catalogue import (
    CatalogueProblem,
    CatalogueRows,
    Exercise,
    Spelling,
    plain_key,
    read_pattern_credits,
)

_COLUMN = {
    "exercise id": "exercise_id",
    "id": "exercise_id",
    "exercise": "exercise",
    "name": "exercise",
    "exercise name": "exercise",
    "pattern": "pattern",
    "movement pattern": "pattern",
    "movement": "pattern",
    "implement": "implement",
    "equipment": "implement",
    "load basis": "load_basis",
    "basis": "load_basis",
    "bodyweight share": "bodyweight_share",
    "share of bodyweight": "bodyweight_share",
    "implements": "implements",
    "number of implements": "implements",
    "spellings": "spellings",
    "spelling": "spellings",
    "also written": "spellings",
    "muscles": "muscles",
    "muscle": "muscles",
    "muscle credit": "muscles",
    "one sided": "one_sided",
    "is one sided": "one_sided",
    "unilateral": "one_sided",
    "timed": "timed",
    "is timed": "timed",
    "e1rm": "e1rm",
    "is e1rm lift": "e1rm",
}
_YES, _NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0"}
# what a load means where the coach does not say [P]
_BASIS_OF_IMPLEMENT = {
    "dumbbell": "per_hand",
    "kettlebell": "per_hand",
    "bodyweight": "bodyweight",
    "band": "band",
}
_NO_KILOGRAMS = ("band", "machine_step", "none")
_MISREAD = "This row was left out; correct the cell and update again."


class _BadCell(Exception):
    """A cell that cannot be used; carries the finding."""

    def __init__(self, column: str, raw_text: str, reason_code: str, message: str) -> None:
        super().__init__(message)
        self.column, self.raw_text, self.reason_code, self.message = column, raw_text, reason_code, message


def _word(allowed: tuple[str, ...]) -> Callable[[str, str], str]:
    def parse(column: str, text: str) -> str:
        word = plain_key(text).replace(" ", "_")
        if word not in allowed:
            raise _BadCell(column, text, "unknown_value", f"{column} must be one of {', '.join(allowed)}.")
        return word

    return parse


def _yes_no(column: str, text: str) -> bool:
    word = text.strip().lower()
    if word not in _YES | _NO:
        raise _BadCell(column, text, "unknown_value", f"{column} must be yes or no.")
    return word in _YES


def _number(column: str, text: str) -> float:
    digits = text.strip().replace(",", ".")
    is_percent = digits.endswith("%")
    try:
        value = float(digits.removesuffix("%"))
    except ValueError as err:
        raise _BadCell(column, text, "not_a_number", f"{column} must be a number.") from err
    return value / 100 if is_percent else value


def _share(column: str, text: str) -> float:
    value = _number(column, text)
    if not 0 <= value <= 1.2:
        raise _BadCell(column, text, "out_of_range", f"{column} must lie from 0 to 1.2, or 0 % to 120 %.")
    return value


def _implements(column: str, text: str) -> int:
    value = _number(column, text)
    if value not in (1, 2):
        raise _BadCell(column, text, "out_of_range", f"{column} must be 1 or 2.")
    return int(value)


def _muscles(column: str, text: str) -> dict[str, float]:
    """`quads:1; glutes:0.5` as muscle → credit; a muscle without a figure counts 1."""
    credit: dict[str, float] = {}
    for part in filter(None, (p.strip() for p in text.replace("|", ";").split(";"))):
        name, _, figure = part.replace("=", ":").partition(":")
        muscle = plain_key(name).replace(" ", "_")
        if muscle not in MUSCLES:
            raise _BadCell(column, part, "unknown_muscle", f"A muscle must be one of {', '.join(MUSCLES)}.")
        value = _number(column, figure) if figure.strip() else 1.0
        if not 0 <= value <= 1:
            raise _BadCell(column, part, "out_of_range", "A muscle's credit must lie from 0 to 1.")
        credit[muscle] = value
    return credit


@dataclass(frozen=True)
class _Row:
    """A row of the coach's file, each cell read; None where the cell is empty."""

    exercise_id: str
    name: str
    changes: dict[str, object]
    muscles: dict[str, float] | None
    spellings: tuple[str, ...]


# column → field of Exercise and how its text is read
_FIELDS: dict[str, tuple[str, Callable[[str, str], object]]] = {
    "pattern": ("pattern", _word(PATTERNS)),
    "implement": ("implement", _word(IMPLEMENTS)),
    "load_basis": ("load_basis", _word(LOAD_BASES)),
    "bodyweight_share": ("bodyweight_share", _share),
    "implements": ("implements", _implements),
    "one_sided": ("is_one_sided", _yes_no),
    "timed": ("is_timed", _yes_no),
    "e1rm": ("is_e1rm_lift", _yes_no),
}


def _read_row(cells: dict[str, str]) -> _Row:
    exercise_id = plain_key(cells.get("exercise_id", "")).replace(" ", "_")
    name = cells.get("exercise", "").strip()
    if not exercise_id and not plain_key(name):
        raise _BadCell("exercise", name, "missing_name", "The row names no exercise.")
    changes = {
        target: parse(column, cells[column])
        for column, (target, parse) in _FIELDS.items()
        if cells.get(column, "").strip()
    }
    muscles = _muscles("muscles", cells["muscles"]) if cells.get("muscles", "").strip() else None
    spellings = tuple(filter(plain_key, (s.strip() for s in cells.get("spellings", "").split(";"))))
    return _Row(exercise_id, name, changes, muscles, spellings)


def _new_exercise(row: _Row) -> Exercise:
    """An exercise of the coach's own; what the row leaves open follows from the implement [P]."""
    fields = dict(row.changes)
    implement = str(fields.setdefault("implement", "other"))
    basis = str(fields.setdefault("load_basis", _BASIS_OF_IMPLEMENT.get(implement, "total")))
    fields.setdefault("pattern", "other")
    is_timed = bool(fields.get("is_timed"))
    if basis == "bodyweight":
        fields.setdefault("bodyweight_share", None)
    fields.setdefault("implements", 2 if basis == "per_hand" and not fields.get("is_one_sided") else 1)
    fields.setdefault("is_e1rm_lift", basis in ("total", "per_hand") and not is_timed)
    exercise_id = row.exercise_id or plain_key(row.name).replace(" ", "_")
    name = row.name or exercise_id.replace("_", " ").title()
    return Exercise(exercise_id, name, is_coach_own=True, **fields)  # type: ignore[arg-type]


class _Overlay:
    """The catalogue while the coach's rows are laid over it, one after another."""

    def __init__(self, rows: CatalogueRows) -> None:
        self.exercises = dict(rows.exercises)
        self.credits = dict(rows.credits)
        self.known = {plain_key(s.spelling): s.exercise_id for s in rows.spellings}
        self.known |= {plain_key(ex.exercise_name): key for key, ex in rows.exercises.items()}
        self.catalogue_spellings = rows.spellings
        self.spellings: dict[str, Spelling] = {}
        self.seen: set[str] = set()

    def add(self, row: _Row) -> None:
        """Lay one row over; _BadCell when it names an exercise the file has named before."""
        exercise_id = row.exercise_id or self.known.get(plain_key(row.name), "")
        if not exercise_id:
            exercise_id = plain_key(row.name).replace(" ", "_")
        if exercise_id in self.seen:
            raise _BadCell(
                "exercise",
                row.name or exercise_id,
                "repeated_exercise",
                "The file names this exercise twice; the first row counts.",
            )
        taken = [s for s in row.spellings if plain_key(s) in self.spellings]
        if taken:
            raise _BadCell(
                "spellings", taken[0], "spelling_taken", "Another row of the file has this spelling already."
            )
        self.seen.add(exercise_id)
        if exercise_id in self.exercises:
            shown = {"exercise_name": row.name} if row.exercise_id and row.name else {}
            known = self.exercises[exercise_id]
            if row.changes.get("load_basis") in _NO_KILOGRAMS or row.changes.get("is_timed"):
                row.changes.setdefault("is_e1rm_lift", False)
            self.exercises[exercise_id] = replace(known, **shown, **row.changes)  # type: ignore[arg-type]
        else:
            self.exercises[exercise_id] = _new_exercise(row)
        if row.muscles is not None:
            self.credits[exercise_id] = row.muscles
        elif exercise_id not in self.credits:
            self.credits[exercise_id] = read_pattern_credits().get(self.exercises[exercise_id].pattern, {})
        own_names = (*row.spellings, *([row.name] if row.name else []))
        for spelling in own_names:
            self.spellings[plain_key(spelling)] = Spelling(exercise_id, spelling, is_coach_own=True)

    def done(self, problems: list[CatalogueProblem]) -> CatalogueRows:
        kept = tuple(s for s in self.catalogue_spellings if plain_key(s.spelling) not in self.spellings)
        return CatalogueRows(self.exercises, self.credits, (*kept, *self.spellings.values()), tuple(problems))


def _decode(raw: bytes) -> str:
    try:
        return raw.decode("utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _table(text: str) -> list[list[str]]:
    header = text.lstrip("\r\n").split("\n", 1)[0]
    delimiter = max(",;\t|", key=header.count)
    return list(csv.reader(StringIO(text.replace("\0", "")), delimiter=delimiter))


def lay_coach_exercises_over(rows: CatalogueRows, exercises_csv: Path) -> CatalogueRows:
    """The catalogue with the coach's file laid over it; what the file has wrong is in `problems`."""
    problems: list[CatalogueProblem] = []
    overlay = _Overlay(rows)
    try:
        table = _table(_decode(exercises_csv.read_bytes()))
    except (OSError, csv.Error) as err:
        message = f"{exercises_csv.name} cannot be read: {err}."
        finding = CatalogueProblem(0, "", "", "file_unreadable", message)
        return replace(rows, problems=(finding,))
    filled = [(number, cells) for number, cells in enumerate(table, 1) if any(c.strip() for c in cells)]
    if not filled:
        return rows
    header_row, header = filled[0]
    columns = [_COLUMN.get(plain_key(cell.replace("_", " ")), "") for cell in header]
    if not {"exercise", "exercise_id"} & set(columns):
        message = f"{exercises_csv.name} has no column exercise or exercise_id; nothing of it was used."
        finding = CatalogueProblem(header_row, "", ",".join(header), "missing_column", message)
        return replace(rows, problems=(finding,))
    for cell, column in zip(header, columns, strict=True):
        if cell.strip() and not column:
            message = f"The column {cell.strip()!r} is not known and was not used."
            problems.append(CatalogueProblem(header_row, cell.strip(), cell, "unknown_column", message))
    for number, cells in filled[1:]:
        named = {column: cell for column, cell in zip(columns, cells, strict=False) if column}
        try:
            overlay.add(_read_row(named))
        except _BadCell as bad:
            message = f"{bad.message} {_MISREAD}"
            problems.append(CatalogueProblem(number, bad.column, bad.raw_text, bad.reason_code, message))
    return overlay.done(problems)
