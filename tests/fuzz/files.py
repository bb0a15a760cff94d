"""Made files for fuzzing: random bytes, random cells in every layout, good files damaged in known ways."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import openpyxl

PIECES = (Path(__file__).parent / "cell_pieces.txt").read_text(encoding="utf-8").split()
SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".md", "", ".pdf", ".xls", ".tab")
_STARTS = (
    b"",
    b"PK\x03\x04",
    b"\xff\xfe",
    b"\xfe\xff",
    b"\xef\xbb\xbf",
    b"%PDF",
    b"\x00",
    b"<?xml",
    b"sep=;\n",
)
HEADERS = (
    ("Date", "Exercise", "kg", "Reps", "RPE", "Notes"),
    ("Client", "Date", "Exercise", "Set", "Weight", "Reps"),
    ("Datum", "Übung", "Sätze", "Wdh", "Gewicht (kg)", "RIR"),
    ("Date", "Exercise", "Sets x Reps", "Load", "Notes"),
    ("Date", "Exercise", "Set 1 kg", "Set 1 reps", "Set 2 kg", "Set 2 reps"),
    ("Date", "Exercise", "kg", "Set 1", "Set 2", "Set 3"),
    ("Exercise", "2026-03-02", "2026-03-04", "2026-03-09"),
    ("Exercise", "Result"),
    ("Date", "Exercise", "Side", "Time", "Left", "Right"),
)
LIFTS = (
    "Bench Press",
    "Squat",
    "Deadlift",
    "Pull-ups",
    "Dumbbell Row",
    "Plank",
    "Press",
    "Bnech press",
    "Sofa",
)
FIRST = date(2026, 1, 5)


def random_bytes(rng: random.Random) -> bytes:
    """Bytes of any kind, often behind the first bytes of some file format."""
    length = rng.choice((0, 1, 7, 100, 3_000))
    alphabet = rng.choice(
        (range(256), range(32, 127), (0x2C, 0x3B, 0x0A, 0x22, 0x31, 0x78, 0xC3, 0xBC, 0x20))
    )
    return rng.choice(_STARTS) + bytes(rng.choices(list(alphabet), k=length))


def messy_cell(rng: random.Random) -> str:
    """A cell of pieces that logs are made of, now and then of any letters at all."""
    match rng.randrange(12):
        case 0:
            return ""
        case 1:
            return "".join(chr(rng.randrange(32, 0x2FF)) for _ in range(rng.randrange(12)))
        case 2 | 3 | 4:
            return rng.choice(LIFTS)
        case 5 | 6:
            return (FIRST + timedelta(days=rng.randrange(200))).strftime(
                rng.choice(("%Y-%m-%d", "%d/%m/%y", "%d %b"))
            )
        case 7 | 8:
            return f"{rng.choice((20, 60, 62.5, 100))}{rng.choice(('', 'kg', ' lb', 'x8', ' x 8,8,7', '@8'))}"
        case _:
            return rng.choice(("", " ")).join(rng.choices(PIECES, k=rng.randrange(1, 5)))


def messy_table(rng: random.Random) -> list[list[str]]:
    """Rows of messy cells below a good header, none, or several."""
    header = list(rng.choice(HEADERS))
    rows: list[list[str]] = []
    for n in range(rng.randrange(1, 25)):
        if n == rng.choice((0, 0, 0, 3)) or rng.random() < 0.04:
            rows.append(header if rng.random() < 0.9 else [messy_cell(rng) for _ in header])
        width = len(header) + rng.choice((0, 0, 0, 0, -1, 1, 3))
        rows.append([messy_cell(rng) if rng.random() < 0.85 else "" for _ in range(max(width, 0))])
    return rows


def as_text(rows: list[list[str]], separator: str, *, quote: bool = True) -> bytes:
    """Rows as a text file."""

    def shown(cell: str) -> str:
        if quote and any(sign in cell for sign in (separator, '"', "\n")):
            return '"' + cell.replace('"', '""') + '"'
        return cell

    return "\n".join(separator.join(map(shown, row)) for row in rows).encode("utf-8", "replace")


def as_workbook(rng: random.Random, rows: list[list[str]]) -> bytes:
    """Rows as a workbook: some cells numbers or dates, some merged, some sheets hidden."""
    book = openpyxl.Workbook()
    for _ in range(rng.randrange(1, 3)):
        sheet = book.create_sheet(rng.choice(("Week 1", "Anna", "Tabelle", "2026-03-02", "x")))
        sheet.sheet_state = rng.choice(("visible", "visible", "hidden"))
        for r, row in enumerate(rows, start=rng.choice((1, 1, 3))):
            for c, text in enumerate(row, start=rng.choice((1, 1, 2))):
                cell = sheet.cell(r, c)
                cell.value = _typed(rng, text)
                cell.number_format = rng.choice(("General", "General", '0.0 "kg"', "0%", "d mmm", "@"))
        if rng.random() < 0.3:
            sheet.merge_cells(start_row=2, start_column=1, end_row=4, end_column=1)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _typed(rng: random.Random, text: str) -> object:
    clean = "".join(ch for ch in text if ch.isprintable())
    if rng.random() < 0.7:
        try:
            return float(clean.replace(",", "."))
        except ValueError:
            pass
        try:
            return date.fromisoformat(clean)
        except ValueError:
            pass
    return clean or None


def good_log(rng: random.Random, n_sessions: int = 6) -> tuple[list[list[str]], list[tuple[float, int]]]:
    """A clean table, and load and repetitions of each of its sets."""
    rows, sets = [["Date", "Exercise", "Set", "Weight (kg)", "Reps", "RPE", "Notes"]], []
    for n in range(n_sessions):
        for lift, base in (("Bench Press", 60.0), ("Squat", 100.0)):
            for number in range(1, 4):
                load, reps = base + 2.5 * n, rng.randrange(4, 11)
                sets.append((load, reps))
                day = (FIRST + timedelta(days=3 * n)).isoformat()
                rows.append([day, lift, str(number), f"{load:g}", str(reps), rng.choice(("", "8")), ""])
    return rows, sets


Damage = Callable[[random.Random, bytes], bytes]


def _cut(rng: random.Random, data: bytes) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def _other_separator(rng: random.Random, data: bytes) -> bytes:
    return data.replace(b",", rng.choice((b";", b"\t", b"|", b" ", b",,")))


def _some_separators(rng: random.Random, data: bytes) -> bytes:
    return bytes(rng.choice(b";\t|") if byte == 0x2C and rng.random() < 0.1 else byte for byte in data)


def _stray_quotes(rng: random.Random, data: bytes) -> bytes:
    at = rng.randrange(len(data))
    return data[:at] + b'"' + data[at:]


def _inserted_lines(rng: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    for _ in range(rng.randrange(1, 4)):
        new = " ".join(rng.choices(PIECES, k=4)).encode()
        lines.insert(rng.randrange(len(lines)), rng.choice((b"", b",,,", new, lines[0], lines[-1])))
    return b"\n".join(lines)


def _turned_bytes(rng: random.Random, data: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(rng.randrange(1, 8)):
        changed[rng.randrange(len(changed))] = rng.randrange(256)
    return bytes(changed)


def _shuffled_lines(rng: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    rng.shuffle(lines)
    return b"\n".join(lines)


def _dropped_column(rng: random.Random, data: bytes) -> bytes:
    at = rng.randrange(7)
    return b"\n".join(
        b",".join(cell for n, cell in enumerate(line.split(b",")) if n != at) for line in data.split(b"\n")
    )


def _other_encoding(rng: random.Random, data: bytes) -> bytes:
    return data.decode().encode(
        rng.choice(("utf-16", "utf-16-le", "cp1252", "utf-8-sig", "utf-32")), "replace"
    )


def _other_line_ends(rng: random.Random, data: bytes) -> bytes:
    return data.replace(b"\n", rng.choice((b"\r\n", b"\r", b"\n\n", b"\r\r\n", b"\n\r")))


DAMAGES: dict[str, Damage] = {
    "cut": _cut,
    "other separator": _other_separator,
    "some separators": _some_separators,
    "stray quotes": _stray_quotes,
    "inserted lines": _inserted_lines,
    "turned bytes": _turned_bytes,
    "shuffled lines": _shuffled_lines,
    "dropped column": _dropped_column,
    "other encoding": _other_encoding,
    "other line ends": _other_line_ends,
}
