"""One free line read: the exercises it names, the sets of each, and the remark behind them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from pipeline.clean.cells.folding import fold
from pipeline.clean.cells.loads import NO_WEIGHT
from pipeline.clean.cells.set_notation import NotationReading, PairMeaning, parse_notation
from pipeline.clean.headers import is_date_heading
from pipeline.clean.note_words import (
    SET_LIKE,
    bare_name,
    holds_sets,
    is_correction,
    speaks_of_another_day,
    spoken_figures,
    with_figures,
    without_rest,
    without_starters,
)
from pipeline.clean.pain import find_pain

SET_LABEL = re.compile(r"^(?:set|satz|serie|s)\s*#?\d{1,2}\s*[:.)-]\s*", re.IGNORECASE)
SPLITS = re.compile(
    r"(?<=[A-Za-zÀ-ÿ)\]'\".])\s*[:=,–—-]?\s+"
    rf"(?=[\d+(@]|x ?\d|bw\b|bodyweight\b|{NO_WEIGHT}\b|bar\b|w/u|wu\b|warm)|:\s*",
    re.IGNORECASE,
)
_LABEL = r"\(?[A-H]\d[.):]?\s+(?=[A-Za-zÀ-ÿ])"
_OWN_LABEL = re.compile(r"^\(?[A-H]\d[.):]?(?:\s+|$)", re.IGNORECASE)
_THEN = (
    r"then|and|plus|und|dann|danach|puis|ensuite|et|luego|y|poi|e|toen|daarna|en|depois"
    r"|super ?set(?:ted)? with"
)
_BETWEEN = re.compile(
    rf"(?P<mark>\s*(?:\.(?=\s)|[;,/+|&]|\s[–—-]\s|\s(?:{_THEN})\s)\s*)"
    rf"(?={_LABEL}|[A-Za-zÀ-ÿ]{{2}}|\d)"
    rf"|(?<=[\d)gbs])\s+(?=[A-Za-zÀ-ÿ]{{3}}|{_LABEL})",
    re.IGNORECASE,
)
_FIGURE_WORD = (
    r"(?:kgs?|kilos?|lbs?|pounds?|sets?|reps?|wdh|s[äa]tze|s[ée]ries?"
    r"|of|at|de|da|van|à|zu|with|mit|each|for)\b"
)
_LEADING = re.compile(
    rf"^(?P<first>(?:bw|bodyweight|[\d(])[^A-Za-zÀ-ÿ]*(?:(?:{_FIGURE_WORD}|[x×])[^A-Za-zÀ-ÿ]*)*)"
    r"(?P<name>[A-Za-zÀ-ÿ][^\d:@]*?)"
    r"(?P<second>(?:\s*[:,@–—-]\s*|\s+)(?:(?:with|at|mit|à|a|con|avec|met|com|for|x)\s+)?[\d@(x].*|[\s.!]*)$",
    re.IGNORECASE,
)
_LAST_SET = re.compile(
    r"^(?:but |aber )?(?:on )?(?:the )?(?:last|final)(?: one| set)?(?: was| only| just| got)*:?"
    r" \d{1,2}(?: reps?)?[ .!]*$"
)
_LOAD_AND_REPS = re.compile(r"\d ?(?:kgs?|lbs?)[:,]? ?\d{1,2}\b", re.IGNORECASE)
_FIGURE = re.compile(r"[\d@]|\bbw\b|\bbodyweight\b", re.IGNORECASE)


_CLOSING_DAY = re.compile(
    r"(?P<rest>.*\d.*?)\s*[(\[]\s*(?P<date>[^()\[\]]*\d{4}[^()\[\]]*|\d{1,2}\.\d{1,2}\.(?:\d{2})?)\s*[)\]]"
)


@dataclass(frozen=True)
class Names:
    """Which texts name an exercise: `knows` at least nearly, `is_sure` beyond doubt."""

    knows: Callable[[str], bool]
    is_sure: Callable[[str], bool]


@dataclass(frozen=True)
class Clause:
    """An exercise ("" where the line above names it), its sets or the problem with them, the remark behind."""

    exercise: str
    reading: NotationReading
    remark: str = ""
    text: str = ""


def split_remark(text: str, pair_means: PairMeaning = "") -> tuple[NotationReading, str]:
    """The sets at the start of a text and the remark behind them (`100x5, 100x5 felt heavy`)."""
    reading = parse_notation(text, pair_means)
    if not reading.problem and reading.parts:
        return reading, _words_behind(text, reading, pair_means) if reading.words else ""
    brackets = re.match(r"^(.*?)\s*\(([^()]*)\)\s*$", text)
    if brackets:
        inner = parse_notation(brackets.group(1), pair_means)
        if not inner.problem and inner.parts:
            return inner, brackets.group(2).strip()
    for match in reversed(list(re.finditer(r"[\s,;.!-]+(?=[^\d\s,;.@x+-])", text))):
        head, tail = text[: match.start()].strip(), text[match.end() :].strip()
        if not head or not re.search(r"\d", head):
            break
        shorter = parse_notation(head, pair_means)
        if not shorter.problem and shorter.parts and (SET_LIKE.search(head) or len(shorter.parts) > 1):
            return shorter, _words_behind(text, shorter, pair_means, tail) if shorter.words else tail
    return reading, ""


def _words_behind(text: str, reading: NotationReading, pair_means: PairMeaning, tail: str = "") -> str:
    """What is said behind the sets, as it stands there; else the words from between them and the tail."""
    for match in re.finditer(r"[\s,;.!(-]+", text):
        head = parse_notation(text[: match.start()], pair_means)
        if head.parts == reading.parts and not head.problem and not head.words:
            return text[match.end() :].strip().removesuffix(")")
    return ", ".join(filter(None, (reading.words, tail)))


def read_line(text: str, has_exercise: bool, meaning: PairMeaning, names: Names) -> list[Clause]:
    """What a line says was done, exercise by exercise; empty where it holds no sets.

    `has_exercise`: a line above names an exercise, so that sets may stand alone. Figures that look like sets and
    cannot be read are a clause with a problem, never a remark.
    """
    rested, rest = without_rest(text)
    if rest and SET_LIKE.search(rested):
        around = read_line(rested, has_exercise, meaning, names)
        return [replace(c, remark=", ".join(filter(None, (c.remark, rest)))) for c in around]
    line = with_figures(text)
    pieces = _pieces(line, names)
    if len(pieces) > 1:
        clauses = [
            _read_one(piece, has_exercise or place > 0, meaning, names) for place, piece in enumerate(pieces)
        ]
        found = [clause for clause in clauses if clause is not None]
        if len(found) == len(clauses):
            return [_checked(clause, text, names) for clause in found]
    clause = _read_one(line, has_exercise, meaning, names)
    if clause is None:
        spoken = spoken_figures(line)
        name = bare_name(line[: spoken.start()]) if spoken else ""
        if not spoken and not holds_sets(line):
            return []
        unread = NotationReading(problem="set_notation_unreadable")
        return [Clause(name if names.knows(name) else "", unread, "", text)]
    return [_checked(clause, text, names)]


def open_day(text: str) -> tuple[str, str]:
    """The date that opens a line and what follows it (`2026-03-02: Squat 3x5 100kg`); empty texts without one."""
    if is_date_heading(text) or SET_LABEL.match(text):
        return "", ""
    for match in reversed(list(re.finditer(r"\s*[:|–—-]\s+|,\s+|\s+", text[:45]))[:8]):
        date_text, rest = text[: match.start()].strip(" ,("), text[match.end() :].strip()
        is_short = re.fullmatch(r"\d{1,2} ?[/.-] ?\d{1,2}\.?", date_text) is not None
        if not rest or (is_short and not match.group().strip()) or not is_date_heading(date_text):
            continue
        return (date_text, rest) if re.match(r"[A-Za-zÀ-ÿ(\d]", rest) else ("", "")
    return "", ""


def closing_day(text: str) -> tuple[str, str]:
    """The date in brackets that closes a line of sets and what stands before it (`Squat 3x5 100kg (2.3.2026)`)."""
    match = _CLOSING_DAY.fullmatch(text)
    if (
        not match
        or not is_date_heading(match["date"])
        or not (SET_LIKE.search(match["rest"]) or holds_sets(match["rest"]))
    ):
        return "", ""
    return match["date"].strip(), match["rest"].strip()


def _checked(clause: Clause, text: str, names: Names) -> Clause:
    """A remark with further sets that cannot be read, or that takes back what it stands behind, leaves all open."""
    if clause.reading.problem:
        return replace(clause, text=clause.text or text)
    if is_correction(clause.remark):
        return Clause(clause.exercise, NotationReading(problem="load_contradiction"), "", text)
    figure = _FIGURE.search(clause.remark)
    name = bare_name(clause.remark[: figure.start()]) if figure else ""
    names_more = bool(name) and (
        names.is_sure(name) or (names.knows(name) and _LOAD_AND_REPS.search(clause.remark) is not None)
    )
    goes_on = re.match(
        r"(?:sets?|reps?|s[äa]tze|series|s[ée]ries|serie)\s+(?:of|de|da|van|à)\b|kgs?\b|lbs?\b",
        clause.remark,
        re.I,
    )
    if goes_on:
        return Clause(clause.exercise, NotationReading(problem="set_notation_unreadable"), "", text)
    if (names_more or holds_sets(clause.remark)) and not speaks_of_another_day(clause.remark):
        return Clause(clause.exercise, NotationReading(problem="set_notation_unreadable"), "", text)
    if _LAST_SET.match(fold(clause.remark)) and len(clause.reading.parts) > 1:
        return Clause(clause.exercise, NotationReading(problem="set_notation_contradiction"), "", text)
    return clause


def _pieces(line: str, names: Names) -> list[str]:
    """The line cut before each further exercise that has figures of its own."""
    cuts = [0]
    starts = []
    for match in _BETWEEN.finditer(line):
        before, behind = line[cuts[-1] : match.start()], line[match.end() :]
        is_marked = bool(match.group("mark"))
        # 3 sets of 8 | squats at 60 kg is one exercise, bench 80x8 | row 60x10 are two
        is_whole = is_marked or re.match(r"[A-Za-zÀ-ÿ]", without_starters(before)) is not None
        has_figure = _FIGURE.search(_OWN_LABEL.sub("", before)) is not None
        if is_whole and has_figure and _begins_exercise(behind, names, is_marked=is_marked):
            cuts.append(match.end())
            starts.append(match.start())
    ends = [*starts, len(line)]
    return [line[cut:end].strip() for cut, end in zip(cuts, ends, strict=True)]


_A_SIDE = re.compile(r"(?:side|leg|arm|hand|seite|bein|cote|lado|lato|kant)")  # 10/side begins nothing


def _begins_exercise(behind: str, names: Names, *, is_marked: bool) -> bool:
    text = without_starters(behind)
    figure = _FIGURE.search(text)
    label = re.match(_LABEL, text, re.IGNORECASE)
    if label:
        return re.search(r"\d", text[label.end() :]) is not None
    if figure is None:
        return False
    if figure.start() == 0:
        leading = _LEADING.match(text)
        is_one = leading is not None and not re.search(r"\d\s*[,;/+&]", leading["first"])
        return is_one and is_marked and leading is not None and names.is_sure(bare_name(leading["name"]))
    name = bare_name(text[: figure.start()].rstrip(" (:=-–—,"))
    if not name or len(name) > 50 or re.search(r"[,;.:]\s", name) or _A_SIDE.fullmatch(fold(name)):
        return False
    return names.is_sure(name) or (is_marked and SET_LIKE.search(text) is not None and names.knows(name))


def _read_one(line: str, has_exercise: bool, meaning: PairMeaning, names: Names) -> Clause | None:
    sets = bare_rest(SET_LABEL.sub("", line))
    reading, remark = split_remark(sets, meaning)
    leading = _LEADING.match(without_starters(line))
    if leading and names.is_sure(bare_name(leading["name"])):
        clause = _figures_first(leading, meaning)
        if clause is not None:
            return clause
    if not reading.problem and reading.parts:
        return Clause("", reading, remark) if has_exercise else None
    doubtful: Clause | None = None
    for match in SPLITS.finditer(line):
        name, rest = bare_name(line[: match.start()]), line[match.end() :].strip()
        if not re.search(r"[A-Za-zÀ-ÿ]{2}", name) or not rest:
            continue
        reading, remark = split_remark(bare_rest(rest), meaning)
        before, name = _said_before(name, names)
        is_exercise = names.knows(name) and not find_pain(name)
        if not reading.problem and reading.parts and (SET_LIKE.search(rest) or is_exercise):
            return Clause(name, reading, ", ".join(filter(None, (before, remark))))
        if reading.problem in ("set_notation_ambiguous", "reps_range", "load_range") and (
            is_exercise or SET_LIKE.search(rest)
        ):
            doubtful = doubtful or Clause(name, reading, remark, line)
            if is_exercise:
                return doubtful
    return doubtful or _unread(line, has_exercise, names)


def _said_before(name: str, names: Names) -> tuple[str, str]:
    """Words and name of `felt good, did leg press`, where only what follows the last comma is an exercise.

    Words of another day or a plan stay with the name, so that it is asked about.
    """
    parts = re.split(r"(?<=[^\d\s])[,;.!]\s+", name)
    last = bare_name(parts[-1])
    if len(parts) < 2 or names.is_sure(name) or not names.is_sure(last):
        return "", name
    before = name[: name.rindex(parts[-1])].strip(" ,;.")
    return ("", name) if speaks_of_another_day(before) or re.search(r"\d", before) else (before, last)


def bare_rest(text: str) -> str:
    """Figures without the words that lead to them (`then 3x8 at 80 kg`)."""
    if not re.match(r"[A-Za-zÀ-ÿ]", text):
        return text
    bare = without_starters(text)
    return bare if _FIGURE.match(bare) else text


def _figures_first(match: re.Match[str], meaning: PairMeaning) -> Clause | None:
    """`60kg squat 3x8`, `3x8 squat @ 60kg`, `3 sets of 8 squats at 60`."""
    first = re.sub(r"\s*(?:of|de|da|van|x)\s*$", "", match["first"].strip(" ,:"))
    second = match["second"].strip(" ,:–—-.!")
    is_load = re.fullmatch(r"\d+(?:[.,]\d+)?", second) and re.search(r"\d ?(?:[x×]|sets?\b)", first)
    figures = f"{first} @ {second}" if is_load else f"{first} {second}".strip()
    reading, remark = split_remark(figures, meaning)
    if (reading.problem or not reading.parts) and second:
        reading, remark = split_remark(f"{second} {first}", meaning)
    is_counted = re.fullmatch(r"\d{1,3}", first) is not None and not second  # 20 push-ups
    is_sets = is_counted or holds_sets(figures) or SET_LIKE.search(figures) or len(reading.parts) > 1
    is_read = not reading.problem and bool(reading.parts) and bool(is_sets)
    if reading.problem == "set_notation_ambiguous" or is_read:
        return Clause(bare_name(match["name"]), reading, remark)
    return None


def _unread(line: str, has_exercise: bool, names: Names) -> Clause | None:
    """Figures of sets behind a known exercise, or under one, that cannot be read."""
    if not SET_LIKE.search(line) and not holds_sets(line):
        return None
    first = SPLITS.search(line)
    name = bare_name(line[: first.start()]) if first else ""
    is_exercise = bool(name) and names.knows(name)
    if is_exercise or (has_exercise and re.match(r"[\d+@(]|bw", fold(line))):
        return Clause(
            name if is_exercise else "", NotationReading(problem="set_notation_unreadable"), "", line
        )
    return None
