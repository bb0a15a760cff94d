"""Monthly reports: choose client and month, write a word, look at it, make one or all of them."""

from __future__ import annotations

import base64
import datetime as dt
import os
import tempfile
from pathlib import Path

import streamlit as st

from dashboards.frame import Frame, begin, show_cautions, show_problem
from dashboards.history import read_clients, read_months
from dashboards.markup import element, join
from dashboards.report import (
    ReportResult,
    languages,
    report_file_name,
    write_report,
    write_reports,
    write_roster_summary,
)
from dashboards.report.writing import FileFormat, Paper
from pipeline.errors import SetwrightError

FORMATS: tuple[FileFormat, ...] = ("pdf", "html", "xlsx")
PAPERS: tuple[Paper, ...] = ("a4", "letter")
FORMAT_WORDS: dict[FileFormat, str] = {"pdf": "PDF", "html": "Web page", "xlsx": "Workbook"}
MIME = {
    "pdf": "application/pdf",
    "html": "text/html",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
LANGUAGE_WORDS = {"en": "English", "de": "Deutsch", "fr": "Français", "es": "Español"}

STAY = "Leaving the page ends this; what is made stays made."


def show() -> None:
    frame = begin(needs_a_week=False)
    st.html(element("h1", "Monthly reports", "sw-title"))
    months = read_months(frame.history)
    if not months:
        st.html(element("p", "No session has been read yet, so there is no month to report on.", "sw-note"))
        return
    clients = {row["client_id"]: row["name"] for row in read_clients(frame.history).to_dicts()}
    wanted = st.query_params.get("client") or st.session_state.get("client_shown")
    named = st.query_params.get("month")
    one, month_box, kind, tongue, paper_box, state_box = st.columns(
        [3, 1.6, 1.4, 1.4, 1.2, 2], vertical_alignment="bottom"
    )
    ids = list(clients)
    client_id = one.selectbox(
        "Client",
        ids,
        index=ids.index(wanted) if wanted in clients else 0,
        format_func=clients.__getitem__,
        key="report_client",
    )
    month = month_box.selectbox(
        "Month",
        months,
        index=months.index(named) if named in months else 0,
        format_func=_month_label,
        key="report_month",
    )
    file_format = kind.selectbox("As", FORMATS, format_func=FORMAT_WORDS.__getitem__, key="report_format")
    spoken = list(
        dict.fromkeys([frame.workspace.settings.report_language, *languages(frame.workspace.messages)])
    )
    language = tongue.selectbox(
        "Language",
        spoken,
        format_func=lambda code: LANGUAGE_WORDS.get(code, code),
        key="report_language",
    )
    paper = paper_box.selectbox(
        "Paper",
        PAPERS,
        format_func=str.title,
        key="report_paper",
        index=1 if frame.workspace.settings.paper == "letter" else 0,
    )
    show_state = state_box.checkbox(
        "Show the state's word",
        key="report_state",
        help="Leave off where a word such as Plateau would not help the client.",
    )
    st.query_params["client"], st.query_params["month"] = client_id, month
    left, right = st.columns([2, 3], gap="large")
    with left:
        if frame.may_write:
            _write_words(frame, client_id, clients[client_id], month)
            _make_one(frame, client_id, month, file_format, language, paper, show_state)
            _make_all(frame, list(clients), month, file_format, language, paper, show_state)
    with right:
        _preview(frame, client_id, month, language, paper, show_state)
    show_cautions()


def _month_label(month: str) -> str:
    return f"{dt.date.fromisoformat(month + '-01'):%B %Y}"


def _write_words(frame: Frame, client_id: str, name: str, month: str) -> None:
    """The coach's own words for this client's month, kept in the notes."""
    st.html(element("h2", element("span", f"Your words to {name}", "sw-clamp", name), "sw-section"))
    kept = frame.notes.read_month_text(client_id, month)
    with st.form(f"words_{client_id}_{month}", border=False):
        word = st.text_area("On the month", value=kept.get("report", ""), height=100, max_chars=4000)
        focus = st.text_area(
            "Focus of the next month", value=kept.get("focus", ""), height=70, max_chars=2000
        )
        if st.form_submit_button("Keep"):
            frame.notes.write_month_text(client_id, month, "report", word)
            frame.notes.write_month_text(client_id, month, "focus", focus)
            st.rerun()


def _make_one(
    frame: Frame,
    client_id: str,
    month: str,
    file_format: FileFormat,
    language: str,
    paper: Paper,
    show_state: bool,
) -> None:
    st.html(element("h2", "This report", "sw-section"))
    out = frame.workspace.reports / month / report_file_name(client_id, month, file_format)
    if st.button("Make it", type="primary", key="make_one"):
        try:
            write_report(
                frame.history.path,
                frame.notes.path,
                client_id,
                month,
                out,
                file_format=file_format,
                language=language,
                paper=paper,
                show_state=show_state,
                messages_folder=frame.workspace.messages,
            )
        except SetwrightError as err:
            show_problem(err)
            return
        st.session_state["made_report"] = str(out)
    if st.session_state.get("made_report") == str(out) and out.is_file():
        st.html(element("p", f"Written: {out}", "sw-note"))
        st.download_button(
            "Download", out.read_bytes(), file_name=out.name, mime=MIME[file_format], key="download_one"
        )


def _make_all(
    frame: Frame,
    client_ids: list[str],
    month: str,
    file_format: FileFormat,
    language: str,
    paper: Paper,
    show_state: bool,
) -> None:
    st.html(element("h2", "All reports of the month", "sw-section"))
    folder = frame.workspace.reports / month
    with st.container(horizontal=True):
        make_all = st.button(f"Make all {len(client_ids)}", key="make_all")
        summary = st.button("Roster summary for you", key="make_summary")
    try:
        if make_all:
            _run_all(frame, client_ids, month, folder, file_format, language, paper, show_state)
        if summary:
            out = folder / f"roster-{month}.{file_format}"
            write_roster_summary(
                frame.history.path,
                month,
                out,
                file_format=file_format,
                language=language,
                paper=paper,
                messages_folder=frame.workspace.messages,
            )
            st.session_state["made_summary"] = str(out)
    except SetwrightError as err:
        show_problem(err)
    made = Path(st.session_state.get("made_summary", ""))
    if made.is_file() and made.parent == folder:
        st.download_button(
            "Download the summary",
            made.read_bytes(),
            file_name=made.name,
            mime=MIME.get(made.suffix[1:], "application/octet-stream"),
            key="download_summary",
        )


def _run_all(
    frame: Frame,
    client_ids: list[str],
    month: str,
    folder: Path,
    file_format: FileFormat,
    language: str,
    paper: Paper,
    show_state: bool,
) -> None:
    bar = st.progress(0.0, text=f"Making reports. {STAY}")
    done: list[ReportResult] = []

    def on_done(result: ReportResult) -> None:
        done.append(result)
        bar.progress(len(done) / len(client_ids), text=f"{len(done)} of {len(client_ids)}. {STAY}")

    results = write_reports(
        frame.history.path,
        frame.notes.path,
        client_ids,
        month,
        folder,
        file_format=file_format,
        language=language,
        paper=paper,
        show_state=show_state,
        messages_folder=frame.workspace.messages,
        processes=os.cpu_count() or 1,
        on_done=on_done,
    )
    bar.empty()
    failed = [result for result in results if result.path is None]
    st.html(element("p", f"{len(results) - len(failed)} reports are in {folder}.", "sw-notice"))
    if failed:
        st.html(
            element(
                "ul",
                join([element("li", f"{result.client_id}: {result.error}") for result in failed]),
                "sw-options",
            )
        )


def _preview(frame: Frame, client_id: str, month: str, language: str, paper: Paper, show_state: bool) -> None:
    """The report as a web page in a frame of its own, as the client would read it."""
    st.html(element("h2", "As the client will see it", "sw-section"))
    words = frame.notes.read_month_text(client_id, month)
    paths = (str(frame.history.path), str(frame.notes.path), str(frame.workspace.messages or ""))
    asked = (*paths, client_id, month, language, paper, show_state)
    try:
        page = _page_of(*asked, tuple(sorted(words.items())))
    except SetwrightError as err:
        show_problem(err)
        return
    # as a data address the report has no access to this page, whatever a name or note may hold
    address = f"data:text/html;charset=utf-8;base64,{base64.b64encode(page.encode()).decode()}"
    st.iframe(address, height=900, alt="Preview of the report")


@st.cache_data(max_entries=8, show_spinner=False)
def _page_of(
    history_path: str,
    notes_path: str,
    messages_folder: str,
    client_id: str,
    month: str,
    language: str,
    paper: Paper,
    show_state: bool,
    words: tuple[tuple[str, str], ...],
) -> str:
    """The report as a web page; `words` only says when the coach's texts have changed."""
    del words
    with tempfile.TemporaryDirectory() as folder:
        path = write_report(
            Path(history_path),
            Path(notes_path),
            client_id,
            month,
            Path(folder) / "preview.html",
            file_format="html",
            language=language,
            paper=paper,
            show_state=show_state,
            messages_folder=Path(messages_folder) if messages_folder else None,
        )
        return path.read_text(encoding="utf-8")


show()
