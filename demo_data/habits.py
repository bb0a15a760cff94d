"""How each client keeps a log, as data: columns, words, dates, decimal signs, one file or many."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Shape = Literal["set_rows", "short_hand", "counted_rows", "set_pairs", "set_reps", "notes"]
Pack = Literal["month_files", "one_file", "month_sheets", "week_sheets"]
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

# spellings of their own language that the coach has answered once (answers.csv)
OWN_WORDS: dict[str, dict[str, str]] = {
    "lukas": {"back_squat": "Kniebeuge", "bench_press": "Bankdrücken", "deadlift": "Kreuzheben"},
    "chloe": {"leg_press": "Presse à cuisses"},
    "pavel": {"barbell_row": "Rows (bar)"},
}


@dataclass(frozen=True)
class Habit:
    """A client's way of logging. `columns` are the headers of date, exercise, set, load, reps, effort, note.

    An empty header leaves the column out. `path` has {ym} for year and month. `dates` is a strftime
    pattern; empty: real date cells. `fill` writes the date only on a session's first line. `superset` and
    `whole_session` head further columns: the label of a pair, and the session's minutes and effort.
    """

    path: str
    shape: Shape
    pack: Pack
    columns: tuple[str, str, str, str, str, str, str]
    dates: str
    ext: str = "csv"
    delimiter: str = ","
    comma: bool = False
    encoding: str = "utf-8"
    line_end: str = "\n"
    unit_in_cell: bool = False
    unit_column: str = ""
    fill: bool = False
    hold: str = "{}s"
    bodyweight: str = "BW"
    added: str = "BW+{}"
    superset: str = ""
    whole_session: tuple[str, ...] = ()


HABITS: dict[str, Habit] = {
    "amara": Habit(
        "amara/amara_{ym}",
        "set_rows",
        "month_files",
        ("Date", "Exercise", "Set", "Weight (kg)", "Reps", "RPE", "Notes"),
        "%Y-%m-%d",
    ),
    "lukas": Habit(
        "lukas/Training_{ym}",
        "set_rows",
        "month_files",
        ("Datum", "Übung", "Satz", "Gewicht (kg)", "Wdh", "RPE", "Notiz"),
        "%d.%m.%Y",
        delimiter=";",
        comma=True,
        encoding="cp1252",
        line_end="\r\n",
    ),
    "chloe": Habit(
        "chloe/seances_{ym}",
        "set_rows",
        "month_files",
        ("Date", "Exercice", "Série", "Charge (kg)", "Répétitions", "RIR", "Remarque"),
        "%d/%m/%Y",
        delimiter=";",
        comma=True,
        encoding="utf-8-sig",
        line_end="\r\n",
        superset="Superset",
    ),
    "tomasz": Habit(
        "tomasz/Tomasz log",
        "set_rows",
        "week_sheets",
        ("Date", "Exercise", "Set", "kg", "Reps", "RPE", "Comment"),
        "",
        ext="xlsx",
    ),
    "priya": Habit(
        "priya/Priya training",
        "set_rows",
        "month_sheets",
        ("Date", "Exercise", "Set", "Weight kg", "Reps", "RIR", "Notes"),
        "",
        ext="xlsx",
    ),
    "marcus": Habit(
        "marcus/{ym} marcus",
        "set_rows",
        "month_files",
        ("date", "lift", "set", "weight_lb", "reps", "rpe", "comment"),
        "%m/%d/%Y",
    ),
    "yuki": Habit(
        "yuki/yuki_log",
        "set_rows",
        "one_file",
        ("date", "exercise", "set", "load_kg", "reps", "RIR", "note"),
        "%Y-%m-%d",
        ext="tsv",
        delimiter="\t",
        hold="{} sec",
    ),
    "sofia": Habit(
        "sofia/sofia gym",
        "set_rows",
        "one_file",
        ("Date", "Exercise", "Set", "kg", "Reps", "", ""),
        "%d/%m/%Y",
    ),
    "dewi": Habit(
        "dewi/notes {ym}",
        "notes",
        "month_files",
        ("", "", "", "", "", "", ""),
        "%a %d %b %Y",
        ext="txt",
        hold="{}s",
    ),
    "hank": Habit(
        "hank/hank_{ym}",
        "set_pairs",
        "month_files",
        ("Date", "Exercise", "", "lb", "reps", "RPE", "Remarks"),
        "%m/%d/%Y",
        added="+{}",
    ),
    "leila": Habit(
        "leila/leila sessions",
        "short_hand",
        "month_sheets",
        ("Date", "Exercise", "", "", "Sets x reps @ kg", "RIR", "Notes"),
        "%d.%m.%Y",
        ext="xlsx",
    ),
    "kofi": Habit(
        "mornings",
        "set_rows",
        "month_sheets",
        ("Date", "Exercise", "Set", "kg", "Reps", "RIR", "Notes"),
        "",
        ext="xlsx",
    ),
    "rana": Habit(
        "rana/rana_{ym}",
        "set_rows",
        "month_files",
        ("Session date", "Movement", "Set #", "Load", "Reps", "RIR", "Notes"),
        "%d %b %Y",
        unit_in_cell=True,
        bodyweight="bodyweight",
        added="+{}kg",
    ),
    "diego": Habit(
        "Diego Fuentealba/log",
        "set_rows",
        "one_file",
        ("Date", "Exercise", "Set", "Weight (kg)", "Reps", "RPE", "Notes"),
        "%d-%m-%Y",
        hold="0:{:02d}",
    ),
    "nora": Habit(
        "nora/nora_first_weeks",
        "set_rows",
        "one_file",
        ("Date", "Exercise", "Set", "kg", "Reps", "RIR", "Notes"),
        "%Y-%m-%d",
    ),
    "tariq": Habit(
        "tariq/tariq week {n}",
        "set_rows",
        "one_file",
        ("Date", "Exercise", "Set", "Weight (lb)", "Reps", "RPE", "Notes"),
        "%m/%d/%Y",
    ),
    "ivana": Habit(
        "ivana/ivana_{ym}",
        "set_reps",
        "month_files",
        ("Date", "Exercise", "", "kg", "Set", "RIR", "Comments"),
        "%d.%m.%Y",
    ),
    "joao": Habit(
        "joao/João 2025-26",
        "set_rows",
        "month_sheets",
        ("Date", "Exercise", "Set", "kg", "Reps", "RPE", "Notes"),
        "%d/%m/%Y",
        ext="xlsx",
        fill=True,
    ),
    "grace": Habit(
        "grace/grace",
        "set_rows",
        "one_file",
        ("Date", "Exercise", "Set", "Weight", "Reps", "RPE", "Notes"),
        "%m/%d/%Y",
        unit_column="Unit",
    ),
    "sven": Habit(
        "sven/Sven_{ym}",
        "set_rows",
        "month_files",
        ("Date", "Exercise", "Set", "Kg", "Reps", "RPE", "Notes"),
        "%d.%m.%y",
    ),
    "fatou": Habit(
        "fatou/fatou_{ym}",
        "counted_rows",
        "month_files",
        ("Date", "Exercise", "Sets", "Weight (kg)", "Reps", "", "Notes"),
        "%d/%m/%Y",
    ),
    "pavel": Habit(
        "pavel/Pavel_log",
        "set_rows",
        "month_sheets",
        ("Date", "Lift", "Set", "Weight kg", "Reps", "RPE", "Notes"),
        "%Y-%m-%d",
        ext="xlsx",
        whole_session=("Session minutes", "Session RPE"),
    ),
}
SHARED = {"kofi": "Kofi Asante-Boateng", "meilin": "Mei-Lin Zhao", "oskar": "Oskar N."}
