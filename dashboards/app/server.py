"""The server of the pages: sign-in, headers, and a log that quotes nobody. `dashboards.launch` starts it."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

from starlette.middleware import Middleware
from streamlit.starlette import App

from dashboards.app.headers import SafeHeaders
from dashboards.app.sign_in import sign_in_secrets
from dashboards.frame import show_problem, workspace_path
from pipeline.errors import SetwrightError
from pipeline.faults import in_a_sentence
from pipeline.workspace import open_workspace

_made_before = logging.getLogRecordFactory()


def make_record(*arguments: Any, **named: Any) -> logging.LogRecord:
    """A record of a log; an error with its traceback becomes one sentence that quotes nothing a page has read."""
    record = _made_before(*arguments, **named)
    if record.exc_info and record.exc_info[1] is not None:
        record.msg, record.args = str(in_a_sentence(record.exc_info[1])), ()
        record.exc_info = record.exc_text = None
    return record


def show_error(err: Exception) -> bool:
    """What went wrong, in the place of the page; True: nothing else need be shown."""
    said = in_a_sentence(err)
    show_problem(
        said if isinstance(err, SetwrightError) else SetwrightError(said.what, "Draw the page again.")
    )
    return True


def _is_https() -> bool:
    sign_in = open_workspace(workspace_path()).settings.sign_in
    return sign_in is not None and sign_in.address.startswith("https://")


logging.setLogRecordFactory(make_record)

app = App(
    Path(__file__).with_name("main.py"),
    secrets=sign_in_secrets(open_workspace(workspace_path())),
    middleware=[Middleware(SafeHeaders, is_https=_is_https())],
    on_script_error=show_error,
)
