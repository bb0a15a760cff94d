"""The day of each entry: by the file, the client's profile or an answer, else asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

import polars as pl

from pipeline.clean.file_reading import Asks, FileReading
from pipeline.clean.knowledge import ClientProfile, Knowledge
from pipeline.clean.session_dates import DateSetting, DayFound, date_in_name, find_days, year_in_name
from pipeline.contract.group_numbers import distinct_rows, with_found


def with_days(frame: pl.DataFrame, reading: FileReading, known: Knowledge) -> pl.DataFrame:
    """`session_date`, or the reason or question in `date_problem`, `date_question`."""
    file_name = reading.source.source_file
    named = date_in_name(file_name.rsplit("/", 1)[-1].rsplit(".", 1)[0])
    sheet_days = {sheet: date_in_name(sheet) for sheet in frame["source_sheet"].unique().to_list()}
    fallback = pl.col("source_sheet").replace_strict(
        {sheet: day or named or None for sheet, day in sheet_days.items()},
        default=None,
        return_dtype=pl.String,
    )
    has_dates = frame["date_text"].drop_nulls().len() > 0
    frame = frame.with_columns(
        (pl.col("date_text") if has_dates else pl.coalesce("date_text", fallback)).alias("date_text")
    )
    hint = year_in_name(file_name) if not has_dates or len(sheet_days) == 1 else None
    return _with_days_of_texts(frame, reading, known, lambda _name: hint)


def with_days_of_dated(frame: pl.DataFrame, asks: Asks, known: Knowledge) -> pl.DataFrame:
    """As `with_days`, for entries of several files of one sheet each, of which every one has a date text."""
    return _with_days_of_texts(frame, asks, known, year_in_name)


def _with_days_of_texts(
    frame: pl.DataFrame, asks: Asks, known: Knowledge, hint_of: Callable[[str], int | None]
) -> pl.DataFrame:
    """The days of all date texts, those of a file and client together; `hint_of`: a year by the file's name."""
    keys = ["source_file", "client_id"]
    numbers, texts = distinct_rows(frame, [*keys, "date_text", "epoch"])
    rows: list[tuple[object, ...]] = []
    for (name, client_id), its in _together(texts.iter_rows()).items():
        setting = _date_setting(client_id, name, known)
        dated = {text: epoch for text, epoch in its if text is not None}
        for text, found in find_days(list(dated), setting, dated, hint_of(name)).items():
            asked = _ask_when(found, asks)
            rows.append((name, client_id, text, found.day, found.problem, asked, found.suggested))
    days = pl.DataFrame(
        rows,
        orient="row",
        schema={
            "source_file": pl.String,
            "client_id": pl.String,
            "date_text": pl.String,
            "session_date": pl.Date,
            "date_problem": pl.String,
            "date_question": pl.String,
            "date_suggested": pl.String,
        },
    )
    found_days = texts.join(days, on=[*keys, "date_text"], how="left", maintain_order="left")
    return with_found(frame, numbers, found_days.drop(texts.columns)).with_columns(
        pl.when(pl.col("date_text").is_null())
        .then(pl.lit("date_missing"))
        .otherwise(pl.col("date_problem"))
        .alias("date_problem")
    )


def _together(
    rows: Iterable[tuple[str, str, str | None, str]],
) -> dict[tuple[str, str], list[tuple[str | None, str]]]:
    """Texts and their date systems by file and client, in the order they stand there."""
    groups: dict[tuple[str, str], list[tuple[str | None, str]]] = {}
    for name, client_id, text, epoch in rows:
        groups.setdefault((name, client_id), []).append((text, epoch))
    return groups


def days_said(texts: list[str], client_id: str, file_name: str, known: Knowledge) -> dict[str, date]:
    """The days of date texts beside which no set stands; none for a text that would have to be asked about."""
    found = find_days(texts, _date_setting(client_id, file_name, known), {}, year_in_name(file_name))
    return {text: day.day for text, day in found.items() if day.day and not day.problem and not day.question}


def _date_setting(client_id: str, file_name: str, known: Knowledge) -> DateSetting:
    profile = known.profiles.get(client_id, ClientProfile(client_id))
    return DateSetting(
        known.as_of,
        file_name,
        client_id,
        profile.date_order or known.default_order,
        profile.start_date,
        known.answers,
    )


def _ask_when(found: DayFound, asks: Asks) -> str:
    if found.question is None:
        return ""
    choices = (
        ["dmy", "mdy"] if found.question.kind == "date_order" else [found.suggested, found.question.raw_text]
    )
    return asks.ask(found.question, choices, found.suggested)
