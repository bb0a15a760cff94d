"""Every reason code has a sentence that a coach understands, and every sentence a use."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pipeline.clean.questions import waiting_message
from pipeline.clean.reasons import explain, reasons
from pipeline.contract.records import QUESTION_KINDS

PIPELINE = Path(__file__).parents[2] / "pipeline"
STAGES = ("ingest", "clean", "validate")
SOURCE = "\n".join(
    path.read_text(encoding="utf-8") for stage in STAGES for path in sorted((PIPELINE / stage).rglob("*.py"))
)
# a code stands as the first text of a refusal, behind `problem=`, or as a text of its own in a rule
REFUSALS = set(re.findall(r'Refusal\(\s*"([a-z_]+)"', SOURCE))
PROBLEMS = {
    code
    for pattern in (
        r'problem=\s*"(\w+)"',
        r'problem=\(.*?"(\w+)"\)',
        r'_refused\(\s*"(\w+)"',
        r'Unreadable\("(\w+)"',
    )
    for code in re.findall(pattern, SOURCE)
}
QUOTED = set(re.findall(r'"([a-z]+(?:_[a-z]+)+)"', SOURCE))


def test_the_search_for_codes_finds_many() -> None:
    assert len(REFUSALS) > 10
    assert len(PROBLEMS) > 10


@pytest.mark.parametrize("code", sorted(PROBLEMS))
def test_a_code_of_a_refused_record_has_a_sentence(code: str) -> None:
    message, suggestion = explain(code, "8-10")
    assert message
    assert suggestion


@pytest.mark.parametrize("code", sorted(REFUSALS))
def test_a_code_of_a_refused_file_is_not_also_one_of_a_record_with_other_words(code: str) -> None:
    assert code not in PROBLEMS


@pytest.mark.parametrize("code", sorted(reasons()))
def test_a_sentence_is_plain_and_says_what_to_do(code: str) -> None:
    message, suggestion = reasons()[code]
    for text in (message, suggestion):
        assert text.strip().endswith((".", "?"))
        assert text[0].isupper() or text.startswith(("“", "{"))
        assert not re.search(r"[a-z]_[a-z]", text.replace("valid_from", "").replace("clients.csv", "")), text
        assert not re.search(
            r"\b(null|parse|invalid|exception|regex|string|NaN|schema)\b", text, re.IGNORECASE
        )
        assert "{" not in text.replace("{text}", "")
    assert len(message.split()) >= 4


@pytest.mark.parametrize("code", sorted(reasons()))
def test_a_sentence_is_used(code: str) -> None:
    assert code in QUOTED | REFUSALS | PROBLEMS


def test_the_text_in_question_stands_in_the_sentence_and_is_cut_where_it_is_long() -> None:
    assert explain("reps_range", " 8-10 ")[0].startswith("“8-10” is a range")
    assert len(explain("reps_range", "x" * 500)[0]) < 200
    assert explain("reps_range", None)[0].startswith("“”")


def test_a_code_without_a_sentence_is_a_programmers_mistake() -> None:
    with pytest.raises(KeyError):
        explain("no_such_code", "x")


@pytest.mark.parametrize("kind", QUESTION_KINDS)
def test_every_kind_of_question_says_why_a_record_waits(kind: str) -> None:
    assert waiting_message(f"{kind}-0123456789", {}) != "An answer is needed."
