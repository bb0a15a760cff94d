"""Weekly check-ins: sleep, soreness, motivation, stress, bodyweight, and what excused a client."""

from __future__ import annotations

import random
from datetime import date, timedelta

from demo_data.lifting import KG_PER_LB
from demo_data.paper import Cell, PaperFile, Record, Sheet
from demo_data.roster import CLIENTS, Client, monday_of
from demo_data.stories import turns_of

FORM = (
    "client_id",
    "date",
    "bodyweight",
    "unit",
    "sleep_h",
    "soreness",
    "motivation",
    "stress",
    "waist_cm",
    "excused",
    "note",
)
NEVER = frozenset({"fatou", "dewi"})
DatedRow = tuple[date, str, list[Cell]]
STRAINED_NOTES = ("legs feel heavy all day", "waking at four again", "no drive for the gym this week")
TRAVEL = (("diego", date(2026, 5, 11), 28, "travel"), ("amara", date(2026, 2, 11), 3, "illness"))


def check_in_files(weights: dict[str, dict[int, float]], seed: int) -> list[PaperFile]:
    """The weekly form of all clients, and a daily weight list of the client who cuts."""
    rows: list[DatedRow] = []
    for client in CLIENTS:
        if client.client_id not in NEVER:
            rng = random.Random(f"{seed}:form:{client.client_id}")
            rows.extend(_weekly(client, weights[client.client_id], rng))
    for client_id, first, n_days, why in TRAVEL:
        for n in range(n_days):
            day = first + timedelta(days=n)
            rows.append((day, client_id, [client_id, day.isoformat(), *[None] * 7, why, None]))
    rows.sort(key=lambda row: (row[0], row[1], str(row[2][9])))
    form = PaperFile(
        "check_ins/weekly_form.csv", [Sheet("", [Record(list(FORM)), *[Record(row[2]) for row in rows]])]
    )
    return [form, _cut_list(weights["chloe"], random.Random(f"{seed}:scale"))]


def _weekly(client: Client, weights: dict[int, float], rng: random.Random) -> list[DatedRow]:
    rows: list[DatedRow] = []
    sleep, mood = rng.uniform(6.8, 7.8), rng.uniform(3.2, 4.2)
    for week, weight in weights.items():
        if rng.random() < 0.12 or (client.client_id == "ivana" and week > 28):
            continue
        strain = max((turn.strain for turn in turns_of(client.client_id, week)), default=0.0)
        day = monday_of(week) + timedelta(days=6)
        shown = round((weight + rng.gauss(0, 0.35)) / (KG_PER_LB if client.unit == "lb" else 1), 1)
        note = rng.choice(STRAINED_NOTES) if strain >= 1 else None
        rows.append(
            (
                day,
                client.client_id,
                [
                    client.client_id,
                    day.isoformat(),
                    shown,
                    client.unit,
                    round((sleep - 1.3 * strain + rng.gauss(0, 0.35)) * 2) / 2,
                    _score(2.2 + 2.0 * strain, rng),
                    _score(mood - 1.8 * strain, rng),
                    _score(2.3 + 1.5 * strain, rng),
                    None,
                    None,
                    note,
                ],
            )
        )
    return rows


def _score(centre: float, rng: random.Random) -> int:
    """A whole answer from 1 to 5."""
    return min(max(round(centre + rng.gauss(0, 0.5)), 1), 5)


def _cut_list(weights: dict[int, float], rng: random.Random) -> PaperFile:
    """Three weighings a week and the waist on Fridays, from the start of the cut."""
    records = [Record(["client_id", "date", "bodyweight_kg", "waist_cm"])]
    start = weights[20]
    for week in range(21, 33):
        for weekday in (1, 3, 5):
            day = monday_of(week) + timedelta(days=weekday - 1)
            waist = round(78 - 14 * (1 - weights[week] / start) * 5 / 3.5, 1) if weekday == 5 else None
            shown = round(weights[week] + rng.gauss(0, 0.4), 1)
            records.append(Record(["chloe", day.isoformat(), shown, waist]))
    return PaperFile("check_ins/chloe_scale.csv", [Sheet("", records)])
