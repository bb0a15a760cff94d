"""The roster as rows and as a table."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any
from urllib.parse import urlencode

import polars as pl

from dashboards.markup import (
    Cell,
    Head,
    Html,
    bar_svg,
    count_words,
    element,
    join,
    show_date,
    show_figure,
    show_signed,
    spark_svg,
    state_mark,
    table,
)
from dashboards.wording import TERMS, state_word
from pipeline.notes import FollowUp, Note

LINE_WEEKS = 12
PAIN_NOTES_SHOWN = 2


HARD_SETS_EXPLAINED = (
    "Hard sets of the week against those planned. After a plus, with a question mark: working sets whose effort "
    f"was not logged, not counted. {TERMS['hard set']}"
)


@dataclass(frozen=True)
class PainWords:
    """What a client wrote about pain, word for word."""

    note: str
    day: dt.date
    is_warning: bool


@dataclass(frozen=True)
class RosterRow:
    """A client as the roster shows them."""

    place: int
    client_id: str
    name: str
    state: str
    since_week: dt.date | None
    weeks_in_state: int | None
    confidence: float | None
    reason: str
    needs_a_look: bool
    what_changed: str
    last_log_date: dt.date | None
    days_since_log: int | None
    attendance_pct: float | None
    set_completion_pct: float | None
    hard_sets: float | None
    planned_sets: float | None
    unknown_effort_sets: float | None
    slope_pct_per_week: float | None
    n_waiting: int
    n_pain_notes: int
    pain: tuple[PainWords, ...] = field(default=(), kw_only=True)
    tags: tuple[str, ...]
    plan: str
    phase: str
    line: tuple[float | None, ...]


def roster_rows(frame: pl.DataFrame) -> list[RosterRow]:
    """The rows of `history.read_roster`, in its order."""
    return [_row(place, row) for place, row in enumerate(frame.to_dicts(), start=1)]


def _row(place: int, row: dict[str, Any]) -> RosterRow:
    changed = row["what_changed"] or ""
    if row["place"] is None and row["previous_state"] and row["previous_state"] != row["state"]:
        changed = f"{state_word(row['previous_state']).word} the week before."
    tags = tuple(tag.strip() for tag in (row["tags"] or "").split(",") if tag.strip())
    return RosterRow(
        place=row["place"] or place,
        client_id=row["client_id"],
        name=row["name"],
        state=row["state"],
        since_week=row["since_week"],
        weeks_in_state=row["weeks_in_state"],
        confidence=row["confidence"],
        reason=row["reason"] or "",
        needs_a_look=bool(row["needs_a_look"]),
        what_changed=changed,
        last_log_date=row["last_log_date"],
        days_since_log=row["days_since_log"],
        attendance_pct=row["attendance_pct"],
        set_completion_pct=row["set_completion_pct"],
        hard_sets=row["hard_sets"],
        planned_sets=row["planned_sets"],
        unknown_effort_sets=row["unknown_effort_sets"],
        slope_pct_per_week=row["slope_pct_per_week"],
        n_waiting=row["n_waiting"] or 0,
        n_pain_notes=row["n_pain_notes"] or 0,
        pain=tuple(
            PainWords(one["note"], one["day"], bool(one["is_warning"])) for one in row["pain_notes"] or ()
        ),
        tags=tags,
        plan=row["plan"] or "",
        phase=row["phase"] or "",
        line=_line(row["line"]),
    )


def _line(points: list[dict[str, Any]] | None) -> tuple[float | None, ...]:
    """The last weeks' values by week, gaps kept as None."""
    if not points:
        return ()
    by_week = {point["week"]: point["value"] for point in points}
    last = max(by_week)
    return tuple(by_week.get(last - dt.timedelta(weeks=back)) for back in range(LINE_WEEKS - 1, -1, -1))


def tags_of(rows: Sequence[RosterRow]) -> list[str]:
    """Every tag in use, sorted."""
    return sorted({tag for row in rows for tag in row.tags})


def matches(
    row: RosterRow, text: str, states: Sequence[str], plans: Sequence[str], tags: Sequence[str]
) -> bool:
    """Whether search and filters leave the row: all words of the search, one of each filter's choices."""
    notes = (one.note for one in row.pain)
    where = " ".join(
        (row.name, row.client_id, row.reason, row.what_changed, *row.tags, row.plan, *notes)
    ).casefold()
    return (
        all(word in where for word in text.casefold().split())
        and (not states or row.state in states)
        and (not plans or row.plan in plans)
        and (not tags or any(tag in tags for tag in row.tags))
    )


def _least_first(value: float | None) -> float:
    """Unknown figures come last."""
    return float("inf") if value is None else value


ORDERS: dict[str, Callable[[RosterRow], Any]] = {
    "urgency": lambda row: (not row.needs_a_look, row.place),
    "name": lambda row: row.name.casefold(),
    "state": lambda row: (state_word(row.state).word, row.place),
    "since": lambda row: (row.since_week or dt.date.max, row.place),
    "trend": lambda row: _least_first(row.slope_pct_per_week),
    "attendance": lambda row: _least_first(row.attendance_pct),
    "last_log": lambda row: (row.last_log_date or dt.date.min, row.place),
}


def roster_markup(
    rows: Sequence[RosterRow],
    reviewed: set[str],
    notes: dict[str, Note],
    due: dict[str, FollowUp],
    week: dt.date,
    is_latest: bool,
    order: str,
) -> Html:
    """The table. Names are links that can be kept; a press is answered without reloading."""
    heads = [
        Head("#", "Order of urgency", "r", "urgency", "phone"),
        Head("State", "From what was known at the week's end", "n", "state"),
        Head("Client", "", "l", "name"),
        Head("Why", "The reason in one sentence, then what changed since last week", "w"),
        Head("Since", TERMS["since"], "n", "since", "phone"),
        Head("Strength", TERMS["trend"], "n", "trend"),
        Head("Attendance", TERMS["attendance"], "r", "attendance", "phone"),
        Head("Hard sets / plan", HARD_SETS_EXPLAINED, "n", drop_at="phone"),
        Head("Last log", "", "n", "last_log"),
        Head("Your mark", "Reviewed this week; and your notes", "n"),
    ]
    cells = [
        _cells(
            row, row.client_id in reviewed, notes.get(row.client_id), due.get(row.client_id), week, is_latest
        )
        for row in rows
    ]
    classes = ["sw-reviewed" if row.client_id in reviewed else "" for row in rows]
    return table(
        heads,
        cells,
        caption="Roster in order of urgency",
        row_classes=classes,
        sorted_by=order,
        headings=_headings(rows) if order == "urgency" else None,
    )


def _headings(rows: Sequence[RosterRow]) -> dict[int, str]:
    """Where those who need a look begin, and where the others do."""
    n_look = sum(row.needs_a_look for row in rows)
    headings = {n_look: f"No look needed ({len(rows) - n_look})"} if n_look < len(rows) else {}
    return {0: f"Need a look ({n_look})", **headings} if n_look else headings


def _cells(
    row: RosterRow,
    is_reviewed: bool,
    note: Note | None,
    follow_up: FollowUp | None,
    week: dt.date,
    is_latest: bool,
) -> list[Cell]:
    weeks = row.weeks_in_state or 0
    since: Cell = Html(
        f'{show_date(row.since_week)} <small class="sw-spare">{weeks} wk</small>'
        if weeks
        else show_date(row.since_week)
    )
    return [
        str(row.place),
        state_mark(state_word(row.state)),
        _client(row, note, follow_up, week, is_latest),
        _why(row, is_reviewed),
        since,
        _strength(row),
        _share(row.attendance_pct),
        _hard_sets(row),
        _last_log(row),
        _acts(row, is_reviewed),
    ]


def _client(
    row: RosterRow, note: Note | None, follow_up: FollowUp | None, week: dt.date, is_latest: bool
) -> Html:
    address = {"client": row.client_id, **({} if is_latest else {"week": week.isoformat()})}
    name = element("span", row.name, "sw-name", row.name if len(row.name) > 24 else "")
    link = Html(
        f'<a href="athlete?{escape(urlencode(address))}" data-act="open" '
        f'data-of="{escape(row.client_id)}">{name}</a>'
    )
    tags: list[Html] = []
    if row.n_pain_notes:
        tags.append(element("b", "pain note" if row.n_pain_notes == 1 else f"{row.n_pain_notes} pain notes"))
    if row.n_waiting:
        tags.append(element("span", count_words(row.n_waiting, "row waits", "rows wait")))
    if follow_up is not None:
        is_due = follow_up.due_date <= week + dt.timedelta(days=7)
        tags.append(
            element(
                "b" if is_due else "span", f"follow up {show_date(follow_up.due_date)}", title=follow_up.body
            )
        )
    if note is not None:
        tags.append(element("span", f"note: {note.body[:60]}", "sw-one-line", note.body))
    return join([link, element("div", join(tags), "sw-tags")]) if tags else link


def _why(row: RosterRow, is_reviewed: bool) -> Html:
    if not row.needs_a_look or is_reviewed:
        return element("span", join([row.reason, _changed(row)]), "sw-one-line", row.reason)
    return join([_pain(row), element("span", row.reason), _changed(row)])


def _pain(row: RosterRow) -> Html:
    """The client's own words on pain: the one thing that must not wait for a click."""
    lines = [
        element(
            "span",
            join(
                [
                    element("b", "Warning sign named: " if one.is_warning else "Pain is mentioned: "),
                    element("q", one.note),
                    " ",
                    element("small", show_date(one.day)),
                ]
            ),
            "sw-said sw-clamp",
            one.note,
        )
        for one in row.pain[:PAIN_NOTES_SHOWN]
    ]
    if len(row.pain) > PAIN_NOTES_SHOWN:
        lines.append(element("small", f"and {len(row.pain) - PAIN_NOTES_SHOWN} more on the athlete's page"))
    return join(lines)


def _changed(row: RosterRow) -> Html:
    return Html(f" {element('small', row.what_changed)}") if row.what_changed else Html("")


def _strength(row: RosterRow) -> Html:
    slope = "" if row.slope_pct_per_week is None else f"{show_signed(row.slope_pct_per_week)} %/wk"
    return join(
        [
            spark_svg(row.line, f"Pooled strength over {LINE_WEEKS} weeks, {slope or 'no slope yet'}"),
            Html(" "),
            element("small", slope, "sw-spare"),
        ]
    )


def _share(value: float | None) -> str:
    return "–" if value is None else f"{value:.0f} %"


def _hard_sets(row: RosterRow) -> Html:
    """Hard sets against the plan; sets of unknown effort are told apart, never counted in silence."""
    if row.hard_sets is None and row.planned_sets is None and not row.unknown_effort_sets:
        return element("span", "–")
    words = show_figure(row.hard_sets or 0, 0)
    if row.planned_sets is not None:
        words += f" / {show_figure(row.planned_sets, 0)}"
    unknown = row.unknown_effort_sets or 0
    told = f"{words} hard sets of plan" + (f", {unknown:.0f} sets of unknown effort" if unknown else "")
    cell = join([bar_svg(row.hard_sets, row.planned_sets, unknown, told), Html(" "), words])
    if unknown:
        cell = join([cell, Html(" "), element("small", f"+{unknown:.0f} ?")])
    return element("span", cell, title=told)


def _last_log(row: RosterRow) -> Html:
    if row.last_log_date is None:
        return element("span", "never")
    days = row.days_since_log
    ago = "" if days is None else "today" if days == 0 else f"{days} d ago"
    return join([element("span", show_date(row.last_log_date), "sw-spare"), Html(" "), element("small", ago)])


def _acts(row: RosterRow, is_reviewed: bool) -> Html:
    of = escape(row.client_id)
    who = escape(row.name)
    word = "Reviewed" if is_reviewed else "Mark"
    # a press does what the button said, whatever another tab has done since
    act = "unmark" if is_reviewed else "mark"
    return Html(
        f'<button type="button" class="sw-act" data-act="{act}" data-of="{of}" '
        f'aria-pressed="{str(is_reviewed).lower()}" aria-label="Reviewed: {who}">{word}</button>'
        f'<button type="button" class="sw-act" data-act="note" data-of="{of}" aria-label="Note on {who}">Note'
        "</button>"
    )
