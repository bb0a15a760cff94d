"""What came in and what became of it: questions to answer, files, refused rows; and the update itself."""

from __future__ import annotations

from typing import Any

import polars as pl
import streamlit as st

from dashboards.data_history import (
    MOST_ROWS,
    read_checks,
    read_files,
    read_reasons,
    read_records,
    read_spellings,
    read_totals,
)
from dashboards.frame import Frame, begin
from dashboards.history import read_run
from dashboards.markup import Cell, Head, Html, count_words, element, join, show_date, show_figure, table
from dashboards.questions import show_questions
from dashboards.running_update import show_update_button

SECTIONS = {
    "questions": "Questions",
    "files": "Files",
    "refused": "Refused",
    "waiting": "Waiting",
    "known": "Already known",
    "ignored": "Not sets",
    "spellings": "Spellings",
    "checks": "Checks",
}
EXPLAINED = {
    "refused": "Rows, and single cells of rows, that could not be read as they stand. Correct them in the "
    "file, or leave them: nothing else depends on them. Where only a cell was refused, the rest of its row "
    "is loaded and counts as loaded.",
    "waiting": "Rows held until a question is answered; they load by themselves afterwards.",
    "known": "Rows that came before, in this file or another; loaded once.",
    "ignored": "Rows that are no sets by a named rule: headings, totals, rest days, blank lines.",
    "spellings": "What each spelling of an exercise was taken for. A wrong one is set right in answers.csv.",
    "checks": "Rules every table is held to. One that stops keeps the last history in place.",
}


AREA_WORDS = {"plans": "plan", "check_ins": "check-ins"}


def show() -> None:
    frame = begin(needs_a_week=False)
    totals = read_totals(frame.history)
    head, act = st.columns([3, 1.2])
    with head:
        st.html(element("h1", "Data", "sw-title") + _sum_line(totals))
    with act:
        show_update_button(frame.workspace, read_up_to=read_run(frame.history).get("as_of"))
    section = (
        st.segmented_control(
            "Section",
            list(SECTIONS),
            format_func=SECTIONS.__getitem__,
            label_visibility="collapsed",
            key="section",
            default=st.query_params.get("section")
            if st.query_params.get("section") in SECTIONS
            else "questions",
            required=True,
        )
        or "questions"
    )
    st.query_params["section"] = section
    if section == "questions":
        show_questions(frame)
    elif section == "files":
        _show_files(frame)
    elif section == "spellings":
        _show_spellings(frame)
    elif section == "checks":
        _show_checks(frame)
    else:
        _show_records(frame, section)


def _sum_line(totals: dict[str, Any]) -> Html:
    """Records in = loaded + already known + refused + waiting + not sets."""
    parts = [
        ("n_records", "records in"),
        ("n_loaded", "loaded"),
        ("n_duplicate", "already known"),
        ("n_rejected", "refused"),
        ("n_waiting", "waiting"),
        ("n_ignored", "not sets"),
    ]
    signs = ["", " = ", " + ", " + ", " + ", " + "]
    told = join(
        [
            join([sign, element("b", f"{totals.get(key) or 0:,}"), f" {words}"])
            for sign, (key, words) in zip(signs, parts, strict=True)
        ]
    )
    files = (
        f"{count_words(totals.get('n_files') or 0, 'log', 'logs')} with "
        f"{count_words(totals.get('n_sets') or 0, 'set', 'sets')}"
    )
    if totals.get("n_refused_files"):
        files += f", of which {totals['n_refused_files']} could not be read at all"
    if totals.get("n_other_files"):
        files += (
            f"; and {count_words(totals['n_other_files'], 'file', 'files')} of plans and check-ins with "
            f"{count_words(totals['n_other_records'] or 0, 'row', 'rows')}"
        )
    return join([element("p", told, "sw-sum"), element("p", files, "sw-note")])


def _search(section: str) -> str:
    return st.text_input(
        "Search",
        placeholder="File or text",
        key=f"search_{section}",
        max_chars=80,
        width=260,
        label_visibility="collapsed",
    )


def _show_cut(frame: Frame, rows: pl.DataFrame, table_name: str) -> None:
    if rows.height > MOST_ROWS:
        st.html(
            element(
                "p",
                f"The first {MOST_ROWS} rows. All of them:  setwright export "
                f"{frame.workspace.root} {table_name} --out {table_name}.csv",
                "sw-note",
            )
        )


def _show_files(frame: Frame) -> None:
    with st.container(horizontal=True, vertical_alignment="center"):
        search = _search("files")
        only_problems = st.checkbox("Only files with something to see to", key="only_problems")
    files = read_files(frame.history, search, only_problems)
    if files.is_empty():
        st.html(element("p", "No such file.", "sw-note"))
        return
    heads = [
        Head("File"),
        Head("Read as", "", "n"),
        Head("Since", "First update that saw this content", "n"),
        Head("Records", "", "r"),
        Head("Loaded", "", "r"),
        Head("Known", "", "r"),
        Head("Refused", "", "r"),
        Head("Waiting", "", "r"),
        Head("Not sets", "", "r"),
        Head("Sets", "", "r"),
        Head("Remark", "", "w"),
    ]
    rows = [_file_cells(row) for row in files.head(MOST_ROWS).to_dicts()]
    st.html(table(heads, rows, caption="Files"))
    _show_cut(frame, files, "file_ledger")


def _file_cells(row: dict[str, Any]) -> list[Cell]:
    name = (
        row["source_file"] if row["source_area"] == "inbox" else f"{row['source_area']}/{row['source_file']}"
    )
    outcome: Cell = row["layout"] or AREA_WORDS.get(row["source_area"], "–")
    if row["outcome"] == "refused":
        outcome = element("b", "not readable", "sw-attention")
    counts = [
        _count(row[key], key in ("n_rejected", "n_waiting"))
        for key in ("n_records", "n_loaded", "n_duplicate", "n_rejected", "n_waiting", "n_ignored", "n_sets")
    ]
    return [name, outcome, show_date(row["first_seen_date"]), *counts, element("small", row["message"] or "")]


def _count(value: int | None, is_marked: bool) -> Cell:
    shown = f"{value or 0:,}"
    return element("b", shown, "sw-attention") if is_marked and value else shown


def _show_records(frame: Frame, section: str) -> None:
    st.html(element("p", EXPLAINED[section], "sw-note"))
    reason = ""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        search = _search(section)
        if section == "refused":
            reasons = {row["reason_code"]: row for row in read_reasons(frame.history).to_dicts()}
            reason = (
                st.selectbox(
                    "Why",
                    list(reasons),
                    index=None,
                    key="reason",
                    width=420,
                    placeholder="Every reason",
                    label_visibility="collapsed",
                    format_func=lambda code: _reason_label(reasons[code]),
                )
                or ""
            )
    records = read_records(frame.history, section, search, reason)
    if records.is_empty():
        st.html(element("p", "None." if not search and not reason else "None that match.", "sw-note"))
        return
    st.html(_record_table(records.head(MOST_ROWS), section))
    _show_cut(
        frame,
        records,
        {
            "refused": "rejected_row",
            "waiting": "waiting_row",
            "known": "duplicate_row",
            "ignored": "ignored_row",
        }[section],
    )


def _reason_label(row: dict[str, Any]) -> str:
    rows = count_words(row["n_rows"], "row", "rows")
    return f"{row['reason_code'].replace('_', ' ')}: {rows} in {count_words(row['n_files'], 'file', 'files')}"


def _record_table(records: pl.DataFrame, section: str) -> Html:
    heads = [Head("File and row", "", "l")]
    last = {
        "refused": [Head("As it stood", "", "w"), Head("Why", "", "w"), Head("Perhaps", "", "l")],
        "waiting": [Head("As it stood", "", "w"), Head("What is missing", "", "w")],
        "known": [Head("First seen in", "", "l"), Head("Why it counts as known", "", "w")],
        "ignored": [Head("As it stood", "", "w"), Head("Rule", "", "n")],
    }[section]
    rows = [[element("small", _place(row)), *_record_cells(row, section)] for row in records.to_dicts()]
    return table(heads + last, rows, caption=SECTIONS[section])


def _place(row: dict[str, Any]) -> str:
    area = "" if row["source_area"] in (None, "inbox") else f"{row['source_area']}/"
    sheet = f" [{row['source_sheet']}]" if row["source_sheet"] else ""
    where = f", row {row['source_row']}" if row["source_row"] is not None else ", whole file"
    return f"{area}{row['source_file']}{sheet}{where}"


def _record_cells(row: dict[str, Any], section: str) -> list[Cell]:
    if section == "refused":
        return [
            element("code", _shortened(row["raw_text"])),
            row["message"],
            element("small", row["suggestion"] or ""),
        ]
    if section == "waiting":
        return [element("code", _shortened(row["raw_text"])), row["message"] or ""]
    if section == "known":
        first = f"{row['first_seen_file'] or ''}, row {row['first_seen_row'] or '–'}"
        return [element("small", first), row["message"] or ""]
    return [element("code", _shortened(row["raw_text"])), (row["rule"] or "").replace("_", " ")]


def _shortened(text: str | None, most: int = 160) -> str:
    text = text or ""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _show_spellings(frame: Frame) -> None:
    st.html(element("p", EXPLAINED["spellings"], "sw-note"))
    spellings = read_spellings(frame.history, _search("spellings"))
    if spellings.is_empty():
        st.html(element("p", "None.", "sw-note"))
        return
    heads = [
        Head("As written"),
        Head("Taken for"),
        Head("How", "", "n"),
        Head("Closeness", "100: the same", "r"),
        Head("Rows", "", "r"),
        Head("Clients", "", "n"),
    ]
    st.html(
        table(
            heads,
            [
                [
                    row["exercise_text"],
                    row["exercise_name"] or "–",
                    row["how"],
                    "–" if row["score"] is None else show_figure(row["score"], 0),
                    row["n_rows"],
                    _whose(row),
                ]
                for row in spellings.head(MOST_ROWS).to_dicts()
            ],
            caption="Spellings",
        )
    )
    _show_cut(frame, spellings, "name_resolution")


def _whose(row: dict[str, Any]) -> str:
    if not row["n_clients"]:
        return "any"
    return str(row["client_id"]) if row["n_clients"] == 1 else f"{row['n_clients']} clients"


def _show_checks(frame: Frame) -> None:
    st.html(element("p", EXPLAINED["checks"], "sw-note"))
    checks = read_checks(frame.history).to_dicts()
    broken = [row for row in checks if row["n_failed"]]
    held = [row for row in checks if not row["n_failed"]]
    if broken:
        st.html(_check_table(broken, "Rules that were broken"))
    else:
        st.html(element("p", "No rule was broken.", "sw-note"))
    if held:
        with st.expander(f"{count_words(len(held), 'rule', 'rules')} held"):
            st.html(_check_table(held, "Rules that held"))


def _check_table(checks: list[dict[str, Any]], caption: str) -> Html:
    heads = [
        Head("Rule", "", "w"),
        Head("Table", "", "n"),
        Head("If broken", "", "n"),
        Head("Rows checked", "", "r"),
        Head("Broken", "", "r"),
    ]
    rows: list[list[Cell]] = [
        [
            row["meaning"] or row["rule_id"],
            row["checked_table"],
            "nothing is published" if row["severity"] == "stop" else "the row is refused",
            f"{row['n_checked'] or 0:,}",
            _count(row["n_failed"], True),
        ]
        for row in checks
    ]
    return table(heads, rows, caption=caption)


show()
