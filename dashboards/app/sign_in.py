"""Who is looking: nobody is asked on one's own machine; where pages are served to others, everybody is.

A provider the coach already uses proves a mail address (OpenID Connect, `st.login`); the lists in workspace.toml
say who may come in and as what. Whatever is unclear keeps the door shut.
"""

from __future__ import annotations

import importlib.util
import os
import secrets
from pathlib import Path
from typing import Any

import streamlit as st

from dashboards.markup import element
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.sign_in import SECRET_VARIABLE, Role, SignIn
from pipeline.workspace import Workspace

MUST_SIGN_IN = "SETWRIGHT_MUST_SIGN_IN"
"""Set by the launcher where sign-in is on: pages stay shut even if the settings lose the table meanwhile."""


def role_of_visitor(workspace: Workspace) -> Role:
    """What the person who looks may do; shows the way in and stops the page for everybody else."""
    sign_in = workspace.settings.sign_in
    if sign_in is None:
        if os.environ.get(MUST_SIGN_IN):
            _shut(
                "Sign-in is no longer set up.",
                "Put [sign_in] back into workspace.toml and start the server again.",
            )
        return "coach"
    if not st.user.is_logged_in:
        st.html(element("h1", "Setwright", "sw-title"))
        st.html(element("p", "These pages are for the coaches of this roster.", "sw-note"))
        if st.button("Sign in", type="primary", key="sign_in"):
            st.login()
        st.stop()
    role = role_of_person(sign_in, dict(st.user))
    if role is None:
        st.html(
            element(
                "div",
                "You are signed in, but this address is not on the list of this workspace, or your provider has "
                "not proved it. Ask the coach to add it.",
                "sw-problem",
            )
        )
        _offer_sign_out()
        st.stop()
    return role


def role_of_person(sign_in: SignIn, claims: dict[str, Any]) -> Role | None:
    """The role by what the provider said of a person; an address it did not prove counts for nothing."""
    if claims.get("email_verified") not in (True, "true"):
        return None
    mail = claims.get("email")
    return sign_in.role_of(mail) if isinstance(mail, str) else None


def _offer_sign_out() -> None:
    if st.button("Sign out", key="sign_out"):
        st.logout()


def show_visitor(workspace: Workspace, role: Role) -> None:
    """Who is signed in, and the way out; nothing on one's own machine."""
    if workspace.settings.sign_in is None:
        return
    with st.sidebar:
        said = "may look, not change" if role == "reader" else "coach"
        st.html(element("p", f"{st.user.get('email')} ({said})", "sw-note"))
        _offer_sign_out()


def _shut(what: str, do_next: str) -> None:
    st.html(element("div", f"{what} {do_next}", "sw-problem"))
    st.stop()


def sign_in_secrets(workspace: Workspace) -> dict[str, Any]:
    """What Streamlit needs to know of the provider; nothing where there is no sign-in.

    WorkspaceError where the provider's secret is not given or a package is missing.
    """
    sign_in = workspace.settings.sign_in
    if sign_in is None:
        return {}
    missing = [name for name in ("authlib", "httpx") if importlib.util.find_spec(name) is None]
    if missing:
        raise WorkspaceError("Sign-in needs packages that are not installed.", "Install: streamlit[auth]")
    return {
        "auth": {
            "redirect_uri": f"{sign_in.address}/oauth2callback",
            "cookie_secret": _cookie_secret(workspace),
            "client_id": sign_in.client_id,
            "client_secret": _client_secret(workspace),
            "server_metadata_url": sign_in.provider,
        }
    }


def _client_secret(workspace: Workspace) -> str:
    given = os.environ.get(SECRET_VARIABLE, "").strip()
    path = workspace.store / "sign_in_secret"
    if not given and path.is_file():
        if path.stat().st_mode & 0o077:
            raise WorkspaceError(f"{path} can be read by others.", f"Run: chmod 600 '{path}'")
        given = path.read_text(encoding="utf-8").strip()
    if not given:
        raise WorkspaceError(
            "The secret your sign-in provider gave you is missing.",
            f"Put it into the variable {SECRET_VARIABLE} or the file {path}.",
        )
    return given


def _cookie_secret(workspace: Workspace) -> str:
    """What our cookies are signed with; made once, so that people stay signed in when the server starts again."""
    path = workspace.store / "sign_in_cookie"
    try:
        return _made_once(path)
    except OSError as err:
        raise SetwrightError(f"{path} cannot be written: {err.strerror}.") from err


def _made_once(path: Path) -> str:
    path.parent.mkdir(mode=0o700, exist_ok=True)
    try:
        with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as handle:
            handle.write(secrets.token_hex(32))
    except FileExistsError:
        pass
    return path.read_text(encoding="ascii").strip()
