"""The client a page is about: by menu, by arrows in the roster's order, by the address."""

from __future__ import annotations

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboards.frame import Frame, choose_week, keep_in_address
from dashboards.history import read_clients, read_order
from dashboards.markup import Html, element


def choose_client(frame: Frame, *, with_week: bool = True) -> tuple[str, str, DeltaGenerator]:
    """The client shown, id and name, and the place beside the menu; in order of urgency of the week."""
    order = (read_order(frame.history, frame.week) if with_week else read_clients(frame.history)).to_dicts()
    if not order:
        order = read_clients(frame.history).to_dicts()
    if not order:
        st.html(element("p", "Nobody is in the roster yet.", "sw-note"))
        st.stop()
    names = {row["client_id"]: row["name"] for row in order}
    ids = list(names)
    place = {row["client_id"]: f"{row['place']}. " if row["place"] else "" for row in order}
    wanted = st.query_params.get("client") or st.session_state.get("client_shown") or ids[0]
    if wanted not in names:
        st.html(
            element(
                "div",
                Html(
                    f"{element('strong', 'Nobody of that id is in this week.')} "
                    f"{element('span', 'Choose someone below, or another week.')}"
                ),
                "sw-problem",
            )
        )
        wanted = ids[0]
    at = ids.index(wanted)
    menu, back, on, week = st.columns([4, 1, 1, 3], vertical_alignment="bottom")
    chosen = menu.selectbox(
        "Client, most urgent first",
        ids,
        index=at,
        key=f"client_menu_{frame.week}_{wanted}",
        format_func=lambda one: f"{place[one]}{names[one]}",
    )
    if back.button("← Before", disabled=at == 0, width="stretch", key="before"):
        chosen = ids[at - 1]
    if on.button("Next →", disabled=at == len(ids) - 1, width="stretch", key="next"):
        chosen = ids[at + 1]
    keep_in_address(client=chosen)
    if chosen != wanted:
        st.rerun()
    if with_week:
        with week:
            choose_week(frame)
    return chosen, names[chosen], week
