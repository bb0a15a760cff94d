"""People's data stays on this machine, out of logs, and closed to other users."""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from made_workspace import AS_OF, PEOPLE, SECRET

from dashboards.launch import server_command, server_environment
from pipeline.commands.demo import make_demo
from pipeline.commands.init import make_workspace

ROOT = Path(__file__).resolve().parents[2]
PRIVATE = (SECRET, "Zwiebelturm", *PEOPLE.values())

WATCHER = """
import os, sys
def watch(event, arguments):
    if event in ("socket.connect", "socket.sendto", "socket.sendmsg", "socket.getaddrinfo", "socket.gethostbyname"):
        with open(os.environ["WATCH_FILE"], "a") as file:
            file.write(f"{event} {arguments[1:] if event.startswith('socket.c') else arguments}\\n")
sys.addaudithook(watch)
"""
"""Told by Python itself of every connection and every name looked up."""

_HERE = re.compile(r"127\.\d+\.\d+\.\d+|::1\b|localhost|\[::\]")
_CALL = re.compile(r"(connect|sendto|sendmsg|sendmmsg)\(.*?sa_family=(AF_INET6?),.*")


class Watched:
    """Runs a command so that every connection it or what it starts asks for is seen: by Python's own audit, and
    by strace where this machine has it, which also sees libraries that are no Python."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "sitecustomize.py").write_text(WATCHER, encoding="utf-8")
        self.has_strace = shutil.which("strace") is not None and self._can_trace()

    def _can_trace(self) -> bool:
        tried = subprocess.run(["strace", "-f", "-o", "/dev/null", "true"], capture_output=True, check=False)
        return tried.returncode == 0

    def command(self, command: list[str]) -> list[str]:
        if not self.has_strace:
            return command
        calls = "trace=connect,sendto,sendmsg,sendmmsg"
        return [
            "strace",
            "-f",
            "-qq",
            "--seccomp-bpf",
            "-s",
            "200",
            "-e",
            calls,
            "-o",
            str(self.folder / "calls"),
            *command,
        ]

    def environment(self, environment: dict[str, str]) -> dict[str, str]:
        paths = os.pathsep.join([str(self.folder), str(ROOT), environment.get("PYTHONPATH", "")])
        return {**environment, "PYTHONPATH": paths, "WATCH_FILE": str(self.folder / "asked")}

    def outside(self) -> list[str]:
        """Every request that would have left the machine."""
        found = []
        for line in self._lines("asked"):
            if not _HERE.search(line) and "AF_UNIX" not in line and not re.search(r"\('/|\(b'", line):
                found.append(line)
        for line in self._lines("calls"):
            call = _CALL.search(line)
            if call and not _HERE.search(line):
                found.append(line)
        return found

    def _lines(self, name: str) -> list[str]:
        path = self.folder / name
        return path.read_text(encoding="utf-8", errors="replace").splitlines() if path.exists() else []


@pytest.fixture
def watched(tmp_path: Path) -> Watched:
    (tmp_path / "watch").mkdir()
    return Watched(tmp_path / "watch")


def test_the_watch_itself_sees_a_connection_and_a_name_that_is_looked_up(watched: Watched) -> None:
    script = (
        "import socket; s = socket.socket(); s.settimeout(0.1); s.connect_ex(('192.0.2.1', 9));"
        "import contextlib\nwith contextlib.suppress(OSError): socket.getaddrinfo('example.invalid', 80)"
    )
    subprocess.run(
        watched.command([sys.executable, "-c", script]), env=watched.environment(dict(os.environ)), check=True
    )
    seen = "\n".join(watched.outside())
    assert "192.0.2.1" in seen
    assert "example.invalid" in seen
    if watched.has_strace:
        assert "sa_family=AF_INET" in seen


@pytest.mark.slow
@pytest.mark.parametrize(
    "command",
    [
        ["update", "{}", "--as-of", (AS_OF + dt.timedelta(days=1)).isoformat()],  # a day with something to do
        ["report", "{}", "--client", "ines", "--month", "2026-06"],
        ["report", "{}", "--roster", "--month", "2026-06", "--format", "html"],
        ["review", "{}"],
    ],
    ids=lambda command: " ".join(command[:1] + command[2:3]),
)
def test_no_command_asks_anything_of_another_machine_or_names_anybody_in_what_it_logs(
    command: list[str], workspace: Path, watched: Watched
) -> None:
    shutil.rmtree(workspace / ".setwright/verdicts", ignore_errors=True)
    filled = [part.format(workspace) for part in command]
    done = subprocess.run(
        watched.command([sys.executable, "-m", "pipeline.cli", *filled]),
        env=watched.environment(dict(os.environ)), capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert watched.outside() == []
    said = done.stderr + (done.stdout if command[0] == "update" else "")
    assert not any(word in said for word in PRIVATE)


@pytest.mark.browser
@pytest.mark.slow
def test_the_dashboard_asks_nothing_of_another_machine_and_logs_nobody(
    workspace: Path, watched: Watched
) -> None:
    import socket

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    log = watched.folder / "log"
    with log.open("w") as handle:
        server = subprocess.Popen(
            watched.command(server_command(port, "127.0.0.1")),
            env=watched.environment(server_environment(workspace)),
            stdout=handle, stderr=handle, start_new_session=True,
        )  # fmt: skip
        try:
            give_up_at = time.monotonic() + 90
            while not _is_up(port):
                assert time.monotonic() < give_up_at, log.read_text()
                assert server.poll() is None, log.read_text()
                time.sleep(0.2)
            _draw_pages(port)
        finally:
            os.killpg(server.pid, signal.SIGTERM)
            server.wait(timeout=30)
    assert watched.outside() == []
    assert not any(word in log.read_text(encoding="utf-8") for word in PRIVATE)


def _is_up(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=2):
            return True
    except OSError:
        return False


def _draw_pages(port: int) -> None:
    """Every page once, as a browser asks for them, where there is one."""
    chromium = next(
        (path for path in ("/usr/bin/chromium", "/usr/bin/chromium-browser") if Path(path).exists()), None
    )
    if chromium is None:
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page()
        for name in ("", "athlete?client=ines", "plan?client=ines", "data", "reports"):
            page.goto(f"http://127.0.0.1:{port}/{name}")
            page.locator(".sw-title").first.wait_for(timeout=60_000)
        browser.close()


@pytest.mark.slow
def test_everything_that_is_written_is_closed_to_other_users(workspace: Path, tmp_path: Path) -> None:
    for path in [workspace, *workspace.rglob("*")]:
        if not path.is_symlink():
            path.chmod(0o755 if path.is_dir() else 0o644)
    out = tmp_path / "out"
    out.mkdir()
    for command in (
        ["update", workspace, "--as-of", AS_OF],
        ["report", workspace, "--client", "ines", "--month", "2026-06"],
        ["next-week", workspace, "--all"],
        ["backup", workspace],
        ["export", workspace, "client", "--out", out / "client.csv"],
        ["export", workspace, "client", "--out", out / "client.xlsx"],
        ["export", workspace, "client", "--out", out / "client.parquet"],
        ["export-client", workspace, "ines", "--out", out / "ines.zip"],
        ["doctor", workspace, "--mend"],
    ):
        done = subprocess.run(
            [sys.executable, "-m", "pipeline.cli", *map(str, command)],
            capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        assert done.returncode == 0, (command, done.stderr)
    written = [
        workspace, workspace / "notes.duckdb", *out.iterdir(),
        *(path for name in (".setwright", "reports", "backups") for path in (workspace / name).rglob("*")),
    ]  # fmt: skip
    assert len(written) > 15
    open_to_others = [path for path in written if not path.is_symlink() and path.stat().st_mode & 0o077]
    assert open_to_others == []


def test_a_new_workspace_and_the_demo_are_closed_to_other_users(tmp_path: Path) -> None:
    make_workspace(tmp_path / "mine")
    make_demo(tmp_path / "demo")
    for name in ("mine", "demo"):
        assert (tmp_path / name).stat().st_mode & 0o077 == 0


def test_statistics_of_use_are_switched_off_before_a_library_could_send_any() -> None:
    assert "--browser.gatherUsageStats=false" in server_command(8501, "127.0.0.1")
    source = (ROOT / "pipeline/validate/expectations.py").read_text(encoding="utf-8")
    assert source.index("GX_ANALYTICS_ENABLED") < source.index("import great_expectations")
