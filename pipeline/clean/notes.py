"""Plain-text notes from a phone, unfolded: dates, exercise headings, sets, remarks, line by line."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import get_args

import polars as pl

from pipeline.clean.cells.folding import is_blank
from pipeline.clean.cells.set_notation import MOST_COUNTED, NotationReading, PairMeaning, column_meaning
from pipeline.clean.entries import Unfolded, with_schema
from pipeline.clean.headers import legend_of
from pipeline.clean.month_days import day_of_month, month_of_line
from pipeline.clean.note_blocks import Block, fact_of_line, find_blocks
from pipeline.clean.note_chats import ChatLine, parse_chat_line
from pipeline.clean.note_corrections import figures_of, sets_spoken_of
from pipeline.clean.note_lines import (
    SET_LABEL,
    SPLITS,
    Clause,
    Names,
    closing_day,
    open_day,
    read_line,
    split_remark,
)
from pipeline.clean.note_words import (
    SET_LIKE,
    bare_name,
    holds_sets,
    is_clock_time,
    is_correction,
    is_quoted_from,
    is_ticked,
    is_unticked,
    plain_line,
    side_of_line,
    spoken_figures,
    with_figures,
    with_load_again,
)
from pipeline.clean.pain import find_pain
from pipeline.clean.row_rules import (
    is_not_done,
    is_rest_day,
    is_total,
    parse_client_statement,
    parse_date_heading,
    parse_unit_statement,
)
from pipeline.clean.set_texts import single_sets
from pipeline.clean.week_days import joined_day, parse_week_heading, parse_weekday
from pipeline.contract.sheets import Sheet

_LONGEST_LINE = 600  # characters; a longer line is no set but costs the more to look through
_LEGEND_LINES = 10  # what the figures mean is said at the top
_BUT = re.compile(
    r"[,;.]\s|\b(?:but|aber|mais|pero|ma|maar|mas)\b"
)  # what follows may tell of something else


@dataclass
class _State:
    """What was said above and holds for the lines below.

    `week` and `month` are headings of which weekdays and numbers below are days; `is_headed`: the exercise stands alone
    above its sets, so that days below it are days of that exercise; `remark_day` is when a chat message was sent,
    `is_coachs` whether the coach sent it.
    """

    date_text: str = ""
    week: str = ""
    month: str = ""
    exercise: str = ""
    is_headed: bool = False
    unit: str = ""
    client: str = ""
    sender: str = ""
    remark_day: str = ""
    is_coachs: bool = False


def unfold_notes(
    sheet: Sheet,
    knows: Callable[[str], bool],
    answer: str = "",
    is_unloaded: Callable[[str], bool] = lambda text: False,
    is_sure: Callable[[str], bool] | None = None,
    is_client: Callable[[str], bool] = lambda text: False,
) -> Unfolded:
    """The sets of free lines as entries; `knows` tells whether a text names an exercise, `is_sure` beyond doubt.

    `answer` is what the coach has said about the order of an ambiguous notation in this file; `is_unloaded` tells
    whether an exercise is done without a load, so that `3x12` can only count sets; `is_client` whether a line is the
    name of one.
    """
    lines = [(row, text or "") for row, text in sheet.cells.select("source_row", "c0").iter_rows()]
    return _NotesReader(lines, Names(knows, is_sure or knows), answer, is_unloaded, is_client).read()


class _NotesReader:
    """Reads the lines of one file from top to bottom."""

    def __init__(
        self,
        lines: list[tuple[int, str]],
        names: Names,
        answer: str,
        is_unloaded: Callable[[str], bool],
        is_client: Callable[[str], bool],
    ) -> None:
        self.lines = lines
        self.names = names
        self.is_unloaded, self.is_client = is_unloaded, is_client
        self.said: PairMeaning = answer if answer in get_args(PairMeaning) else ""  # type: ignore[assignment]
        self.said = self.said or next(
            filter(None, (legend_of(text) for _, text in lines[:_LEGEND_LINES])), ""
        )
        self.senders = {
            chat.who for _, text in lines if (chat := parse_chat_line(text)) and not chat.is_from_coach
        }
        self.quotes = any(is_quoted_from(text) for _, text in lines)
        self.voted: PairMeaning = "" if self.said else _pair_meaning([text for _, text in lines])
        self.ticks_boxes = any(is_ticked(text) for _, text in lines)
        self.state = _State()
        self.unfolded = Unfolded(layout="notes")
        self.rows: list[dict[str, object]] = []

    def read(self) -> Unfolded:
        blocks = {min(block.rows.values()): block for block in find_blocks(self.lines)}
        in_block: set[int] = set()
        for index, (number, raw) in enumerate(self.lines):
            if number in blocks:
                self._block(blocks[number])
                in_block |= set(blocks[number].rows.values())
            if number not in in_block:
                self._line(index, number, raw)
        if self.rows:
            self.unfolded.entries = with_schema(pl.DataFrame(self.rows, infer_schema_length=None))
        return self.unfolded

    def _line(self, index: int, number: int, raw: str) -> None:
        if len(raw) > _LONGEST_LINE:
            self._too_long(number, raw)
            return
        if self.quotes and (is_quoted_from(raw) or raw.lstrip().startswith(">")):
            self.unfolded.ignored[number] = "note"  # somebody else's words
            self._keep(number, raw)
            return
        text = plain_line(raw)
        chat = parse_chat_line(raw)
        if chat is not None and chat.is_from_coach:
            self._chat(chat)
        if chat is None and self.state.is_coachs and (is_blank(text) or self._is_day(text)):
            self.state.is_coachs = False  # what follows is no message any more
        if self.state.is_coachs and (chat is None or chat.is_from_coach):
            self.unfolded.ignored[number] = "note"
            self._keep(number, raw)
            return
        if chat is not None and not self.names.is_sure(chat.who):
            text = self._chat(chat)
        elif chat is not None:
            self.state.date_text, self.state.exercise = chat.day, ""
            text = f"{chat.who}: {chat.said}"
        side, said = side_of_line(text)
        if side == "planned":
            self.unfolded.ignored[number] = "plan"
            return
        text = with_load_again(said or text, self.rows[-1] if self.rows else {})
        rule = self._rule(text)
        if rule:
            self.unfolded.ignored[number] = rule
            if find_pain(text):
                self._keep(number, raw)
            return
        if self.ticks_boxes and is_unticked(raw):
            self.unfolded.ignored[number] = "not_done"
            return
        day_above = self.state.date_text
        closing, before = closing_day(text)
        if closing:
            self.state.date_text, text = closing, before
        text = self._without_day(text)
        clauses = self._read(text)
        # what stands in the line behind its own sets is about them, not about earlier ones
        if is_correction(text) and not any(c.reading.problem == "load_contradiction" for c in clauses):
            self._correction(number, text, raw)
            return
        if clauses:
            part = 0
            for clause in clauses:
                self.state.is_headed = self.state.is_headed and not clause.exercise
                self.state.exercise = clause.exercise or self.state.exercise
                found = _entries(number, self.state, clause, raw)
                self.rows += [{**row, "part_index": part + place} for place, row in enumerate(found, start=1)]
                part += len(found)
            if find_pain(text) and not any(find_pain(clause.remark) for clause in clauses):
                self._keep(number, raw)
        elif self._is_exercise_heading(text, index):
            self.state.exercise, self.state.is_headed = bare_name(fact_of_line(text)[1] or text), True
            self.unfolded.ignored[number] = "heading"
        else:
            self.unfolded.ignored[number] = "note"
            self._keep(number, raw)
        if closing:
            self.state.date_text = day_above

    def _too_long(self, number: int, raw: str) -> None:
        """A line no person writes in a set: refused where it holds figures, words where it holds none."""
        if re.search(r"\d", raw):
            self.rows += _entries(number, self.state, Clause("", _unreadable(), "", raw[:_LONGEST_LINE]), raw)
        else:
            self.unfolded.ignored[number] = "note"
        self._keep(number, raw)

    def _keep(self, number: int, raw: str) -> None:
        """The words of a line, for the session of its day."""
        state = self.state
        day = state.date_text or state.remark_day
        self.unfolded.remarks.append((number, state.client, day, state.exercise, raw.strip()))

    def _chat(self, chat: ChatLine) -> str:
        """A message's words, which hold for the day it was sent unless they speak of another."""
        state = self.state
        if chat.who != state.sender:
            state.exercise = ""
        if self.is_client(chat.who) or len(self.senders) > 1:
            state.client = chat.who
        state.is_coachs = chat.is_from_coach
        state.sender, state.remark_day, state.week = chat.who, chat.sent, ""
        state.date_text = "" if state.is_coachs else chat.day
        return plain_line(chat.said)

    def _block(self, block: Block) -> None:
        """Lines of one fact each: the sets stand with the line that names the exercise."""
        texts, row = block.texts, block.rows["exercise"]
        self.state.date_text = texts.get("date", self.state.date_text)
        self.state.client = texts.get("client", self.state.client)
        self.state.exercise = texts["exercise"]
        load = texts.get("load")
        sets = single_sets(load, texts.get("reps"), None, texts.get("n_sets"), self.said)
        self.unfolded.ignored.update(dict.fromkeys(set(block.rows.values()) - {row}, "heading"))
        common = {
            **_common(row, self.state, texts.get("note", "")),
            "header_unit": block.unit,
            "unit_text": texts.get("unit") or self.state.unit or None,
            "duration_text": texts.get("duration"),
            "rpe_text": texts.get("rpe"),
            "rir_text": texts.get("rir"),
            "effort_text": texts.get("effort"),
            "set_number_text": texts.get("set_number"),
            "kind_text": texts.get("set_kind"),
            "is_counted": sets.is_counted,
        }
        if sets.problem:
            told = " ".join(f"{role}: {text}" for role, text in texts.items())
            fault = {"problem": sets.problem, "problem_column": sets.column, "problem_text": told}
            self.rows.append({**common, "part_index": 1, **fault})
            return
        for index, part in enumerate(sets.parts, start=1):
            one = {
                "load_text": part.load or None,
                "reps_text": part.reps or None,
                "drop_index": part.drop_index,
            }
            effort = {"effort_text": part.effort} if part.effort else {}
            kind = {"kind_text": part.kind} if part.kind else {}
            self.rows.append({**common, "part_index": index, **one, **effort, **kind, "problem": ""})

    def _rule(self, text: str) -> str:
        state = self.state
        if is_blank(text):
            return "blank"
        role, value, _ = fact_of_line(text)
        if role == "exercise" and self.names.knows(value) and not re.search(r"\d\s*[x×@]|\d{2}", value):
            state.exercise = value
            return "heading"
        if not SET_LIKE.search(text) and not holds_sets(text) and self._is_day(text):
            return "heading"
        if parse_client_statement(text):
            state.client = parse_client_statement(text)
            return "heading"
        if self.is_client(text) and not self.names.is_sure(text):
            state.client, state.exercise = text, ""
            return "heading"
        if legend_of(text):
            return "heading"
        if is_clock_time(text):
            return "note"
        above = state.week or state.date_text
        if above and parse_weekday(text) and not SET_LIKE.search(text):
            state.date_text, state.exercise, state.is_headed = joined_day(text, above), "", False
            return "heading"
        if parse_unit_statement(text) and not re.search(r"\d", text) and not spoken_figures(text):
            state.unit = parse_unit_statement(text)
            return "heading"
        if is_rest_day(text):
            return "rest_day"
        if is_total(text) and not holds_sets(text):
            return "total"
        return "not_done" if is_not_done(text) and not self._tells_more(text) else ""

    def _is_day(self, text: str) -> bool:
        """Takes over the date of a heading; False where none stands or sets follow it in the line."""
        week = parse_week_heading(text)
        if week:
            self.state.week, self.state.date_text, self.state.exercise = week, "", ""  # a week is no day
            return True
        month, day = month_of_line(text), day_of_month(text) if self.state.month else ""
        if month:
            self.state.month, self.state.date_text, self.state.exercise = month, "", ""
            return True
        date_text = f"{day}{self.state.month}" if day else parse_date_heading(text)
        if not date_text:
            return False
        label = text.replace(date_text, "").strip(" -–—:|(),")
        # repetitions behind an exercise look like a date: Push-ups 12/11/11
        if re.fullmatch(r"\d{1,2}/\d{1,2}(?:/\d{1,2})?", date_text) and label and self.names.knows(label):
            return False
        _, rest = open_day(text)
        if rest and re.search(r"\d", rest) and any(not c.reading.problem for c in self._read(rest)):
            return False
        self.state.date_text, self.state.exercise, self.state.remark_day = date_text, "", ""
        self.state.week, self.state.is_headed = "", False
        return True

    @staticmethod
    def _tells_more(text: str) -> bool:
        """`skipped squats, did leg press 3x10`: what follows was done."""
        behind = _BUT.split(text, maxsplit=1)
        return len(behind) == 2 and not holds_sets(behind[0]) and holds_sets(behind[1])

    def _without_day(self, text: str) -> str:
        """The line behind the date that opens it, which holds from there on."""
        if self._tells_more(text) and is_not_done(text):
            return _BUT.split(text, maxsplit=1)[1].strip()
        date_text, rest = open_day(text)
        if not date_text or not (self._read(rest) or holds_sets(rest)):
            return text
        is_of_exercise = self.state.is_headed and not any(clause.exercise for clause in self._read(rest))
        self.state.date_text, self.state.remark_day, self.state.week = date_text, "", ""
        self.state.exercise = self.state.exercise if is_of_exercise else ""
        return rest

    def _read(self, text: str) -> list[Clause]:
        """The clauses of a line, counted as sets where the exercise has no load."""
        meaning = self.said or column_meaning(with_figures(text), self.voted)
        role, value, _ = fact_of_line(text)
        if role in ("n_sets", "reps", "load") and self.state.exercise and SET_LIKE.search(value):
            text = value
        above = self.state.exercise
        clauses = read_line(text, bool(above), meaning, self.names)
        if not any(clause.reading.problem == "set_notation_ambiguous" for clause in clauses):
            return clauses
        counted = read_line(text, bool(above), "sets_reps", self.names)
        if len(counted) != len(clauses):
            return clauses
        chosen = []
        for clause, other in zip(clauses, counted, strict=True):
            is_counted = (
                clause.reading.problem == "set_notation_ambiguous"
                and not other.reading.problem
                and len(other.reading.parts) <= MOST_COUNTED
                and self.is_unloaded(clause.exercise or above)
            )
            chosen.append(other if is_counted else clause)
        return chosen

    def _is_exercise_heading(self, text: str, index: int) -> bool:
        if len(text) > 60 or not re.search(r"[A-Za-zÀ-ÿ]{2}", text) or find_pain(text) or holds_sets(text):
            return False
        following = next((line[:_LONGEST_LINE] for _, line in self.lines[index + 1 :] if line.strip()), "")
        if parse_chat_line(following):
            return False
        meaning = self.said or column_meaning(text, self.voted)
        reading, _ = split_remark(SET_LABEL.sub("", with_figures(plain_line(following))), meaning)
        sets_follow = bool(reading.parts) or reading.problem == "set_notation_ambiguous"
        return sets_follow or (self.names.knows(text.rstrip(":")) and not re.search(r"\d{2}", text))

    def _correction(self, number: int, text: str, raw: str) -> None:
        """A line that takes back earlier figures: the sets it seems to speak of are not loaded unasked.

        Where it names another load for one, the coach is asked; else the line and the sets are refused, since only
        the client knows what holds.
        """
        words = raw.strip()
        sets = sets_spoken_of(text, self.rows, self.state.exercise)
        self._keep(number, raw)
        if (
            sets
            and not holds_sets(text)
            and all(figures_of(row["load_text"]) & figures_of(text) for row in sets)
        ):
            for row in sets:
                row["taken_back"] = words
            self.unfolded.ignored[number] = "note"
            return
        for row in sets:
            row.update({"problem": "load_contradiction", "problem_column": "load_kg", "problem_text": words})
        self.rows += _entries(number, self.state, Clause("", _contradiction(), "", words), raw)


def _unreadable() -> NotationReading:
    return NotationReading(problem="set_notation_unreadable")


def _contradiction() -> NotationReading:
    return NotationReading(problem="load_contradiction")


def _pair_meaning(lines: list[str]) -> PairMeaning:
    votes: Counter[PairMeaning] = Counter()
    for line in lines[:3_000]:
        text = with_figures(plain_line(line[:_LONGEST_LINE]))
        for piece in [text, *(text[m.end() :] for m in SPLITS.finditer(text))]:
            reading, _ = split_remark(piece)
            if reading.pair_means:
                votes[reading.pair_means] += 1
                break
    if len(votes) == 1:
        return next(iter(votes))
    return ""


def _common(number: int, state: _State, remark: str) -> dict[str, object]:
    return {
        "source_row": number,
        "client_text": state.client or None,
        "date_text": state.date_text or None,
        "exercise_text": state.exercise or None,
        "unit_text": state.unit or None,
        "note": remark or None,
        "is_counted": True,
    }


def _entries(number: int, state: _State, clause: Clause, raw: str) -> list[dict[str, object]]:
    common = _common(number, state, clause.remark)
    reading = clause.reading
    if reading.problem:
        text = clause.text or raw
        fault = {"problem": reading.problem, "problem_column": "notation", "problem_text": text}
        return [{**common, "part_index": 1, **fault}]
    return [
        {
            **common,
            "part_index": index,
            "load_text": part.load or None,
            "reps_text": part.reps or None,
            "effort_text": part.effort or None,
            "kind_text": part.kind or None,
            "drop_index": part.drop_index,
            "problem": "",
        }
        for index, part in enumerate(reading.parts, start=1)
    ]
