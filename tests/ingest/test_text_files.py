"""Text files: separators, encodings, line ends, numbering of records."""

from __future__ import annotations

import pytest

from tests.inbox_reading import read_log, read_sources

ROWS = [
    ["Datum", "Übung", "Gewicht (kg)", "Wdh", "Notiz"],
    ["2026-03-02", "Kniebeuge", "100,5", "5", "für Zoë – schön"],
    ["2026-03-02", "Bankdrücken", "80", "8", ""],
]


def table(separator: str, line_end: str = "\n") -> str:
    """`ROWS` as text; a cell that holds the separator is quoted."""

    def quoted(cell: str) -> str:
        return f'"{cell}"' if separator in cell else cell

    return "".join(separator.join(map(quoted, row)) + line_end for row in ROWS)


def cells_of(data: str | bytes, name: str = "log.csv") -> list[list[str | None]]:
    """The cells that ingest sees, rows from top to bottom."""
    (source,) = read_sources({name: data})
    assert source.refusal is None, source.refusal
    (sheet,) = source.sheets
    assert sheet.cells["source_row"].to_list() == list(range(1, sheet.n_records + 1))
    return [list(row) for row in sheet.cells.select(sheet.columns).iter_rows()]


EXPECTED = [[cell or None for cell in row] for row in ROWS]


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"], ids=["comma", "semicolon", "tab", "bar"])
def test_any_separator_with_any_line_end_gives_the_same_cells(separator: str, line_end: str) -> None:
    assert cells_of(table(separator, line_end)) == EXPECTED


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(table(";").encode("utf-8"), id="UTF-8"),
        pytest.param(table(";").encode("utf-8-sig"), id="UTF-8 with mark"),
        pytest.param(table(";").encode("utf-16"), id="UTF-16 with mark"),
        pytest.param(b"\xfe\xff" + table(";").encode("utf-16-be"), id="UTF-16 big end with mark"),
        pytest.param(table(";").encode("utf-16-le"), id="UTF-16 without mark"),
        pytest.param(table(";").encode("utf-16-be"), id="UTF-16 big end without mark"),
        pytest.param(table(";").encode("cp1252"), id="Windows western"),
        pytest.param(table(";").encode("mac-roman"), id="old Mac"),
    ],
)
def test_the_encoding_of_a_file_does_not_change_its_cells(data: bytes) -> None:
    assert cells_of(data) == EXPECTED


def test_latin_1_accents_are_read() -> None:
    assert cells_of("Übung;Größe\nRäkeln;1\n".encode("latin-1")) == [["Übung", "Größe"], ["Räkeln", "1"]]


@pytest.mark.parametrize(
    ("messy", "expected"),
    [
        ("BankdrÃ¼cken", "Bankdrücken"),
        ("dÃ©veloppÃ© couchÃ©", "développé couché"),
        ("donâ€™t know", "don't know"),
        ("Ãœbung", "Übung"),
        ("easy ðŸ’ª", "easy 💪"),
        ("Peso Ã— reps", "Peso × reps"),
        ("Bankdrücken", "Bankdrücken"),
        ("PÂTÉ", "PÂTÉ"),
    ],
)
def test_accents_garbled_by_a_wrong_decoding_are_put_right_and_others_left(messy: str, expected: str) -> None:
    ((first, _), _) = cells_of(f"{messy};x\n1;2\n")
    assert first is not None
    assert first.replace("’", "'") == expected


def test_a_good_line_beside_a_garbled_one_stays_as_it_is() -> None:
    assert cells_of("Bankdrücken;1\nKniebeugeÃ¼bung;2\n") == [["Bankdrücken", "1"], ["Kniebeugeübung", "2"]]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param('a,b\n1,"x, y"\n', [["a", "b"], ["1", "x, y"]], id="separator inside quotes"),
        pytest.param(
            'a,b\n1,"say ""hi"""\n2,c\n', [["a", "b"], ["1", 'say "hi"'], ["2", "c"]], id="doubled quotes"
        ),
        pytest.param(
            'a,b\n1,"two\nlines"\n2,c\n', [["a", "b"], ["1", "two\nlines"], ["2", "c"]], id="line in quotes"
        ),
        pytest.param(
            'a,b\n1,5" deficit\n2,c\n', [["a", "b"], ["1", '5" deficit'], ["2", "c"]], id="an inch sign"
        ),
        pytest.param(
            'a,b,c\n1,x,8\n",",7\n', [["a", "b", "c"], ["1", "x", "8"], ['"', '"', "7"]], id="ditto marks"
        ),
        pytest.param('a,b\n",",7\n', [["a", "b"], [",", "7"]], id="a separator in quotes is no ditto"),
        pytest.param("a,b\n\n1,2\n", [["a", "b"], [None, None], ["1", "2"]], id="blank line counted"),
        pytest.param("a,b\n1\n1,2,3\n", [["a", "b", None], ["1", None, None], ["1", "2", "3"]], id="ragged"),
        pytest.param("sep=;\na;b\n1;2\n", [["sep=", None], ["a", "b"], ["1", "2"]], id="declared separator"),
        pytest.param(
            "a;b\n80,5;8\n72,5;8\n", [["a", "b"], ["80,5", "8"], ["72,5", "8"]], id="decimal commas"
        ),
        pytest.param("a,b\n  ,2\n", [["a", "b"], [None, "2"]], id="spaces are nothing"),
        pytest.param("a,b\n1,2", [["a", "b"], ["1", "2"]], id="no line end at the end"),
    ],
)
def test_records_of_a_table(text: str, expected: list[list[str | None]]) -> None:
    assert cells_of(text) == expected


def test_a_quote_that_is_never_closed_does_not_swallow_the_lines_behind_it() -> None:
    text = 'Date,Exercise,kg,Reps,Note\n2026-03-02,Bench Press,60,8,"felt good\n' + (
        "2026-03-02,Bench Press,60,8,\n" * 4
    )
    assert read_log(text).amounts == [(60.0, 8)] * 5


def test_a_note_of_several_lines_is_one_record() -> None:
    text = 'Date,Exercise,kg,Reps,Note\r\n2026-03-02,Bench Press,60,8,"felt good\nreally"\r\n'
    read = read_log(text)
    assert read.values("source_row", "note") == [(2, "felt good\nreally")]
    assert read.fates["records"] == 2


@pytest.mark.parametrize(
    ("name", "text", "is_notes"),
    [
        ("log.txt", "2 March\nBench 60x8, 60x8, 60x7\nSquat 100x5, 100x5\n", True),
        ("log.txt", "Date\tExercise\tkg\tReps\n2026-03-02\tBench\t60\t8\n", False),
        ("log.txt", "Date;Exercise;kg;Reps\n2026-03-02;Bench;60;8\n2026-03-02;Bench;60;8\n", False),
        ("log.txt", "Date,Exercise,kg,Reps\n2026-03-02,Bench,60,8\n2026-03-02,Bench,60,8\n", False),
        ("notes.md", "2 March\nBench 60x8; 60x8; 60x7\n", True),
        ("log.csv", "2026-03-02,Bench 3x8@60\n", False),
    ],
)
def test_a_text_file_is_a_table_or_free_lines(name: str, text: str, is_notes: bool) -> None:
    (source,) = read_sources({name: text})
    assert source.sheets[0].is_notes == is_notes
