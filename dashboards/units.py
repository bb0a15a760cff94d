"""Kilograms inside, the client's unit on display."""

from __future__ import annotations

from typing import Literal

import polars as pl

Unit = Literal["kg", "lb"]

KG_PER_LB = 0.45359237
"""Exact: NIST SP 811."""


def from_kg(value: float, unit: Unit) -> float:
    """`value` kilograms in `unit`."""
    return value / KG_PER_LB if unit == "lb" else value


def columns_from_kg(frame: pl.DataFrame, columns: list[str], unit: Unit) -> pl.DataFrame:
    """`frame` with `columns` (in kg) turned into `unit`; names stay, since charts go by them."""
    if unit == "kg":
        return frame
    return frame.with_columns([pl.col(c) / KG_PER_LB for c in columns if c in frame.columns])


def show_load(value: float | None, unit: Unit, digits: int = 1) -> str:
    """A load as a coach reads it: `102.5 kg`, `225 lb`, and a dash where there is none."""
    if value is None:
        return "–"
    shown = f"{from_kg(value, unit):,.{digits}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    return f"{shown.replace('-', '−')} {unit}"


def show_set_load(load_kg: float, load_basis: str | None, implements: int | None, unit: Unit) -> str:
    """A load as one says it: with bodyweight, of assistance, a hand where each holds one, or plain.

    A goblet squat's dumbbell is one, however many hands hold it (`implements` 1): its load stands plain.
    """
    shown = show_load(abs(load_kg), unit)
    if load_basis in ("bodyweight", "assistance"):
        if load_kg == 0:
            return "bodyweight"
        return f"{shown} added" if load_kg > 0 else f"{shown} of assistance"
    is_a_hand = load_basis == "per_hand" and implements == 2
    return f"{shown} a hand" if is_a_hand else show_load(load_kg, unit)
