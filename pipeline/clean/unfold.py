"""Tables unfolded: one row a set, one row an exercise, set columns side by side, a grid with dates across."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import polars as pl

from pipeline.clean.carry_down import carry_down
from pipeline.clean.cells.folding import is_blank
from pipeline.clean.cells.repetitions import parse_reps
from pipeline.clean.ditto_marks import write_out_dittos
from pipeline.clean.done_marks import hear_done
from pipeline.clean.entries import Unfolded, join_entries, with_refused
from pipeline.clean.exercises_across import exercises_across
from pipeline.clean.headerless import headerless_layouts, looks_like_log
from pipeline.clean.headers import is_date_heading
from pipeline.clean.layout import Layout, find_layouts
from pipeline.clean.month_days import write_out_days
from pipeline.clean.other_records import (
    HEADING_KINDS,
    classify_others,
    is_summed,
    is_total_row,
    says_something,
)
from pipeline.clean.ragged_rows import find_ragged, with_ragged
from pipeline.clean.repeated_columns import repeated_amounts
from pipeline.clean.split_sets import split_sets
from pipeline.clean.titles import Stated, may_name_exercise, paired_titles, read_titles, titles_between
from pipeline.clean.two_units import join_units
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
    "week_date": "week_text",
    "weekday": "weekday_text",
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
_CARRIED = ("client_text", "date_text", "exercise_text", "unit_text", "weekday_text", "week_text")
_LAYOUT_NAMES = {
    "set_rows": "set rows",
    "set_columns": "set columns",
    "date_grid": "date grid",
    "exercise_grid": "exercise grid",
    "plan": "plan",
}


def unfold_table(
    sheet: Sheet,
    knows: Callable[[str], bool] = lambda text: False,
    answer: str = "",
    is_unloaded: Callable[[str], bool] = lambda text: False,
    is_two_sided: Callable[[str], bool] = lambda text: False,
) -> Unfolded:
    """The sets of a table as entries, its other records by the rule that names them.

    `knows` tells whether a text names an exercise, `answer` is what the coach has said about the file's layout:
    the order of an ambiguous notation, or the columns of a table without a header; `is_unloaded` tells whether an
    exercise is done without a load, so that `3x12` can only count sets, `is_two_sided` whether both sides do it at
    once, so that `5/5` lists two sets.
    """
    layouts = find_layouts(sheet, knows)
    if not any(layout.span or layout.column_of("exercise") for layout in layouts):
        layouts = exercises_across(sheet, knows) or layouts
    layouts = layouts or headerless_layouts(sheet, knows, answer)
    unfolded = Unfolded(layout=_LAYOUT_NAMES[layouts[0].kind] if layouts else "unknown")
    if not layouts:
        unfolded.question = "columns" if looks_like_log(sheet, knows) else ""
        return unfolded
    header_row = layouts[0].first_row - len(layouts[0].header_rows)
    above = _sets_above(sheet.cells.head(header_row - 1), layouts[0]) if not layouts[0].span else []
    titles = sheet.cells.head(header_row - 1).filter(~pl.col("source_row").is_in(above))
    names = [sheet.source_sheet, *(t for row in titles.drop("source_row").iter_rows() for t in row if t)]
    stated: dict[str, Stated] = {}
    between = titles_between(sheet, layouts)
    frames: list[pl.DataFrame] = []
    for layout in layouts:
        unfolded.ignored.update(dict.fromkeys(layout.header_rows, "header"))
        below = pl.col("source_row").is_between(layout.first_row, layout.last_row)
        body = sheet.cells.filter(below | pl.col("source_row").is_in(above if layout is layouts[0] else []))
        body = body.filter(~pl.col("source_row").is_in(list(between)))
        place = layout.span.region[0] if layout.span else ""
        if place not in stated:
            region = layout.span.region if layout.span else ()
            stated[place] = _named_by_sheet(
                read_titles(titles, unfolded, region, knows), sheet, layout, knows
            )
        title = between.get(layout.header_rows[0] - 1) if layout.header_rows else None
        if title is not None:
            region = layout.span.region if layout.span else ()
            stated[place] = stated[place].replaced_by(read_titles(title, unfolded, region, knows))
        if layout.span:
            body = body.select("source_row", *layout.span.columns)
        if not body.height:
            continue
        if layout.kind == "plan":
            is_blank_row = pl.all_horizontal(pl.exclude("source_row").is_null())
            rule = pl.when(is_blank_row).then(pl.lit("blank")).otherwise(pl.lit("plan"))
            unfolded.ignored.update(body.select("source_row", rule.alias("rule")).iter_rows())
            continue
        part = Unfolded()
        body, layout = write_out_days(write_out_dittos(body, layout), layout, names)
        body, layout = join_units(body, layout)
        heard = hear_done(body, layout)
        layout = heard.layout
        entries, stated[place] = unfold_layout(heard.body, layout, part, stated[place], knows, heard.undone)
        _add_ignored(unfolded, part)
        if entries["notation_text"].drop_nulls().len() and unfolded.layout == "set rows":
            unfolded.layout = "exercise rows"
        sets = split_sets(entries, layout, answer, is_unloaded, is_two_sided)
        refused = {row: ("done_unclear", "done", text) for row, text in heard.unclear.items()}
        refused |= repeated_amounts(body, layout)
        frames.append(with_ragged(with_refused(sets, refused), find_ragged(sheet, layout)))
    unfolded.entries = join_entries(frames)
    if any(layout.span for layout in layouts):
        for row in unfolded.entries["source_row"].unique().to_list():
            unfolded.ignored.pop(row, None)
    return unfolded


def _add_ignored(unfolded: Unfolded, part: Unfolded) -> None:
    """The rules of one of several tables side by side; a record blank in one may hold something in another."""
    for row, rule in part.ignored.items():
        if unfolded.ignored.get(row, "blank") == "blank":
            unfolded.ignored[row] = rule


def _named_by_sheet(stated: Stated, sheet: Sheet, layout: Layout, knows: Callable[[str], bool]) -> Stated:
    """A table without a column of exercises holds the one its title or else its sheet's name says."""
    if layout.column_of("exercise") or any(cell.exercise_text for cell in layout.columns.values()):
        return replace(stated, exercise="")
    name = sheet.source_sheet
    if stated.exercise or layout.span or not name or not knows(name):
        return stated
    return replace(stated, exercise=name)


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


def _column(source: str | None, target: str) -> pl.Expr:
    return (pl.col(source) if source else pl.lit(None, dtype=pl.String)).alias(target)


def unfold_layout(
    body: pl.DataFrame,
    layout: Layout,
    unfolded: Unfolded,
    stated: Stated,
    knows: Callable[[str], bool],
    undone: frozenset[int],
) -> tuple[pl.DataFrame, Stated]:
    """The entries of one layout, and what its last headings state for the next one."""
    general = _general_columns(layout)
    groups = _amount_groups(layout)
    amount_columns = sorted({c for g in groups for t, c in g["sources"].items() if t in _SAYS_A_SET})
    has_amount = pl.any_horizontal([says_something(body, c) for c in amount_columns] or [pl.lit(value=False)])
    who_or_what = [
        c for c in (general.get("exercise_text"), general.get("date_text"), general.get("client_text")) if c
    ]
    total = pl.any_horizontal(
        [is_total_row(body, c) for c in dict.fromkeys([*who_or_what, *body.columns[1:2]])]
        + [is_summed(body, c) for c in (general.get("set_number_text"),) if c]
    )
    pairs = paired_titles(body)
    has_amount &= ~pl.col("source_row").is_in([*undone, *pairs])
    marked = body.with_columns(has_amount.alias("has_amount"), total.alias("is_total"))
    notes = [c for c in (general.get("note"),) if c]
    headings = classify_others(marked, layout, general, notes, unfolded, knows)
    for row, (kind, text) in pairs.items():
        headings[kind][row], unfolded.ignored[row] = text, "heading"
    marked = marked.with_columns(
        [
            pl.Series(
                f"heading_{kind}", [headings[kind].get(r) for r in marked["source_row"]], dtype=pl.String
            )
            if headings[kind]
            else pl.lit(None, dtype=pl.String).alias(f"heading_{kind}")
            for kind in HEADING_KINDS
        ]
    )
    carried = carry_down(marked, general, stated)
    rows = carried.filter(pl.col("has_amount") & ~pl.col("is_total"))
    last_row = int(rows["source_row"].item(-1)) if rows.height else 0
    # a unit or client holds until the next one; a date behind the last set belongs to the next table
    last = {kind: [text for _, text in sorted(found.items())] for kind, found in headings.items()}
    behind = {
        kind: [text for row, text in sorted(headings[kind].items()) if row > last_row]
        for kind in ("date", "weekday")
    }
    following = Stated(
        (last["unit"] or [stated.unit])[-1],
        (last["client"] or [stated.client])[-1],
        (behind["date"] or [stated.date_text])[-1],
        _next_title(body, layout) or (last["exercise"] or [stated.exercise])[-1]
        if not general.get("exercise_text")
        else "",
        (behind["weekday"] or ([] if behind["date"] else [stated.weekday]) or [""])[-1],
    )
    return _with_bodyweight_unit(_melt(rows, general, groups), layout), following


def _next_title(body: pl.DataFrame, layout: Layout) -> str:
    """The exercise that titles the next table: what stands alone in the record right above its header."""
    row = body.filter(pl.col("source_row") == layout.last_row).drop("source_row")
    texts = {text for text in row.row(0) if isinstance(text, str)} if row.height else set()
    return texts.pop() if len(texts) == 1 and may_name_exercise(next(iter(texts))) else ""


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
        is_of_a_set = cell.set_number or cell.date_text or cell.exercise_text
        if target and target not in columns and not is_of_a_set:
            columns[target] = column
    if "week_text" in columns:
        if "date_text" in columns or "weekday_text" not in columns:
            del columns["week_text"]  # a row's own date, or a week alone, which is no day
        else:
            columns["date_text"] = columns["week_text"]
    return columns


def _amount_groups(layout: Layout) -> list[dict[str, dict[str, str]]]:
    """The groups of columns that each hold one entry: the row itself, set 1 …, or a date's columns."""
    if layout.kind == "set_rows":
        sources = {t: c for t, c in _general_columns(layout).items() if t in _SAYS_A_SET}
        return [{"sources": sources, "facts": _load_facts(layout, sources.get("load_text"))}]
    keys: dict[tuple[int, str, str], dict[str, str]] = {}
    for column, cell in layout.columns.items():
        if cell.set_number or cell.date_text or cell.exercise_text:
            target = "notation_text" if cell.role == "date_column" else _TEXT_OF_ROLE.get(cell.role)
            if target:
                key = (cell.set_number, cell.date_text, cell.exercise_text)
                keys.setdefault(key, {}).setdefault(target, column)
    groups = []
    for (set_number, date_text, exercise_text), sources in keys.items():
        facts = _load_facts(layout, sources.get("load_text") or _general_columns(layout).get("load_text"))
        if date_text:
            facts["date_text"] = date_text
        if exercise_text:
            facts["exercise_text"] = exercise_text
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
        sources = {t: c for t, c in general.items() if t not in _CARRIED}
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
            pl.lit(facts["exercise_text"]).alias("exercise_text")
            if "exercise_text" in facts
            else pl.col("exercise_text"),
            pl.col("unit_text"),
            pl.lit(facts["date_text"]).alias("date_text") if "date_text" in facts else pl.col("date_text"),
            pl.lit(facts.get("header_unit", "")).alias("header_unit"),
            pl.lit(bool(facts.get("is_per_hand"))).alias("is_per_hand"),
            *[
                _column(sources.get(target), target)
                for target in dict.fromkeys(_TEXT_OF_ROLE.values())
                if target not in _CARRIED and not (target == "set_number_text" and "set_number_text" in facts)
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
