"""Tables without a header: read where the cells leave no doubt or the coach has named the columns."""

from __future__ import annotations

import re
from collections.abc import Callable

import polars as pl

from pipeline.clean.cells.folding import fold
from pipeline.clean.cells.loads import parse_load
from pipeline.clean.cells.repetitions import parse_reps
from pipeline.clean.cells.set_notation import parse_notation
from pipeline.clean.headers import HeaderCell, is_date_heading, parse_header_cell
from pipeline.clean.layout import Layout
from pipeline.clean.other_records import is_total_row
from pipeline.contract.sheets import Sheet

_MOSTLY = 0.7
_LISTED = re.compile(r"\d{1,2}(?: ?[/,;] ?\d{1,2}){2,}")
_ROLE_WORDS = {
    "set": "set_number",
    "number": "set_number",
    "weight": "load",
    "kg": "load",
    "lb": "load",
    "repetitions": "reps",
    "skip": "ignored",
    "-": "ignored",
    "": "ignored",
}


def headerless_layouts(sheet: Sheet, knows: Callable[[str], bool], answer: str) -> list[Layout]:
    """One layout for the whole sheet, or none.

    Read without asking: a date, an exercise and a column of whole set notations, which mean themselves. With
    plain numbers only the coach can say which is which: `answer` then names the columns in order.
    """
    if not sheet.n_records:
        return []
    columns = _answered(sheet, answer) or _self_evident(sheet, knows)
    return [Layout("set_rows", columns, (), 1, sheet.n_records)] if columns else []


def looks_like_log(sheet: Sheet, knows: Callable[[str], bool]) -> bool:
    """True where a table without a header holds exercises and numbers, so that it is worth a question."""
    if len(sheet.columns) < 3:
        return False
    kinds = [_kind_of_column(sheet.cells, column, knows) for column in sheet.columns]
    return "exercise" in kinds and kinds.count("number") >= 2


def _answered(sheet: Sheet, answer: str) -> dict[str, HeaderCell]:
    words = [word.strip() for word in answer.split(",")]
    if len(words) < 3:
        return {}
    columns: dict[str, HeaderCell] = {}
    for column, word in zip(sheet.columns, words, strict=False):
        header = parse_header_cell(word)
        columns[column] = HeaderCell(_ROLE_WORDS[word], header.unit) if word in _ROLE_WORDS else header
    roles = {cell.role for cell in columns.values()}
    return columns if "exercise" in roles and roles & {"reps", "notation", "duration"} else {}


def _self_evident(sheet: Sheet, knows: Callable[[str], bool]) -> dict[str, HeaderCell]:
    texts = [pl.col(c).is_not_null() for c in sheet.columns]
    first, second = sheet.columns[0], sheet.columns[min(1, len(sheet.columns) - 1)]
    is_merged = (pl.col(first) == pl.col(second)).fill_null(value=False) & (len(sheet.columns) > 1)
    is_title = is_merged | is_total_row(sheet.cells, first)
    of_sets = sheet.cells.filter((pl.sum_horizontal(texts) > 1) & ~is_title)
    if of_sets.height < 0.5 * sheet.cells.filter(pl.any_horizontal(texts)).height:
        of_sets = sheet.cells  # too many titles to be titles
    kinds = {column: _kind_of_column(of_sets, column, knows) for column in sheet.columns}
    roles = list(kinds.values())
    whole = roles.count("notation") == 1 and not {"load", "reps"} & set(roles)
    apart = roles.count("load") == 1 and roles.count("reps") == 1 and "notation" not in roles
    if roles.count("exercise") != 1 or not (whole or apart) or roles.count("date") > 1 or "number" in roles:
        return {}
    return {column: HeaderCell(kind if kind != "text" else "note") for column, kind in kinds.items()}


def _kind_of_column(cells: pl.DataFrame, column: str, knows: Callable[[str], bool]) -> str:
    texts = cells[column].drop_nulls().head(200).to_list()
    if not texts:
        return "text"

    def share(test: Callable[[str], bool]) -> float:
        return sum(test(text) for text in texts) / len(texts)

    if share(is_date_heading) >= _MOSTLY:
        return "date"
    if share(lambda text: re.fullmatch(r"\d{1,4}(?:[.,]\d+)?", text.strip()) is not None) >= _MOSTLY:
        return "number"
    if share(lambda text: bool(parse_load(text).unit) and not parse_load(text).problem) >= _MOSTLY:
        return "load"
    if (
        share(
            lambda text: (
                _LISTED.fullmatch(text.strip()) is not None
                or (re.search(r"[a-z]{2}", fold(text)) is not None and parse_reps(text).reps is not None)
            )
        )
        >= _MOSTLY
    ):
        return "reps"
    if share(_is_notation) >= _MOSTLY:
        return "notation"
    return "exercise" if share(knows) >= _MOSTLY else "text"


def _is_notation(text: str) -> bool:
    return bool(re.search(r"\dx|x\d|@| x ", fold(text))) and bool(parse_notation(text).parts)
