"""Sets the page up and runs the page asked for; `dashboards.app.server` serves this file."""

from __future__ import annotations

import streamlit as st

from dashboards.app.sign_in import role_of_visitor, show_visitor
from dashboards.frame import set_look, show_problem, workspace_path
from dashboards.navigation import pages
from pipeline.errors import SetwrightError
from pipeline.workspace import open_workspace

st.set_page_config(page_title="Setwright", layout="wide", initial_sidebar_state="collapsed")
try:
    workspace = open_workspace(workspace_path())
except SetwrightError as err:
    set_look()
    show_problem(err)
    st.stop()
role = role_of_visitor(workspace)
page = st.navigation(pages(), position="top")
show_visitor(workspace, role)
page.run()
