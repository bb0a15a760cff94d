"""Amounts read column by column are those read set by set."""

from __future__ import annotations

import random
from dataclasses import asdict

import polars as pl
import pytest

from pipeline.clean.amount_columns import with_amounts
from pipeline.clean.amounts import AmountTexts, read_amounts
from pipeline.clean.cells.loads import parse_unit
from pipeline.clean.knowledge import exercise_facts
from pipeline.reference import load_catalogue

BAR_KG = 20.0
FACTS = exercise_facts(load_catalogue(None))
UNITS = {"ana": "kg", "ben": "lb", "cem": ""}
TEXTS: dict[str, list[str | None]] = {
    "load_text": ["100", "62,5 kg", "225 lb", "bw", "+10", "-20", "2x20", "20 per hand", "red band", "#7",
                  "40/side", "bar", "0:45", "8-10", "?", "60-70", "1,000", None, "", "-", "total 40", "60s"],
    "reps_text": ["5", "8", "10+", "8 each", "4+3+2", "30s", "1:30", "fail", "8-10", "x", "12 F", None, "", "0"],
    "left_text": [None, None, None, "8", "x"],
    "right_text": [None, None, None, "7", "9"],
    "duration_text": [None, None, "45", "0:40", "5", "2 min"],
    "duration_unit": [None, "", "s", "min"],
    "kind_text": [None, "W", "drop", "work", "yes", "rest-pause", "1"],
    "rpe_text": [None, "8", "8-9", "11", "hard", "6,5"],
    "rir_text": [None, "2", "0", "3-4", "-1", "x"],
    "effort_text": [None, "@8", "2 rir", "fail", "9"],
    "header_unit": ["", "kg", "lb"],
    "unit_text": [None, "kg", "lbs", "stone"],
    "client_id": ["ana", "ben", "cem"],
    "exercise_id": ["bench_press", "plank", "pull_up", "assisted_dip", "dumbbell_curl", "leg_press",
                    "band_pull_apart", "leg_curl", "ignore", None],
}  # fmt: skip


@pytest.mark.parametrize("is_warm_up_column", [False, True])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_amounts_read_all_at_once_are_those_read_one_by_one(seed: int, is_warm_up_column: bool) -> None:
    chance = random.Random(seed)
    rows = [{name: chance.choice(texts) for name, texts in TEXTS.items()} for _ in range(4_000)]
    schema = dict.fromkeys(TEXTS, pl.String)
    per_hand = pl.Series("is_per_hand", [chance.random() < 0.2 for _ in rows])
    usual = pl.col("client_id").replace_strict(UNITS, default="", return_dtype=pl.String)
    frame = pl.DataFrame(rows, schema=schema).with_columns(per_hand, usual.alias("default_unit"))
    found = with_amounts(frame, FACTS, BAR_KG, is_warm_up_column=is_warm_up_column)
    assert found.select(frame.columns).equals(frame)
    for row in found.iter_rows(named=True):
        if row["exercise_id"] not in FACTS:
            assert row["a_problem"] == ""
            assert row["a_load_kg"] is None
            continue
        unit = parse_unit(row["unit_text"] or "") or row["header_unit"]
        texts = AmountTexts(
            **{name.removesuffix("_text"): row[name] or "" for name in list(TEXTS)[:5]},
            duration_unit=row["duration_unit"] or "",
            kind=row["kind_text"] or "",
            rpe=row["rpe_text"] or "",
            rir=row["rir_text"] or "",
            effort=row["effort_text"] or "",
            unit=unit,
            default_unit=UNITS[row["client_id"]],
            is_per_hand=row["is_per_hand"],
            kind_is_warm_up_column=is_warm_up_column,
        )
        expected = asdict(read_amounts(texts, FACTS[row["exercise_id"]], BAR_KG))
        assert {name: row[f"a_{name}"] for name in expected} == expected, texts
