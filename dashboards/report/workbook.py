"""The month as a workbook for people who live in spreadsheets: a tidy sheet for each part of the report."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import duckdb

from dashboards.report.facts import CHECK_IN_MEASURES, MonthFacts
from dashboards.report.figures import HISTORY_WEEKS
from dashboards.report.query import rows
from dashboards.report.sections import span_name
from dashboards.report.sheets import Cell, Sheet, WorkbookFile, add_chart
from dashboards.report.strength_sections import best_text, lift_name
from dashboards.report.words import Words

MOST_CHARTS = 4

AddSheet = Callable[..., Sheet]


def make_workbook(
    con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words, *, show_state: bool
) -> bytes:
    """The workbook's bytes; the same input gives the same bytes."""
    month = words.month_name(facts.month.first)
    book = WorkbookFile(words.text("report.heading", month=month, name=facts.client.name), facts.known_until)

    def sheet(key: str, *head: str) -> Sheet:
        return book.add_sheet(words.text(f"sheet.{key}"), list(head))

    _month_sheet(sheet, facts, words, show_state)
    _session_sheet(book.book, sheet, facts, words)
    if facts.lifts:
        _lift_sheet(sheet, facts, words)
        _strength_sheet(book.book, sheet, con, facts, words)
    if facts.muscles:
        _muscle_sheet(book.book, sheet, facts, words)
    if facts.bests:
        _best_sheet(sheet, facts, words)
    if facts.check_ins:
        _check_in_sheet(book.book, sheet, con, facts, words)
    if facts.targets:
        _target_sheet(sheet, facts, words)
    _care_sheet(sheet, facts, words)
    return book.close()


def _month_sheet(sheet: AddSheet, facts: MonthFacts, words: Words, show_state: bool) -> None:
    made = sheet("month", words.text("sheet.figure"), words.text("sheet.value"))
    made.add([words.text("sheet.client"), facts.client.name])
    made.add([words.text("sheet.month"), words.month_name(facts.month.first)])
    made.add([words.text("sheet.known_until"), facts.known_until])
    made.add([words.text("sheet.unit"), words.unit])
    made.add([words.text("tile.sessions"), facts.n_done if facts.n_due else len(facts.sessions)])
    if facts.n_due:
        made.add([words.text("sheet.sessions_planned"), facts.n_due])
    made.add([words.text("tile.sets"), facts.n_sets])
    made.add([words.text("sheet.hard_sets"), facts.n_hard_sets])
    made.add([words.text("sheet.unknown_effort"), facts.n_unknown_effort_sets])
    made.add([words.text("tile.volume", unit=words.unit), float(words.in_unit(facts.volume_kg))])
    made.add([words.text("tile.bests"), len(facts.bests)])
    for span in facts.excused:
        made.add(
            [
                words.text("calendar.excused"),
                f"{words.days(span.first, span.last)} ({span_name(span.kind, words)})",
            ]
        )
    if show_state and facts.state:
        made.add([words.text("state.heading"), words.text(f"state.{facts.state}")])
    if facts.coach_note.strip():
        made.add([words.text("note.heading"), facts.coach_note.strip()])
    if facts.focus.strip():
        made.add([words.text("next.heading"), facts.focus.strip()])


def _session_sheet(book: Any, sheet: AddSheet, facts: MonthFacts, words: Words) -> None:
    made = sheet(
        "calendar",
        *(
            words.text(f"sheet.{key}")
            for key in ("date", "planned_day", "outcome", "exercises", "sets", "hard_sets", "unknown_effort")
        ),
        f"{words.text('sheet.volume')}, {words.unit}",
    )
    planned = {session.on: session for session in facts.planned if session.outcome in ("done", "moved")}
    lines: list[tuple[date, list[Cell]]] = []
    for session in facts.sessions:
        of_plan = planned.get(session.on)
        outcome = of_plan.outcome if of_plan else "unplanned" if facts.planned else "trained"
        lines.append(
            (
                session.on,
                [
                    session.on,
                    of_plan.day if of_plan else session.planned_day,
                    words.text(f"calendar.{outcome}"),
                    session.n_exercises,
                    session.n_sets,
                    session.n_hard_sets,
                    session.n_unknown_effort_sets,
                    float(words.in_unit(session.volume_kg)),
                ],
            )
        )
    for missing in facts.planned:
        if missing.outcome not in ("done", "moved"):
            when = missing.on or missing.week_start
            lines.append(
                (
                    when,
                    [
                        missing.on,
                        missing.day,
                        words.text(f"calendar.{missing.outcome}"),
                        None,
                        None,
                        None,
                        None,
                        None,
                    ],
                )
            )
    for _, line in sorted(lines, key=lambda pair: pair[0]):
        made.add(line)
    if facts.sessions:
        add_chart(
            book,
            made,
            "column",
            words.text("sheet.volume"),
            f"{words.text('sheet.volume')}, {words.unit}",
            made.column(0),
            [(made.head[7], made.column(7), None)],
            "J2",
            dates=True,
        )


def _lift_sheet(sheet: AddSheet, facts: MonthFacts, words: Words) -> None:
    unit = words.unit
    made = sheet(
        "lifts",
        words.text("strength.lift"),
        words.text("strength.sessions"),
        f"{words.text('strength.now')}, {unit}",
        f"{words.text('sheet.low')}, {unit}",
        f"{words.text('sheet.high')}, {unit}",
        f"{words.text('strength.before')}, {unit}",
        words.text("strength.trend"),
        words.text("sheet.low"),
        words.text("sheet.high"),
        words.text("strength.verdict"),
    )
    for lift in facts.lifts:
        now = [lift.now.kg, lift.now.low_kg, lift.now.high_kg] if lift.now else [None, None, None]
        made.add(
            [
                lift_name(lift, words),
                lift.n_sessions,
                *(None if kg is None else words.in_unit(kg) for kg in now),
                words.in_unit(lift.before.kg) if lift.before else None,
                lift.slope_pct,
                lift.slope_low_pct,
                lift.slope_high_pct,
                words.text(f"verdict.{lift.verdict}"),
            ]
        )


def _strength_sheet(
    book: Any, sheet: AddSheet, con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words
) -> None:
    unit = words.unit
    made = sheet(
        "strength",
        words.text("strength.lift"),
        words.text("sheet.week"),
        words.text("sheet.week_end"),
        f"{words.text('sheet.level')}, {unit}",
        f"{words.text('sheet.low')}, {unit}",
        f"{words.text('sheet.high')}, {unit}",
    )
    charted = 0
    for lift in facts.lifts:
        weeks = rows(
            con,
            """
            select week_start, level_kg, level_low_kg, level_high_kg from strength_trend
            where client_id = ? and exercise_id = ? and week_start between ? and ? and level_kg is not null
            order by week_start
            """,
            facts.client.client_id,
            lift.exercise_id,
            facts.known_until - timedelta(weeks=HISTORY_WEEKS),
            facts.known_until - timedelta(6),
        )
        first = made.n_rows + 1
        for week in weeks:
            made.add(
                [
                    lift.exercise_name,
                    week["week_start"],
                    week["week_start"] + timedelta(6),
                    *(
                        float(words.in_unit(week[name])) if week[name] is not None else None
                        for name in ("level_kg", "level_low_kg", "level_high_kg")
                    ),
                ]
            )
        last = made.n_rows
        if len(weeks) > 1 and charted < MOST_CHARTS:
            add_chart(
                book,
                made,
                "line",
                lift.exercise_name,
                f"e1RM, {unit}",
                made.column(2, first, last),
                [
                    (made.head[3], made.column(3, first, last), "#1f5f8b"),
                    (made.head[4], made.column(4, first, last), "#9cc0d8"),
                    (made.head[5], made.column(5, first, last), "#9cc0d8"),
                ],
                f"H{2 + charted * 16}",
                dates=True,
            )
            charted += 1


def _muscle_sheet(book: Any, sheet: AddSheet, facts: MonthFacts, words: Words) -> None:
    made = sheet(
        "muscles",
        words.text("muscles.muscle"),
        words.text("muscles.done"),
        words.text("muscles.unknown_effort"),
        words.text("muscles.planned"),
        words.text("sheet.target_low"),
        words.text("sheet.target_high"),
    )
    for m in facts.muscles:
        name = words.text(f"muscle.{m.muscle}") if words.has(f"muscle.{m.muscle}") else m.muscle
        made.add([name, m.hard_sets, m.unknown_effort_sets, m.planned_sets, m.target_low, m.target_high])
    add_chart(
        book,
        made,
        "column",
        words.text("muscles.chart"),
        words.text("muscles.chart"),
        made.column(0),
        [(made.head[1], made.column(1), "#1f5f8b"), (made.head[3], made.column(3), "#a8500a")],
        "H2",
    )


def _best_sheet(sheet: AddSheet, facts: MonthFacts, words: Words) -> None:
    made = sheet(
        "bests",
        words.text("bests.date"),
        words.text("bests.lift"),
        words.text("bests.best"),
        words.text("sheet.value"),
        words.text("bests.before"),
        words.text("sheet.unit"),
    )
    for best in facts.bests:
        weight = best.kind != "reps_at_load"
        made.add(
            [
                best.on,
                best.exercise_name,
                best_text(best, words),
                words.in_unit(best.value) if weight else best.value,
                None if best.previous is None else words.in_unit(best.previous) if weight else best.previous,
                words.unit if weight else words.text("next.reps"),
            ]
        )


def _check_in_sheet(
    book: Any, sheet: AddSheet, con: duckdb.DuckDBPyConnection, facts: MonthFacts, words: Words
) -> None:
    given = [v.measure for v in facts.check_ins]
    made = sheet(
        "check_ins",
        words.text("sheet.date"),
        *(
            words.text(f"measure.{name}") + (f", {words.unit}" if name == "bodyweight_kg" else "")
            for name in given
        ),
    )
    found = rows(
        con,
        f"select check_in_date, {', '.join(CHECK_IN_MEASURES)} from check_in "  # noqa: S608 - our own names
        "where client_id = ? and check_in_date between ? and ? order by check_in_date",
        facts.client.client_id,
        facts.month.first,
        facts.known_until,
    )
    for row in found:
        made.add(
            [
                row["check_in_date"],
                *(
                    None
                    if row[name] is None
                    else float(words.in_unit(row[name]) if name == "bodyweight_kg" else row[name])
                    for name in given
                ),
            ]
        )
    if given[0] == "bodyweight_kg" and made.n_rows > 1:
        add_chart(
            book,
            made,
            "line",
            made.head[1],
            made.head[1],
            made.column(0),
            [(made.head[1], made.column(1), "#1f5f8b")],
            "J2",
            dates=True,
        )


def _target_sheet(sheet: AddSheet, facts: MonthFacts, words: Words) -> None:
    made = sheet(
        "next",
        words.text("next.lift"),
        words.text("next.day"),
        words.text("next.sets"),
        f"{words.text('next.load')}, {words.unit}",
        words.text("sheet.reps_low"),
        words.text("sheet.reps_high"),
        words.text("next.rir"),
    )
    for target in facts.targets:
        load = None if target.load_kg is None else float(words.in_unit(target.load_kg))
        made.add(
            [target.exercise_name, target.day, target.sets, load, target.rep_low, target.rep_high, target.rir]
        )


def _care_sheet(sheet: AddSheet, facts: MonthFacts, words: Words) -> None:
    made = sheet("care", words.text("care.heading"))
    if facts.has_warning_sign:
        made.add([words.text("care.warning")])
    elif facts.has_pain_note:
        made.add([words.text("care.pain")])
    for key in ("not_advice", "stop", "clearance", "estimates"):
        made.add([words.text(f"care.{key}")])
