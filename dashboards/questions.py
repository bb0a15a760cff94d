"""Open questions, answered with a click; an answer goes into answers.csv and holds from the next update."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards.data_history import read_exercises, read_question_rows, read_questions
from dashboards.frame import Frame, show_problem
from dashboards.history import read_clients, read_counts
from dashboards.markup import count_words, element, join
from dashboards.wording import WHAT_KINDS
from pipeline.answers import Answers, answers_since_update, question_of, read_choices, write_answer
from pipeline.errors import SetwrightError

PAGE_SIZE = 20
MOST_BUTTONS = 6
CLOSED_KINDS = ("unit", "date_order", "layout")
"""Kinds whose choices are all there can be."""


def show_questions(frame: Frame) -> None:
    """The questions, those that hold most rows first."""
    n_questions = int(read_counts(frame.history)["n_questions"])
    if n_questions == 0:
        st.html(element("p", "No open question: everything that came in could be decided.", "sw-note"))
        return
    n_pages = -(-n_questions // PAGE_SIZE)
    number = 1
    if n_pages > 1:
        number = int(st.number_input(f"Page of {n_pages}", 1, n_pages, 1, key="question_page", width=140))
    try:
        answers = answers_since_update(frame.workspace)
    except SetwrightError as err:
        show_problem(err)
        return
    rows = read_questions(frame.history, PAGE_SIZE, (number - 1) * PAGE_SIZE).to_dicts()
    answered = {row["question_id"]: said for row in rows if (said := _answer_to(row, answers))}
    if answered:
        st.html(
            element(
                "div",
                f"{len(answered)} answered. The rows that waited load with the next update.",
                "sw-notice",
            )
        )
    for row in rows:
        _show_question(frame, row, answered.get(row["question_id"], ""))


def _answer_to(row: dict[str, Any], answers: Answers) -> str:
    """What has been answered since the last update, as its choice says it; empty where nothing has."""
    asked = question_of(row["kind"], row["client_id"], row["source_file"], row["raw_text"])
    answer = answers.find(asked) or ""
    return read_choices(row["choices"]).get(answer, answer)


def _show_question(frame: Frame, row: dict[str, Any], answered: str) -> None:
    question_id = row["question_id"]
    with st.container(border=True, key=f"question_{question_id}"):
        facts = [
            WHAT_KINDS.get(row["kind"], row["kind"]),
            count_words(row["n_rows_waiting"] or 0, "row waits", "rows wait"),
        ]
        facts += [text for text in (row["client_name"], row["source_file"]) if text]
        words, place = st.columns([1, 2], vertical_alignment="center")
        asked = [
            element("b", row["question"] or f"What is '{row['raw_text']}'?"),
            element("p", " · ".join(facts), "sw-note"),
        ]
        if answered:
            kept = ["Answered: ", element("b", answered), ". Another answer takes its place."]
            asked.append(element("p", join(kept), "sw-note"))
        words.html(join(asked))
        choices = list(read_choices(row["choices"]).items())
        if row["kind"] == "client":
            names = {one["client_id"]: one["name"] for one in read_clients(frame.history).to_dicts()}
            choices = [(value, names.get(value, label)) for value, label in choices]
            choices += [one for one in names.items() if one not in choices]
        if not frame.may_write:
            _show_rows(frame, question_id)
            return
        with place.container(
            horizontal=True, horizontal_alignment="right", vertical_alignment="bottom", gap="small"
        ):
            n_buttons = MOST_BUTTONS if row["kind"] != "client" else len(read_choices(row["choices"]))
            for value, label in choices[:n_buttons]:
                said = f"{label} (likeliest)" if value == row["suggested"] else label
                if st.button(said, key=f"choose_{question_id}_{value}"):
                    _keep(frame, question_id, value)
            if row["kind"] not in CLOSED_KINDS:
                _show_other(frame, row, choices[n_buttons:])
            with st.popover("Rows", help="The first rows that wait"):
                _show_rows(frame, question_id)


def _show_rows(frame: Frame, question_id: str) -> None:
    rows = read_question_rows(frame.history, question_id).to_dicts()
    if not rows:
        st.html(element("p", "No row waits for this any more.", "sw-note"))
    lines = [
        element(
            "li",
            join(
                [
                    element("code", one["raw_text"] or ""),
                    " ",
                    element("small", f"{one['source_file']}, row {one['source_row']}"),
                ]
            ),
        )
        for one in rows
    ]
    st.html(element("ul", join(lines), "sw-options"))


def _show_other(frame: Frame, row: dict[str, Any], more: list[tuple[str, str]]) -> None:
    """Something else than the choices: from the catalogue or the roster, or in words."""
    question_id = row["question_id"]
    labels = dict(more)
    if row["kind"] == "exercise":
        labels |= {
            one["exercise_id"]: one["exercise_name"] for one in read_exercises(frame.history).to_dicts()
        }
    if labels:
        other = st.selectbox(
            "Another",
            list(labels),
            index=None,
            format_func=labels.__getitem__,
            width=230,
            key=f"other_{question_id}",
            placeholder=f"Another {WHAT_KINDS.get(row['kind'], 'choice').lower()}",
            label_visibility="collapsed",
        )
    else:
        other = st.text_input(
            "Something else",
            key=f"other_{question_id}",
            placeholder="Something else",
            width=180,
            max_chars=200,
            label_visibility="collapsed",
        )
    if st.button("Keep", key=f"keep_{question_id}") and other:
        _keep(frame, question_id, other)


def _keep(frame: Frame, question_id: str, value: str) -> None:
    try:
        write_answer(frame.workspace, question_id, value)
    except SetwrightError as err:
        show_problem(err)
        return
    st.rerun()
