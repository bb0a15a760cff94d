"""Serves the pages: on this machine only, without usage statistics, in our look, from any folder."""

from __future__ import annotations

import ipaddress
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dashboards.theme import PALETTES, Mode
from pipeline.errors import SetwrightError
from pipeline.sign_in import SignIn
from pipeline.workspace import open_workspace

APP = Path(__file__).parent / "app" / "server.py"
ROOT = Path(__file__).resolve().parent.parent
START_S = 60


def serve(workspace: Path, port: int = 8501, host: str = "127.0.0.1") -> int:
    """Serve the pages for `workspace` until stopped; the server's exit code.

    SetwrightError for a host that others could reach: pages of clients need sign-in there.
    """
    place = open_workspace(workspace)
    sign_in = place.settings.sign_in
    if sign_in is None and not is_loopback(host):
        raise SetwrightError(
            f"{host} can be reached from other machines, and this workspace has no sign-in.",
            "Serve on 127.0.0.1, or set up [sign_in] in workspace.toml: see dashboards/deployment.md.",
        )
    if sign_in is not None:
        # says what is missing before anything is served
        from dashboards.app.sign_in import sign_in_secrets

        sign_in_secrets(place)
    server = subprocess.Popen(server_command(port, host, sign_in), env=server_environment(workspace, sign_in))
    # whoever ends this process means the server too
    before = signal.signal(signal.SIGTERM, lambda *_: server.terminate())
    try:
        return server.wait()
    except KeyboardInterrupt:
        server.terminate()
        server.wait(timeout=20)
        return 0
    finally:
        signal.signal(signal.SIGTERM, before)


@contextmanager
def served(workspace: Path) -> Iterator[str]:
    """The pages on a free port of this machine for as long as the context lasts; their address.

    RuntimeError when the server does not start.
    """
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    server = subprocess.Popen(
        server_command(port, "127.0.0.1"),
        env=server_environment(workspace),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        give_up_at = time.monotonic() + START_S
        while not _answers(f"{address}/_stcore/health"):
            if time.monotonic() > give_up_at or server.poll() is not None:
                raise RuntimeError("the server of the pages did not start")
            time.sleep(0.1)
        yield address
    finally:
        server.terminate()
        server.wait(timeout=20)


def _answers(address: str) -> bool:
    """Whether our own server answers."""
    try:
        with urllib.request.urlopen(address, timeout=2):  # noqa: S310 our own server, this machine
            return True
    except OSError:
        return False


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach `host`."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def server_environment(workspace: Path, sign_in: SignIn | None = None) -> dict[str, str]:
    """The environment of the server: the workspace, our packages, and whether people have to sign in."""
    paths = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    return {
        **os.environ,
        "SETWRIGHT_WORKSPACE": str(workspace.expanduser().resolve()),
        "PYTHONPATH": os.pathsep.join(paths),
        **({"SETWRIGHT_MUST_SIGN_IN": "1"} if sign_in else {}),
    }


def server_command(port: int, host: str, sign_in: SignIn | None = None) -> list[str]:
    """The command that serves: every setting as a flag, so that no file of the present folder matters."""
    flags: dict[str, str] = {
        "server.address": host,
        "server.port": str(port),
        "server.headless": "true",
        "server.fileWatcherType": "none",
        "server.runOnSave": "false",
        "server.maxUploadSize": "1",
        "server.enableXsrfProtection": "true",
        "server.enableCORS": "true",
        "browser.gatherUsageStats": "false",
        "browser.serverAddress": sign_in.host if sign_in else host,
        "client.toolbarMode": "minimal",
        "client.showErrorDetails": "none",
        "client.showErrorLinks": "false",
        "runner.magicEnabled": "false",
        "logger.level": "warning",
        **theme_flags(),
    }
    command = [sys.executable, "-m", "streamlit", "run", str(APP)]
    command += [f"--{name}={value}" for name, value in flags.items()]
    # a page of another site that points its name at this machine gets no answer
    # its own names, and the one people type where they have to sign in
    names = dict.fromkeys(("localhost", "127.0.0.1", host, sign_in.host if sign_in else host))
    command += [f"--server.allowedHosts={name}" for name in names]
    return command


def theme_flags() -> dict[str, str]:
    """Streamlit's own parts in our palette, light and dark."""
    flags = {
        "theme.baseFontSize": "14",
        "theme.baseRadius": "4px",
        "theme.showWidgetBorder": "true",
    }
    modes: tuple[Mode, Mode] = ("light", "dark")
    for mode in modes:
        p = PALETTES[mode]
        flags |= {
            f"theme.{mode}.primaryColor": p.main,
            f"theme.{mode}.backgroundColor": p.paper,
            f"theme.{mode}.secondaryBackgroundColor": p.panel,
            f"theme.{mode}.textColor": p.ink,
            f"theme.{mode}.borderColor": p.rule,
            f"theme.{mode}.linkColor": p.main,
        }
    return flags
