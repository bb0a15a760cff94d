"""Served to others only with sign-in: who comes in, who does not, and who may only look."""

from __future__ import annotations

import secrets
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from local_provider import CLIENT_ID, CLIENT_SECRET, Provider, provider_on
from made_workspace import PEOPLE, WEEK

from dashboards.app.sign_in import role_of_person, sign_in_secrets
from dashboards.launch import serve, server_command, server_environment
from pipeline.answers import write_answer
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.notes import NotesStore
from pipeline.sign_in import SECRET_VARIABLE, SignIn
from pipeline.workspace import Workspace, open_workspace, parse_settings

LISTS = SignIn("https://a.org", "https://b.org", "c", ("coach@a.org",), ("trainee@a.org",))


def table(**changes: Any) -> str:
    """A [sign_in] table of workspace.toml."""
    values = {
        "address": "https://roster.a.org", "provider": "https://who.a.org/.well-known/openid-configuration",
        "client_id": "pages", "coaches": ["coach@a.org"], **changes,
    }  # fmt: skip
    lines = [f"{key} = {value!r}".replace("'", '"') for key, value in values.items() if value is not None]
    return "\n".join(["[sign_in]", *lines])


@pytest.mark.parametrize(
    ("claims", "role"),
    [
        ({"email": "coach@a.org", "email_verified": True}, "coach"),
        ({"email": " Coach@A.org", "email_verified": True}, "coach"),
        ({"email": "trainee@a.org", "email_verified": "true"}, "reader"),
        ({"email": "coach@a.org", "email_verified": False}, None),
        ({"email": "coach@a.org"}, None),
        ({"email": "coach@a.org.evil.org", "email_verified": True}, None),
        ({"email": "", "email_verified": True}, None),
        ({"email": None, "email_verified": True}, None),
        ({"email": ["coach@a.org"], "email_verified": True}, None),
        ({}, None),
    ],
)
def test_only_a_proved_address_on_the_list_comes_in(claims: dict[str, Any], role: str | None) -> None:
    assert role_of_person(LISTS, claims) == role


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"address": None}, "lacks address"),
        ({"address": "http://roster.a.org"}, "no https"),
        ({"provider": "who.a.org"}, "no https"),
        ({"coaches": []}, "lets nobody in"),
        ({"coaches": ["everyone"]}, "coaches must be a list"),
        ({"coaches": "coach@a.org"}, "coaches must be a list"),
        ({"readers": ["*"]}, "readers must be a list"),
        ({"reader": ["x@a.org"]}, "has no 'reader'"),
        ({"client_secret": "x"}, "has no 'client_secret'"),
    ],
)
def test_a_sign_in_that_is_set_up_wrong_is_refused_by_name(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(WorkspaceError, match=said):
        parse_settings(table(**changes))


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.4", "roster.a.org", "::"])  # noqa: S104
def test_without_sign_in_the_pages_are_served_on_no_other_address(host: str, workspace: Path) -> None:
    with pytest.raises(SetwrightError, match="no sign-in"):
        serve(workspace, 8501, host)


def test_with_sign_in_but_without_its_secret_nothing_is_served(
    workspace: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(SECRET_VARIABLE, raising=False)
    (workspace / "workspace.toml").write_text(table(), encoding="utf-8")
    with pytest.raises(WorkspaceError, match="secret"):
        serve(workspace, 8501, "0.0.0.0")  # noqa: S104


def test_a_secret_that_others_can_read_is_refused(workspace: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(SECRET_VARIABLE, raising=False)
    (workspace / "workspace.toml").write_text(table(), encoding="utf-8")
    path = workspace / ".setwright/sign_in_secret"
    path.write_text("x")
    path.chmod(0o644)
    with pytest.raises(WorkspaceError, match="read by others"):
        sign_in_secrets(open_workspace(workspace))
    path.chmod(0o600)
    assert sign_in_secrets(open_workspace(workspace))["auth"]["client_secret"] == "x"


def test_cookies_are_signed_with_a_secret_that_is_made_once_and_kept_to_the_owner(
    workspace: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SECRET_VARIABLE, "x")
    (workspace / "workspace.toml").write_text(table(), encoding="utf-8")
    first = sign_in_secrets(open_workspace(workspace))["auth"]["cookie_secret"]
    assert len(first) == 64
    assert sign_in_secrets(open_workspace(workspace))["auth"]["cookie_secret"] == first
    assert (workspace / ".setwright/sign_in_cookie").stat().st_mode & 0o077 == 0


def test_every_way_to_write_refuses_someone_who_may_only_look(workspace: Path) -> None:
    place = Workspace(workspace, open_workspace(workspace).settings, is_read_only=True)
    notes = NotesStore(place.notes_db, place.is_read_only)
    before = place.notes_db.read_bytes()
    writings = (
        lambda: notes.write_note("ines", WEEK, "x"),
        lambda: notes.mark_reviewed(["ines"], WEEK),
        lambda: notes.unmark_reviewed(["ines"], WEEK),
        lambda: notes.write_follow_up("ines", WEEK, "x"),
        lambda: notes.end_follow_up("x"),
        lambda: notes.end_note("x"),
        lambda: notes.write_month_text("ines", "2026-06", "report", "x"),
        lambda: notes.forget_client("ines"),
        lambda: write_answer(place, "unit-0123456789", "kg"),
        lambda: place.lock().__enter__(),
    )
    for write in writings:
        with pytest.raises(WorkspaceError, match="not change it"):
            write()
    assert place.notes_db.read_bytes() == before
    assert notes.read_notes("ines")


def test_the_server_is_told_to_guard_forms_and_to_answer_to_its_own_names_only() -> None:
    command = server_command(8501, "0.0.0.0", LISTS)  # noqa: S104
    assert "--server.enableXsrfProtection=true" in command
    assert "--server.enableCORS=true" in command
    assert "--server.allowedHosts=a.org" in command
    assert server_environment(Path("w"), LISTS)["SETWRIGHT_MUST_SIGN_IN"] == "1"


# ---- in a browser -------------------------------------------------------------------------------


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def shared(published: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Provider, Path]]:
    """Pages served with sign-in by the local provider: their address, the provider, the workspace."""
    root = Path(shutil.copytree(published, tmp_path_factory.mktemp("shared") / "w", symlinks=True))
    port, provider_port = free_port(), free_port()
    with provider_on(provider_port) as provider:
        settings = table(
            address=f"http://localhost:{port}",
            provider=f"{provider.address}/.well-known/openid-configuration",
            client_id=CLIENT_ID,
            coaches=["coach@a.org"],
            readers=["trainee@a.org"],
        )
        (root / "workspace.toml").write_text(settings, encoding="utf-8")
        sign_in = open_workspace(root).settings.sign_in
        log = (root / "server.log").open("w")
        server = subprocess.Popen(
            server_command(port, "127.0.0.1", sign_in),
            env={**server_environment(root, sign_in), SECRET_VARIABLE: CLIENT_SECRET},
            stdout=log,
            stderr=log,
        )
        address = f"http://localhost:{port}"
        try:
            give_up_at = time.monotonic() + 60
            while not answers(f"{address}/_stcore/health"):
                assert time.monotonic() < give_up_at, (root / "server.log").read_text()
                assert server.poll() is None, (root / "server.log").read_text()
                time.sleep(0.2)
            yield address, provider, root
        finally:
            server.terminate()
            server.wait(timeout=20)
            log.close()


def answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address, timeout=2):
            return True
    except OSError:
        return False


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    chromium = next(
        (path for path in ("/usr/bin/chromium", "/usr/bin/chromium-browser") if Path(path).exists()), None
    )
    if chromium is None:
        pytest.skip("no browser here")
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context()
    one = context.new_page()
    one.set_default_timeout(60_000)
    yield one
    context.close()


def sign_in(page: Any, address: str) -> None:
    page.goto(address)
    page.get_by_role("button", name="Sign in").click()


@pytest.mark.browser
def test_nobody_sees_a_client_before_signing_in(shared: tuple[str, Provider, Path], page: Any) -> None:
    for where in ("", "/athlete?client=ines", "/data", "/reports"):
        page.goto(shared[0] + where)
        page.get_by_role("button", name="Sign in").wait_for()
        assert not any(name in page.content() for name in PEOPLE.values())


@pytest.mark.browser
def test_a_coach_on_the_list_comes_in_and_out_again(shared: tuple[str, Provider, Path], page: Any) -> None:
    address, provider, _ = shared
    provider.person = {"email": "coach@a.org", "email_verified": True}
    sign_in(page, address)
    page.get_by_text(PEOPLE["ines"]).first.wait_for()
    assert provider.refused == []
    cookies = [cookie for cookie in page.context.cookies() if "user" in cookie["name"]]
    assert cookies
    assert all(cookie["httpOnly"] and cookie["sameSite"] == "Lax" for cookie in cookies)


@pytest.mark.browser
@pytest.mark.parametrize(
    "person",
    [{"email": "someone@a.org", "email_verified": True}, {"email": "coach@a.org", "email_verified": False}],
    ids=["not on the list", "not proved"],
)
def test_someone_who_is_not_on_the_list_or_not_proved_sees_nothing(
    person: dict[str, Any], shared: tuple[str, Provider, Path], page: Any
) -> None:
    address, provider, _ = shared
    provider.person = person
    sign_in(page, address)
    page.get_by_text("not on the list").wait_for()
    assert not any(name in page.content() for name in PEOPLE.values())


@pytest.mark.browser
def test_a_reader_sees_the_roster_and_has_no_way_to_write(
    shared: tuple[str, Provider, Path], page: Any
) -> None:
    address, provider, root = shared
    notes = (root / "notes.duckdb").read_bytes()
    provider.person = {"email": "trainee@a.org", "email_verified": True}
    sign_in(page, address)
    page.get_by_text(PEOPLE["ines"]).first.wait_for()
    for where, writes in (
        ("/athlete?client=ines", ("Keep", "Remove", "Done")),
        ("/data", ("Update", "Keep")),
        ("/reports?client=ines", ("Keep",)),
    ):
        page.goto(address + where)
        page.locator(".sw-title").first.wait_for()
        page.wait_for_timeout(1500)
        for label in writes:
            assert page.get_by_role("button", name=label, exact=True).count() == 0, (where, label)
    assert (root / "notes.duckdb").read_bytes() == notes


@pytest.mark.browser
def test_a_forged_cookie_is_worth_nothing(shared: tuple[str, Provider, Path], page: Any) -> None:
    address = shared[0]
    page.context.add_cookies(
        [
            {"name": "_streamlit_user", "value": f"2|1:0|10:1|{name}", "url": address}
            for name in (secrets.token_hex(8), '{"is_logged_in": true, "email": "coach@a.org"}')
        ]
    )
    page.goto(address)
    page.get_by_role("button", name="Sign in").wait_for()


@pytest.mark.browser
def test_every_answer_carries_the_headers_and_other_names_get_none(
    shared: tuple[str, Provider, Path],
) -> None:
    with urllib.request.urlopen(shared[0]) as answer:
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert "connect-src 'self'" in answer.headers["content-security-policy"]
    asked = urllib.request.Request(shared[0], headers={"Host": "elsewhere.example.org"})
    with pytest.raises(urllib.error.HTTPError, match="421"):
        urllib.request.urlopen(asked)


@pytest.mark.browser
def test_the_servers_log_names_nobody(shared: tuple[str, Provider, Path]) -> None:
    said = (shared[2] / "server.log").read_text(encoding="utf-8")
    assert "Traceback" not in said
    assert not any(name in said for name in PEOPLE.values())
    assert (shared[2] / "server.log").stat().st_size < 20_000
