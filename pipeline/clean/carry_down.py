"""Dates, exercises and clients written once and meant for the rows below."""

from __future__ import annotations

import polars as pl

from pipeline.clean.cells.dates import parse_date, to_date
from pipeline.clean.cells.folding import is_blank
from pipeline.clean.titles import Stated
from pipeline.clean.week_days import joined_day, monday_of_week, parse_weekday

_USUALLY = 0.25  # a column blank in more than this share of its rows is written once and carried down


def carry_down(marked: pl.DataFrame, general: dict[str, str], stated: Stated) -> pl.DataFrame:
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
        ("client_text", "heading_client", stated.client),
        ("date_text", "heading_date", stated.date_text),
        ("exercise_text", "heading_exercise", stated.exercise),
        ("weekday_text", "heading_weekday", stated.weekday),
    ):
        column = general.get(target)
        filled.append(
            _filled(frame, column, heading, title, stops_at_blank=target != "client_text").alias(target)
        )
    unit_column = general.get("unit_text")
    unit = pl.coalesce(pl.col("heading_unit").forward_fill(), pl.lit(stated.unit or None, dtype=pl.String))
    filled.append((pl.coalesce(pl.col(unit_column), unit) if unit_column else unit).alias("unit_text"))
    return _with_weekdays(frame.with_columns(filled), general, stated)


def _with_weekdays(frame: pl.DataFrame, general: dict[str, str], stated: Stated) -> pl.DataFrame:
    """`date_text` with the weekday that stands beside or below its heading; a row's own date needs none."""
    column = general.get("date_text")
    if column and "week_text" not in general:
        return _with_order(frame) if "weekday_text" in general else frame
    # a weekday, as a heading or written once, holds until the next date
    of_date = pl.col("heading_date").is_not_null().cum_sum()
    if "weekday_text" in general:
        own = pl.col(general["weekday_text"])
        day = pl.when(pl.col("heading_date").is_null() & ~own.is_in(_blanks(frame, general)))
        frame = frame.with_columns(
            day.then(own).forward_fill().over(of_date, "date_text").alias("weekday_text")
        )
    else:
        first = pl.when(of_date == 0).then(pl.lit(stated.weekday or None, dtype=pl.String))
        frame = frame.with_columns(
            pl.coalesce(pl.col("heading_weekday").forward_fill().over(of_date), first).alias("weekday_text")
        )
    if "week_text" in general:
        numbered = {text: monday for text in frame["date_text"].unique() if (monday := monday_of_week(text))}
        frame = frame.with_columns(pl.col("date_text").replace(numbered))
        frame = frame.with_columns(pl.concat_str(pl.lit("week from "), "date_text").alias("date_text"))
    pairs = frame.select("weekday_text", "date_text").unique()
    joined = [
        joined_day(day, text) if day and text and parse_weekday(day) and not is_blank(day) else text
        for day, text in pairs.iter_rows()
    ]
    pairs = pairs.with_columns(pl.Series("joined", joined, dtype=pl.String))
    return (
        frame.join(
            pairs, on=["weekday_text", "date_text"], how="left", nulls_equal=True, maintain_order="left"
        )
        .drop("date_text")
        .rename({"joined": "date_text"})
    )


def _with_order(frame: pl.DataFrame) -> pl.DataFrame:
    """Dates whose day and month could be either way round, with the weekday beside them where all weekdays of
    the table fit one way only. Otherwise a weekday may be the name of a day of the plan and says nothing."""
    pairs = frame.select("weekday_text", "date_text").drop_nulls().unique().rows()
    open_ones = [
        (parse_weekday(day), reading)
        for day, text in pairs
        if (reading := parse_date(text)).first and not reading.order and not reading.weekday and reading.year
    ]
    ways = [
        order
        for order in ("dmy", "mdy")
        if all((d := to_date(reading, order)) and d.isoweekday() == day for day, reading in open_ones)
    ]
    if not open_ones or len(ways) != 1:
        return frame
    ambiguous = [text for _, text in pairs if (reading := parse_date(text)).first and not reading.order]
    joined = pl.concat_str("weekday_text", pl.lit(", "), "date_text")
    return frame.with_columns(
        pl.when(pl.col("date_text").is_in(ambiguous))
        .then(joined)
        .otherwise(pl.col("date_text"))
        .alias("date_text")
    )


def _blanks(frame: pl.DataFrame, general: dict[str, str]) -> list[str]:
    """Texts of the column of weekdays that name none."""
    texts = frame[general["weekday_text"]].drop_nulls().unique().to_list()
    return [text for text in texts if not parse_weekday(text)]


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
