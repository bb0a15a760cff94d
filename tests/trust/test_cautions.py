"""It can hurt someone: the usual cautions stand on screens, in reports, in the terminal and in the README."""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

from dashboards.report import write_report, write_roster_summary
from dashboards.wording import CAUTION, WARNING_SIGNS, WARNING_SIGNS_LEAD
from pipeline.cli import setwright
from pipeline.workspace import open_workspace

ROOT = Path(__file__).resolve().parents[2]
SAYS = {
    "it is no medical advice": r"n[o']t? medical advice|no medical advice",
    "pain comes first": r"[Pp]ain (?:overrides|comes before) progress",
    "minors and conditions need clearance": r"[Mm]inors and people with .*clearance",
    "local rules prevail": r"[Ll]ocal rules and licensed practice prevail",
    "where to go": r"licensed medical care",
}
IN_OTHER_WORDS = {
    "en": ("medical advice", "Pain", "Minors", "licensed", "chest"),
    "de": ("medizinischer Rat", "Schmerz", "Minderjährige", "ärztliche", "Brust"),
    "es": ("consejo médico", "dolor", "menores", "atención médica", "pecho"),
}


@pytest.mark.parametrize("rule", SAYS)
def test_the_readme_carries_every_caution(rule: str) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "## Cautions" in text
    assert re.search(SAYS[rule], text.split("## Cautions")[1].split("\n## ")[0])


@pytest.mark.parametrize("rule", SAYS)
def test_the_words_at_the_foot_of_the_pages_carry_every_caution(rule: str) -> None:
    assert re.search(SAYS[rule], f"{CAUTION} {WARNING_SIGNS_LEAD}")


@pytest.mark.parametrize(
    "sign", ["chest", "breathlessness", "fainting", "palpitations", "numbness", "dark urine", "headache"]
)
def test_the_warning_signs_are_named(sign: str) -> None:
    assert sign in " ".join(WARNING_SIGNS)
    assert sign in (ROOT / "README.md").read_text(encoding="utf-8").casefold()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["roster", "athlete", "plan", "reports"])
def test_the_cautions_stand_on_every_page_that_a_decision_rests_on(
    name: str, workspace: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SETWRIGHT_WORKSPACE", str(workspace))
    page = AppTest.from_file(str(ROOT / f"dashboards/pages/{name}.py"), default_timeout=60)
    page.query_params["client"] = "ines"
    drawn = page.run()
    assert not drawn.exception
    words = " ".join(str(getattr(one, "value", "") or one.proto.body) for one in drawn.get("html"))
    assert CAUTION.split(".")[1].strip() in words.replace("&#x27;", "'")
    assert WARNING_SIGNS_LEAD in words


@pytest.mark.parametrize("language", IN_OTHER_WORDS)
@pytest.mark.parametrize("file_format", [pytest.param("pdf", marks=pytest.mark.slow), "html", "xlsx"])
def test_the_cautions_stand_in_every_report(
    language: str, file_format: str, published: Path, tmp_path: Path
) -> None:
    place, out = open_workspace(published), tmp_path / f"r.{file_format}"
    write_report(
        place.published_history(), place.notes_db, "ines", "2026-06", out, file_format=file_format, language=language,  # type: ignore[arg-type]
    )  # fmt: skip
    text = _text_of(out).casefold()
    for word in IN_OTHER_WORDS[language]:
        assert word.casefold() in text, word


def _text_of(path: Path) -> str:
    if path.suffix == ".pdf":
        return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(path).pages)).replace(
            "- ", ""
        )
    if path.suffix == ".html":
        return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", path.read_text(encoding="utf-8")))
    book = openpyxl.load_workbook(path)
    return " ".join(
        str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row if cell.value
    )


def test_the_summary_of_the_roster_says_that_it_is_no_medical_advice(published: Path, tmp_path: Path) -> None:
    out = tmp_path / "r.html"
    write_roster_summary(open_workspace(published).published_history(), "2026-06", out, file_format="html")
    assert "medical advice" in _text_of(out)


def test_the_review_in_the_terminal_says_so_too(published: Path) -> None:
    result = CliRunner().invoke(setwright, ["review", str(published)])
    assert "no medical advice" in result.output
    assert "pain comes before progress" in result.output


def test_nobody_is_called_over_trained() -> None:
    for folder in ("pipeline", "dashboards", "sql"):
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in (".py", ".sql", ".toml", ".j2", ".typ", ".csv"):
                assert not re.search(r"\bover-?train", path.read_text(encoding="utf-8"), re.IGNORECASE), path
