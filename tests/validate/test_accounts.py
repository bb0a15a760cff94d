"""The accounts: every record has one fate; what does not add up is said, file by file."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from pipeline.contract.sheets import Refusal, Sheet, SourceFile
from pipeline.validate.accounts import FATES, Accounts, add_earlier, balance

AS_OF = date(2026, 6, 28)
_PLACE = {
    "source_area": pl.String,
    "source_file": pl.String,
    "source_sheet": pl.String,
    "source_row": pl.Int64,
}


def file_of(n: int, name: str = "log.csv", sheet: str = "", content_hash: str = "h") -> SourceFile:
    """A file with `n` records."""
    cells = pl.DataFrame({"source_row": range(1, n + 1), "c0": ["x"] * n})
    return SourceFile("inbox", name, content_hash, (Sheet(sheet, cells),))


def accounts(sources: list[SourceFile], **fates: list[tuple[str, str, int | None]]) -> Accounts:
    """Balance files against places (file, sheet, record) given fate by fate."""
    tables = {
        fate: pl.DataFrame([("inbox", *place) for place in fates.get(fate, [])], orient="row", schema=_PLACE)
        for fate in FATES
    }
    return balance(sources, tables, AS_OF, {"log.csv": "set rows"}, {})


def places(*rows: int, name: str = "log.csv", sheet: str = "") -> list[tuple[str, str, int | None]]:
    return [(name, sheet, row) for row in rows]


def test_records_that_all_have_one_fate_add_up() -> None:
    result = accounts(
        [file_of(6)],
        ignored=places(1),
        loaded=places(2, 2, 2, 3),
        waiting=places(4, 4),
        rejected=places(5),
        duplicate=places(6),
    )
    assert result.faults == ()
    (row,) = result.ledger.to_dicts()
    assert {name: row[name] for name in row if name.startswith("n_")} == {
        "n_records": 6, "n_loaded": 2, "n_duplicate": 1, "n_rejected": 1, "n_waiting": 1, "n_ignored": 1,
        "n_sets": 4,
    }  # fmt: skip
    assert (row["outcome"], row["layout"], row["first_seen_date"]) == ("read", "set rows", AS_OF)


@pytest.mark.parametrize(
    ("fates", "said"),
    [
        ({"loaded": places(1)}, "without a fate [('', 2)]"),
        ({"loaded": places(1, 2), "ignored": places(2)}, "with more than one [('', 2)]"),
        ({"loaded": places(1, 2), "rejected": places(9)}, "not in the file [('', 9)]"),
        ({"loaded": places(1, 9)}, "without a fate [('', 2)]"),
        ({}, "without a fate [('', 1), ('', 2)]"),
        ({"loaded": places(1, 2, sheet="other")}, "not in the file"),
    ],
    ids=["lost", "twice", "foreign", "one lost and one foreign", "all lost", "another sheet"],
)
def test_a_record_lost_doubled_or_foreign_is_a_fault_that_names_the_file(
    fates: dict[str, list[tuple[str, str, int | None]]], said: str
) -> None:
    (fault,) = accounts([file_of(2)], **fates).faults
    assert fault.startswith("inbox/log.csv does not add up")
    assert said in fault


def test_one_file_that_does_not_add_up_does_not_hide_behind_another_that_does() -> None:
    result = accounts(
        [file_of(2), file_of(2, "b.csv")], loaded=[*places(1, 2), *places(1, 2, 3, name="b.csv")]
    )
    assert len(result.faults) == 1
    assert "b.csv" in result.faults[0]


def test_a_file_refused_whole_counts_all_its_records_as_refused() -> None:
    refused = SourceFile(
        "inbox", "log.csv", "h", refusal=Refusal("file_empty", "Empty."), n_refused_records=3
    )
    result = accounts([refused], rejected=[("log.csv", "", None)])
    (row,) = result.ledger.to_dicts()
    assert result.faults == ()
    assert (row["n_records"], row["n_rejected"], row["outcome"], row["message"]) == (
        3,
        3,
        "refused",
        "Empty.",
    )


def test_the_same_record_number_of_two_sheets_is_two_records() -> None:
    cells = pl.DataFrame({"source_row": [1], "c0": ["x"]})
    source = SourceFile("inbox", "log.xlsx", "h", (Sheet("A", cells), Sheet("B", cells)))
    result = accounts([source], loaded=[("log.xlsx", "A", 1), ("log.xlsx", "B", 1)])
    assert result.faults == ()
    assert result.ledger["n_records"].to_list() == [2]


def test_an_empty_inbox_adds_up() -> None:
    assert accounts([]).faults == ()
    assert accounts([]).ledger.height == 0


def test_earlier_contents_are_remembered_with_the_day_they_were_first_seen() -> None:
    before = accounts([file_of(1, content_hash="old"), file_of(1, "gone.csv")], loaded=[
        *places(1), *places(1, name="gone.csv"),
    ]).ledger.with_columns(pl.lit(date(2026, 5, 1)).alias("first_seen_date"))  # fmt: skip
    now = accounts([file_of(1, content_hash="new")], loaded=places(1)).ledger
    ledger = add_earlier(now, before)
    found = ledger.select("source_file", "content_hash", "is_current", "outcome", "first_seen_date").rows()
    assert found == [
        ("gone.csv", "h", False, "gone", date(2026, 5, 1)),
        ("log.csv", "new", True, "read", AS_OF),
        ("log.csv", "old", False, "gone", date(2026, 5, 1)),
    ]
    again = add_earlier(now, ledger)
    assert again.sort(again.columns).equals(ledger.sort(ledger.columns))
