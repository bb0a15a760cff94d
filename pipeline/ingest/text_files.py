"""Text files: encoding, separator and records of csv, tsv and phone notes."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter

import polars as pl

from pipeline.contract.plain_sheets import PlainSheet
from pipeline.contract.sheets import Refusal, Sheet, SourceFile

MOST_COLUMNS = 1_000
MOST_CELL_CHARACTERS = 32_767
SEPARATORS = (",", ";", "\t", "|")
_MOJIBAKE = re.compile("Ã[\u0080-\u00bf€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ]|â€|Â[\u0080-\u00bf]|ðŸ")


def read_text_file(data: bytes, area: str, name: str, digest: str) -> SourceFile:
    """A csv, tsv or notes file as one sheet, or its refusal."""
    decoded = decode(data)
    if isinstance(decoded, Refusal):
        return SourceFile(area, name, digest, refusal=decoded)
    text = _with_tabs(mend_mojibake(decoded), name)
    separator = find_separator(text, name)
    plain = _read_plain_table(text, separator) if separator is not None else None
    if plain is not None:
        return SourceFile(area, name, digest, sheets=(plain,))
    rows = [[line] for line in _lines(text)] if separator is None else _read_records(text, separator)
    refusal = _check_size(rows)
    if refusal is not None:
        return SourceFile(area, name, digest, refusal=refusal, n_refused_records=len(rows))
    widths = None if separator is None else pl.Series("width", [len(row) for row in rows], dtype=pl.UInt16)
    sheet = Sheet("", to_cells(rows), is_notes=separator is None, widths=widths)
    return SourceFile(area, name, digest, sheets=(sheet,))


def decode(data: bytes) -> str | Refusal:
    """Text of bytes in UTF-8 or UTF-16 (with or without a mark), else in the likeliest 8-bit encoding."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            return Refusal(
                "file_truncated",
                "The file breaks off in the middle of a character.",
                "Ask the client to send it again.",
            )
    without_mark = _utf16_without_mark(data)
    if without_mark is not None:
        return without_mark
    if b"\x00" in data:
        return Refusal(
            "file_nul_bytes",
            "The file holds NUL bytes, as damaged or binary files do.",
            "Ask the client to export it again.",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return _decode_8_bit(data)


def _utf16_without_mark(data: bytes) -> str | None:
    sample = data[:4096]
    if len(sample) < 8:
        return None
    for encoding, zeros in (("utf-16-le", sample[1::2]), ("utf-16-be", sample[0::2])):
        if zeros.count(0) > 0.7 * len(zeros):
            try:
                return data.decode(encoding)
            except UnicodeDecodeError:
                return None
    return None


def _decode_8_bit(data: bytes) -> str:
    """Western European first, as nearly all such files are; Mac Roman where that alone gives letters."""
    western = data.decode("cp1252", errors="replace")
    if "\ufffd" not in western and not re.search("[\x80-\x9f]", western):
        odd = len(re.findall("[ŠŸŒœ€¡¢£¤¥¦§¨©ª«¬®¯±²³´µ¶·¸¹º»¼¾¿ÐÞðþ‰‹›†‡]", western))
        mac = data.decode("mac-roman", errors="replace")
        if odd > 2 and len(re.findall("[äöüßéèêáàóòíìñçÄÖÜ]", mac)) >= odd:
            return mac
        return western
    from charset_normalizer import from_bytes

    best = from_bytes(data).best()
    return str(best) if best is not None else data.decode("latin-1")


def mend_mojibake(text: str) -> str:
    """Accents garbled by a wrong decoding put right (`KniebeugenÃ¼bung`), line by line, others untouched."""
    if text.isascii() or not _MOJIBAKE.search(text):
        return text
    import ftfy

    lines = text.split("\n")
    return "\n".join(ftfy.fix_encoding(line) if _MOJIBAKE.search(line) else line for line in lines)


def _lines(text: str) -> list[str]:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return lines[:-1] if lines and lines[-1] == "" else lines


def find_separator(text: str, name: str) -> str | None:
    """The separator of a table, None for a file of free lines.

    A separator must stand in most lines that are not blank, and about as often in each. A comma counts only
    where it is no decimal comma (a file separated by semicolons may be full of those).
    """
    lines = [line for line in _lines(text[:200_000]) if line.strip()][:200]
    if not lines:
        return None
    declared = re.match(r"^sep=(.)$", lines[0].strip(), re.IGNORECASE)
    if declared:
        return declared.group(1)
    best: tuple[float, str] | None = None
    for separator in SEPARATORS:
        counts = [_count_outside_quotes(line, separator) for line in lines]
        used = [count for count in counts if count]
        if not used:
            continue
        usual, n_usual = Counter(used).most_common(1)[0]
        share = len(used) / len(lines)
        score = share * (n_usual / len(used)) * min(usual, 4)
        if separator == ",":
            score *= (
                0.5
                if name.lower().endswith((".txt", ".md", "")) and not name.lower().endswith(".csv")
                else 0.9
            )
        if not counts[0] and any(_count_outside_quotes(lines[0], other) for other in SEPARATORS):
            score *= 0.5  # the header is separated by another: this one stands within cells
        if best is None or score > best[0]:
            best = (score, separator)
    if name.lower().endswith((".csv", ".tsv", ".tab")):
        if best is None:
            return "\t" if name.lower().endswith((".tsv", ".tab")) else ","
        return best[1]
    if best is None:
        return None
    return best[1] if _is_table(lines, best[1]) else None


_GAP = re.compile(r"(?<=\S) {2,}(?=\S)")


def _with_tabs(text: str, name: str) -> str:
    """A table aligned by spaces, below a header of words, with a tab for each gap; any other text as it is."""
    if not name.lower().endswith((".txt", ".md")) or "\t" in text or "  " not in text:
        return text
    lines = [line.strip() for line in _lines(text)]
    counts = [len(_GAP.findall(line)) for line in lines if line]
    usual, n_usual = Counter(counts).most_common(1)[0]
    if usual < 2 or n_usual < max(2, 0.8 * len(counts)) or counts[0] != usual or re.search(r"\d", lines[0]):
        return text
    return "\n".join(_GAP.sub("\t", line) for line in lines) + "\n"


def _is_table(lines: list[str], separator: str) -> bool:
    """A .txt is a table where most of its lines have the same number of cells; with commas, which lists of sets
    have too, only below a line of words without figures."""
    if separator == "," and (re.search(r"\d", lines[0]) or "," not in lines[0]):
        return False
    counts = Counter(_count_outside_quotes(line, separator) for line in lines)
    usual, n_usual = max(
        ((c, n) for c, n in counts.items() if c >= (1 if separator == "\t" else 2)),
        key=lambda item: item[1],
        default=(0, 0),
    )
    return usual > 0 and n_usual >= max(2, 0.6 * len(lines))


def _count_outside_quotes(line: str, separator: str) -> int:
    if '"' in line:
        line = re.sub(r'"[^"]*"', "", line)
    if separator == ",":
        line = re.sub(r"(?<=\d),(?=\d{1,2}(?:\D|$))", "", line) if ";" in line or "\t" in line else line
    return line.count(separator)


def _read_plain_table(text: str, separator: str) -> PlainSheet | None:
    """A table without a quote in it, its cells still to be split; None for one that has to be read record by
    record."""
    if (
        '"' in text
        or _LINE_INSIDE in text
        or "\r" in text.replace("\r\n", "")
        or ("\r\n" in text and _has_lone_feed(text))
    ):
        return None
    text = text.replace("\r\n", "\n").removesuffix("\n")
    if not text:
        return None
    lines = text.split("\n")
    longest = max(map(len, lines))
    if (
        4 * longest > MOST_CELL_CHARACTERS
        and max(len(line.encode()) for line in lines) > MOST_CELL_CHARACTERS
    ):
        return None
    if longest >= MOST_COLUMNS and max(line.count(separator) for line in lines) >= MOST_COLUMNS:
        return None
    return PlainSheet(text, separator)


def _has_lone_feed(text: str) -> bool:
    return text.count("\n") != text.count("\r\n")


def _read_records(text: str, separator: str) -> list[list[str]]:
    csv.field_size_limit(2**31 - 1)
    # one kind of line end outside and inside quotes; a quoted cell may hold several lines
    text = _join_broken_lines(text, separator).replace("\r\n", "\n").replace("\r", "\n")
    text = _keep_ditto_marks(text, separator)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    # with one separator a record, a line of a session's sets has as many; then the quotes must be in pairs
    is_short = max((len(row) for row in rows), default=0) <= 2 and text.count('"') % 2 == 0
    if is_short or not _swallows_lines(rows, separator):
        return (
            [[cell.replace(_LINE_INSIDE, "\n") for cell in row] for row in rows]
            if _LINE_INSIDE in text
            else rows
        )
    # a quote that is never closed must not swallow the lines behind it
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, quoting=csv.QUOTE_NONE))


_LINE_INSIDE = "\u2028"


_DITTOS = ('"', '"""', '""""')  # bare, and as programs write one


def _keep_ditto_marks(text: str, separator: str) -> str:
    """A cell of one bare quote means `as above`; taken for the start of a quoted cell it would swallow the
    next. Told by its line, which has as many cells as the first when split without regard to quotes."""
    mark = re.compile(
        rf'(?:^|{re.escape(separator)})[ ]*(?:"|"{{3}})[ ]*(?={re.escape(separator)}|$)', re.MULTILINE
    )
    if not mark.search(text):
        return text
    lines = text.split("\n")
    n_cells = len(lines[0].split(separator))
    for index, line in enumerate(lines):
        cells = line.split(separator)
        if len(cells) == n_cells and all(cell.strip() in _DITTOS for cell in cells if '"' in cell):
            lines[index] = separator.join('""""' if cell.strip() in _DITTOS else cell for cell in cells)
    return "\n".join(lines)


def _join_broken_lines(text: str, separator: str) -> str:
    """In a file whose records end in CRLF, a lone line feed inside a record marked as part of its cell."""
    n_crlf = text.count("\r\n")
    lone = re.findall(r"(?<!\r)\n([^\r\n]*)", text)
    if not lone or n_crlf < len(lone):
        return text
    usual = Counter(line.count(separator) for line in text.split("\r\n")).most_common(1)[0][0]
    if usual == 0 or sum(piece.count(separator) >= usual for piece in lone) > 0:
        return text
    return re.sub(r"(?<!\r)\n", _LINE_INSIDE, text)


def _swallows_lines(rows: list[list[str]], separator: str) -> bool:
    """True where a quoted cell holds whole records: lines with about as many separators as the others."""
    usual = Counter(len(row) for row in rows).most_common(1)[0][0] - 1 if rows else 0
    return usual > 0 and any(
        sum(line.count(separator) >= usual for line in cell.split("\n")[1:]) >= 1
        for row in rows
        for cell in row
        if "\n" in cell
    )


def _check_size(rows: list[list[str]]) -> Refusal | None:
    widest = max((len(row) for row in rows), default=0)
    if widest > MOST_COLUMNS:
        return Refusal(
            "file_too_wide",
            f"A record has {widest:,} columns; no log has more than {MOST_COLUMNS:,}.",
            "Check that it is a training log and export it again.",
        )
    longest = max((len(cell) for row in rows for cell in row), default=0)
    if longest > MOST_CELL_CHARACTERS:
        return Refusal(
            "cell_too_long",
            f"A cell holds {longest:,} characters, more than any spreadsheet does.",
            "Check that it is a training log and export it again.",
        )
    return None


def to_cells(rows: list[list[str]], numbers: list[int] | None = None) -> pl.DataFrame:
    """Rows of texts as a frame: `source_row` from 1 (or as given) and `c0` …, empty texts null."""
    width = max((len(row) for row in rows), default=1)
    columns: dict[str, pl.Series] = {
        "source_row": pl.Series("source_row", numbers or range(1, len(rows) + 1), dtype=pl.Int64)
    }
    for index in range(max(width, 1)):
        values = [row[index] if index < len(row) else None for row in rows]
        column = pl.Series(f"c{index}", values, dtype=pl.String)
        columns[f"c{index}"] = column.set(column.str.strip_chars() == "", None)
    return pl.DataFrame(columns)
