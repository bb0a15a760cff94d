"""The coach's own tables — roster, plans, check-ins: header matched as freely as in logs, rows as texts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from pipeline.clean.headers import HeaderCell, parse_header_cell
from pipeline.clean.reasons import explain
from pipeline.contract.sheets import Sheet, SourceFile


@dataclass(frozen=True)
class CoachRow:
    """One record: its texts by role, the unit its headers name by role, and where it stands."""

    source_sheet: str
    source_row: int
    texts: dict[str, str]
    units: dict[str, str]
    raw_text: str

    def text(self, role: str) -> str:
        """The text in the column of a role, "" where there is none."""
        return self.texts.get(role, "")


@dataclass
class CoachTable:
    """What became of a coach's files: rejected and ignored records as the contract has them."""

    area: str
    rejected: list[tuple[object, ...]] = field(default_factory=list)
    ignored: list[tuple[object, ...]] = field(default_factory=list)

    def reject(
        self,
        source_file: str,
        row: CoachRow | None,
        column: str,
        text: str,
        code: str,
        *,
        is_part: bool = False,
    ) -> None:
        """Note a refused record (or one cell of it)."""
        message, suggestion = explain(code, text)
        place = (row.source_sheet, row.source_row) if row else ("", None)
        self.rejected.append(
            (self.area, source_file, *place, column, text, code, message, suggestion, is_part)
        )

    def ignore(self, source_file: str, sheet: str, row: int, rule: str, raw: str) -> None:
        """Note a record that says nothing, by a named rule."""
        self.ignored.append((self.area, source_file, sheet, row, rule, raw))

    def refuse_file(self, source: SourceFile) -> None:
        """Note a file refused whole."""
        if source.refusal is not None:
            self.rejected.append(
                (
                    self.area,
                    source.source_file,
                    "",
                    None,
                    "",
                    "",
                    source.refusal.reason_code,
                    source.refusal.message,
                    source.refusal.suggestion,
                    False,
                )
            )


def read_rows(source: SourceFile, table: str, needs: tuple[str, ...], kept: CoachTable) -> Iterator[CoachRow]:
    """The rows of all sheets of a file below their headers; header, title and blank records are ignored by rule.

    `needs` are roles a header must have to count as one. A file without such a header is refused whole.
    """
    if source.refusal is not None:
        kept.refuse_file(source)
        return
    found_any = False
    for sheet in source.sheets:
        header = _find_header(sheet, table, needs)
        if header is None:
            continue
        found_any = True
        yield from _rows_below(source.source_file, sheet, table, *header, kept)
    if not found_any:
        kept.rejected.append(
            (
                kept.area,
                source.source_file,
                "",
                None,
                "",
                "",
                "layout_unknown",
                f"No row was found with the headers {', '.join(needs)}.",
                "Add a header row; the README lists the names that are understood.",
                False,
            )
        )
        return
    for sheet in source.sheets:
        if _find_header(sheet, table, needs) is None:
            for row, texts in _texts(sheet):
                kept.ignore(
                    source.source_file,
                    sheet.source_sheet,
                    row,
                    "no_table" if texts else "blank",
                    " | ".join(texts.values()),
                )


def _texts(sheet: Sheet) -> Iterator[tuple[int, dict[str, str]]]:
    for row in sheet.cells.iter_rows(named=True):
        yield row["source_row"], {c: row[c].strip() for c in sheet.columns if row[c]}


def _find_header(
    sheet: Sheet, table: str, needs: tuple[str, ...]
) -> tuple[int, dict[str, HeaderCell]] | None:
    for row, texts in _texts(sheet):
        cells = {c: parse_header_cell(text, table) for c, text in texts.items()}
        roles = {cell.role for cell in cells.values()}
        if all(any(one in roles for one in need.split("|")) for need in needs):
            return row, cells
        if row > 30:
            return None
    return None


def _rows_below(
    source_file: str,
    sheet: Sheet,
    table: str,
    header_row: int,
    cells: dict[str, HeaderCell],
    kept: CoachTable,
) -> Iterator[CoachRow]:
    by_role: dict[str, str] = {}
    for column, cell in cells.items():
        if cell.role:
            by_role.setdefault(cell.role, column)
    units = {role: cells[column].unit for role, column in by_role.items() if cells[column].unit}
    for row, texts in _texts(sheet):
        raw = " | ".join(texts.values())
        if row < header_row:
            kept.ignore(source_file, sheet.source_sheet, row, "title" if texts else "blank", raw)
        elif row == header_row or _repeats_header(texts, cells, table):
            kept.ignore(source_file, sheet.source_sheet, row, "header", raw)
        elif not texts:
            kept.ignore(source_file, sheet.source_sheet, row, "blank", raw)
        else:
            told = {role: texts[column] for role, column in by_role.items() if column in texts}
            beyond = _beyond(texts, cells) if sheet.widths is not None else []
            said = [told.get("note", ""), *beyond]
            is_words = list(by_role)[-1:] == ["note"] and not any(_FIGURE.fullmatch(one) for one in said)
            if beyond and is_words:  # a comma in the last column, whose words nobody can take for others
                told["note"] = ", ".join(filter(None, (told.get("note"), *beyond)))
            coach_row = CoachRow(sheet.source_sheet, row, told, units, raw)
            if beyond and not is_words:
                kept.reject(source_file, coach_row, "record", raw, "row_ragged")
                continue
            yield coach_row


_FIGURE = re.compile(r"[+-]?\d+(?:[.,]\d+)?")


def _beyond(texts: dict[str, str], cells: dict[str, HeaderCell]) -> list[str]:
    """What stands in cells behind the last one of the header."""
    last = max(int(column[1:]) for column in cells)
    return [text for column, text in texts.items() if int(column[1:]) > last]


def _repeats_header(texts: dict[str, str], cells: dict[str, HeaderCell], table: str) -> bool:
    again = [
        c
        for c, text in texts.items()
        if c in cells and cells[c].role and parse_header_cell(text, table).role == cells[c].role
    ]
    return len(again) >= 2 and len(again) >= 0.8 * len(texts)
