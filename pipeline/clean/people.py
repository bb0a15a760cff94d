"""Which client a record belongs to: a column, else the folder, else the sheet, else a name in the file name."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath

from pipeline.answers import Answers, Question
from pipeline.clean.cells.dates import calendar_words
from pipeline.clean.cells.folding import fold

_NO_NAME = re.compile(
    r"(?:logs?|inbox|files?|new|old|archive|misc|export|exports|data|week|wk|kw|month|training|workouts?|sessions?"
    r"|clients?|all|group|team|kg|lb|lbs|notes?|sheets?|copy|csv|xlsx|tsv|txt|book|tabelle|feuil|hoja|foglio|blad"
    r"|planilha|q\d|v\d|\d+|block|phase|program|plan|history|gym|updated?|final|corrected|jan|feb)*"
)


@dataclass(frozen=True)
class Person:
    """A client decided, or the question who it is."""

    client_id: str = ""
    question: Question | None = None
    candidates: tuple[str, ...] = ()


class Roster:
    """The clients of clients.csv, found by id or name as people write them."""

    def __init__(self, clients: Iterable[tuple[str, str]], answers: Answers) -> None:
        self._clients = list(clients)
        self._answers = answers
        self._by_word: dict[str, set[str]] = {}
        for client_id, name in self._clients:
            for spelling in self._spellings(client_id, name):
                self._by_word.setdefault(spelling, set()).add(client_id)
        self._known: dict[tuple[str, str, str], Person] = {}

    def __len__(self) -> int:
        return len(self._clients)

    @staticmethod
    def _spellings(client_id: str, name: str) -> set[str]:
        words = _words(name)
        spellings = {" ".join(_words(client_id)), " ".join(words)}
        if len(words) > 1:
            spellings |= {f"{words[-1]} {' '.join(words[:-1])}", words[0], f"{words[0]} {words[-1][0]}"}
        return {spelling for spelling in spellings if spelling}

    def find(self, text: str) -> str | None:
        """The one client a text names in full, by first name alone where that is unique; None otherwise."""
        found = self._by_word.get(" ".join(_words(text)), set())
        return next(iter(found)) if len(found) == 1 else None

    def find_within(self, text: str) -> str | None:
        """The one client whose id or name stands in a longer text such as a file name."""
        words = _words(text)
        found: set[str] = set()
        longest = 0
        for start in range(len(words)):
            for end in range(start + 1, len(words) + 1):
                here = self._by_word.get(" ".join(words[start:end]), set())
                if here and end - start > longest:
                    found, longest = set(here), end - start
                elif here and end - start == longest:
                    found |= here
        return next(iter(found)) if len(found) == 1 else None

    def resolve(self, text: str | None, source_file: str, sheet: str) -> Person:
        """The client of a record whose client cell (or heading) says `text`, in a file and sheet."""
        key = (text or "", source_file, sheet)
        if key not in self._known:
            self._known[key] = self._resolve(*key)
        return self._known[key]

    def _resolve(self, text: str, source_file: str, sheet: str) -> Person:
        if text:
            return self._named(text)
        path = PurePosixPath(source_file)
        folder = path.parts[0] if len(path.parts) > 1 else ""
        for place in (folder, sheet):
            if place and self.find(place):
                return Person(self.find(place) or "")
        if folder and not _says_no_name(folder):
            return self._named(folder)
        within = self.find_within(path.stem) or (self.find_within(sheet) if sheet else None)
        if within:
            return Person(within)
        return self._asked(path.stem if len(path.parts) == 1 else source_file)

    def _named(self, text: str) -> Person:
        found = self.find(text)
        if found:
            return Person(found)
        answer = self._answers.find(Question("client", raw_text=text))
        if answer:
            return Person(self.find(answer) or answer)
        if not self._clients:
            return Person(re.sub(r"[^\w.-]+", "_", text.strip().lower()).strip("_") or "client")
        return self._asked(text)

    def _asked(self, text: str) -> Person:
        question = Question("client", raw_text=text)
        answer = self._answers.find(question)
        if answer:
            return Person(self.find(answer) or answer)
        return Person(question=question, candidates=tuple(self._near(text)))

    def _near(self, text: str) -> list[str]:
        from rapidfuzz import fuzz, process

        spellings = dict(self._by_word.items())
        hits = process.extract(
            " ".join(_words(text)), list(spellings), scorer=fuzz.WRatio, limit=5, score_cutoff=60
        )
        near = [client_id for word, _, _ in hits for client_id in sorted(spellings[word])]
        return list(dict.fromkeys(near))[:4] or [client_id for client_id, _ in self._clients[:6]]


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[^a-z0-9]+", fold(text)) if word]


def _says_no_name(folder: str) -> bool:
    months = calendar_words("month")
    return all(word in months or _NO_NAME.fullmatch(word) for word in _words(folder))
