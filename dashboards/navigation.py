"""The pages, in order, and the way from one to another."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

import streamlit as st
from streamlit.navigation.page import Page

TITLES = {"roster": "Roster", "athlete": "Athlete", "plan": "Plan", "data": "Data", "reports": "Reports"}
_FOLDER = Path(__file__).with_name("pages")


def page(name: str) -> Page:
    """The page called `name`, a key of TITLES; it answers at the address of that name."""
    # no icons: those Streamlit offers are fetched from the network
    return st.Page(_FOLDER / f"{name}.py", title=TITLES[name], url_path=name, default=name == "roster")


def pages() -> list[Page]:
    """Every page."""
    return [page(name) for name in TITLES]


def go_to(name: str, **address: str) -> NoReturn:
    """Leave for another page, with `address` as its query."""
    st.switch_page(page(name), query_params=address)
