"""The report's words: message catalogues, and numbers, dates and weights as the reader writes them.

A catalogue is a TOML file in messages/, named for its language (`en.toml`). A message may have plural
forms, named as in the Unicode CLDR (`one`, `few`, `many`, `other`). A coach adds a language, or words a
message differently, with a file of the same shape in a folder of their own; what it leaves out is English.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.lists import format_list
from babel.numbers import format_decimal

from pipeline.errors import SetwrightError

MESSAGES_FOLDER = Path(__file__).resolve().parent / "messages"
FALLBACK_LANGUAGE = "en"
KG_PER_LB = 0.45359237  # exact by definition, NIST SP 811

_PLACEHOLDER = re.compile(r"\{(\w+)\}")

Message = str | dict[str, str]


@dataclass(frozen=True)
class Words:
    """Messages of one language, and its way to write numbers and dates, in one client's unit."""

    locale: Locale
    messages: dict[str, Message]
    unit: str = "kg"

    @property
    def language(self) -> str:
        """The language tag, for a document's `lang`."""
        return str(self.locale.language)

    def text(self, key: str, count: float | None = None, **values: str) -> str:
        """The message `key`; `count` picks its plural form and fills `{count}`.

        Values are put in as they are and never read as messages. KeyError for a key no catalogue has.
        """
        message = self.messages[key]
        if isinstance(message, dict):
            form = self.locale.plural_form(count if count is not None else 0)
            message = message.get(form) or message["other"]
        if count is not None:
            values = {"count": self.number(count, 1), **values}
        return _PLACEHOLDER.sub(lambda found: values.get(found[1], found[0]), message)

    def has(self, key: str) -> bool:
        """Whether there is a message `key`."""
        return key in self.messages

    def number(self, value: float, decimals: int = 0) -> str:
        """A number with at most `decimals` decimals, trailing zeros left out."""
        pattern = "#,##0" + ("." + "#" * decimals if decimals else "")
        return _plain(format_decimal(round(value, decimals) + 0.0, pattern, locale=self.locale))

    def fixed(self, value: float, decimals: int) -> str:
        """A number with exactly `decimals` decimals, for columns of figures."""
        pattern = "#,##0" + ("." + "0" * decimals if decimals else "")
        return _plain(format_decimal(round(value, decimals) + 0.0, pattern, locale=self.locale))

    def signed(self, value: float, decimals: int) -> str:
        """A change with its sign; a rounded zero has none."""
        rounded = round(value, decimals)
        sign = "+" if rounded > 0 else "−" if rounded < 0 else ""
        return sign + self.fixed(abs(rounded), decimals)

    def percent(self, value: float, decimals: int = 0) -> str:
        """`value` in per cent, with the sign as the language writes it."""
        pattern = "0" + ("." + "0" * decimals if decimals else "")
        return self.text("number.percent", number=_plain(format_decimal(value, pattern, locale=self.locale)))

    def in_unit(self, kg: float) -> float:
        """Kilograms in the client's unit."""
        return kg / KG_PER_LB if self.unit == "lb" else kg

    def load(self, kg: float) -> str:
        """A load that was lifted: 100 kg; 102.5 kg; 225 lb."""
        decimals = 1 if self.unit == "lb" else 2
        return self.text("number.load", number=self.number(self.in_unit(kg), decimals), unit=self.unit)

    def estimate(self, kg: float) -> str:
        """An estimated weight, no finer than it is known: to half a kilogram or a pound."""
        return self.text("number.load", number=self.estimate_number(kg), unit=self.unit)

    def estimate_number(self, kg: float) -> str:
        """`estimate` without its unit."""
        value = self.in_unit(kg)
        return self.number(round(value) if self.unit == "lb" else round(value * 2) / 2, 1)

    def day(self, when: date) -> str:
        """4 May."""
        return str(format_skeleton("MMMd", when, locale=self.locale))

    def full_day(self, when: date) -> str:
        """4 May 2026."""
        return str(format_date(when, "long", locale=self.locale))

    def month_name(self, when: date) -> str:
        """May 2026."""
        return str(format_skeleton("yMMMM", when, locale=self.locale))

    def days(self, first: date, last: date) -> str:
        """4 May – 10 May; one day alone where they are the same."""
        return self.day(first) if first == last else f"{self.day(first)} – {self.day(last)}"

    def weekday_names(self, first_day_of_week: int) -> list[str]:
        """Short names of the week's days, beginning with `first_day_of_week` (1 Monday … 7 Sunday)."""
        names = self.locale.days["stand-alone"]["abbreviated"]
        return [str(names[(first_day_of_week - 1 + offset) % 7]) for offset in range(7)]

    def listing(self, parts: list[str]) -> str:
        """a, b and c."""
        return str(format_list(parts, locale=self.locale))


def read_words(language: str, unit: str = "kg", messages_folder: Path | None = None) -> Words:
    """The words of `language` (`en`, `de`, `en-GB` …), a coach's own folder before ours.

    SetwrightError when no catalogue speaks the language, or a catalogue cannot be read.
    """
    try:
        locale = Locale.parse(language.replace("-", "_"))
    except (UnknownLocaleError, ValueError, TypeError) as err:
        raise SetwrightError(f"{language!r} is not a language.", _choices(messages_folder)) from err
    found = [path for path in _catalogues(locale, messages_folder) if path.exists()]
    if not found:
        raise SetwrightError(f"There is no message catalogue for {language!r}.", _choices(messages_folder))
    messages = dict(read_catalogue(MESSAGES_FOLDER / f"{FALLBACK_LANGUAGE}.toml"))
    for path in found:
        messages.update(read_catalogue(path))
    return Words(locale, messages, "lb" if unit == "lb" else "kg")


def languages(messages_folder: Path | None = None) -> list[str]:
    """Languages a report can be written in."""
    folders = [MESSAGES_FOLDER] + ([messages_folder] if messages_folder else [])
    return sorted({path.stem for folder in folders for path in folder.glob("*.toml")})


def read_catalogue(path: Path) -> dict[str, Message]:
    """A catalogue as flat keys (`section.name`) to messages; SetwrightError where it is malformed."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as err:
        raise SetwrightError(f"The message catalogue {path} cannot be read: {err}.") from err
    messages: dict[str, Message] = {}
    for section, entries in raw.items():
        if not isinstance(entries, dict):
            raise SetwrightError(f"{path}: {section!r} stands outside a [section].")
        for name, message in entries.items():
            messages[f"{section}.{name}"] = _checked(message, f"{path}: {section}.{name}")
    return messages


def _checked(message: Any, where: str) -> Message:
    if isinstance(message, str):
        return _held_together(message)
    if isinstance(message, dict) and all(isinstance(form, str) for form in message.values()):
        if "other" in message:
            return {str(name): _held_together(str(form)) for name, form in message.items()}
        raise SetwrightError(f"{where} has plural forms but no 'other'.")
    raise SetwrightError(f"{where} is neither a text nor a table of plural forms.")


def _catalogues(locale: Locale, messages_folder: Path | None) -> list[Path]:
    """Files that may hold the language's messages, the general before the particular."""
    names = [str(locale.language)]
    if locale.territory:
        names.append(f"{locale.language}-{locale.territory}")
    folders = [MESSAGES_FOLDER] + ([messages_folder] if messages_folder else [])
    return [folder / f"{name}.toml" for folder in folders for name in names]


def _choices(messages_folder: Path | None) -> str:
    return f"Languages with a catalogue: {', '.join(languages(messages_folder))}."


def _held_together(message: str) -> str:
    """A message whose per-cent signs stay on the line of their number."""
    return message.replace(" %", "\u00a0%")


def _plain(text: str) -> str:
    """Narrow no-break spaces, which the report's font lacks, as ordinary no-break spaces."""
    return str(text).replace("\u202f", "\u00a0")
