"""The coach's plan files: one row a planned exercise, a version for each phase, csv and xlsx."""

from __future__ import annotations

from datetime import date, timedelta

from demo_data.habits import MONTHS
from demo_data.lifting import rep_range
from demo_data.lifts import LIFTS
from demo_data.paper import Cell, PaperFile, Record, Sheet
from demo_data.roster import CLIENTS, Client, Phase, monday_of
from demo_data.splits import ROLE_REST_S, ROLE_RIR

COLUMNS = (
    "client_id",
    "plan",
    "valid_from",
    "valid_to",
    "phase",
    "day",
    "weekday",
    "slot",
    "exercise",
    "sets",
    "rep_low",
    "rep_high",
    "target_rir",
    "superset",
    "rest_s",
    "alternatives",
)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
IN_CSV = frozenset({"amara", "lukas", "marcus", "dewi", "nora", "tariq", "rana"})


def plan_files() -> list[PaperFile]:
    """A plan file for each client, and a shared one for the morning group."""
    files = []
    shared: list[Record] = []
    for client in CLIENTS:
        rows = _rows(client)
        if client.client_id in ("kofi", "meilin", "oskar"):
            shared.extend(rows)
        elif client.client_id in IN_CSV:
            files.append(PaperFile(f"plans/{client.client_id}.csv", [Sheet("", [_header(), *rows])]))
        else:
            files.append(PaperFile(f"plans/{client.client_id}.xlsx", [Sheet("Plan", [_header(), *rows])]))
    files.append(PaperFile("plans/mornings group.xlsx", [Sheet("Plan", [_header(), *shared])]))
    return files


def _header() -> Record:
    return Record(list(COLUMNS))


def _rows(client: Client) -> list[Record]:
    return [row for phase in client.phases for row in _phase_rows(client, phase)]


def _phase_rows(client: Client, phase: Phase) -> list[Record]:
    start = monday_of(phase.first_week)
    end = monday_of(phase.last_week) + timedelta(days=6)
    is_last = phase is client.phases[-1] or phase == client.phases[-1]
    # the running version is open-ended, as a coach leaves it; a deload ends with its week
    valid_to = None if is_last and phase.kind == "build" else end
    plan = f"{client.split} {MONTHS[start.month - 1]} {start.year}"
    head = [client.client_id, plan, _day(client, start), _day(client, valid_to), phase.kind]
    if phase.kind == "break":
        return [Record([*head, "Break", None, None, None, 0, *[None] * 6])]
    rows = []
    for day in client.days:
        for number, slot in enumerate(day.slots, 1):
            lift = LIFTS[slot.lift_id]
            low, high = rep_range(client, slot, phase.block)
            rir: Cell = ROLE_RIR[slot.role]
            sets = slot.sets
            if phase.kind == "deload":
                sets, high, rir = max(2, round(slot.sets * 0.6)), low + 1, 4
            if lift.basis in ("timed", "band"):
                rir = None
            reps: list[Cell] = [None, None] if lift.basis == "timed" else [low, high]
            if lift.basis == "band":
                reps = [15, 20]
            others = "; ".join(LIFTS[other].spellings[0] for other in slot.alternatives)
            rows.append(
                Record(
                    [
                        *head,
                        day.name,
                        WEEKDAYS[day.weekday - 1],
                        number,
                        lift.spellings[0],
                        sets,
                        *reps,
                        rir,
                        slot.superset or None,
                        ROLE_REST_S[slot.role],
                        others or None,
                    ]
                )
            )
    return rows


def _day(client: Client, day: date | None) -> Cell:
    """Plan dates: ISO in csv, real dates in workbooks."""
    if day is None:
        return None
    return day.isoformat() if client.client_id in IN_CSV else day
