"""The head of the athlete's page: state, reasons, evidence, options, pain notes, the coach's own words."""

from __future__ import annotations

import json
import re
from collections.abc import Container
from typing import Any

import streamlit as st

from dashboards.athlete_history import AthleteHistory
from dashboards.frame import Frame, keep_in_address
from dashboards.history import read_order
from dashboards.markup import Html, element, join, shape_mark, show_date, show_figure, state_mark
from dashboards.scribble import write_scribble
from dashboards.wording import (
    PAIN_CAUTION,
    SPEAKS_WORDS,
    TERMS,
    WARNING_SIGNS,
    WARNING_SIGNS_LEAD,
    state_word,
)
from pipeline.contract.records import RECENT_PAIN_DAYS

LONG_FACT = 60


def show_name(frame: Frame, athlete: AthleteHistory, client: dict[str, Any], name: str) -> None:
    """Name, state, since when, how sure; and the mark that the week has been reviewed."""
    verdict = athlete.verdict() or {}
    shown_state = state_word(verdict.get("state"))
    head, act, act_and_on = st.columns([5, 1, 1], vertical_alignment="center")
    facts: list[tuple[str, str, str]] = []
    if verdict:
        weeks = verdict.get("weeks_in_state") or 1
        facts.append(("Since", f"{show_date(verdict['since_week'])} ({weeks} wk)", TERMS["since"]))
    if verdict.get("confidence") is not None:
        facts.append(("Confidence", f"{100 * verdict['confidence']:.0f} %", TERMS["confidence"]))
    own_words = {**client, "tags": ", ".join(part.strip() for part in (client.get("tags") or "").split(","))}
    facts += [
        (label, str(own_words[key]), "")
        for label, key in (("Status", "status"), ("Goal", "goal"), ("Tags", "tags"), ("Notes", "notes"))
        if own_words.get(key)
    ]
    if client.get("is_in_roster") is False:
        facts.append(("Not in clients.csv", "logs name this client", ""))
    told = join(
        [
            element(
                "span",
                join(
                    [
                        element("span", label, "sw-term" if explained else "", explained),
                        " ",
                        element("b", value),
                    ]
                ),
                "sw-long" if len(value) > LONG_FACT else "",
                value if len(value) > LONG_FACT else "",
            )
            for label, value, explained in facts
        ]
    )
    with head:
        mark = state_mark(shown_state) if verdict else element("span", "no verdict this week", "sw-quiet")
        st.html(
            element("h1", join([name, Html("&ensp;"), mark]), "sw-title") + element("div", told, "sw-facts")
        )
    reviewed = frame.notes.read_reviewed(frame.week)
    is_reviewed = athlete.client_id in reviewed
    if not frame.may_write:
        return
    # a press does what the button said when it was drawn, whatever another tab has done since
    state = verdict.get("state") or ""
    if is_reviewed:
        act.button(
            "Reviewed ✓",
            key=f"unmark_{athlete.client_id}",
            width="stretch",
            help="Takes the mark back.",
            on_click=frame.notes.unmark_reviewed,
            args=([athlete.client_id], frame.week),
        )
    else:
        act.button(
            "Mark reviewed",
            key=f"mark_{athlete.client_id}",
            width="stretch",
            on_click=frame.notes.mark_reviewed,
            args=([athlete.client_id], frame.week, state),
        )
    following = next_to_review(list(read_order(frame.history, frame.week)["client_id"]), reviewed, athlete)
    if act_and_on.button(
        "Reviewed, on to next",
        key=f"reviewed_next_{athlete.client_id}",
        type="primary",
        width="stretch",
        disabled=following is None,
        help="Marks this client as reviewed and opens the next one who is not.",
        on_click=frame.notes.mark_reviewed,
        args=([athlete.client_id], frame.week, state),
    ):
        keep_in_address(client=following)
        st.rerun()


def next_to_review(order: list[str], reviewed: Container[str], athlete: AthleteHistory) -> str | None:
    """Whom to open after this one: the next in order who is not reviewed, from the top again at the end."""
    at = order.index(athlete.client_id) if athlete.client_id in order else -1
    for client_id in order[at + 1 :] + order[: max(at, 0)]:
        if client_id not in reviewed:
            return client_id
    return None


def show_pain(athlete: AthleteHistory) -> None:
    """Pain notes of the last two weeks, word for word, before anything else; older ones on request."""
    notes = athlete.pain_notes().to_dicts()
    recent = [note for note in notes if (athlete.until - note["session_date"]).days < RECENT_PAIN_DAYS]
    if recent:
        st.html(_pain_box(recent))
    if len(notes) > len(recent):
        with st.expander(f"Earlier pain notes ({len(notes) - len(recent)}, eight weeks)"):
            st.html(_pain_box(notes[len(recent) :]))


def _pain_box(notes: list[dict[str, Any]]) -> Html:
    lines = [
        element(
            "p",
            join(
                [
                    element("q", note["note"]),
                    " ",
                    element(
                        "small",
                        f"{show_date(note['session_date'], year=True)}"
                        + (f", {note['exercise_name']}" if note["exercise_name"] else "")
                        + f" · {note['source_file']}"
                        + (f" row {note['source_row']}" if note["source_row"] else ""),
                    ),
                ]
            ),
        )
        for note in notes
    ]
    caution = element("p", PAIN_CAUTION)
    if any(note["is_warning_sign"] for note in notes):
        caution = join(
            [
                element(
                    "p",
                    join(
                        [
                            element("b", "A warning sign is named. "),
                            WARNING_SIGNS_LEAD,
                            " ",
                            ", ".join(WARNING_SIGNS),
                            ".",
                        ]
                    ),
                ),
                caution,
            ]
        )
    return element("section", join([element("b", "Pain is mentioned"), *lines, caution]), "sw-pain")


def show_verdict(frame: Frame, athlete: AthleteHistory) -> None:
    """Why, what speaks for and against, what would change it; options and the coach's notes beside."""
    verdict = athlete.verdict()
    review = athlete.review()
    left, right = st.columns([3, 2], gap="large")
    with left:
        if verdict is None:
            st.html(element("p", "No verdict for this week: it lies before the first log.", "sw-lead"))
        else:
            st.html(element("p", verdict["reasons"], "sw-lead"))
            if review and review.get("what_changed"):
                st.html(element("p", f"Since last week: {review['what_changed']}", "sw-note"))
            evidence = evidence_list(verdict["evidence"], verdict["reasons"] or "")
            if evidence:  # a page draws no empty piece
                st.html(evidence)
            if verdict.get("would_change"):
                st.html(
                    element(
                        "p",
                        join([element("b", "What would change it: "), verdict["would_change"]]),
                        "sw-note",
                    )
                )
        st.html(_strip(athlete))
    with right:
        options = _parsed(review.get("options") if review else None)
        if options:
            reason = (verdict or {}).get("reasons") or ""
            st.html(
                element("h2", "Options for next week", "sw-part")
                + element("ul", join([_option(one, reason) for one in options]), "sw-options")
                + element("p", "What the trade would consider; the choice is yours.", "sw-note")
            )
        elif not frame.is_latest:
            st.html(element("p", "Options are proposed for the latest week only.", "sw-note"))
        st.html(element("h2", "Your notes", "sw-part sw-scribble"))
        write_scribble(frame, athlete.client_id)


def _parsed(text: str | None) -> list[dict[str, Any]]:
    """A JSON list of a verdict; one that cannot be read is an empty list."""
    try:
        found = json.loads(text or "[]")
    except ValueError:
        return []
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _option(option: dict[str, Any], reason: str) -> Html:
    """What could be done and why, unless the why is the reason that stands above."""
    because = str(option.get("because") or "")
    why = "" if not because or is_said(because, reason) else f" because {because}"
    return element("li", join([str(option.get("option", "")), element("small", why)]))


def is_said(text: str, reason: str) -> bool:
    """Whether the reason says it already, points and capitals aside."""
    return _plain(text) in _plain(reason)


def _plain(text: str) -> str:
    return re.sub(r"[^\w%+−]+", " ", re.sub(r"-(?=\d)", "−", text)).strip().casefold()


def evidence_list(text: str | None, reason: str) -> Html:
    """The figures that speak for and against the state and do not stand in its reason."""
    told: dict[str, list[str]] = {"for": [], "against": []}
    for signal in _parsed(text):
        said = _signal_in_words(signal)
        if said and not is_said(said, reason):
            told["for" if signal.get("speaks") == "for" else "against"].append(said)
    parts = []
    for speaks, lines in told.items():
        if lines:
            word = SPEAKS_WORDS[speaks]
            also = " as well" if speaks == "for" else ""
            title = join([shape_mark(word), element("span", f"{word.meaning}{also}")])
            items = element("ul", join([element("li", line) for line in lines]))
            parts.append(element("div", join([element("b", title), items]), "sw-evidence"))
    return join(parts)


def _signal_in_words(signal: dict[str, Any]) -> str:
    said = str(signal.get("text") or "")
    if said:
        return said
    figure = signal.get("figure")
    shown = show_figure(figure) if isinstance(figure, int | float) else str(figure or "")
    return f"{signal.get('signal', '')}: {shown} {signal.get('unit') or ''}".strip()


def _strip(athlete: AthleteHistory) -> Html:
    """The states of the last weeks, oldest first, a shape a week."""
    weeks = athlete.states().to_dicts()
    if not weeks:
        return Html("")
    marks = []
    for row in weeks:
        word = state_word(row["state"])
        chosen = " sw-chosen" if row["week_start"] == athlete.week else ""
        marks.append(
            element(
                "span",
                shape_mark(word),
                f"sw-{word.tone}{chosen}",
                f"{show_date(row['week_start'])}: {word.word}",
            )
        )
    words = dict.fromkeys(state_word(row["state"]) for row in weeks)
    legend = join([Html(f"{state_mark(word)}&ensp;") for word in words])
    return join(
        [
            element(
                "p",
                f"Week by week from {show_date(weeks[0]['week_start'])}, as each looked at its end",
                "sw-note",
            ),
            element("div", join(marks), "sw-strip"),
            element("p", legend, "sw-note"),
        ]
    )
