"""How a sheet is laid out: where its headers stand, what each column holds, which of the layouts it follows."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import polars as pl

from pipeline.clean.headers import (
    HeaderCell,
    as_planned,
    is_date_heading,
    parse_header_cell,
    parse_side,
    with_groups_again,
    with_reps_of_sides,
    with_sides,
    with_top_sets,
)
from pipeline.clean.row_rules import parse_date_heading
from pipeline.clean.set_counts import counts_up, never_counts_up, numbers_sets
from pipeline.clean.side_by_side import Span, find_spans
from pipeline.clean.week_days import monday_of_week, parse_week_heading, parse_weekday
from pipeline.contract.sheets import Sheet

LayoutKind = Literal["set_rows", "set_columns", "date_grid", "exercise_grid", "plan", "unknown"]
MOST_TEXTS = 20_000  # of a column with more different texts than this only the beginning is looked at
AMOUNTS = frozenset({"reps", "load", "notation", "n_sets", "set_cell", "duration"})
WHO_OR_WHAT = {"exercise", "date", "client"}
HOW_MUCH = {"reps", "load", "notation", "n_sets", "set_cell", "duration", "reps_left", "reps_right"}


@dataclass(frozen=True)
class Layout:
    """A header and the records below it, up to the next header.

    `columns` maps a cell column (`c0` …) to what its header says; `header_rows` are the records the header
    itself takes; `first_row`/`last_row` bound the records below. `span`: its columns, where tables stand side by
    side.
    """

    kind: LayoutKind
    columns: dict[str, HeaderCell]
    header_rows: tuple[int, ...]
    first_row: int
    last_row: int
    header_texts: dict[str, str] = field(default_factory=dict)
    span: Span | None = None

    def column_of(self, role: str) -> str | None:
        """The first column with a role, set columns left out; None when there is none."""
        return next(
            (
                c
                for c, cell in self.columns.items()
                if cell.role == role and not cell.set_number and not cell.exercise_text
            ),
            None,
        )


def find_layouts(sheet: Sheet, knows: Callable[[str], bool] = lambda text: False) -> list[Layout]:
    """The layouts of a sheet, top to bottom; empty when no header can be found.

    `knows` tells whether a text names an exercise: a column without a header that holds those is theirs.
    """
    candidates = _candidate_rows(sheet)
    layouts: list[Layout] = []
    used: set[int] = set()
    for row, texts in candidates:
        if row in used:
            continue
        cells = header_cells(texts)
        below = row_texts(sheet, row + 1)
        lower = {c: parse_header_cell(text) for c, text in below.items()}
        if any(cell.date_text for cell in cells.values()) and find_spans(lower, sheet.columns, AMOUNTS):
            continue  # each date is the title of a table below it
        if _is_title(texts, lower):
            continue
        if layouts and _dates_tables(cells, layouts[-1], sheet):
            continue
        joined = _join_two_rows(texts, below)
        header_rows: tuple[int, ...] = (row,)
        kind = kind_of_header(cells)
        if joined is not None:
            joined_cells, joined_kind = joined, kind_of_header(joined)
            if joined_kind != "unknown" and (
                kind == "unknown"
                or len(_roles(joined_cells)) > len(_roles(cells))
                or any(c.set_number or c.date_text for c in joined_cells.values())
            ):
                cells, kind, header_rows = joined_cells, joined_kind, (row, row + 1)
        if kind != "unknown":
            layouts.append(
                Layout(
                    kind, cells, header_rows, header_rows[-1] + 1, 0, {c: t for c, t in texts.items() if t}
                )
            )
            used.update(header_rows)
    if not layouts:
        return []
    ends = [layout.header_rows[0] - 1 for layout in layouts[1:]] + [sheet.n_records]
    return [
        replace(part, columns=settled(sheet, part, end, knows), last_row=end)
        for entry, end in zip(layouts, ends, strict=True)
        for part in _side_by_side(entry, sheet.columns)
    ]


def header_cells(texts: Mapping[str, str]) -> dict[str, HeaderCell]:
    """What the texts of one record say, taken for a header."""
    cells = {c: parse_header_cell(text) for c, text in texts.items() if text}
    cells = with_reps_of_sides(cells, texts)
    cells = with_sides(cells, texts)
    cells = with_top_sets(cells)
    return with_groups_again(cells, texts)


def _is_title(texts: dict[str, str], lower: dict[str, HeaderCell]) -> bool:
    """True for merged cells, and for `Date: | 2 March` above a header of its own."""
    said = list(texts.values())
    if len(said) > 1 and len(set(said)) == 1:
        return True
    is_pair = len(said) == 2 and parse_header_cell(said[0].rstrip(" :")).role in ("date", "client")
    return is_pair and kind_of_header(lower) != "unknown"


def _dates_tables(cells: dict[str, HeaderCell], above: Layout, sheet: Sheet) -> bool:
    """True for a row of dates below the header of tables side by side: no grid begins, each table has its day."""
    spans = find_spans(above.columns, sheet.columns, AMOUNTS)
    return all(cell.date_text for cell in cells.values()) and 2 <= len(cells) <= len(spans)


def _side_by_side(layout: Layout, columns: list[str]) -> list[Layout]:
    """The layouts of a header that stands for several tables side by side."""
    spans = find_spans(layout.columns, columns, AMOUNTS) if layout.kind in ("set_rows", "set_columns") else []
    return [_within(layout, span) for span in spans] or [layout]


def _within(layout: Layout, span: Span) -> Layout:
    """One of several tables side by side; a number that all its columns bear is the table's, not a set's."""
    cells = {c: layout.columns[c] for c in span.columns if c in layout.columns}
    numbers = {cell.set_number for cell in cells.values() if cell.set_number}
    if len(numbers) == 1 and any(cell.role == "exercise" and cell.set_number for cell in cells.values()):
        cells = {c: replace(cell, set_number=0) for c, cell in cells.items()}
        return replace(layout, kind=kind_of_header(cells), columns=cells, span=span)
    return replace(layout, columns=cells, span=span)


def _roles(cells: dict[str, HeaderCell]) -> set[str]:
    return {cell.role for cell in cells.values() if cell.role and cell.role != "ignored"}


def kind_of_header(cells: dict[str, HeaderCell]) -> LayoutKind:
    """The layout a row of header cells stands for; "unknown" when it is no header."""
    known = [cell for cell in cells.values() if cell.role]
    roles = _roles(cells)
    dates = [cell for cell in known if cell.date_text]
    # 11/10 in a data row reads as a date too: dates head a grid when they have a year, a month or day name,
    # or stand beside a header word
    sure = [cell for cell in dates if re.search(r"[A-Za-z]{3}|\d{4}|\d+\D\d+\D\d+", cell.date_text)]
    is_headed = "exercise" in roles or len(dates) == len(cells)
    n_other = sum(not cell.planned for cell in cells.values())
    if (
        len(dates) >= 2
        and len(dates) >= 0.5 * n_other
        and is_headed
        and (len(sure) == len(dates) or "exercise" in roles)
    ):
        return "date_grid"
    if len(dates) == 1 and "exercise" in roles and len(cells) == 2:
        return "date_grid"
    if dates or len(known) < max(2, 0.5 * len(cells)):
        return "unknown"
    if any(cell.set_number for cell in known) and ("exercise" in roles or "date" in roles):
        return "set_columns"
    if roles & HOW_MUCH and (roles & WHO_OR_WHAT or len(roles) >= 3):
        return "set_rows"
    if {"exercise", "done"} <= roles:
        return "set_rows"
    if "exercise" in roles and any(cell.planned for cell in known) and len(known) == len(cells):
        return "plan"
    return "unknown"


def _candidate_rows(sheet: Sheet) -> list[tuple[int, dict[str, str]]]:
    """Records that could be a header, alone or with the one below, found by each column's distinct texts.

    Told by counts alone, so that the many records of plain numbers and dates are not looked at one by one: two
    header words here or in the record below, or dates enough to head a grid.
    """
    if not sheet.n_records:
        return []
    texts = {}
    for column in sheet.columns:
        texts[column] = sheet.cells[column].drop_nulls().unique().to_list()
        if len(texts[column]) > MOST_TEXTS:
            texts[column] = sheet.cells[column].head(2_000).drop_nulls().unique().to_list()
    frame = sheet.cells.filter(could_head(texts)).head(5_000)
    return [
        (row["source_row"], {c: row[c] for c in sheet.columns if row[c]})
        for row in frame.iter_rows(named=True)
    ]


def could_head(texts: Mapping[str, Sequence[str]], is_last: pl.Expr | None = None) -> pl.Expr:
    """True for a record that could be a header, alone or with the one below; `texts`: column → distinct texts.

    `is_last` is true for records that have none below in their own file.
    """
    words, dates, exercises, sides = ([pl.lit(0)] for _ in range(4))
    for column, its in texts.items():
        known = {text: cell for text in its if (cell := parse_header_cell(text)).role}
        words += _is_one_of(column, [text for text, cell in known.items() if not cell.date_text])
        dates += _is_one_of(column, [text for text, cell in known.items() if cell.date_text])
        sides += _is_one_of(column, [text for text in its if parse_side(text)[0] and len(text) < 30])
        exercises += _is_one_of(column, [text for text, cell in known.items() if cell.role == "exercise"])
    if len(words) == 1 and len(dates) <= 2:
        return pl.lit(value=False)
    n_words, n_dates = pl.sum_horizontal(words), pl.sum_horizontal(dates)
    n_cells = pl.sum_horizontal(pl.col(c).is_not_null() & (pl.col(c) != "") for c in texts)
    n_words_below = n_words.shift(-1, fill_value=0)
    if is_last is not None:
        n_words_below = pl.when(is_last).then(0).otherwise(n_words_below)
    is_headed = pl.sum_horizontal(exercises) > 0
    heads_a_grid = (n_dates >= 2) & (2 * n_dates >= n_cells) & (is_headed | (n_dates == n_cells))
    heads_a_grid = heads_a_grid | ((n_dates == 1) & is_headed & (n_cells == 2))
    least = 2 if len(texts) > 1 else 1
    return ((n_words + n_dates >= least) | ((pl.sum_horizontal(sides) > 0) & (n_words_below > 2))) & (
        (n_words >= 2) | (n_words_below >= 2) | heads_a_grid
    )


def _is_one_of(column: str, texts: Sequence[str]) -> list[pl.Expr]:
    """1 where a column holds one of the texts, else 0; nothing where there are none."""
    return [pl.col(column).is_in(texts).fill_null(value=False).cast(pl.Int32)] if texts else []


def row_texts(sheet: Sheet, number: int) -> dict[str, str]:
    """Column → text of one record; empty for one that does not exist."""
    if not 1 <= number <= sheet.n_records:
        return {}
    row = sheet.cells.row(number - 1, named=True)
    return {c: row[c] for c in sheet.columns if row[c]}


def _join_two_rows(above: dict[str, str], below: dict[str, str]) -> dict[str, HeaderCell] | None:
    """`Set 1` over `kg` and `reps`, or a date over them, as one header; None where the second is no header."""
    if not below:
        return None
    lower = {c: parse_header_cell(text) for c, text in below.items()}
    known = [cell for cell in lower.values() if cell.role and not cell.date_text]
    if len(known) < max(2, 0.6 * len(below)):
        return None
    joined: dict[str, HeaderCell] = {}
    carried = ""
    for column in sorted(set(above) | set(below), key=lambda c: int(c[1:])):
        carried = above.get(column) or carried
        upper = parse_header_cell(carried)
        cell = lower.get(column)
        if cell is None:
            joined[column] = parse_header_cell(above.get(column))
        elif upper.date_text and cell.role == "done":
            joined[column] = HeaderCell("notation", date_text=upper.date_text)
        elif upper.date_text and cell.role in (*HOW_MUCH, "rpe", "rir", "note", "effort"):
            joined[column] = HeaderCell(cell.role, cell.unit, cell.set_number, upper.date_text)
        elif parse_side(carried)[0] == "planned" and not parse_side(carried)[1]:
            joined[column] = as_planned(cell)
        elif upper.role == "set_cell":
            joined[column] = HeaderCell(cell.role, cell.unit, upper.set_number)
        else:
            joined[column] = cell
    return joined


def settled(sheet: Sheet, layout: Layout, end: int, knows: Callable[[str], bool]) -> dict[str, HeaderCell]:
    """Columns whose word can mean two things, settled by what stands below them."""
    body = sheet.cells.slice(layout.first_row - 1, max(0, end - layout.first_row + 1))
    columns = dict(layout.columns)
    roles = [cell.role for cell in columns.values()]
    if "exercise" not in roles and roles.count("client") == 1 and layout.kind != "date_grid":
        name_column = next(c for c, cell in columns.items() if cell.role == "client")
        if layout.header_texts.get(name_column, "").strip().lower() in (
            "name",
            "nom",
            "nombre",
            "nome",
            "what",
        ):
            columns[name_column] = HeaderCell("exercise")
    if "exercise" not in {cell.role for cell in columns.values()}:
        planned = [c for c, cell in columns.items() if cell.planned == "exercise"]
        columns.update({c: HeaderCell("exercise") for c in planned[:1]})  # what was planned was done
    columns = _name_weekdays(body, columns, layout)
    if not {"date", "week_date"} & {cell.role for cell in columns.values()}:
        columns = _promote_dates(body, columns)
    count = next((c for c, cell in columns.items() if cell.role == "n_sets"), None)
    if count and not {"reps", "notation"} & set(roles) and _holds_notation(body[count].to_list()):
        columns[count] = HeaderCell("notation")
        count = None
    columns = _name_unlabelled(layout.span.columns if layout.span else sheet.columns, body, columns, knows)
    number = next((c for c, cell in columns.items() if cell.role == "set_number"), None)
    if count and not number and counts_up(body[count].to_list()):
        columns[count] = HeaderCell("set_number")
    is_count = number and not count and never_counts_up(_numbers(sheet, layout, body, number))
    if number and is_count and not numbers_sets(body, columns, number, layout.header_texts.get(number, "")):
        columns[number] = HeaderCell("n_sets")
    return columns


def _numbers(sheet: Sheet, layout: Layout, body: pl.DataFrame, column: str) -> list[str | None]:
    """The texts of a column that numbers or counts sets, with those above a header that sorting sent down."""
    above = sheet.cells.head(layout.header_rows[0] - 1) if layout.header_rows else body.clear()
    is_header_again = any(parse_header_cell(text).role == "set_number" for text in above[column].drop_nulls())
    return [*([] if is_header_again else above[column].to_list()), *body[column].to_list()]


def _holds_notation(values: Sequence[str | None]) -> bool:
    """True for a column called `Sets` that holds the sets themselves (`3x8@100`)."""
    texts = [value for value in values if value][:60]
    return bool(texts) and sum(
        bool(re.search(r"\d ?[x×*@]|[x×@] ?\d|\d ?(?:kgs?|lbs?) ?[:(,-]", t.lower())) for t in texts
    ) >= 0.5 * len(texts)


def _name_unlabelled(
    span_columns: Sequence[str],
    body: pl.DataFrame,
    columns: dict[str, HeaderCell],
    knows: Callable[[str], bool],
) -> dict[str, HeaderCell]:
    """Columns without a header word, by what stands in them: dates, exercises."""
    roles = {cell.role for cell in columns.values()}
    for column in span_columns:
        if column in columns and columns[column].role:
            continue
        texts = body[column].drop_nulls().head(100).to_list()
        if not texts:
            continue
        if "date" not in roles and sum(is_date_heading(text) for text in texts) >= 0.8 * len(texts):
            columns, roles = {**columns, column: HeaderCell("date")}, roles | {"date"}
        elif "exercise" not in roles and sum(knows(text) for text in texts) >= 0.8 * len(texts):
            columns, roles = {**columns, column: HeaderCell("exercise")}, roles | {"exercise"}
    return columns


_WEEK = re.compile(r"(?:week|wk|woche|semaine|semana|settimana)\b")


def _name_weekdays(
    body: pl.DataFrame, columns: dict[str, HeaderCell], layout: Layout
) -> dict[str, HeaderCell]:
    """A column of weekdays; a column called `Week` beside it that holds dates names the week."""
    for column, cell in columns.items():
        if cell.role not in ("ignored", "date") or cell.planned:
            continue
        texts = [text for text in body[column].drop_nulls().head(200).to_list() if not _heads_rows(text)]
        if texts and sum(parse_weekday(text) is not None for text in texts) >= 0.8 * len(texts):
            columns = {**columns, column: HeaderCell("weekday")}
            break
    else:
        return columns
    if any(cell.role == "date" for cell in columns.values()):
        return columns
    for column, cell in columns.items():
        texts = body[column].drop_nulls().head(50).to_list()
        is_week = cell.role == "ignored" and _WEEK.match(layout.header_texts.get(column, "").lower())
        n_weeks = sum(is_date_heading(text) or bool(monday_of_week(text)) for text in texts)
        if is_week and texts and n_weeks >= 0.8 * len(texts):
            return {**columns, column: HeaderCell("week_date")}
    return columns


def _heads_rows(text: str) -> bool:
    return len(text) > 8 and bool(parse_week_heading(text) or is_date_heading(text))


def _promote_dates(body: pl.DataFrame, columns: dict[str, HeaderCell]) -> dict[str, HeaderCell]:
    """A column called `Day` or `Session` that holds dates is the date column."""
    for column, cell in columns.items():
        if cell.role == "ignored":
            texts = body[column].drop_nulls().head(50).to_list()
            if texts and sum(bool(parse_date_heading(text)) for text in texts) >= 0.8 * len(texts):
                return {**columns, column: HeaderCell("date")}
    return columns
