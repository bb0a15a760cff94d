"""Sets written down the way their client writes: cells, rows, sheets and files."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from demo_data.habits import HABITS, MONTHS, OWN_WORDS, SHARED, Habit, Pack
from demo_data.lifting import DoneSet
from demo_data.lifts import LIFTS
from demo_data.paper import Cell, PaperFile, Record, Sheet
from demo_data.roster import BY_ID, FIRST_MONDAY, Client


def inbox_files(logs: dict[str, list[DoneSet]]) -> list[PaperFile]:
    """All log files of the roster, before anything is planted in them."""
    files: list[PaperFile] = []
    for client_id, sets in logs.items():
        if client_id in SHARED:
            continue
        files.extend(_client_files(client_id, sets))
    files.append(_shared_file({client_id: logs[client_id] for client_id in SHARED}))
    return files


def _client_files(client_id: str, sets: list[DoneSet]) -> list[PaperFile]:
    habit = HABITS[client_id]
    speller = Speller(client_id)

    def file(path: str, sheets: list[Sheet]) -> PaperFile:
        return PaperFile(f"inbox/{path}.{habit.ext}", sheets, habit.delimiter, habit.encoding, habit.line_end)

    if client_id == "tariq":
        first = [s for s in sets if s.day < date(2026, 6, 22)]
        second = [s for s in sets if s.day >= date(2026, 6, 22)]
        return [
            file(f"tariq/tariq week {n}", [Sheet("", lines(BY_ID[client_id], habit, part, speller))])
            for n, part in ((1, first), (2, second))
        ]
    if habit.pack == "one_file":
        return [file(habit.path, [Sheet("", lines(BY_ID[client_id], habit, sets, speller))])]
    if habit.pack == "month_files":
        return [
            file(
                habit.path.format(ym=f"{year}-{month:02d}"),
                [Sheet("", lines(BY_ID[client_id], habit, list(part), speller))],
            )
            for (year, month), part in groupby(sets, key=lambda s: (s.day.year, s.day.month))
        ]
    sheets = [
        Sheet(name, lines(BY_ID[client_id], habit, list(part), speller))
        for name, part in groupby(sets, key=lambda s: _sheet_name(habit.pack, s.day))
    ]
    return [file(habit.path, sheets)]


def _sheet_name(pack: Pack, day: date) -> str:
    if pack == "week_sheets":
        return f"Week {(day - FIRST_MONDAY).days // 7 + 1}"
    return f"{MONTHS[day.month - 1]} {day.year}"


def _shared_file(logs: dict[str, list[DoneSet]]) -> PaperFile:
    """One workbook for the morning group, a sheet a month, with the client in the first column."""
    habit = HABITS["kofi"]
    told: list[tuple[date, str, Record]] = []
    for client_id, sets in logs.items():
        for record in lines(BY_ID[client_id], habit, sets, Speller(client_id))[1:]:
            record.cells.insert(0, SHARED[client_id])
            told.append((record.sets[0].day, client_id, record))
    told.sort(key=lambda item: (item[0], item[1]))
    header: list[Cell] = ["Client", *[name for name in habit.columns if name]]
    sheets = [
        Sheet(name, [Record(list(header)), *[item[2] for item in part]])
        for name, part in groupby(told, key=lambda item: _sheet_name("month_sheets", item[0]))
    ]
    return PaperFile(f"inbox/{habit.path}.xlsx", sheets)


class Speller:
    """How a client writes an exercise: mostly one way, now and then another."""

    def __init__(self, client_id: str) -> None:
        self.rng = random.Random(f"spelling:{client_id}")
        self.own = dict(OWN_WORDS.get(client_id, {}))
        self.last: dict[tuple[str, date], str] = {}

    def spell(self, lift_id: str, day: date) -> str:
        """The spelling of that day; the same for all sets of the day."""
        if (lift_id, day) not in self.last:
            ways = LIFTS[lift_id].spellings
            usual = self.own.setdefault(lift_id, self.rng.choice(ways))
            word = self.rng.choice(ways) if self.rng.random() < 0.04 else usual
            self.last[lift_id, day] = word
        return self.last[lift_id, day]


def lines(client: Client, habit: Habit, sets: list[DoneSet], speller: Speller) -> list[Record]:
    """The records of one table, header first."""
    writer = _Writer(client, habit, speller)
    if habit.shape == "set_rows":
        return writer.set_rows(sets)
    if habit.shape == "notes":
        return writer.notes(sets)
    return writer.exercise_rows(sets)


def number(value: float, comma: bool = False) -> str:
    """A figure as a person writes it: no needless zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return text.replace(".", ",") if comma else text


@dataclass
class _Writer:
    client: Client
    habit: Habit
    speller: Speller

    def set_rows(self, sets: list[DoneSet]) -> list[Record]:
        """One line a set."""
        habit = self.habit
        header = [name for name in habit.columns if name]
        if habit.unit_column:
            header.insert(4, habit.unit_column)
        header += [habit.superset] if habit.superset else []
        header += habit.whole_session
        records = [Record(list(header))]
        before: date | None = None
        for done in sets:
            opens = done.day != before
            shown = self.day(done.day) if opens or not habit.fill else None
            before = done.day
            row: list[Cell] = [
                shown,
                self.speller.spell(done.lift_id, done.day),
                done.set_no,
                self.load(done),
                self.reps(done),
            ]
            if habit.unit_column:
                row.insert(4, self.client.unit if done.load is not None else "")
            if habit.columns[5]:
                row.append(self.effort(done.rir))
            if habit.columns[6]:
                row.append(done.note or ("" if habit.ext != "xlsx" else None))
            if habit.superset:
                row.append(self.pairs.get((done.plan_day, done.lift_id), ""))
            if habit.whole_session:
                row += self.session(sets, done.day) if opens else [None, None]
            records.append(Record(row, (done,)))
        return records

    @property
    def pairs(self) -> dict[tuple[str, str], str]:
        """Superset label by plan day and lift: A1, A2 …"""
        labels: dict[tuple[str, str], str] = {}
        for day in self.client.days:
            paired = [slot for slot in day.slots if slot.superset]
            labels.update({(day.name, s.lift_id): f"{s.superset}{n}" for n, s in enumerate(paired, 1)})
        return labels

    def session(self, sets: list[DoneSet], day: date) -> list[Cell]:
        """Minutes and effort of the whole session, as told on its first line."""
        rng = random.Random(f"session:{self.client.client_id}:{day}")
        n_sets = sum(s.day == day for s in sets)
        minutes = round((10 + 4.2 * n_sets + rng.gauss(0, 5)) / 5) * 5
        return [minutes, min(max(round(rng.gauss(7.2, 0.8)), 5), 10)]

    def exercise_rows(self, sets: list[DoneSet]) -> list[Record]:
        """One line an exercise, the sets in one cell, counted, or side by side."""
        habit = self.habit
        most = 5
        columns = habit.columns
        by_shape: dict[str, list[Cell]] = {
            "short_hand": [columns[4]],
            "counted_rows": [columns[2], columns[4], columns[3]],
            "set_pairs": [f"Set {n} {part}" for n in range(1, most) for part in (columns[3], columns[4])],
            "set_reps": [columns[3], *[f"{columns[4]} {n}" for n in range(1, most)]],
        }
        header: list[Cell] = [columns[0], columns[1], *by_shape[habit.shape]]
        header += [name for name in columns[5:] if name]
        records = [Record(header)]
        for (day, lift_id), part in groupby(sets, key=lambda s: (s.day, s.lift_id)):
            group = tuple(part)
            row: list[Cell] = [self.day(day), self.speller.spell(lift_id, day), *self.cells(group, most)]
            if columns[5]:
                row.append(self.efforts(group))
            if columns[6]:
                row.append(next((s.note for s in group if s.note), ""))
            records.append(Record(row, group))
        return records

    def cells(self, group: tuple[DoneSet, ...], most: int) -> list[Cell]:
        """The cells that tell of the sets of one exercise."""
        first, reps = group[0], [self.reps(s) for s in group]
        same = len(set(reps)) == 1
        told = "/".join(str(r) for r in reps)
        if self.habit.shape == "short_hand":
            head = f"{len(group)}x{reps[0]}" if same else told
            return [head if first.load is None else f"{head}@{self.load(first)}"]
        if self.habit.shape == "counted_rows":
            return [len(group), reps[0] if same else told, self.load(first)]
        if self.habit.shape == "set_reps":
            return [self.load(first), *_padded(reps, most - 1)]
        pairs = [cell for s in group[: most - 1] for cell in (self.load(s), self.reps(s))]
        return _padded(pairs, 2 * (most - 1))

    def notes(self, sets: list[DoneSet]) -> list[Record]:
        """A phone note: a line with the day, a line an exercise, an empty line between sessions."""
        records: list[Record] = []
        for day, part in groupby(sets, key=lambda s: s.day):
            if records:
                records.append(Record([""]))
            records.append(Record([day.strftime(self.habit.dates)]))
            for lift_id, group in groupby(part, key=lambda s: s.lift_id):
                records.append(self.note_line(day, lift_id, tuple(group)))
        return records

    def note_line(self, day: date, lift_id: str, group: tuple[DoneSet, ...]) -> Record:
        """Such as `Goblet squat 16kg 3x10` or `DB Curl 7kg 10/9/8`."""
        reps = [str(self.reps(s)) for s in group]
        told = f"{len(reps)}x{reps[0]}" if len(set(reps)) == 1 else "/".join(reps)
        load = group[0].load
        weight = "" if load is None or LIFTS[lift_id].basis == "bodyweight" else f" {number(load)}kg"
        said = next((s.note for s in group if s.note), "")
        text = f"{self.speller.spell(lift_id, day)}{weight} {told}" + (f" ({said})" if said else "")
        return Record([text], group)

    def day(self, day: date) -> Cell:
        """A date as this client writes it."""
        return day.strftime(self.habit.dates) if self.habit.dates else day

    def figure(self, value: float) -> Cell:
        """A figure as a cell: a number in a workbook, text elsewhere."""
        if self.habit.ext == "xlsx":
            return int(value) if value == int(value) else value
        return number(value, self.habit.comma)

    def load(self, done: DoneSet) -> Cell:
        """A load as this client writes it."""
        basis = LIFTS[done.lift_id].basis
        if basis == "timed" or done.load is None:
            return "red band" if basis == "band" else ("" if self.habit.ext != "xlsx" else None)
        if basis == "pin":
            return f"pin {number(done.load)}"
        if basis == "assisted":
            return self.figure(-done.load)
        if basis == "bodyweight":
            text = number(done.load, self.habit.comma)
            return self.habit.bodyweight if done.load == 0 else self.habit.added.format(text)
        if self.habit.unit_in_cell:
            return f"{number(done.load)}kg"
        return self.figure(done.load)

    def reps(self, done: DoneSet) -> Cell:
        """Repetitions, or the seconds of a hold."""
        return done.reps if done.seconds is None else self.habit.hold.format(done.seconds)

    def effort(self, rir: float | None) -> Cell:
        """Effort as this client rates it; an empty cell where unknown."""
        if rir is None:
            return "" if self.habit.ext != "xlsx" else None
        return self.figure(10 - rir if self.client.effort == "rpe" else rir)

    def efforts(self, group: Iterable[DoneSet]) -> Cell:
        """Effort of the sets of one exercise: one figure, or one a set."""
        told = [
            number(10 - s.rir if self.client.effort == "rpe" else s.rir) for s in group if s.rir is not None
        ]
        if not told:
            return ""
        return told[0] if len(set(told)) == 1 else "/".join(told)


def _padded(cells: list[Cell], length: int) -> list[Cell]:
    return [*cells[:length], *[""] * (length - len(cells))]
