"""The mess planted on purpose, each thing once: what a coach's folder is like after half a year.

Every function changes the files in memory and marks what it changed with a `Plant`, which says what
should become of the record. Where a record comes to stand is counted when everything is planted.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from datetime import date

from demo_data.lifting import KG_PER_LB, DoneSet
from demo_data.paper import Cell, PaperFile, Plant, Record, Sheet

Folder = dict[str, PaperFile]


def plant_mess(files: list[PaperFile], seed: int) -> list[PaperFile]:
    """All files with the mess in them; the list given is not changed."""
    folder: Folder = {file.path: file for file in deepcopy(files)}
    for plant in (_cells, _notes, _rows, _resent_rows, _whole_files, _check_ins):
        plant(folder)
    folder["inbox/sofia/form check.csv"] = _picture(random.Random(f"{seed}:picture"))
    return [folder[path] for path in sorted(folder)]


def _records(folder: Folder, path: str) -> Iterator[tuple[Sheet, int, Record]]:
    for sheet in folder[path].sheets:
        for at, record in enumerate(sheet.records):
            yield sheet, at, record


def _find(folder: Folder, path: str, wanted: Callable[[DoneSet], bool]) -> Record:
    """The first record without a mark whose first set is as wanted."""
    for _, _, record in _records(folder, path):
        if record.sets and record.plant is None and wanted(record.sets[0]):
            return record
    raise LookupError(f"{path} has no set as wanted")


def _column(folder: Folder, path: str, name: str) -> int:
    header = folder[path].sheets[0].records[0].cells
    return header.index(name)


def _put(record: Record, column: int, cell: Cell, plant: Plant) -> None:
    record.cells[column] = cell
    record.plant = plant


def _lift(lift_id: str, after: date = date(2025, 1, 1), set_no: int = 1) -> Callable[[DoneSet], bool]:
    return lambda done: done.lift_id == lift_id and done.day >= after and done.set_no == set_no


def _cells(folder: Folder) -> None:
    """One cell of a row is odd."""

    def put(path: str, name: str, wanted: Callable[[DoneSet], bool], cell: Cell, plant: Plant) -> Record:
        record = _find(folder, path, wanted)
        _put(record, _column(folder, path, name), cell, plant)
        return record

    marcus, sven = "inbox/marcus/2026-04 marcus.csv", "inbox/sven/Sven_2026-05.csv"
    put(
        marcus,
        "rpe",
        _lift("bench_press", date(2026, 4, 13), 3),
        "11",
        Plant("RPE 11", "loaded", "the effort is refused, the set itself is kept", "rejected"),
    )
    put(
        "inbox/Diego Fuentealba/log.csv",
        "Weight (kg)",
        _lift("deadlift", date(2026, 3, 2), 2),
        "??",
        Plant("unreadable load", "rejected", "load is not readable", "waiting"),
    )
    put(
        sven,
        "Kg",
        lambda done: done.load == 100,
        "1000",
        Plant("slipped digit", "waiting", "1000 kg is far beyond the history: 100 suggested", "rejected"),
    )
    put(
        "inbox/sofia/sofia gym.csv",
        "Date",
        _lift("lat_pulldown", date(2026, 3, 2), 3),
        "02/03/2027",
        Plant("date in the future", "rejected", "date after the as-of day"),
    )
    put(
        sven,
        "RPE",
        _lift("bench_press", date(2026, 5, 4), 2),
        "8-9",
        Plant("effort as a range", "loaded", "RPE 8-9 is RIR 1.5"),
    )
    odd = put(
        "inbox/yuki/yuki_log.tsv",
        "load_kg",
        lambda done: done.lift_id == "back_squat" and (done.load or 0) % 1 == 0.5,
        "",
        Plant("decimal comma in a file with points", "loaded", "the comma is a decimal sign"),
    )
    odd.cells[3] = f"{odd.sets[0].load:g}".replace(".", ",")
    put(
        "inbox/amara/amara_2026-05.csv",
        "Reps",
        _lift("lateral_raise", date(2026, 5, 4), 3),
        "15+",
        Plant("at least that many repetitions", "loaded", "15 repetitions or more"),
    )
    pounds = put(
        "inbox/tomasz/Tomasz log.xlsx",
        "kg",
        _lift("bench_press", date(2026, 4, 20), 1),
        "",
        Plant("pounds in a kilogram file", "loaded", "1 lb is 0.45359237 kg"),
    )
    pounds.cells[3] = f"{round((pounds.sets[0].load or 0) / KG_PER_LB / 5) * 5} lb"
    put(
        "inbox/tomasz/Tomasz log.xlsx",
        "Reps",
        _lift("deadlift", date(2026, 6, 15), 4),
        0,
        Plant("missed attempt", "loaded", "0 repetitions"),
    )
    put(
        "inbox/joao/João 2025-26.xlsx",
        "Reps",
        _lift("hammer_curl", date(2026, 5, 1), 3),
        "8+3+2",
        Plant("rest-pause", "loaded", "one rest-pause set of 13 repetitions"),
    )
    put(
        "inbox/chloe/seances_2026-05.csv",
        "Répétitions",
        _lift("bulgarian_split_squat", date(2026, 5, 4), 2),
        "L10/R8",
        Plant("left and right differ", "loaded", "10 left, 8 right"),
    )
    put(
        "inbox/tomasz/Tomasz log.xlsx",
        "kg",
        lambda done: done.lift_id == "chin_up" and done.load == 10,
        "BW+10",
        Plant("bodyweight plus load", "loaded", "10 kg external, bodyweight is moved too"),
    )
    drop = put(
        "inbox/grace/grace.csv",
        "Weight",
        _lift("lateral_raise", date(2026, 4, 6), 3),
        "20/15/10",
        Plant("drop set", "loaded", "one drop set of three loads"),
    )
    drop.cells[_column(folder, "inbox/grace/grace.csv", "Reps")] = "10/8/6"
    _exercise_names(folder)


def _exercise_names(folder: Folder) -> None:
    """An exercise is written in a way that is unknown, ambiguous, mistyped or damaged."""
    yuki, diego = "inbox/yuki/yuki_log.tsv", "inbox/Diego Fuentealba/log.csv"
    lukas, pavel = "inbox/lukas/Training_2026-05.csv", "inbox/pavel/Pavel_log.xlsx"
    for path, lift_id, after, word, plant in (
        (
            yuki,
            "overhead_press",
            date(2026, 2, 2),
            "Press",
            Plant("ambiguous exercise name", "waiting", "Press may be several exercises"),
        ),
        (
            pavel,
            "close_grip_bench_press",
            date(2026, 4, 11),
            "Harbour Shuffle",
            Plant("unknown exercise name", "waiting", "Harbour Shuffle is no known exercise"),
        ),
        (
            diego,
            "bench_press",
            date(2026, 2, 9),
            "Bech Press",
            Plant("mistyped exercise name", "loaded", "close spelling of Bench Press", "waiting"),
        ),
        (
            lukas,
            "bench_press",
            date(2026, 5, 4),
            "BankdrÃ¼cken",
            Plant("damaged letters", "loaded", "BankdrÃ¼cken is Bankdrücken, answered before", "waiting"),
        ),
    ):
        first = _find(folder, path, _lift(lift_id, after)).sets[0]
        for _, _, record in _records(folder, path):
            if record.sets and record.sets[0].day == first.day and record.sets[0].lift_id == lift_id:
                _put(record, 1, word, plant)


def _notes(folder: Folder) -> None:
    """What clients write beside a set."""
    for path, lift_id, after, text, plant in (
        (
            "inbox/hank/hank_2026-06.csv",
            "leg_press",
            date(2026, 6, 15),
            "left knee hurts on the way down, sharp at the bottom",
            Plant("note of pain", "loaded", "pain note, word for word"),
        ),
        (
            "inbox/marcus/2026-06 marcus.csv",
            "deadlift",
            date(2026, 6, 15),
            "dizzy after this one, sat down",
            Plant("note of a warning sign", "loaded", "pain note with a warning sign"),
        ),
        (
            "inbox/amara/amara_2026-06.csv",
            "back_squat",
            date(2026, 6, 8),
            "💪🔥 so happy",
            Plant("emoji note", "loaded", "note kept as it stands"),
        ),
        (
            "inbox/grace/grace.csv",
            "back_squat",
            date(2026, 3, 2),
            "=2 more in the tank",
            Plant("note that looks like a formula", "loaded", "note kept; exports must not turn it into one"),
        ),
    ):
        record = _find(folder, path, _lift(lift_id, after))
        _put(record, len(record.cells) - 1, text, plant)
    for path, lift_id, defect, reason in (
        ("inbox/hank/hank_2026-03.csv", "band_pull_apart", "band", "no kilograms: load basis band"),
        (
            "inbox/hank/hank_2026-03.csv",
            "chest_press_machine",
            "pin number of a machine",
            "no kilograms: load basis machine step",
        ),
        (
            "inbox/hank/hank_2026-03.csv",
            "assisted_pull_up",
            "assisted pull-up",
            "pounds of help are a negative load",
        ),
        ("inbox/amara/amara_2026-03.csv", "plank", "timed plank", "seconds, no repetitions"),
    ):
        _find(folder, path, _lift(lift_id)).plant = Plant(defect, "loaded", f"{reason} (all such rows)")


def _rows(folder: Folder) -> None:
    """Rows that are no sets, and rows of another kind."""
    fatou = folder["inbox/fatou/fatou_2026-03.csv"].sheets[0].records
    n_sets = sum(len(record.sets) for record in fatou)
    fatou.append(Record(["Total", "", n_sets, "", "", ""], plant=Plant("total row", "ignored", "total")))
    april = folder["inbox/fatou/fatou_2026-04.csv"].sheets[0].records
    april.insert(
        _after_first_day(april),
        Record(["", "Rest day", "", "", "", ""], plant=Plant("rest day row", "ignored", "rest day")),
    )
    ivana = folder["inbox/ivana/ivana_2026-03.csv"].sheets[0].records
    skipped = ivana[_after_first_day(ivana)]
    skipped.sets = ()
    skipped.cells[2:8] = ["", "skipped", "", "", "", ""]
    skipped.plant = Plant("planned but not done", "ignored", "not done")
    march = next(s for s in folder["inbox/priya/Priya training.xlsx"].sheets if s.name == "Mar 2026")
    title = Plant("title rows above the header", "ignored", "title")
    march.records[0:0] = [
        Record(["Priya - March"], plant=title),
        Record(["Block 3, gym times as before"], plant=title),
    ]
    yuki = folder["inbox/yuki/yuki_log.tsv"].sheets[0].records
    at = _after_first_day(yuki)
    blank = Plant("blank rows", "ignored", "blank")
    yuki[at:at] = [Record([], plant=blank), Record(["", "", "", "", "", "", ""], plant=blank)]
    pavel = next(s for s in folder["inbox/pavel/Pavel_log.xlsx"].sheets if s.name == "Feb 2026").records
    pavel.insert(
        _after_first_day(pavel),
        Record(list(pavel[0].cells), plant=Plant("header repeated", "ignored", "header")),
    )
    sven = folder["inbox/sven/Sven_2026-04.csv"].sheets[0].records
    at = next(n for n, r in enumerate(sven) if r.sets and r.sets[0].lift_id == "back_squat")
    done = sven[at].sets[0]
    for n, (share, reps) in enumerate(((0.4, 8), (0.7, 4))):
        load = round(done.load * share / 5) * 5 if done.load else 20
        cells: list[Cell] = [sven[at + n].cells[0], sven[at + n].cells[1], "W", f"{load}", reps, "", ""]
        sven.insert(
            at + n,
            Record(
                cells,
                (replace(done, kind="warm_up"),),
                Plant("warm-up set", "loaded", "set kind warm-up, no hard set"),
            ),
        )


def _after_first_day(records: list[Record]) -> int:
    """Place of the first record of the second day."""
    days = [(at, record.sets[0].day) for at, record in enumerate(records) if record.sets]
    return next(at for at, day in days if day != days[0][1])


def _resent_rows(folder: Folder) -> None:
    """Rows that came in twice."""
    rana = folder["inbox/rana/rana_2026-04.csv"].sheets[0].records
    last_day = next(record.sets[0].day for record in reversed(rana) if record.sets)
    again = [deepcopy(record) for record in rana if record.sets and record.sets[0].day == last_day]
    for record in again:
        record.plant = Plant("pasted session", "duplicate", "the session stands above already")
    rana.extend(again)
    whole = deepcopy(folder["inbox/amara/amara_2026-02.csv"])
    whole.path = "inbox/amara/amara_2026-02_sent again.csv"
    whole.plant = Plant("duplicated file", "duplicate", "same content as amara_2026-02.csv")
    folder[whole.path] = whole
    grace = folder["inbox/grace/grace.csv"]
    header, records = grace.sheets[0].records[0], grace.sheets[0].records
    part = [deepcopy(r) for r in records if r.sets and r.sets[0].day == date(2026, 5, 12)]
    part = part or [deepcopy(r) for r in records if r.sets and r.sets[0].day == _last_day_before(records)]
    lift, day = part[0].sets[0].lift_id, part[0].sets[0].day
    for record in part:
        record.plant = Plant("corrected file", "duplicate", "the set is known already")
        if record.sets[0].lift_id == lift:
            record.plant = Plant("corrected file", "loaded", "holds instead of the session sent first")
    for record in records:
        if record.sets and (record.sets[0].lift_id, record.sets[0].day) == (lift, day):
            record.plant = Plant("session corrected later", "duplicate", "the corrected file holds instead")
    part[0].cells[5] = str((part[0].sets[0].reps or 0) + 2)
    path = "inbox/grace/grace_corrected.csv"
    folder[path] = replace(grace, path=path, sheets=[Sheet("", [Record(list(header.cells)), *part])])


def _last_day_before(records: list[Record], day: date = date(2026, 5, 15)) -> date:
    return max(record.sets[0].day for record in records if record.sets and record.sets[0].day < day)


def _whole_files(folder: Folder) -> None:
    """Files that are empty, not yet filled, without a client, or without a unit."""
    path = "inbox/ivana/ivana_2026-06.csv"
    empty = Plant("empty file", "rejected", "the file is empty", "ignored")
    folder[path] = PaperFile(path, [], raw=b"", plant=empty)
    june = folder["inbox/lukas/Training_2026-06.csv"]
    path = "inbox/lukas/Training_2026-07.csv"
    header = Record(
        list(june.sheets[0].records[0].cells),
        plant=Plant("file with a header only", "rejected", "the file holds no set"),
    )
    folder[path] = replace(june, path=path, sheets=[Sheet("", [header])])
    path = "inbox/training saturday.csv"
    who = Plant("file that names no client", "waiting", "whose session is it?")
    rows: list[Record] = [Record(["Date", "Exercise", "Set", "kg", "Reps", "RIR"])]
    for lift, load, reps in (("Back Squat", "80", 6), ("Bench Press", "60", 8), ("Barbell Row", "60", 8)):
        rows.extend(Record(["2026-06-20", lift, n, load, reps, 2], plant=who) for n in (1, 2, 3))
    folder[path] = PaperFile(path, [Sheet("", rows)])
    week_2 = folder["inbox/tariq/tariq week 2.csv"].sheets[0].records
    week_2[0].cells[3] = "Weight"
    for record in week_2[1:]:
        # a hold has no load, so it need not wait for the unit
        fate = "waiting" if record.sets[0].load is not None else "loaded"
        record.plant = Plant(
            "no unit anywhere", fate, "kilograms or pounds?" if fate == "waiting" else "a hold"
        )
    path = "inbox/tomasz/~$Tomasz log.xlsx"
    folder[path] = PaperFile(
        path,
        [],
        raw=b"\x06Tomasz" + b"\x00" * 158,
        plant=Plant("lock file of an open workbook", "ignored", "lock file", "rejected"),
    )


def _picture(rng: random.Random) -> PaperFile:
    """A photograph that was saved with the ending of a table."""
    head = bytes.fromhex("ffd8ffe000104a46494600010100004800480000")
    body = bytes(rng.randrange(256) for _ in range(900))
    return PaperFile(
        "inbox/sofia/form check.csv",
        [],
        raw=head + body + bytes.fromhex("ffd9"),
        plant=Plant("file that is not what its name says", "rejected", "a picture, no table"),
    )


def _check_ins(folder: Folder) -> None:
    """A weight with a slipped point."""
    records = folder["check_ins/chloe_scale.csv"].sheets[0].records
    records[9].cells[2] = 6.75
    records[9].plant = Plant(
        "bodyweight with a slipped point", "rejected", "6.75 kg is below what is possible"
    )
