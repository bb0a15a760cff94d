"""One athlete, one page: the state and its evidence, strength, volume, adherence, and every row behind it."""

from __future__ import annotations

import streamlit as st

from dashboards import athlete_adherence, athlete_strength, athlete_verdict, athlete_volume
from dashboards.athlete_history import AthleteHistory
from dashboards.frame import (
    Frame,
    begin,
    choose_week,
    keep_in_address,
    show_cautions,
    show_past_notice,
)
from dashboards.history import read_clients, read_roster
from dashboards.markup import Html, element, state_mark
from dashboards.units import Unit
from dashboards.wording import state_word


def show() -> None:
    frame = begin()
    client_id, name = choose_client(frame)
    athlete = AthleteHistory(frame.history, client_id, frame.week)
    client = athlete.client() or {}
    unit: Unit = "lb" if client.get("unit") == "lb" else "kg"
    show_past_notice(frame)
    athlete_verdict.show_name(frame, athlete, client, name)
    athlete_verdict.show_pain(athlete)
    athlete_verdict.show_verdict(frame, athlete)
    athlete_strength.show(athlete, unit)
    athlete_volume.show(athlete, unit)
    athlete_adherence.show(athlete, unit)
    show_cautions()


def choose_client(frame: Frame) -> tuple[str, str]:
    """Menu, address and arrows: the client shown, id and name; in the roster's order of that week."""
    order = [(row["client_id"], row["name"], row["state"])
             for row in read_roster(frame.history, frame.week).select("client_id", "name", "state").to_dicts()]
    if not order:
        order = [(row["client_id"], row["name"], "") for row in read_clients(frame.history).to_dicts()]
    names = {client_id: name for client_id, name, _ in order}
    wanted = st.query_params.get("client") or st.session_state.get("client_shown") or order[0][0]
    if wanted not in names:
        st.html(element("div", Html(
            f"{element('strong', 'Nobody of that id is in this week.')} "
            f"{element('span', 'Choose someone below, or another week.')}"), "sw-problem"))
        wanted = order[0][0]
    ids = list(names)
    at = ids.index(wanted)
    menu, back, on, week = st.columns([4, 1, 1, 3], vertical_alignment="bottom")
    with menu:
        chosen = st.selectbox(
            "Client, most urgent first", ids, index=at, key=f"client_menu_{frame.week}_{wanted}",
            format_func=lambda one: f"{ids.index(one) + 1}. {names[one]}")
    if back.button("← Before", disabled=at == 0, width="stretch", key="before"):
        chosen = ids[at - 1]
    if on.button("Next →", disabled=at == len(ids) - 1, width="stretch", key="next"):
        chosen = ids[at + 1]
    keep_in_address(client=chosen)
    if chosen != wanted:
        st.rerun()
    with week:
        choose_week(frame)
    return chosen, names[chosen]


def state_title(state: str) -> Html:
    """A state for the head of the page."""
    return state_mark(state_word(state))


show()
