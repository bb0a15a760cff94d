"""What a file really is, by its first bytes, and whether that is what its name says."""

from __future__ import annotations

from typing import Literal

from pipeline.contract.sheets import Refusal

FileKind = Literal["empty", "zip", "old_office", "pdf", "image", "html", "rtf", "gzip", "text"]

WORKBOOK_NAMES = {".xlsx", ".xlsm"}
TEXT_NAMES = {".csv", ".tsv", ".txt", ".tab", ".text", ".md", ""}

_SIGNATURES: tuple[tuple[bytes, FileKind], ...] = (
    (b"PK\x03\x04", "zip"),
    (b"PK\x05\x06", "zip"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old_office"),
    (b"%PDF", "pdf"),
    (b"\x89PNG", "image"),
    (b"\xff\xd8\xff", "image"),
    (b"GIF8", "image"),
    (b"{\\rtf", "rtf"),
    (b"\x1f\x8b", "gzip"),
)
_SAYS: dict[FileKind, str] = {
    "zip": "a workbook or zip archive",
    "old_office": "an old or protected Office file",
    "pdf": "a PDF",
    "image": "a picture",
    "html": "a web page",
    "rtf": "a rich-text document",
    "gzip": "a compressed archive",
    "text": "plain text",
}


def kind_of(data: bytes) -> FileKind:
    """The kind of a file by its content."""
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        return "empty"
    for signature, kind in _SIGNATURES:
        if data.startswith(signature):
            return kind
    if data[8:12] in (b"heic", b"mif1", b"heix") or (data[:4] == b"RIFF" and data[8:12] == b"WEBP"):
        return "image"
    start = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith((b"<!doctype html", b"<html", b"<?xml", b"<table")):
        return "html"
    return "text"


def refusal_for_kind(suffix: str, kind: FileKind) -> Refusal | None:
    """Why a file of this name and kind cannot be a log; None when it can."""
    if kind == "empty":
        return Refusal("file_empty", "The file is empty.", "Ask the client to send it again.")
    if suffix in WORKBOOK_NAMES:
        if kind == "old_office":
            return Refusal(
                "file_encrypted",
                "The workbook is protected by a password or in an old format.",
                "Save it without a password as .xlsx and put it back.",
            )
        if kind != "zip":
            return Refusal(
                "file_misnamed",
                f"The name says workbook, but the content is {_SAYS[kind]}.",
                "Save it again from the program it was made with, as .xlsx or .csv.",
            )
        return None
    if suffix in TEXT_NAMES:
        if kind != "text":
            return Refusal(
                "file_misnamed",
                f"The name says text, but the content is {_SAYS[kind]}.",
                "Give it the ending that fits, or save it again as .csv or .xlsx.",
            )
        return None
    return Refusal(
        "file_kind_unknown",
        f"Files ending in {suffix} are not read; this one is {_SAYS[kind]}.",
        "Save the log as .csv, .tsv, .xlsx or .txt.",
    )
