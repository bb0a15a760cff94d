"""The server of the pages: what it is told, and what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from dashboards.launch import is_loopback, serve, server_command, server_environment
from pipeline.errors import SetwrightError


@pytest.mark.parametrize(
    ("host", "is_own"),
    [("127.0.0.1", True), ("localhost", True), ("::1", True), ("127.8.9.1", True),
     ("0.0.0.0", False),  # noqa: S104 it is what must be told apart
     ("192.168.1.4", False), ("::", False), ("example.org", False), ("", False)],
)  # fmt: skip
def test_only_this_machine_counts_as_this_machine(host: str, is_own: bool) -> None:
    assert is_loopback(host) is is_own


def test_pages_without_sign_in_are_not_served_to_others(tmp_path: Path) -> None:
    (tmp_path / "inbox").mkdir()
    with pytest.raises(SetwrightError, match="no sign-in"):
        serve(tmp_path, 8501, "0.0.0.0")  # noqa: S104 refused is what is tested


def test_no_usage_statistics_no_watching_and_an_address_are_always_set() -> None:
    command = server_command(8600, "127.0.0.1")
    for flag in (
        "--browser.gatherUsageStats=false", "--server.fileWatcherType=none", "--server.headless=true",
        "--server.address=127.0.0.1", "--server.port=8600", "--server.enableXsrfProtection=true",
    ):  # fmt: skip
        assert flag in command


def test_the_workspace_is_passed_by_its_full_path_from_any_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine").mkdir()
    monkeypatch.chdir(tmp_path)
    assert server_environment(Path("mine"))["SETWRIGHT_WORKSPACE"] == str(tmp_path / "mine")


def test_pages_and_sheets_name_no_other_host() -> None:
    folder = Path(__file__).resolve().parents[2] / "dashboards"
    for path in [*folder.glob("*.py"), *folder.glob("pages/*.py"), *folder.glob("charts/*.py")]:
        text = path.read_text(encoding="utf-8")
        text = text.replace("http://www.w3.org/2000/svg", "").replace("http://127.0.0.1", "")
        assert "http://" not in text, path
        assert "https://" not in text, path
        assert ":material/" not in text, path
