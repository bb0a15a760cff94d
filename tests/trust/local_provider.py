"""A sign-in provider on this machine: as much of OpenID Connect Core 1.0 (code flow, PKCE S256) as a sign-in takes."""

from __future__ import annotations

import base64
import hashlib
import json
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT_ID, CLIENT_SECRET = "roster-pages", "a secret between the two"


class Provider:
    """Who signs in next is `person`; what it refused stands in `refused`."""

    def __init__(self, address: str) -> None:
        self.address, self.key = address, RSAKey.generate_key(2048, {"kid": "one", "use": "sig"})
        self.person: dict[str, Any] = {}
        self.codes: dict[str, dict[str, str]] = {}
        self.refused: list[str] = []

    def configuration(self) -> dict[str, Any]:
        """The discovery document."""
        return {
            "issuer": self.address,
            "authorization_endpoint": f"{self.address}/authorize",
            "token_endpoint": f"{self.address}/token",
            "jwks_uri": f"{self.address}/keys",
            "response_types_supported": ["code"],
            "subject_types_supported": ["public"],
            "id_token_signing_alg_values_supported": ["RS256"],
            "code_challenge_methods_supported": ["S256"],
            "token_endpoint_auth_methods_supported": ["client_secret_basic", "client_secret_post"],
        }

    def authorize(self, asked: dict[str, str]) -> str:
        """Where the browser goes back to, with a code."""
        code = secrets.token_urlsafe(16)
        self.codes[code] = asked
        return f"{asked['redirect_uri']}?{urlencode({'code': code, 'state': asked['state']})}"

    def token(self, given: dict[str, str], basic: str) -> dict[str, Any] | None:
        """The signed statement on who signed in; None where the caller does not prove who it is."""
        asked = self.codes.pop(given.get("code", ""), None)
        if asked is None:
            self.refused.append("code")
            return None
        challenge = hashlib.sha256(given.get("code_verifier", "").encode()).digest()
        if base64.urlsafe_b64encode(challenge).rstrip(b"=").decode() != asked.get("code_challenge"):
            self.refused.append("verifier")
            return None
        login = base64.b64decode(basic.removeprefix("Basic ")).decode() if basic else ""
        if login != f"{CLIENT_ID}:{CLIENT_SECRET}" and given.get("client_secret") != CLIENT_SECRET:
            self.refused.append("secret")
            return None
        now = int(time.time())
        claims = {
            "iss": self.address, "aud": CLIENT_ID, "iat": now, "exp": now + 600, "sub": "1",
            "nonce": asked.get("nonce", ""), **self.person,
        }  # fmt: skip
        signed = jwt.encode({"alg": "RS256", "kid": "one"}, claims, self.key)
        return {"access_token": "x", "token_type": "Bearer", "expires_in": 600, "id_token": signed}


@contextmanager
def provider_on(port: int) -> Iterator[Provider]:
    """The provider on a port of this machine, for as long as the context lasts."""
    provider = Provider(f"http://localhost:{port}")

    class Handler(BaseHTTPRequestHandler):
        def _say(self, body: Any, status: int = 200) -> None:
            data = json.dumps(body).encode()
            self.send_response(status)
            self.send_header("content-type", "application/json")
            self.send_header("content-length", str(len(data)))
            self.end_headers()
            self.wfile.write(data)

        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            if parts.path == "/.well-known/openid-configuration":
                self._say(provider.configuration())
            elif parts.path == "/keys":
                self._say({"keys": [provider.key.as_dict(private=False)]})
            elif parts.path == "/authorize":
                asked = {name: values[0] for name, values in parse_qs(parts.query).items()}
                self.send_response(302)
                self.send_header("location", provider.authorize(asked))
                self.send_header("content-length", "0")
                self.end_headers()
            else:
                self._say({}, 404)

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"])).decode()
            given = {name: values[0] for name, values in parse_qs(body).items()}
            made = provider.token(given, self.headers.get("authorization", ""))
            self._say(made or {"error": "invalid_grant"}, 200 if made else 400)

        def log_message(self, *_: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("localhost", port), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield provider
    finally:
        server.shutdown()
        server.server_close()
