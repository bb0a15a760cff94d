"""The PDF read back: text, pages, fonts, tags, and what must never stand in it."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from made_month import (
    ALONE,
    AWAY,
    CLIENTS,
    COACH_NOTE,
    FOCUS,
    FULL,
    HAN,
    HOSTILE,
    HOSTILE_EXERCISE,
    HOSTILE_NAME,
    MONTH,
    NEW,
    PAIN_WORDS,
    POUNDS,
    QUIET,
    make_history,
)
from pypdf import PdfReader

from dashboards.report import write_report
from dashboards.report.words import languages, read_words
from pipeline.notes import NotesStore

pytestmark = pytest.mark.slow
Write = Callable[..., Path]
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler is not installed")
A4 = (595.28, 841.89)
LETTER = (612.0, 792.0)


def text_of(path: Path) -> str:
    """All text, white space as single spaces, without hyphens and breaking places that the setting put in."""
    pages = " ".join(page.extract_text() for page in PdfReader(path).pages)
    return re.sub(r"\s+", " ", pages.replace("\u00a0", " ").replace("\u00ad", "").replace("\u200b", ""))


def fonts_of(path: Path) -> list[Any]:
    """Descriptors of every font that the pages and the pictures on them use."""
    return [
        item for item in objects_of(path) if isinstance(item, dict) and item.get("/Type") == "/FontDescriptor"
    ]


def objects_of(path: Path) -> list[Any]:
    reader = PdfReader(path)
    return [reader.get_object(number) for number in range(1, int(reader.trailer["/Size"]))]


@pytest.mark.parametrize("language", languages())
def test_a_full_month_takes_two_or_three_pages(report_of: Write, language: str) -> None:
    assert len(PdfReader(report_of(FULL, language=language, show_state=True)).pages) in (2, 3)


@pytest.mark.parametrize("client_id", [QUIET, AWAY])
def test_a_quiet_month_is_one_page(report_of: Write, client_id: str) -> None:
    assert len(PdfReader(report_of(client_id)).pages) == 1


@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_the_paper_is_the_one_asked_for(report_of: Write, paper: str, size: tuple[float, float]) -> None:
    box = PdfReader(report_of(FULL, paper=paper)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.5)


def test_the_figures_of_the_month_stand_in_the_text(report_of: Write, facts_of: Callable[..., Any]) -> None:
    told = text_of(report_of(FULL))
    words = read_words("en")
    facts = facts_of(FULL)
    assert "Anna Lindqvist" in told
    assert "You trained on 12 days in May 2026. 11 of 13 planned sessions are done." in told
    assert words.number(facts.volume_kg) in told
    assert words.number(facts.n_sets) in told
    squat = next(lift for lift in facts.lifts if lift.exercise_id == "back_squat")
    assert squat.now is not None
    assert f"Back squat {words.estimate_number(squat.now.kg)}" in told
    assert "+0.60 ± 0.25" in told
    assert "110 kg × 6, heaviest yet" in told


def test_loads_stand_in_the_clients_own_unit(report_of: Write) -> None:
    told = text_of(report_of(POUNDS))
    assert "242.5 lb × 6, heaviest yet" in told  # 110 kg / 0.45359237
    assert not re.search(r"\d kg\b", told)


def test_the_coachs_words_stand_as_they_were_written(report_of: Write) -> None:
    told = text_of(report_of(FULL))
    for line in COACH_NOTE.splitlines():
        assert line in told
    assert FOCUS in told


def test_hostile_names_are_text_and_nothing_else(report_of: Write) -> None:
    told = text_of(report_of(HOSTILE)).replace(" ", "")
    assert HOSTILE_NAME.replace(" ", "") in told
    assert HOSTILE_EXERCISE.replace(" ", "") in told


@pytest.mark.parametrize("client_id", [client[0] for client in CLIENTS])
def test_no_other_client_is_named(report_of: Write, client_id: str) -> None:
    for file_format in ("pdf", "html"):
        path = report_of(client_id, file_format)
        told = text_of(path) if file_format == "pdf" else path.read_text(encoding="utf-8")
        for other, name, _ in CLIENTS:
            if other != client_id:
                assert name not in told


def test_pain_is_pointed_to_and_never_quoted(report_of: Write) -> None:
    told = text_of(report_of(FULL))
    assert PAIN_WORDS not in told
    assert "pinches" not in told
    assert "You mentioned pain or discomfort this month." in told


def test_a_warning_sign_stands_on_the_first_page(report_of: Write) -> None:
    first = PdfReader(report_of(POUNDS)).pages[0].extract_text()
    assert "licensed medical care" in re.sub(r"\s+", " ", first)
    assert "dizzy" not in text_of(report_of(POUNDS))


@pytest.mark.parametrize("client_id", [client[0] for client in CLIENTS])
def test_the_cautions_stand_in_every_report(report_of: Write, client_id: str) -> None:
    told = text_of(report_of(client_id))
    for key in ("not_advice", "stop", "clearance", "estimates"):
        assert read_words("en").text(f"care.{key}").replace("\u00a0", " ") in told


def test_a_state_is_told_only_when_the_coach_wants_it(report_of: Write) -> None:
    sentence = read_words("en").text("state.progressing")
    assert sentence not in text_of(report_of(FULL))
    assert sentence in text_of(report_of(FULL, show_state=True))


def test_a_month_without_a_log_is_told_kindly_and_without_figures(report_of: Write) -> None:
    told = text_of(report_of(QUIET))
    assert "A quiet month" in told
    assert "Your last logged session was on April 24, 2026." in told
    assert "Volume load" not in told
    assert "e1RM" not in told.replace("one-repetition", "")


def test_excused_time_is_called_excused_and_not_missed(report_of: Write) -> None:
    told = text_of(report_of(AWAY))
    assert "Nothing was missed." in told
    assert "not done" not in told


def test_a_first_week_makes_no_claim_about_strength(report_of: Write) -> None:
    told = text_of(report_of(NEW))
    assert "There is not enough in the log yet" in told
    assert "90 % range" not in told


def test_rows_that_wait_for_the_coach_are_owned_up_to(report_of: Write) -> None:
    assert "2 planned sessions are not among what is counted so far." in text_of(report_of(POUNDS))
    assert "3 lines of your log wait for an answer" in text_of(report_of(POUNDS))
    assert "wait for an answer" not in text_of(report_of(FULL))


@pytest.mark.parametrize(
    ("language", "sentence"),
    [
        ("de", "Im Mai 2026 hast du an 12 Tagen trainiert. 11 von 13 geplanten Einheiten sind geschafft."),
        ("es", "En mayo de 2026 entrenaste 12 días. Hiciste 11 de 13 sesiones previstas."),
        ("en-GB", "Figures up to 31 May 2026."),
    ],
)
def test_another_language_has_its_words_dates_and_numbers(
    report_of: Write, language: str, sentence: str
) -> None:
    path = report_of(FULL, language=language)
    assert sentence in text_of(path)
    assert str(PdfReader(path).trailer["/Root"]["/Lang"]).split("-")[0] == language.split("-")[0]


def test_a_german_report_has_german_numbers_in_text_and_charts(
    report_of: Write, facts_of: Callable[..., Any]
) -> None:
    told = text_of(report_of(FULL, language="de"))
    assert read_words("de").number(facts_of(FULL).volume_kg) in told
    assert "8,5 · 2×" in told


@pytest.mark.parametrize("client_id", [FULL, QUIET, HOSTILE, ALONE])
def test_the_pdf_is_tagged_and_meets_the_standards_it_claims(report_of: Write, client_id: str) -> None:
    reader = PdfReader(report_of(client_id))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    claims = root["/Metadata"].get_data().decode("utf-8")
    assert re.search(r"pdfuaid:part[>=\"]*1", claims)
    assert re.search(r"pdfaid:part[>=\"]*2", claims)


def test_every_picture_has_words_that_stand_for_it(report_of: Write) -> None:
    figures = [
        item for item in objects_of(report_of(FULL)) if isinstance(item, dict) and item.get("/S") == "/Figure"
    ]
    assert len(figures) >= 6
    assert all(str(item.get("/Alt", "")).strip() for item in figures)


@pytest.mark.parametrize("client_id", [FULL, HAN])
def test_every_font_is_embedded(report_of: Write, client_id: str) -> None:
    descriptors = fonts_of(report_of(client_id))
    assert descriptors
    assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(item) for item in descriptors)


def test_charts_are_vectors(report_of: Write) -> None:
    images = [
        item
        for item in objects_of(report_of(FULL))
        if isinstance(item, dict) and item.get("/Subtype") == "/Image"
    ]
    assert images == []


def test_a_name_without_glyphs_still_makes_a_report_that_says_so(report_of: Write) -> None:
    path = report_of(HAN)
    told = text_of(path)
    remark = read_words("en").text("report.missing_glyphs")
    claims = PdfReader(path).trailer["/Root"]["/Metadata"].get_data().decode("utf-8")
    # where the machine has a font for it the name is set and the standard is met
    assert ("pdfuaid:part" in claims) != (remark in told)
    assert "You trained on 11 days" in told


def test_the_same_input_gives_the_same_bytes(history: Path, notes: Path, tmp_path: Path) -> None:
    first = write_report(history, notes, FULL, "2026-05", tmp_path / "1.pdf")
    second = write_report(history, notes, FULL, "2026-05", tmp_path / "2.pdf")
    assert first.read_bytes() == second.read_bytes()


def pages_as_pictures(path: Path, folder: Path) -> list[list[bytes]]:
    """Every page at 40 dots an inch, as rows of grey values (255: paper)."""
    subprocess.run(["pdftoppm", "-r", "40", "-gray", str(path), str(folder / "page")], check=True)
    pages = []
    for picture in sorted(folder.glob("page*.pgm")):
        head, pixels = picture.read_bytes().split(b"\n255\n", 1)
        width, height = (int(figure) for figure in head.split()[1:3])
        pages.append([pixels[row * width : (row + 1) * width] for row in range(height)])
    return pages


def assert_margins_are_white(pages: list[list[bytes]]) -> None:
    assert pages
    margin = round(15 / 25.4 * 40)
    for page in pages:
        assert min(min(row[:margin] + row[-margin:]) for row in page) == 255


@needs_poppler
@pytest.mark.parametrize(
    ("client_id", "language"), [(FULL, "en"), (FULL, "de"), (FULL, "es"), (HOSTILE, "en"), (AWAY, "de")]
)
def test_nothing_is_printed_into_the_margins(
    report_of: Write, tmp_path: Path, client_id: str, language: str
) -> None:
    pages = pages_as_pictures(report_of(client_id, language=language), tmp_path)
    assert_margins_are_white(pages)
    # more than a heading stands on each page
    assert all(sum(min(row) < 200 for row in page) > len(page) * 0.05 for page in pages)


@needs_poppler
def test_very_long_words_break_instead_of_running_off_the_page(tmp_path: Path) -> None:
    path = make_history(tmp_path / "long.duckdb")
    con = duckdb.connect(str(path))
    con.execute("update client set name = repeat('W', 200)")
    con.execute("update strength_trend set exercise_name = repeat('W', 150)")
    con.execute("update planned_session set day = repeat('W', 60)")
    con.execute("update personal_best set exercise_name = repeat('m', 150)")
    con.close()
    notes = tmp_path / "notes.duckdb"
    NotesStore(notes).write_month_text(FULL, MONTH, "report", "https://example.test/" + "a/" * 400)
    report = write_report(path, notes, FULL, MONTH, tmp_path / "long.pdf")
    assert_margins_are_white(pages_as_pictures(report, tmp_path))
