"""Sets a document as one self-contained web page: no script, nothing fetched, every text escaped."""

from __future__ import annotations

import base64
from functools import lru_cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from dashboards.report.blocks import Document

TEMPLATES = Path(__file__).resolve().parent / "templates"


def make_web_page(document: Document) -> bytes:
    """The page as UTF-8. Charts stand in it as images, which cannot run anything."""
    images = {name: base64.b64encode(svg.encode()).decode("ascii") for name, svg in document.images.items()}
    legend = {
        entry["mark"]: entry["label"]
        for block in document.blocks
        if block["kind"] == "calendar"
        for entry in block["legend"]
    }
    return _template().render(document=document, images=images, legend=legend).encode()


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("report.html.j2")
