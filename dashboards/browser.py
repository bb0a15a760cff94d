"""Finds the browser that tests and screenshots drive; nothing the pages themselves need."""

from __future__ import annotations

import os
import shutil

BROWSER_VARIABLE = "SETWRIGHT_CHROMIUM"


def find_chromium() -> str | None:
    """The browser: the one SETWRIGHT_CHROMIUM names, the system's, or Playwright's own (None)."""
    named = os.environ.get(BROWSER_VARIABLE)
    return named or shutil.which("chromium") or shutil.which("chromium-browser")
