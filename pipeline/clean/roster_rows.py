"""clients.csv: the roster as the coach keeps it."""

from __future__ import annotations

from datetime import date

from pipeline.clean.cells.dates import parse_date, to_date
from pipeline.clean.cells.folding import fold, is_blank, parse_number
from pipeline.clean.cells.loads import KG_PER_LB, parse_unit
from pipeline.clean.coach_tables import CoachRow, CoachTable, read_rows
from pipeline.contract.sheets import SourceFile

_STATUS_WORDS = {
    "novice": "novice",
    "beginner": "novice",
    "new": "novice",
    "anfanger": "novice",
    "debutant": "novice",
    "principiante": "novice",
    "intermediate": "intermediate",
    "fortgeschritten": "intermediate",
    "intermediaire": "intermediate",
    "intermedio": "intermediate",
    "advanced": "advanced",
    "elite": "advanced",
    "avance": "advanced",
    "avanzado": "advanced",
    "avanzato": "advanced",
}
_ORDER_WORDS = {
    "dmy": "dmy",
    "mdy": "mdy",
    "ymd": "ymd",
    "d/m/y": "dmy",
    "m/d/y": "mdy",
    "y-m-d": "ymd",
    "dd/mm/yyyy": "dmy",
    "mm/dd/yyyy": "mdy",
    "yyyy-mm-dd": "ymd",
    "day first": "dmy",
    "month first": "mdy",
    "eu": "dmy",
    "uk": "dmy",
    "us": "mdy",
    "iso": "ymd",
}


def read_roster(source: SourceFile, kept: CoachTable) -> list[dict[str, object]]:
    """Clients as the contract's `client` rows; a cell that cannot be read is noted and left empty."""
    clients: dict[str, dict[str, object]] = {}
    for row in read_rows(source, "client", ("client_id|name",), kept):
        client_id = row.text("client_id") or row.text("name")
        if is_blank(client_id):
            kept.reject(source.source_file, row, "client_id", row.raw_text, "missing_value")
            continue
        if client_id in clients:
            kept.reject(source.source_file, row, "client_id", client_id, "client_twice")
            continue
        clients[client_id] = _client(source.source_file, row, client_id, kept)
    return list(clients.values())


def _client(source_file: str, row: CoachRow, client_id: str, kept: CoachTable) -> dict[str, object]:
    def checked(role: str, value: object) -> object:
        if value is None and not is_blank(row.text(role)):
            kept.reject(source_file, row, role, row.text(role), "value_unreadable", is_part=True)
        return value

    unit = parse_unit(row.text("unit"))
    number = parse_number(row.text("bodyweight_kg").lower().replace("kg", "").replace("lb", "").strip("s "))
    in_pounds = row.units.get("bodyweight_kg") == "lb" or "lb" in row.text("bodyweight_kg").lower()
    return {
        "client_id": client_id,
        "name": row.text("name") or client_id,
        "status": checked("status", _STATUS_WORDS.get(fold(row.text("status")))),
        "unit": checked("unit", unit or None),
        "bodyweight_kg": checked(
            "bodyweight_kg", None if number is None else round(number * KG_PER_LB, 2) if in_pounds else number
        ),
        "start_date": checked("start_date", parse_day(row.text("start_date"))),
        "date_order": checked("date_order", _ORDER_WORDS.get(fold(row.text("date_order")))),
        "tags": row.text("tags") or None,
        "goal": row.text("goal") or None,
        "notes": row.text("notes") or None,
        "is_in_roster": True,
    }


def parse_day(text: str, order: str = "") -> date | None:
    """A day in a coach's own file; day first where only the order of day and month is open and none is given."""
    reading = parse_date(text)
    return None if reading.problem else to_date(reading, reading.order or order)
