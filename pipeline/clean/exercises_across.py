"""Tables with exercises across and days down: `Date, Squat kg, Squat reps, …` or whole sets below each exercise."""

from __future__ import annotations

import re
from collections.abc import Callable

from pipeline.clean.cells.folding import fold
from pipeline.clean.headers import SET_ROLES, HeaderCell, parse_header_cell
from pipeline.clean.layout import Layout, row_texts, settled
from pipeline.contract.sheets import Sheet

_MOST_ROWS = 30
_BELOW = (*(role for role in SET_ROLES if role != "note"), "n_sets", "notation", "set_cell")
_ONCE_A_DAY = ("date", "client", "note", "bodyweight", "session_minutes", "session_rpe", "unit")


def exercises_across(sheet: Sheet, knows: Callable[[str], bool]) -> list[Layout]:
    """The layout of a sheet whose header names exercises, to its end; empty where there is none.

    `knows` tells whether a text names an exercise. A row is such a header where all its cells are exercises,
    alone or with what they hold, or words of a log, and days stand below one of them.
    """
    for row in range(1, min(sheet.n_records, _MOST_ROWS) + 1):
        texts = row_texts(sheet, row)
        cells = {c: _head(text, knows) for c, text in texts.items()}
        if len(cells) < 2 or not any(cell.exercise_text for cell in cells.values()):
            continue
        header_rows: tuple[int, ...] = (row,)
        below = row_texts(sheet, row + 1)
        joined = _joined(cells, below, sheet.columns)
        if joined:
            cells, header_rows = joined, (row, row + 1)
            texts = {**texts, **below}
        if not all(cell.role for cell in cells.values()):
            continue
        layout = Layout("exercise_grid", cells, header_rows, header_rows[-1] + 1, sheet.n_records, texts)
        columns = settled(sheet, layout, sheet.n_records, knows)
        roles = {cell.role for cell in columns.values()}
        n_exercises = len({cell.exercise_text for cell in cells.values() if cell.exercise_text})
        says_more = any(cell.role != "notation" for cell in cells.values() if cell.exercise_text)
        if "exercise" not in roles and "date" in roles and (n_exercises >= 2 or says_more or len(cells) == 2):
            return [Layout("exercise_grid", columns, header_rows, layout.first_row, layout.last_row, texts)]
    return []


def _head(text: str, knows: Callable[[str], bool]) -> HeaderCell:
    """`Squat`, `Squat kg`, `Squat set 2 reps`, or a word that every log has; empty for anything else."""
    cell = parse_header_cell(text)
    if cell.role in _ONCE_A_DAY:
        return cell
    if cell.role not in ("", "ignored") or len(text) > 60 or not re.search(r"[^\W\d_]{3}", text):
        return HeaderCell()
    if not knows(text) or re.search(r"[\s(\[_:-]", text):
        words = list(re.finditer(r"[\s(\[_:–-]+", text))
        for gap in words:  # the shortest name first: the words behind it must all say what it holds
            name, rest = text[: gap.start()].strip(), text[gap.start() :].strip(" _:–-")
            inner = parse_header_cell(rest.strip("()[] "))
            if inner.role == "ignored" and knows(name) and fold(rest) != "row":
                return inner  # Squat e1RM, Squat volume
            if inner.role in _BELOW and knows(name):
                return HeaderCell(
                    inner.role, inner.unit, inner.set_number, "", inner.is_per_hand, exercise_text=name
                )
    if knows(text):
        return HeaderCell("notation", exercise_text=text)
    return cell


def _joined(upper: dict[str, HeaderCell], below: dict[str, str], columns: list[str]) -> dict[str, HeaderCell]:
    """Exercises over `kg` and `reps` as one header; empty where the record below is none."""
    lower = {c: parse_header_cell(text) for c, text in below.items()}
    if not lower or not all(cell.role in (*_BELOW, *_ONCE_A_DAY) for cell in lower.values()):
        return {}
    n_dates = sum(cell.role == "date" for cell in lower.values())
    if sum(cell.role in _BELOW for cell in lower.values()) < 2 or n_dates > 1:
        return {}
    joined: dict[str, HeaderCell] = {}
    name = ""
    for column in columns:
        if column in upper:
            name = upper[column].exercise_text
        cell = lower.get(column)
        if cell is None:
            if column in upper and not name:
                joined[column] = upper[column]
        elif cell.role in _BELOW and name:
            joined[column] = HeaderCell(
                cell.role, cell.unit, cell.set_number, "", cell.is_per_hand, exercise_text=name
            )
        else:
            joined[column] = cell
    return joined
