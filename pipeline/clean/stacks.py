"""Even files of one header stacked to one table, so that thousands of them cost about as much as one.

What arrives: `SourceFile`s. What leaves: `Stack`s, and the files that have to be read one by one. A file is even
where nothing in it says more than its own row: a known header in the first record, one set a record below, no
heading, total, ditto mark or moved cell. What a cell itself says, however odd, is read as everywhere else. Each
condition here is a shortcut through `layout` and `unfold`: where it does not hold, these decide.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import polars as pl

from pipeline.clean.ditto_marks import is_ditto
from pipeline.clean.exercise_texts import parse_exercise_text
from pipeline.clean.headers import HeaderCell
from pipeline.clean.layout import (
    HOW_MUCH,
    MOST_TEXTS,
    Layout,
    could_head,
    header_cells,
    kind_of_header,
)
from pipeline.clean.note_words import is_correction
from pipeline.clean.other_records import is_summed, is_total_row, says_something
from pipeline.clean.set_counts import MOST_NUMBERS
from pipeline.clean.week_days import parse_weekday
from pipeline.contract.plain_sheets import PlainSheet, blanks_as_nulls
from pipeline.contract.sheets import SourceFile

_NEEDED = {"date", "exercise", "reps", "load"}
_KNOWN = _NEEDED | {
    "client",
    "set_number",
    "rpe",
    "rir",
    "effort",
    "note",
    "unit",
    "superset",
    "session_minutes",
    "session_rpe",
    "bodyweight",
}
_REPEATS = ("date", "exercise", "client", "rpe", "rir", *HOW_MUCH)
_MOST_COLUMNS = 30


@dataclass(frozen=True)
class Stack:
    """Even files one below the other.

    `records` has `source_row` (a number of the stack's own), `source_file`, `file_row` (the record's number in
    its file), `is_blank` and the cells of every record below a header; `layout` is that of all the files.
    """

    sources: tuple[SourceFile, ...]
    layout: Layout
    header: str
    records: pl.DataFrame


def stack_files(
    sources: Sequence[SourceFile], stays_out: Callable[[str], bool]
) -> tuple[list[Stack], list[SourceFile]]:
    """The stacks of the even files, and the other files in their order; `stays_out`: names of files that are
    left to be read one by one."""
    groups: dict[tuple[str, str], list[tuple[SourceFile, PlainSheet]]] = {}
    for source in sources:
        sheet = source.sheets[0] if len(source.sheets) == 1 else None
        if not isinstance(sheet, PlainSheet) or source.refusal is not None or stays_out(source.source_file):
            continue
        if even_layout(sheet.header, sheet.separator) and _is_rectangle(sheet):
            groups.setdefault((sheet.header, sheet.separator), []).append((source, sheet))
    stacks = [
        stack
        for (header, separator), files in groups.items()
        if (stack := _stacked(header, separator, files)) is not None
    ]
    stacked = {source.source_file for stack in stacks for source in stack.sources}
    return stacks, [source for source in sources if source.source_file not in stacked]


@lru_cache(maxsize=10_000)
def even_layout(header: str, separator: str) -> Layout | None:
    """The layout below a header line of which every word is known and means one thing; None for any other."""
    texts = {f"c{place}": text for place, text in enumerate(header.split(separator))}
    if not 3 <= len(texts) <= _MOST_COLUMNS or not all(text.strip() for text in texts.values()):
        return None
    cells = header_cells(texts)
    roles = [cell.role for cell in cells.values()]
    is_even = len(set(roles)) == len(roles) and _NEEDED <= set(roles) <= _KNOWN
    if not is_even or any(_says_more(cell) for cell in cells.values()) or kind_of_header(cells) != "set_rows":
        return None
    return Layout("set_rows", cells, (1,), 2, 0, texts)


def _says_more(cell: HeaderCell) -> bool:
    return bool(cell.set_number or cell.date_text or cell.exercise_text or cell.planned)


def _is_rectangle(sheet: PlainSheet) -> bool:
    """True where every record may have as many cells as the header, but for empty lines; by their sum alone."""
    text = sheet.text
    has_blanks = "\n\n" in text or text.endswith("\n")
    n_blank = sum(not line for line in text.split("\n")) if has_blanks else 0
    n_separators = sheet.header.count(sheet.separator) * (sheet.n_records - n_blank)
    return sheet.n_records > 1 and text.count(sheet.separator) == n_separators


def _stacked(header: str, separator: str, files: list[tuple[SourceFile, PlainSheet]]) -> Stack | None:
    layout = even_layout(header, separator)
    if layout is None:
        return None
    cells = _split(separator, list(layout.columns), [sheet for _, sheet in files])
    if cells is None:  # a record too long and one too short
        n_separators = header.count(separator)
        files = [
            (source, sheet)
            for source, sheet in files
            if all(line.count(separator) == n_separators for line in sheet.text.split("\n") if line)
        ]
        cells = _split(separator, list(layout.columns), [sheet for _, sheet in files])
    if cells is None:
        return None
    sizes = np.array([sheet.n_records for _, sheet in files])
    place = np.repeat(np.arange(len(files), dtype=np.uint32), sizes)
    file_row = np.arange(len(place)) - np.repeat(np.cumsum(sizes) - sizes, sizes) + 1
    records = cells.with_columns(
        pl.Series("file", place),
        pl.Series("file_row", file_row),
        pl.all_horizontal(pl.all().is_null()).alias("is_blank"),
    ).filter(pl.col("file_row") > 1)
    odd = _odd_files(records, layout)
    if odd:
        records = records.filter(~pl.col("file").is_in(odd))
        files = [file for number, file in enumerate(files) if number not in odd]
    if not files:
        return None
    names = pl.Series("source_file", [source.source_file for source, _ in files], dtype=pl.String)
    numbers = records["file"].rle_id()
    records = records.drop("file").with_columns(names.gather(numbers))
    return Stack(
        tuple(source for source, _ in files), layout, header, records.with_row_index("source_row", offset=1)
    )


def _split(separator: str, columns: list[str], sheets: list[PlainSheet]) -> pl.DataFrame | None:
    """The cells of many texts one below the other; None where a record has more cells than the header."""
    if not sheets:
        return None
    text = "".join(f"{sheet.text}\n" for sheet in sheets)
    try:
        cells = pl.read_csv(
            io.BytesIO(text.encode()),
            has_header=False,
            new_columns=columns,
            separator=separator,
            quote_char=None,
            infer_schema=False,
        )
    except pl.exceptions.PolarsError:
        return None
    is_whole = cells.width == len(columns) and cells.height == sum(sheet.n_records for sheet in sheets)
    return cells.with_columns(blanks_as_nulls(columns)) if is_whole else None


def _odd_files(records: pl.DataFrame, layout: Layout) -> set[int]:
    """Numbers of the files with a record that says more than its own row, or that others may have to explain."""
    columns = layout.columns
    by_role = {cell.role: column for column, cell in columns.items()}
    texts = {column: records[column].drop_nulls().unique().to_list() for column in columns}

    def with_text(column: str, is_odd: Callable[[str], object]) -> pl.Expr:
        found = [text for text in texts[column] if is_odd(text)]
        return pl.col(column).is_in(found).fill_null(value=False) if found else pl.lit(value=False)

    who_or_what = [by_role[role] for role in ("exercise", "date", "client") if role in by_role]
    amounts = [by_role["reps"], by_role["load"]]
    odd = [
        ~pl.any_horizontal(says_something(records, column) for column in amounts),
        *(pl.col(column).is_null() for column in who_or_what),
        *(is_total_row(records, column) for column in dict.fromkeys([*who_or_what, "c0"])),
        *(is_summed(records, by_role[role]) for role in ("set_number",) if role in by_role),
        *(
            with_text(column, lambda text: len(text) <= 20 and is_ditto(text))
            for column, cell in columns.items()
            if cell.role in _REPEATS
        ),
        with_text(by_role["date"], lambda text: parse_weekday(text) is not None),
        with_text(by_role["exercise"], lambda text: parse_exercise_text(text).side in ("left", "right")),
        pl.col("c0") == pl.col("c1"),  # as cells that were merged
        could_head(texts, pl.col("file") != pl.col("file").shift(-1)),
    ]
    if "note" in by_role:
        note = by_role["note"]
        odd.append(pl.col(note).str.contains(r"^[+-]?\d+(?:[.,]\d+)?$").fill_null(value=False))
        odd.append(with_text(note, is_correction))
    found = records.filter(pl.any_horizontal(odd) & ~pl.col("is_blank"))["file"].unique().to_list()
    return {
        *found,
        *_without_sets(records),
        *_with_many_texts(records, columns),
        *_that_count(records, by_role),
    }


def _without_sets(records: pl.DataFrame) -> list[int]:
    """Files of which every record is blank."""
    blank = records.group_by("file").agg(pl.col("is_blank").all())
    return blank.filter("is_blank")["file"].to_list()


def _with_many_texts(records: pl.DataFrame, columns: Iterable[str]) -> set[int]:
    """Files with so many different texts in a column that `layout` would not look at them all."""
    sizes = records["file"].value_counts().filter(pl.col("count") > MOST_TEXTS)
    if not sizes.height:
        return set()
    large = records.filter(pl.col("file").is_in(sizes["file"].to_list())).group_by("file")
    counts = large.agg(pl.max_horizontal(pl.col(column).drop_nulls().n_unique() for column in columns))
    return set(counts.filter(pl.nth(1) > MOST_TEXTS)["file"].to_list())


def _that_count(records: pl.DataFrame, by_role: Mapping[str, str]) -> set[int]:
    """Files whose column of set numbers may count sets: none of its first numbers is below 2."""
    column = by_role.get("set_number")
    if column is None:
        return set()
    texts = records[column].drop_nulls().unique().to_list()
    firsts = [text for text in texts if text.strip().removesuffix(".0") in ("0", "1", "00", "01")]
    numbers = records.filter((pl.col("file_row") <= MOST_NUMBERS) & pl.col(column).is_in(firsts))
    return set(records["file"].unique().to_list()) - set(numbers["file"].unique().to_list())
