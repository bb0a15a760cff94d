"""Dates, exercises and clients written once and meant for the rows below."""

from __future__ import annotations

import polars as pl

_USUALLY = 0.25  # a column blank in more than this share of its rows is written once and carried down


def carry_down(
    marked: pl.DataFrame, general: dict[str, str], unit: str, client: str, date_text: str
) -> pl.DataFrame:
    """The records with `client_text`, `date_text`, `exercise_text`, `unit_text` filled where they are carried.

    A blank cell takes the text above it where the column is written that way (a good share of it is blank), or
    where the next text below is the same as the one above. A heading holds until the next heading; what a
    title says above the table holds where nothing else does. Other blank cells stay blank.
    """
    frame = marked.with_columns((~pl.col("has_amount") & ~pl.col("is_total")).alias("is_other"))
    blank_row = pl.all_horizontal(
        [pl.col(c).is_null() for c in frame.columns if c[0] == "c" and c[1:].isdigit()]
    )
    frame = frame.with_columns(blank_row.cum_sum().alias("block"))
    filled: list[pl.Expr] = []
    for target, heading, title in (
        ("client_text", "heading_client", client),
        ("date_text", "heading_date", date_text),
        ("exercise_text", "heading_exercise", ""),
    ):
        column = general.get(target)
        filled.append(
            _filled(frame, column, heading, title, stops_at_blank=target != "client_text").alias(target)
        )
    unit_column = general.get("unit_text")
    stated = pl.coalesce(pl.col("heading_unit").forward_fill(), pl.lit(unit or None, dtype=pl.String))
    filled.append((pl.coalesce(pl.col(unit_column), stated) if unit_column else stated).alias("unit_text"))
    return frame.with_columns(filled)


def _filled(
    frame: pl.DataFrame, column: str | None, heading: str, title: str, *, stops_at_blank: bool
) -> pl.Expr:
    from_heading = pl.col(heading).forward_fill()
    if column is None:
        return pl.coalesce(from_heading, pl.lit(title or None, dtype=pl.String))
    own = pl.col(column)
    data = frame.filter(pl.col("has_amount") & ~pl.col("is_total"))
    if not data.height:
        return own
    n_blank = data[column].null_count()
    if n_blank == 0:
        return own
    # a heading row that holds a date in this column must not count as the column's own text
    source = pl.when(pl.col(heading).is_not_null()).then(None).otherwise(own)
    above, below = source.forward_fill(), source.backward_fill()
    if n_blank > _USUALLY * data.height or n_blank == data.height:
        if stops_at_blank and _blocks_begin_with(data, column):
            above = source.forward_fill().over("block")
        newest = pl.when(pl.col(heading).is_not_null()).then(pl.col(heading)).otherwise(own).forward_fill()
        return pl.coalesce(
            own,
            pl.when(from_heading.is_not_null()).then(newest).otherwise(above),
            pl.lit(title or None, dtype=pl.String),
        )
    return pl.coalesce(
        own, pl.when(above == below).then(above), from_heading, pl.lit(title or None, dtype=pl.String)
    )


def _blocks_begin_with(data: pl.DataFrame, column: str) -> bool:
    """True where blocks between blank rows nearly all begin with this text: one without it lacks it."""
    firsts = data.group_by("block", maintain_order=True).agg(
        pl.col(column).first().is_not_null().alias("begins")
    )
    if firsts.height < 2:
        return False
    return int(firsts["begins"].sum()) >= 0.7 * firsts.height
