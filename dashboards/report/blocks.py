"""The parts a report is put together from: plain data that the PDF and the web version both set.

Every text in a block is text, never markup: the templates write it out as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from dashboards.report.figures import Figure

Block = dict[str, Any]
Align = Literal["left", "right", "center"]
Tone = Literal["plain", "small", "strong", "warning"]


@dataclass(frozen=True)
class Document:
    """A report ready to be set. `heading` is its only first-level heading; `images` are SVG by name."""

    language: str
    paper: str
    title: str
    heading: str
    subheading: str
    footer: str
    page_text: str
    missing_glyphs: str
    blocks: tuple[Block, ...]
    images: dict[str, str]


def heading(text: str) -> Block:
    """A second-level heading."""
    return {"kind": "heading", "text": text}


def text(words: str, tone: Tone = "plain", *, keep: bool = False) -> Block:
    """A paragraph; `keep` holds it on the page of what follows."""
    return {"kind": "text", "text": words, "tone": tone, "keep": keep}


def items(texts: list[str]) -> Block:
    """A list of short sentences."""
    return {"kind": "items", "items": texts}


def quote(words: str) -> Block:
    """Somebody's own words, line by line as they were written."""
    return {"kind": "quote", "lines": [line.strip() for line in words.splitlines()]}


def tiles(figures: list[tuple[str, str, str]]) -> Block:
    """Key figures: label, value, small print."""
    return {
        "kind": "tiles",
        "tiles": [{"label": label, "value": value, "small": small} for label, value, small in figures],
    }


def table(
    columns: list[tuple[str, Align]], rows: list[list[str]], caption: str, *, dense: bool = False
) -> Block:
    """A table; its first column names the row; `dense` for long ones.

    ValueError when a row has not one cell a column.
    """
    for row in rows:
        if len(row) != len(columns):
            raise ValueError(f"row {row!r} has {len(row)} cells for {len(columns)} columns")
    return {
        "kind": "table",
        "columns": [{"label": label, "align": align} for label, align in columns],
        "rows": rows,
        "caption": caption,
        "dense": dense,
    }


def figures(
    name: str, drawn: list[Figure], per_row: int = 1, caption: str = ""
) -> tuple[Block, dict[str, str]]:
    """Charts side by side, and their images by name."""
    names = [f"{name}-{number}" for number in range(1, len(drawn) + 1)]
    block: Block = {
        "kind": "figures",
        "per_row": per_row,
        "caption": caption,
        "figures": [
            {"image": image, "title": figure.title, "alt": figure.alt}
            for image, figure in zip(names, drawn, strict=True)
        ],
    }
    return block, {image: figure.svg for image, figure in zip(names, drawn, strict=True)}


def beside(left: Block, right: Block) -> Block:
    """Charts with their table at the right."""
    return {"kind": "beside", "left": left, "right": right}
