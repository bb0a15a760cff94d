"""Who may see the pages when they are served to others: the `[sign_in]` table of workspace.toml.

Names are proved by an OpenID Connect provider the coach already uses; the lists here say who of those it
knows may come in, and as what.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal
from urllib.parse import urlsplit

from pipeline.errors import WorkspaceError

Role = Literal["coach", "reader"]
SECRET_VARIABLE = "SETWRIGHT_SIGN_IN_SECRET"  # noqa: S105 the name of the variable, not its content
_KEYS = ("address", "provider", "client_id", "coaches", "readers")
_MAIL = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s]+|[^@\s]+@localhost")


@dataclass(frozen=True)
class SignIn:
    """Where the pages are reached, who proves names, and who may come in.

    `address` is what people type (`https://roster.example.org`), `provider` the address of the provider's
    OpenID configuration, `client_id` what the provider calls these pages. The secret is no setting: it stands
    in the environment (SETWRIGHT_SIGN_IN_SECRET) or in `.setwright/sign_in_secret`.
    """

    address: str
    provider: str
    client_id: str
    coaches: tuple[str, ...]
    readers: tuple[str, ...] = ()

    @property
    def host(self) -> str:
        """Name under which the pages are reached, without port."""
        return urlsplit(self.address).hostname or ""

    def role_of(self, mail: str | None) -> Role | None:
        """What the owner of a proved mail address may be; None for someone on neither list."""
        folded = (mail or "").strip().casefold()
        if folded and folded in self.coaches:
            return "coach"
        return "reader" if folded and folded in self.readers else None


def parse_sign_in(value: object, where: str) -> SignIn:
    """The `[sign_in]` table; WorkspaceError naming what is missing or wrong."""
    if not isinstance(value, dict):
        raise WorkspaceError(f"{where}: sign_in must be a table, [sign_in].")
    unknown = sorted(set(value) - set(_KEYS))
    if unknown:
        raise WorkspaceError(f"{where}: [sign_in] has no {unknown[0]!r}.", f"It has: {', '.join(_KEYS)}.")
    texts = {key: str(value.get(key) or "").strip() for key in ("address", "provider", "client_id")}
    for key, text in texts.items():
        if not text:
            raise WorkspaceError(f"{where}: [sign_in] lacks {key}.")
    for key in ("address", "provider"):
        _check_address(key, texts[key], where)
    coaches = _mails("coaches", value.get("coaches"), where)
    if not coaches:
        raise WorkspaceError(f"{where}: [sign_in] lets nobody in: coaches is empty.")
    return SignIn(
        texts["address"].rstrip("/"),
        texts["provider"],
        texts["client_id"],
        coaches,
        _mails("readers", value.get("readers", []), where),
    )


def _check_address(key: str, text: str, where: str) -> None:
    parts = urlsplit(text)
    is_here = parts.hostname in ("localhost", "127.0.0.1", "::1")
    if parts.hostname is None or not (parts.scheme == "https" or (parts.scheme == "http" and is_here)):
        raise WorkspaceError(f"{where}: [sign_in] {key} = {text!r} is no https:// address.")


def _mails(key: str, value: object, where: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(one, str) and _MAIL.fullmatch(one) for one in value):
        raise WorkspaceError(f'{where}: [sign_in] {key} must be a list such as ["me@example.org"].')
    return tuple(one.strip().casefold() for one in value)
