"""What every page begins with: the workspace, the history, the look, the week and client in the address."""

from __future__ import annotations

import datetime as dt
import os
from dataclasses import dataclass, replace
from pathlib import Path

import altair as alt
import streamlit as st

from dashboards import theme
from dashboards.charts import Drawing
from dashboards.history import History, has_files, open_history, read_weeks
from dashboards.markup import Html, element, show_date
from dashboards.page_style import page_css
from dashboards.wording import CAUTION, WARNING_SIGNS, WARNING_SIGNS_LEAD
from pipeline.errors import SetwrightError
from pipeline.notes import NotesStore
from pipeline.workspace import Workspace, open_workspace

# tests hold the specifications against the schema; holding each part of one against it again takes longer
# than drawing it
alt.utils.schemapi.disable_debug_mode()

WORKSPACE_VARIABLE = "SETWRIGHT_WORKSPACE"


@dataclass(frozen=True)
class Frame:
    """What a page works on. `weeks` is empty, and `week` the day before any, until a week is over."""

    workspace: Workspace
    history: History
    notes: NotesStore
    weeks: list[dt.date]
    week: dt.date

    @property
    def may_write(self) -> bool:
        """Whether the person who looks may change anything; some who sign in may only look."""
        return not self.workspace.is_read_only

    @property
    def is_latest(self) -> bool:
        """Whether the week shown is the last complete one."""
        return bool(self.weeks) and self.week == self.weeks[0]


def workspace_path() -> Path:
    """The folder the pages are for, as the launcher says; the present folder where it says nothing."""
    return Path(os.environ.get(WORKSPACE_VARIABLE, "."))


def use_readers_look() -> theme.Look:
    """The reader's light or dark, in force for the charts of this run."""
    return theme.use("dark" if st.context.theme.type == "dark" else "light")


def set_look() -> None:
    """Draw this page run in the reader's light or dark."""
    look = use_readers_look()
    st.html(f"<style>{page_css(look.palette)}</style>")


def begin(*, needs_a_week: bool = True) -> Frame:
    """The page's frame; shows what is wrong, or how to begin, and stops when there is nothing to show.

    A page that shows files and questions has something to show before the first week is over.
    """
    set_look()
    try:
        workspace = open_workspace(workspace_path())
    except SetwrightError as err:
        show_problem(err)
        st.stop()
    from dashboards.app.sign_in import role_of_visitor

    if role_of_visitor(workspace) == "reader":
        workspace = replace(workspace, is_read_only=True)
    if not workspace.history_db.exists():
        from dashboards.first_run import show_first_run

        show_first_run(workspace)
        st.stop()
    try:
        history = open_history(workspace.published_history())
        weeks = read_weeks(history)
    except SetwrightError as err:
        show_problem(err)
        offer_update(workspace)
        st.stop()
    if not weeks and (needs_a_week or not has_files(history)):
        from dashboards.first_run import show_no_weeks

        show_no_weeks(workspace, history)
        st.stop()
    week = _week_of_address(weeks) if weeks else dt.date.min
    return Frame(workspace, history, NotesStore(workspace.notes_db, workspace.is_read_only), weeks, week)


def offer_update(workspace: Workspace) -> None:
    """The button that mends a history: it is rebuilt from the coach's files."""
    from dashboards.running_update import show_update_button

    show_update_button(workspace)


def show_problem(err: SetwrightError) -> None:
    """What is wrong and what to do, where the page would be."""
    st.html(
        element("div", Html(f"{element('strong', err.what)} {element('span', err.do_next)}"), "sw-problem")
    )


def _week_of_address(weeks: list[dt.date]) -> dt.date:
    """The week the address names; the latest when it names none or one without verdicts."""
    named = st.query_params.get("week") or st.session_state.get("week_shown")
    try:
        week = dt.date.fromisoformat(str(named))
    except ValueError:
        week = weeks[0]
    if week not in weeks:
        earlier = [known for known in weeks if known <= week]
        week = earlier[0] if earlier else weeks[0]
    return week


def choose_week(frame: Frame) -> None:
    """The week's menu; another choice goes into the address and draws the page anew."""

    def label(week: dt.date) -> str:
        shown = f"{show_date(week)} – {show_date(week + dt.timedelta(days=6), year=True)}"
        return f"{shown}  (latest)" if week == frame.weeks[0] else shown

    chosen = st.selectbox(
        "Week",
        frame.weeks,
        index=frame.weeks.index(frame.week),
        format_func=label,
        key=f"week_menu_{frame.week}",
        help="Any past week opens as it looked at its end.",
    )
    st.html(element("p", f"Week {label(frame.week)}", "sw-print sw-note"))
    keep_in_address(week=None if chosen == frame.weeks[0] else chosen.isoformat())
    if chosen != frame.week:
        st.rerun()


def keep_in_address(**values: str | None) -> None:
    """Put values into the address, so that it can be kept and sent; None takes one out."""
    for name, value in values.items():
        st.session_state[f"{name}_shown"] = value
        if value is None:
            st.query_params.pop(name, None)
        elif st.query_params.get(name) != value:
            st.query_params[name] = value


def show_past_notice(frame: Frame) -> None:
    """Say so when an old week is open."""
    if not frame.is_latest:
        st.html(
            element(
                "div",
                f"As it looked on {show_date(frame.week + dt.timedelta(days=6), year=True)}: "
                "nothing that came later is used.",
                "sw-notice",
            )
        )


def show_chart(chart: Drawing, described: str) -> None:
    """A chart in our look; `described` is what a screen reader says."""
    # a part of a page may be drawn anew on its own
    use_readers_look()
    spec, frames = chart.parts()
    spec["datasets"] = frames
    # stated here as well, or Streamlit puts a padding of its own in place of the theme's
    spec["padding"] = spec["config"]["padding"]
    st.vega_lite_chart(spec=spec, theme=None, width="stretch", alt=described)


def show_cautions() -> None:
    """The usual cautions, at the foot of every page that a decision may rest on."""
    signs = ", ".join(WARNING_SIGNS)
    st.html(
        element(
            "footer",
            Html(f"{element('p', CAUTION)}{element('p', f'{WARNING_SIGNS_LEAD} {signs}.')}"),
            "sw-caution",
        )
    )
