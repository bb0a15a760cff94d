"""The message catalogues, and numbers, dates and weights by language and unit."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from dashboards.charts.context import SPAN_LABELS
from dashboards.charts.muscles import MUSCLE_LABELS
from dashboards.report.figures import say
from dashboards.report.strength_sections import load_text
from dashboards.report.words import MESSAGES_FOLDER, Message, languages, read_catalogue, read_words
from pipeline.contract.inputs import MUSCLES
from pipeline.contract.verdicts import STATES
from pipeline.errors import SetwrightError


def placeholders(message: Message) -> set[str]:
    forms = list(message.values()) if isinstance(message, dict) else [message]
    return set(re.findall(r"\{(\w+)\}", " ".join(forms)))


def test_english_and_two_more_languages_are_there() -> None:
    assert {"de", "en", "es"} <= set(languages())


@pytest.mark.parametrize("language", [name for name in languages() if name != "en"])
def test_every_catalogue_says_what_english_says(language: str) -> None:
    english = read_catalogue(MESSAGES_FOLDER / "en.toml")
    other = read_catalogue(MESSAGES_FOLDER / f"{language}.toml")
    assert set(other) == set(english)
    for key, message in english.items():
        assert placeholders(other[key]) == placeholders(message), key
        assert isinstance(other[key], dict) == isinstance(message, dict), key


def test_every_key_that_the_report_asks_for_exists() -> None:
    english = read_catalogue(MESSAGES_FOLDER / "en.toml")
    sections = {key.split(".")[0] for key in english}
    source = "".join(path.read_text(encoding="utf-8") for path in MESSAGES_FOLDER.parent.glob("*.py"))
    asked = {key for key in re.findall(r'text\(\s*"([a-z_]+\.\w+)"', source) if key.split(".")[0] in sections}
    assert len(asked) > 60
    assert asked <= set(english)


def test_every_state_and_muscle_has_a_word() -> None:
    words = read_words("en")
    assert all(words.has(f"state.{state}") and words.has(f"state_name.{state}") for state in STATES)
    assert all(words.has(f"muscle.{muscle}") for muscle in MUSCLES)


def test_no_language_calls_a_client_over_trained() -> None:
    for language in languages():
        told = str(read_catalogue(MESSAGES_FOLDER / f"{language}.toml")).casefold()
        assert not re.search(r"over-?trained|overtraining|übertrain|sobreentren", told)


@pytest.mark.parametrize("language", ["de", "es"])
def test_charts_speak_the_reports_language(language: str) -> None:
    said = say(read_words(language))
    for label in (*MUSCLE_LABELS.values(), "Bodyweight", "Hard sets a week"):
        if label not in ("Quads", "Lats", "Abs"):
            assert said(label) != label or label in ("Biceps", "Triceps"), label
    assert all(said(label)[0].isupper() for label in SPAN_LABELS.values())


@pytest.mark.parametrize(
    ("language", "unit", "call", "argument", "expected"),
    [
        ("en", "kg", "number", 35970.4, "35,970"),
        ("de", "kg", "number", 35970.4, "35.970"),
        ("fr", "kg", "number", 35970.4, None),
        ("en", "kg", "load", 102.5, "102.5 kg"),
        ("de", "kg", "load", 102.5, "102,5 kg"),
        ("en", "kg", "load", 61.25, "61.25 kg"),
        ("en", "lb", "load", 102.0582833, "225 lb"),
        ("en", "lb", "load", 45.359237, "100 lb"),
        ("en", "kg", "estimate", 130.8, "131 kg"),
        ("en", "kg", "estimate", 88.15, "88 kg"),
        ("en", "kg", "estimate", 111.6, "111.5 kg"),
        ("en", "lb", "estimate", 130.8, "288 lb"),
        ("en", "kg", "load", -20.0, "-20 kg"),
        ("en", "kg", "day", date(2026, 5, 4), "May 4"),
        ("en-GB", "kg", "day", date(2026, 5, 4), "4 May"),
        ("de", "kg", "full_day", date(2026, 5, 4), "4. Mai 2026"),
        ("es", "kg", "month_name", date(2026, 5, 1), "mayo de 2026"),
    ],
)
def test_numbers_weights_and_dates_are_written_as_the_reader_writes_them(
    language: str, unit: str, call: str, argument: object, expected: str | None
) -> None:
    if expected is None:
        with pytest.raises(SetwrightError, match="no message catalogue"):
            read_words(language, unit)
        return
    assert getattr(read_words(language, unit), call)(argument).replace("\u00a0", " ") == expected


@pytest.mark.parametrize(
    ("kg", "basis", "expected"),
    [
        (100.0, "total", "100 kg"),
        (22.5, "per_hand", "22.5 kg a hand"),
        (10.0, "bodyweight", "bodyweight + 10 kg"),
        (0.0, "bodyweight", "bodyweight"),
        (-20.0, "assistance", "20 kg of assistance"),
        (-5.0, "bodyweight", "5 kg of assistance"),
        (40.0, "", "40 kg"),
    ],
)
def test_a_load_says_what_it_is_added_to_or_taken_off(kg: float, basis: str, expected: str) -> None:
    assert load_text(kg, basis, read_words("en")) == expected


@pytest.mark.parametrize(
    ("value", "expected"), [(2.83, "+2.8"), (-2.63, "−2.6"), (0.04, "0.0"), (-0.04, "0.0"), (0.0, "0.0")]
)
def test_a_change_that_rounds_to_nothing_has_no_sign(value: float, expected: str) -> None:
    assert read_words("en").signed(value, 1) == expected


@pytest.mark.parametrize(("count", "start"), [(1, "You trained on 1 day "), (2, "You trained on 2 days ")])
def test_plurals_follow_the_count(count: int, start: str) -> None:
    assert read_words("en").text("opening.trained", count, month="May").startswith(start)


def test_values_are_never_read_as_messages() -> None:
    told = read_words("en").text("opening.stronger", lifts="{count} {0} {__class__} %s")
    assert told == "Clearly getting stronger: {count} {0} {__class__} %s."


def test_a_coach_can_add_a_language_and_reword_a_message(tmp_path: Path) -> None:
    (tmp_path / "fr.toml").write_text(
        '[calendar]\nheading = "Tes séances, jour par jour"\n', encoding="utf-8"
    )
    (tmp_path / "en.toml").write_text('[note]\nheading = "A word from Kim"\n', encoding="utf-8")
    french = read_words("fr", messages_folder=tmp_path)
    assert french.text("calendar.heading") == "Tes séances, jour par jour"
    assert french.text("care.heading") == "Take care of yourself"
    assert french.month_name(date(2026, 5, 1)) == "mai 2026"
    assert read_words("en", messages_folder=tmp_path).text("note.heading") == "A word from Kim"
    assert "fr" in languages(tmp_path)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("[note\n", "cannot be read"),
        ("heading = 'x'\n", "outside a"),
        ("[note]\nheading = 3\n", "neither a text"),
        ("[note]\nheading.one = 'x'\n", "no 'other'"),
    ],
)
def test_a_broken_catalogue_is_named(tmp_path: Path, content: str, message: str) -> None:
    (tmp_path / "en.toml").write_text(content, encoding="utf-8")
    with pytest.raises(SetwrightError, match=message):
        read_words("en", messages_folder=tmp_path)


@pytest.mark.parametrize("language", ["xx", "", "../en", "english please", "tlh"])
def test_an_unknown_language_is_refused_with_those_there_are(language: str) -> None:
    with pytest.raises(SetwrightError, match="de, en, es"):
        read_words(language)
