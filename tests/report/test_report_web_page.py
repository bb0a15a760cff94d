"""The web version: one file, nothing that runs or is fetched, every text escaped."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest
from defusedxml import ElementTree
from made_month import CLIENTS, COACH_NOTE, FULL, HAN, HOSTILE, HOSTILE_EXERCISE, HOSTILE_NAME

from dashboards.report.words import read_words

Write = Callable[..., Path]


class Page(HTMLParser):
    """Tags with their attributes, and the text as a browser would show it."""

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        self.text += data


def page_of(path: Path) -> Page:
    return Page(path.read_text(encoding="utf-8"))


@pytest.mark.slow
@pytest.mark.parametrize("client_id", [client[0] for client in CLIENTS])
def test_nothing_in_the_page_can_run_or_be_fetched(report_of: Write, client_id: str) -> None:
    page = page_of(report_of(client_id, "html"))
    assert not {"script", "link", "iframe", "object", "embed", "form", "a", "base"} & {
        tag for tag, _ in page.tags
    }
    for _, attributes in page.tags:
        assert not [name for name in attributes if name.startswith("on")]
        assert (
            attributes.get("src", "data:").startswith("data:image/svg+xml;base64,") or "src" not in attributes
        )
        assert "href" not in attributes
    policy = next(a["content"] for tag, a in page.tags if a.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none'")


def test_hostile_names_and_notes_come_out_as_they_were_written(report_of: Write) -> None:
    hostile = page_of(report_of(HOSTILE, "html"))
    assert HOSTILE_NAME in hostile.text
    assert HOSTILE_EXERCISE in hostile.text
    noted = page_of(report_of(FULL, "html"))
    for line in COACH_NOTE.splitlines():
        assert line in noted.text


def test_a_name_in_any_script_is_shown_as_it_was_written(report_of: Write) -> None:
    page = page_of(report_of(HAN, "html"))
    assert "周伟 💪" in page.text
    assert read_words("en").text("report.missing_glyphs") not in page.text


def test_every_chart_is_a_sound_picture_with_words_for_it(report_of: Write) -> None:
    for client_id in (FULL, HOSTILE):
        pictures = [a for tag, a in page_of(report_of(client_id, "html")).tags if tag == "img"]
        assert len(pictures) >= 5
        for picture in pictures:
            assert picture["alt"].strip()
            svg = base64.b64decode(picture["src"].split(",", 1)[1])
            names = {element.tag.split("}")[-1] for element in ElementTree.fromstring(svg).iter()}
            assert "script" not in names
            assert not re.search(rb"https?://(?!www\.w3\.org/)", svg)


def test_the_web_page_tells_the_same_as_the_pdf(report_of: Write) -> None:
    text = page_of(report_of(FULL, "html")).text
    for told in (
        "You trained on 12 days in May 2026.",
        "+0.60 ± 0.25",
        "110 kg × 6, heaviest yet",
        read_words("en").text("care.stop"),
    ):
        assert told in text


def test_the_calendar_says_in_words_what_its_marks_mean(report_of: Write) -> None:
    text = page_of(report_of(FULL, "html")).text
    assert "Planned, not done:  Upper B" in text
    assert "Done, moved to this day:  Lower A" in text


def test_headings_go_down_one_level_at_a_time(report_of: Write) -> None:
    levels = [int(tag[1]) for tag, _ in page_of(report_of(FULL, "html")).tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert set(levels[1:]) == {2}
