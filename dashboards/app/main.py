"""Sets the page up and runs the page asked for; `dashboards.launch` serves this file."""

from __future__ import annotations

import streamlit as st

from dashboards.navigation import pages

st.set_page_config(page_title="Setwright", layout="wide", initial_sidebar_state="collapsed")
st.navigation(pages(), position="top").run()
