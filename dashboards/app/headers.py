"""What every answer says: the browser loads nothing from elsewhere, and no other site frames the pages."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Any
from urllib.parse import urlsplit

import streamlit as st
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'self'",
        # the pages' own program compiles chart expressions and starts its parts from memory
        "script-src 'self' 'unsafe-inline' 'unsafe-eval' 'wasm-unsafe-eval' blob:",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self' data:",
        "connect-src 'self' data: blob:",
        "worker-src 'self' blob:",
        # the preview of a report: a data address has an origin of its own and can touch nothing of the page
        "frame-src 'self' blob: data:",
        "object-src 'none'",
        "base-uri 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
}
_KEPT_BY_NOBODY = ("/media/", "/auth/", "/oauth2callback")


class SafeHeaders:
    """Adds them; behind https it marks cookies so that they travel no other way."""

    def __init__(self, app: ASGIApp, *, is_https: bool = False) -> None:
        self._app, self._is_https = app, is_https

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on and add to what comes back."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        if not self._is_ours(scope):
            await PlainTextResponse("These pages do not answer to that name.", 421)(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                self._add(message, str(scope.get("path", "")))
            await send(message)

        await self._app(scope, receive, send_with_headers)

    def _is_ours(self, scope: Scope) -> bool:
        """Whether the name asked for is one the launcher allows; Streamlit itself only looks at the socket."""
        allowed = st.config.get_option("server.allowedHosts")
        given = next((value.decode("latin-1") for name, value in scope["headers"] if name == b"host"), "")
        return not allowed or (urlsplit(f"//{given}").hostname or "") in {
            name.strip("[]") for name in allowed
        }

    def _add(self, message: MutableMapping[str, Any], path: str) -> None:
        added = dict(HEADERS)
        if path.startswith(_KEPT_BY_NOBODY):
            added["cache-control"] = "no-store"
        if self._is_https:
            added["strict-transport-security"] = "max-age=31536000"
        given = [
            (name, value) for name, value in message.get("headers", []) if name.decode().lower() not in added
        ]
        if self._is_https:
            given = [
                (name, value + b"; Secure")
                if name.lower() == b"set-cookie" and b"secure" not in value.lower()
                else (name, value)
                for name, value in given
            ]
        message["headers"] = [*given, *((name.encode(), value.encode()) for name, value in added.items())]
