"""Sets a document as PDF: tagged, fonts embedded, the same bytes for the same input.

Typesetting is Typst's, from its package, without a system font or a network. A document is set as
PDF/A-2a and PDF/UA-1. Those standards refuse text without a glyph (a name in a script the report's font
lacks), so such a document is set once more with the fonts this machine has, and at last without the
standards and with a remark that says so.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import asdict
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Literal

import typst

from dashboards.report.blocks import Document
from dashboards.report.figures import FONT_FOLDER
from pipeline.errors import SetwrightError

TEMPLATE = Path(__file__).resolve().parent / "templates" / "report.typ"
Standard = Literal["a-2a", "ua-1"]
STANDARDS: list[Standard] = ["a-2a", "ua-1"]
MISSING_GLYPH = re.compile(r"could not be displayed")
LONGEST_PIECE = 16
LONG_WORD = re.compile(r"[^\s\u00a0]{33,}")
BREAK_HERE = "\u200b"  # a space without width: a line may end there
# control characters have no shape in any font; line ends and tabs become spaces where text is set
_UNPRINTABLE = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]"
)


def make_pdf(document: Document, made_on: date) -> bytes:
    """The document's PDF, dated `made_on` (not now: the same input gives the same bytes).

    SetwrightError when the typesetting itself fails.
    """
    moment = int(datetime(made_on.year, made_on.month, made_on.day, tzinfo=UTC).timestamp())
    for fonts, standards, remark in _attempts(document):
        data = json.dumps(_cleaned({**asdict(document), "remark": remark}), ensure_ascii=False)
        try:
            made = typst.compile(
                _template(),
                font_paths=fonts,
                ignore_system_fonts=True,
                sys_inputs={"data": data},
                pdf_standards=[*standards],
                timestamp=moment,
                format="pdf",
            )
        except typst.TypstError as err:
            if standards and MISSING_GLYPH.search(err.message):
                continue
            raise SetwrightError(f"{document.title!r} cannot be set: {err.message}.") from err
        return bytes(made)
    raise SetwrightError(f"{document.title!r} cannot be set in any font.")


def _attempts(document: Document) -> Iterator[tuple[typst.Fonts, list[Standard], str]]:
    yield _fonts(False), STANDARDS, ""
    yield _fonts(True), STANDARDS, ""
    yield _fonts(True), [], document.missing_glyphs


@lru_cache(maxsize=2)
def _fonts(with_system_fonts: bool) -> typst.Fonts:
    return typst.Fonts(include_system_fonts=with_system_fonts, font_paths=[str(FONT_FOLDER)])


@lru_cache(maxsize=1)
def _template() -> bytes:
    return TEMPLATE.read_bytes()


def _pieces(word: str) -> list[str]:
    return [word[start : start + LONGEST_PIECE] for start in range(0, len(word), LONGEST_PIECE)]


def _cleaned(value: object) -> object:
    """The data without characters that have no shape, and with places to break very long words at."""
    if isinstance(value, str):
        return LONG_WORD.sub(lambda word: BREAK_HERE.join(_pieces(word[0])), _UNPRINTABLE.sub("", value))
    if isinstance(value, dict):
        return {key: part if key == "images" else _cleaned(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_cleaned(part) for part in value]
    return value
