"""Tables unfolded: one row a set, one row an exercise, set columns side by side, a grid with dates across."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import polars as pl

from pipeline.clean.carry_down import carry_down
from pipeline.clean.cells.folding import is_blank
from pipeline.clean.cells.repetitions import parse_reps
from pipeline.clean.entries import Unfolded, join_entries
from pipeline.clean.headerless import headerless_layouts, looks_like_log
from pipeline.clean.headers import is_date_heading
from pipeline.clean.layout import Layout, find_layouts
from pipeline.clean.other_records import classify_others, is_total_row, says_something
from pipeline.clean.ragged_rows import find_ragged, with_ragged
from pipeline.clean.row_rules import (
    parse_client_statement,
    parse_date_heading,
    parse_unit_statement,
    says_no,
)
from pipeline.clean.split_sets import split_sets
from pipeline.contract.sheets import Sheet

_AMOUNTS = ("reps_text", "load_text", "notation_text", "duration_text", "left_text", "right_text")
_SAYS_A_SET = (*_AMOUNTS, "n_sets_text")  # a row that counts sets and says no more is refused, not lost
_TEXT_OF_ROLE = {
    "reps": "reps_text",
    "load": "load_text",
    "rpe": "rpe_text",
    "rir": "rir_text",
    "duration": "duration_text",
    "note": "note",
    "reps_left": "left_text",
    "reps_right": "right_text",
    "effort": "effort_text",
    "set_cell": "notation_text",
    "notation": "notation_text",
    "client": "client_text",
    "date": "date_text",
    "exercise": "exercise_text",
    "set_number": "set_number_text",
    "n_sets": "n_sets_text",
    "unit": "unit_text",
    "set_kind": "kind_text",
    "superset": "superset_text",
    "session_minutes": "session_minutes_text",
    "session_rpe": "session_rpe_text",
    "bodyweight": "bodyweight_text",
    "side": "side_text",
}
_LAYOUT_NAMES = {"set_rows": "set rows", "set_columns": "set columns", "date_grid": "date grid"}


def unfold_table(
    sheet: Sheet,
    knows: Callable[[str], bool] = lambda text: False,
    answer: str = "",
    is_unloaded: Callable[[str], bool] = lambda text: False,
) -> Unfolded:
    """The sets of a table as entries, its other records by the rule that names them.

    `knows` tells whether a text names an exercise, `answer` is what the coach has said about the file's layout:
    the order of an ambiguous notation, or the columns of a table without a header; `is_unloaded` tells whether an
    exercise is done without a load, so that `3x12` can only count sets.
    """
    layouts = find_layouts(sheet, knows) or headerless_layouts(sheet, knows, answer)
    unfolded = Unfolded(layout=_LAYOUT_NAMES[layouts[0].kind] if layouts else "unknown")
    if not layouts:
        unfolded.question = "columns" if looks_like_log(sheet, knows) else ""
        return unfolded
    header_row = layouts[0].first_row - len(layouts[0].header_rows)
    above = _sets_above(sheet.cells.head(header_row - 1), layouts[0])
    titles = sheet.cells.head(header_row - 1).filter(~pl.col("source_row").is_in(above))
    stated = _read_titles(titles, unfolded)
    frames: list[pl.DataFrame] = []
    for layout in layouts:
        unfolded.ignored.update(dict.fromkeys(layout.header_rows, "header"))
        below = pl.col("source_row").is_between(layout.first_row, layout.last_row)
        body = sheet.cells.filter(below | pl.col("source_row").is_in(above if layout is layouts[0] else []))
        if not body.height:
            continue
        entries, stated = _unfold_layout(body, layout, unfolded, stated, knows)
        if entries["notation_text"].drop_nulls().len() and unfolded.layout == "set rows":
            unfolded.layout = "exercise rows"
        frames.append(
            with_ragged(split_sets(entries, layout, answer, is_unloaded), find_ragged(sheet, layout))
        )
    unfolded.entries = join_entries(frames)
    return unfolded


def _sets_above(rows: pl.DataFrame, layout: Layout) -> list[int]:
    """Records above the header that hold sets all the same: a sheet sorted with its header sends it down."""
    date, exercise, reps = (layout.column_of(role) for role in ("date", "exercise", "reps"))
    if layout.kind != "set_rows" or not (date and exercise and reps):
        return []
    return [
        row["source_row"]
        for row in rows.iter_rows(named=True)
        if is_date_heading(row[date])
        and not is_blank(row[exercise])
        and parse_reps(row[reps]).reps is not None
    ]


def _read_titles(titles: pl.DataFrame, unfolded: Unfolded) -> tuple[str, str, str]:
    """Unit, client and date that rows above the first header state for all below."""
    unit = client = date_text = ""
    for row in titles.iter_rows(named=True):
        texts = [text for column, text in row.items() if column != "source_row" and text]
        unfolded.ignored[row["source_row"]] = "title" if texts else "blank"
        pairs = [f"{a}: {b}" for a, b in itertools.pairwise(texts) if a != b]
        said = (*texts, *pairs)
        unit = next(filter(None, map(parse_unit_statement, said)), unit)
        client = next(filter(None, map(parse_client_statement, said)), client)
        if len(set(texts)) <= 2:
            date_text = next(filter(None, map(parse_date_heading, said)), date_text)
    return unit, client, date_text


def _column(source: str | None, target: str) -> pl.Expr:
    return (pl.col(source) if source else pl.lit(None, dtype=pl.String)).alias(target)


def _unfold_layout(
    body: pl.DataFrame,
    layout: Layout,
    unfolded: Unfolded,
    stated: tuple[str, str, str],
    knows: Callable[[str], bool],
) -> tuple[pl.DataFrame, tuple[str, str, str]]:
    """The entries of one layout, and the unit, client and date that its last headings state for the next one."""
    general = _general_columns(layout)
    groups = _amount_groups(layout)
    amount_columns = sorted({c for g in groups for t, c in g["sources"].items() if t in _SAYS_A_SET})
    has_amount = pl.any_horizontal([says_something(body, c) for c in amount_columns] or [pl.lit(value=False)])
    who_or_what = [
        c for c in (general.get("exercise_text"), general.get("date_text"), general.get("client_text")) if c
    ]
    total = pl.any_horizontal(
        [is_total_row(body, c) for c in dict.fromkeys([*who_or_what, *body.columns[1:2]])]
    )
    done = layout.column_of("done")
    if done:
        undone = [text for text in body[done].drop_nulls().unique().to_list() if says_no(text)]
        has_amount &= ~pl.col(done).is_in(undone).fill_null(value=False)
    marked = body.with_columns(has_amount.alias("has_amount"), total.alias("is_total"))
    notes = [c for c in (general.get("note"),) if c]
    headings = classify_others(marked, layout, general, notes, unfolded, knows)
    marked = marked.with_columns(
        [
            pl.Series(
                f"heading_{kind}", [headings[kind].get(r) for r in marked["source_row"]], dtype=pl.String
            )
            if headings[kind]
            else pl.lit(None, dtype=pl.String).alias(f"heading_{kind}")
            for kind in ("date", "unit", "client", "exercise")
        ]
    )
    carried = carry_down(marked, general, *stated)
    rows = carried.filter(pl.col("has_amount") & ~pl.col("is_total"))
    last_row = int(rows["source_row"].item(-1)) if rows.height else 0
    unit, client, date_text = stated
    # a unit or client holds until the next one; a date behind the last set belongs to the next table
    next_date = [text for row, text in sorted(headings["date"].items()) if row > last_row]
    units, clients = ([text for _, text in sorted(headings[kind].items())] for kind in ("unit", "client"))
    return _with_bodyweight_unit(_melt(rows, general, groups), layout), (
        (units or [unit])[-1],
        (clients or [client])[-1],
        (next_date or [date_text])[-1],
    )


def _with_bodyweight_unit(entries: pl.DataFrame, layout: Layout) -> pl.DataFrame:
    """The unit that the bodyweight column's header names, beside each figure."""
    column = layout.column_of("bodyweight")
    unit = layout.columns[column].unit if column else ""
    if unit not in ("kg", "lb"):
        return entries
    return entries.with_columns(pl.concat_str("bodyweight_text", pl.lit(f" {unit}")))


def _general_columns(layout: Layout) -> dict[str, str]:
    """Entry text → cell column, for what a row says once for all its sets."""
    columns: dict[str, str] = {}
    for column, cell in layout.columns.items():
        target = _TEXT_OF_ROLE.get(cell.role)
        if target and not cell.set_number and not cell.date_text and target not in columns:
            columns[target] = column
    return columns


def _amount_groups(layout: Layout) -> list[dict[str, dict[str, str]]]:
    """The groups of columns that each hold one entry: the row itself, set 1 …, or a date's columns."""
    if layout.kind == "set_rows":
        sources = {t: c for t, c in _general_columns(layout).items() if t in _SAYS_A_SET}
        return [{"sources": sources, "facts": _load_facts(layout, sources.get("load_text"))}]
    keys: dict[tuple[int, str], dict[str, str]] = {}
    for column, cell in layout.columns.items():
        if cell.set_number or cell.date_text:
            target = "notation_text" if cell.role == "date_column" else _TEXT_OF_ROLE.get(cell.role)
            if target:
                keys.setdefault((cell.set_number, cell.date_text), {}).setdefault(target, column)
    groups = []
    for (set_number, date_text), sources in keys.items():
        facts = _load_facts(layout, sources.get("load_text") or _general_columns(layout).get("load_text"))
        if date_text:
            facts["date_text"] = date_text
        if set_number:
            facts["set_number_text"] = str(set_number)
        groups.append({"sources": sources, "facts": facts})
    return groups


def _load_facts(layout: Layout, column: str | None) -> dict[str, str]:
    cell = layout.columns.get(column or "")
    return {
        "header_unit": cell.unit if cell and cell.unit in ("kg", "lb") else "",
        "is_per_hand": "yes" if cell and cell.is_per_hand else "",
    }


def _melt(
    rows: pl.DataFrame, general: dict[str, str], groups: list[dict[str, dict[str, str]]]
) -> pl.DataFrame:
    """One row an entry: each group of amount columns of each record that says something."""
    frames = []
    for index, group in enumerate(groups, start=1):
        sources = {
            t: c
            for t, c in general.items()
            if t not in ("client_text", "date_text", "exercise_text", "unit_text")
        }
        sources.update(group["sources"])
        facts = group["facts"]
        frame = rows.filter(
            pl.any_horizontal(
                [says_something(rows, c) for t, c in group["sources"].items() if t in _SAYS_A_SET]
                or [pl.lit(value=False)]
            )
        )
        frame = frame.select(
            "source_row",
            pl.lit(index, dtype=pl.Int64).alias("part_index"),
            pl.col("client_text"),
            pl.col("exercise_text"),
            pl.col("unit_text"),
            pl.lit(facts["date_text"]).alias("date_text") if "date_text" in facts else pl.col("date_text"),
            pl.lit(facts.get("header_unit", "")).alias("header_unit"),
            pl.lit(bool(facts.get("is_per_hand"))).alias("is_per_hand"),
            *[
                _column(sources.get(target), target)
                for target in dict.fromkeys(_TEXT_OF_ROLE.values())
                if target not in ("client_text", "date_text", "exercise_text", "unit_text")
                and not (target == "set_number_text" and "set_number_text" in facts)
            ],
            *(
                [pl.lit(facts["set_number_text"]).alias("set_number_text")]
                if "set_number_text" in facts
                else []
            ),
        )
        frames.append(frame)
    # a header may mix numbered sets and dates, whose frames have their columns in another order
    return pl.concat([frame.select(frames[0].columns) for frame in frames])
