"""Entries split into single sets: counts, lists and notations, every distinct combination of texts read once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import get_args

import polars as pl

from pipeline.clean.cells.folding import fold
from pipeline.clean.cells.set_notation import PairMeaning, column_meaning, parse_notation
from pipeline.clean.entries import with_schema
from pipeline.clean.headers import legend_of
from pipeline.clean.layout import Layout
from pipeline.clean.set_texts import single_sets

_LOAD_WORDS = ("load", "weight", "wt", "gewicht", "poids", "peso", "kg")
_SET_WORDS = ("set", "satz", "serie")
_REPS_WORDS = ("rep", "wdh", "rip")


def _header_meaning(layout: Layout) -> PairMeaning:
    """What `a x b` means in this sheet by its header."""
    for column, cell in layout.columns.items():
        if cell.role != "notation":
            continue
        text = layout.header_texts.get(column, "")
        legend = legend_of(text)
        if legend:
            return legend
        header = fold(text)
        words = [word for word in (*_SET_WORDS, *_REPS_WORDS, *_LOAD_WORDS) if word in header]
        if len(words) >= 2:
            first = min(words, key=header.index)
            if first in _LOAD_WORDS:
                return "load_reps"
            return "sets_reps" if first in _SET_WORDS else "reps_load"
    return ""


def _column_meaning(texts: list[str]) -> PairMeaning:
    """What `a x b` means where all cells of the column that leave no doubt agree."""
    votes = Counter(reading.pair_means for text in texts if (reading := parse_notation(text)).pair_means)
    return votes.most_common(1)[0][0] if len(votes) == 1 else ""


def split_sets(
    entries: pl.DataFrame,
    layout: Layout,
    answer: str,
    is_unloaded: Callable[[str], bool],
    is_two_sided: Callable[[str], bool] = lambda text: False,
) -> pl.DataFrame:
    """Each entry's amounts as single sets; every distinct combination of texts is read once."""
    if not entries.height:
        return with_schema(entries.drop("notation_text", "n_sets_text"))
    keys = ["load_text", "reps_text", "notation_text", "n_sets_text", "is_unloaded", "is_two_sided"]
    names = entries["exercise_text"].drop_nulls().unique().to_list()
    has_notation = pl.any_horizontal(pl.col(c).str.contains("(?i)[x×*]") for c in keys[1:4])
    entries = entries.with_columns(
        (pl.col("exercise_text").is_in([name for name in names if is_unloaded(name)]) & has_notation)
        .fill_null(value=False)
        .alias("is_unloaded"),
        (
            pl.col("exercise_text").is_in([name for name in names if is_two_sided(name)])
            & pl.col("reps_text").str.contains("/", literal=True)
        )
        .fill_null(value=False)
        .alias("is_two_sided"),
    )
    notations = entries["notation_text"].drop_nulls().unique().to_list()
    said: PairMeaning = answer if answer in get_args(PairMeaning) else ""  # type: ignore[assignment]
    said = said or _header_meaning(layout)
    voted = "" if said else _column_meaning(notations[:2_000])
    has_set_numbers = layout.column_of("set_number") is not None
    combos = entries.select(keys).unique()
    out: dict[str, list[object]] = {
        name: []
        for name in (
            *keys,
            "new_load",
            "new_reps",
            "new_effort",
            "part_kind",
            "drop_index",
            "is_counted",
            "problem",
            "problem_column",
            "problem_text",
            "said",
            "order",
        )
    }
    for load, reps, notation, n_sets, counts_only, both_sides in combos.iter_rows():
        meaning = said or column_meaning(notation or "", voted)
        texts = single_sets(
            load,
            reps,
            notation,
            n_sets,
            meaning,
            is_one_set=has_set_numbers,
            is_unloaded=counts_only and not said,
            is_two_sided=both_sides,
        )
        fault = (
            notation
            if texts.column == "notation"
            else reps
            if texts.column == "reps"
            else (n_sets if texts.column == "sets" else load)
        )
        for order, part in enumerate(texts.parts or (None,)):
            values = (
                load,
                reps,
                notation,
                n_sets,
                counts_only,
                both_sides,
                part.load if part else load,
                part.reps if part else reps,
                part.effort if part else "",
                part.kind if part else "",
                part.drop_index if part else 1,
                texts.is_counted,
                texts.problem,
                texts.column,
                fault if texts.problem else None,
                texts.words or None,
                order,
            )
            for name, value in zip(out, values, strict=True):
                out[name].append(value)
    split = pl.DataFrame(
        out,
        schema_overrides={
            **dict.fromkeys(keys[:4], pl.String),
            "new_load": pl.String,
            "new_reps": pl.String,
            "problem_text": pl.String,
            "said": pl.String,
        },
    )
    joined = entries.join(split, on=keys, how="left", nulls_equal=True, maintain_order="left")
    if split.height > combos.height or not entries["source_row"].is_sorted():
        joined = joined.sort("source_row", "part_index", "order", maintain_order=True)
    joined = _one_effort_a_set(joined, layout).with_columns(
        pl.col("new_load").alias("load_text"),
        pl.col("new_reps").alias("reps_text"),
        pl.when(pl.col("new_effort") != "")
        .then(pl.col("new_effort"))
        .otherwise(pl.col("effort_text"))
        .alias("effort_text"),
        pl.when(pl.col("part_kind") != "")
        .then(pl.col("part_kind"))
        .otherwise(pl.col("kind_text"))
        .alias("kind_text"),
        pl.concat_str("note", "said", separator=" · ", ignore_nulls=True).replace("", None).alias("note"),
    )
    return with_schema(joined)


_LISTED_EFFORT = r"^ *\d{1,2}(?:[.,]5)?(?: *[/;,| ] *\d{1,2}(?:[.,]5)?)+ *$"


def _one_effort_a_set(joined: pl.DataFrame, layout: Layout) -> pl.DataFrame:
    """Effort listed for all sets of a row (`8/8/9`), one figure a set where there are as many.

    Where sets stand side by side and one column gives the effort of them all, the list counts across them.
    """
    for column, role in (("rpe_text", "rpe"), ("rir_text", "rir"), ("effort_text", "effort")):
        is_for_row = layout.kind == "set_columns" and layout.column_of(role) is not None
        group = ["source_row"] if is_for_row else ["source_row", "part_index"]
        n_sets, place = pl.len().over(group), pl.int_range(pl.len()).over(group)
        if not joined[column].drop_nulls().unique().str.contains(_LISTED_EFFORT).any():
            continue
        listed = pl.col(column).str.contains(_LISTED_EFFORT)
        pieces = pl.col(column).str.strip_chars().str.extract_all(r"\d{1,2}(?:[.,]5)?")
        one = pieces.list.get(place, null_on_oob=True)
        fits = listed & (pieces.list.len() == n_sets) & (n_sets > 1)
        joined = joined.with_columns(pl.when(fits).then(one).otherwise(pl.col(column)).alias(column))
    return joined
