"""The main ways through the pages, in a real browser."""

from __future__ import annotations

import datetime as dt
import re
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from made_history import AS_OF, make_workspace
from playwright.sync_api import Browser, Page, expect
from watching import watched

from dashboards.launch import served
from pipeline.notes import NotesStore

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
LAST_WEEK = AS_OF - dt.timedelta(days=6)


def test_the_roster_lists_everyone_most_urgent_first(page: Page, site: str) -> None:
    page.goto(site)
    rows = page.locator(".sw-live tbody tr:not(.sw-group)")
    expect(rows).to_have_count(9)
    expect(rows.first).to_contain_text("No recent log")
    expect(rows.last).to_contain_text("Steady")


def test_a_client_is_marked_as_reviewed_and_still_is_after_reloading(
    page: Page, site: str, made_workspace: Path
) -> None:
    page.goto(site)
    row = page.locator(".sw-live tbody tr:not(.sw-group)").filter(has_text="Leila A.")
    row.get_by_role("button", name="Reviewed: Leila A.").click()
    expect(row.get_by_role("button", name="Reviewed: Leila A.")).to_have_attribute("aria-pressed", "true")
    page.reload()
    expect(row.get_by_role("button", name="Reviewed: Leila A.")).to_have_text("Reviewed")
    assert len(NotesStore(made_workspace / "notes.duckdb").read_reviewed(LAST_WEEK)) == 1


def test_a_note_written_from_the_roster_stands_in_the_row(page: Page, site: str) -> None:
    page.goto(site)
    row = page.locator(".sw-live tbody tr:not(.sw-group)").filter(has_text="Pavel A.")
    row.get_by_role("button", name="Note on Pavel A.").click()
    window = page.get_by_role("dialog")
    window.get_by_label("New note").fill("ask about his knee <i>gently</i>")
    window.get_by_role("button", name="Keep").click()
    expect(row).to_contain_text("ask about his knee <i>gently</i>")


def test_a_double_click_keeps_one_note_and_one_mark(page: Page, site: str, made_workspace: Path) -> None:
    page.goto(f"{site}/athlete?client=c004")
    page.get_by_label("New note").fill("twice pressed")
    page.get_by_role("button", name="Keep").dblclick()
    expect(page.get_by_text("twice pressed")).to_be_visible()
    page.get_by_role("button", name="Mark reviewed").dblclick()
    expect(page.get_by_role("button", name="Reviewed ✓")).to_be_visible()
    store = NotesStore(made_workspace / "notes.duckdb")
    assert [note.body for note in store.read_notes("c004")] == ["twice pressed"]
    assert "c004" in store.read_reviewed(LAST_WEEK)


def test_search_and_filters_leave_whom_they_name(page: Page, site: str) -> None:
    page.goto(site)
    page.get_by_placeholder("Name, reason, tag").fill("plateau")
    page.get_by_placeholder("Name, reason, tag").press("Enter")
    expect(page.get_by_text("Nobody matches")).to_be_visible()
    page.get_by_placeholder("Name, reason, tag").fill("flat for 7")
    page.get_by_placeholder("Name, reason, tag").press("Enter")
    expect(page.locator(".sw-live tbody tr:not(.sw-group)")).to_have_count(1)


def test_a_heading_orders_the_roster(page: Page, site: str) -> None:
    page.goto(site)
    page.locator(".sw-live").get_by_role("button", name="Client").click()
    expect(page.locator(".sw-live tbody tr:not(.sw-group)").first).to_contain_text("Aiko A.")


def test_a_click_on_a_name_opens_the_athlete_and_the_address_can_be_kept(
    page: Page, site: str, browser: Browser
) -> None:
    page.goto(site)
    page.get_by_role("link", name="Mara A.").click()
    expect(page.get_by_role("heading", name=re.compile("Mara A"))).to_be_visible()
    expect(page).to_have_url(re.compile(r"/athlete\?client=c001$"))
    with watched(browser, site) as other:
        other.goto(page.url)
        expect(other.get_by_role("heading", name=re.compile("Mara A"))).to_be_visible()
        expect(other.get_by_text("left shoulder pinches")).to_be_visible()


def test_the_next_client_and_the_mark_are_a_click_away(page: Page, site: str) -> None:
    page.goto(f"{site}/athlete?client=c001")
    expect(page.get_by_role("heading", name=re.compile("Mara A"))).to_be_visible()
    page.get_by_role("button", name="Next →").click()
    expect(page.get_by_role("heading", name=re.compile("Aiko A"))).to_be_visible()
    expect(page).to_have_url(re.compile("client=c005"))
    page.get_by_role("button", name="Mark reviewed").click()
    expect(page.get_by_role("button", name="Reviewed ✓")).to_be_visible()


def test_charts_are_drawn_and_described(page: Page, site: str) -> None:
    page.goto(f"{site}/athlete?client=c001")
    expect(
        page.locator("[data-testid=stVegaLiteChart] canvas, [data-testid=stVegaLiteChart] svg").first
    ).to_be_visible()
    page.wait_for_function("document.querySelectorAll('[data-testid=stVegaLiteChart]').length >= 7")


def test_a_past_week_opens_by_its_address_and_the_roster_keeps_it(page: Page, site: str) -> None:
    week = LAST_WEEK - dt.timedelta(weeks=6)
    page.goto(f"{site}/?week={week.isoformat()}")
    expect(page.get_by_text("As it looked on")).to_be_visible()
    page.locator(".sw-live a").first.click()
    expect(page).to_have_url(re.compile(f"week={week.isoformat()}"))
    expect(page.get_by_text("As it looked on")).to_be_visible()


def test_the_roster_works_by_keyboard_alone(page: Page, site: str) -> None:
    page.goto(site)
    link = page.get_by_role("link", name="Mara A.")
    expect(link).to_be_visible()
    for _ in range(2):
        # past the way to the content, to the first page of the menu
        page.keyboard.press("Tab")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    link.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Mara A"))).to_be_visible()


def test_a_report_is_previewed_made_and_downloaded(page: Page, site: str) -> None:
    page.goto(f"{site}/reports?client=c003&month=2025-06")
    expect(page.frame_locator("iframe").get_by_text("Progress report, June 2025")).to_be_visible()
    page.get_by_role("button", name="Make it").click()
    with page.expect_download() as coming:
        page.get_by_role("button", name="Download").click()
    assert coming.value.suggested_filename == "c003-2025-06.pdf"
    assert Path(coming.value.path()).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("where", ["", "athlete?client=c001", "plan?client=c001", "data", "reports"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_page_is_quiet_and_fits(browser: Browser, site: str, where: str, scheme: str) -> None:
    with watched(browser, site, width=1440, scheme=scheme) as one:
        one.goto(f"{site}/{where}")
        expect(one.locator(".sw-title").first).to_be_visible()
        one.wait_for_selector('.stApp[data-test-script-state="notRunning"]')
        main = "document.querySelector('[data-testid=stMain]')"
        for width in (1440, 1024, 390):
            one.set_viewport_size({"width": width, "height": 900})
            one.wait_for_timeout(400)
            wider = one.evaluate(f"{main}.scrollWidth > {main}.clientWidth + 1")
            assert not wider, f"at {width} pixels"
        paper = one.evaluate("getComputedStyle(document.querySelector('.stApp')).backgroundColor")
        light = sum(int(part) for part in re.findall(r"\d+", paper)[:3]) > 380
        assert light == (scheme == "light")
        ink = one.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--sw-ink').trim()")
        assert ink == ("#1f2a33" if scheme == "light" else "#e4e9ec")


def test_printed_pages_leave_out_what_can_only_be_pressed(page: Page, site: str) -> None:
    page.goto(f"{site}/athlete?client=c001")
    expect(page.get_by_role("heading", name=re.compile("Mara A"))).to_be_visible()
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="Mark reviewed")).to_be_hidden()
    expect(page.get_by_text("left shoulder pinches")).to_be_visible()
    overflow = page.evaluate("getComputedStyle(document.querySelector('[data-testid=stMain]')).overflow")
    assert overflow == "visible"


def test_ending_the_command_ends_its_server(tmp_path: Path) -> None:
    (tmp_path / "inbox").mkdir()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    call = f"serve(Path({str(tmp_path)!r}), {port})"
    code = f"from pathlib import Path; from dashboards.launch import serve; {call}"
    command = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.DEVNULL)
    give_up_at = time.monotonic() + 60
    while not is_listening(port):
        assert time.monotonic() < give_up_at
        time.sleep(0.2)
    command.terminate()
    command.wait(timeout=30)
    assert not is_listening(port)


def test_a_page_of_another_name_pointed_at_this_machine_gets_no_session(site: str) -> None:
    port = int(site.rsplit(":", 1)[1])

    def asks_as(host: str) -> bytes:
        with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
            line.sendall(
                f"GET /_stcore/stream HTTP/1.1\r\nHost: {host}\r\nUpgrade: websocket\r\n"
                "Connection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n"
                "Sec-WebSocket-Version: 13\r\n\r\n".encode()
            )
            return line.recv(64)

    assert b" 101 " in asks_as(f"127.0.0.1:{port}")
    assert b" 101 " not in asks_as("evil.example")


def is_listening(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def test_an_empty_workspace_says_how_to_begin(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "w" / "inbox").mkdir(parents=True)
    (tmp_path / "w" / "workspace.toml").write_text("", encoding="utf-8")
    with served(tmp_path / "w") as address, watched(browser, address) as one:
        one.goto(address)
        expect(one.get_by_text("Nothing has been read yet")).to_be_visible()


def test_two_hundred_clients_with_very_long_names_stay_readable(browser: Browser, tmp_path: Path) -> None:
    workspace = make_workspace(tmp_path / "w", n_clients=200, n_weeks=8, long_names=True, weeks_of_sets=1)
    with served(workspace) as address, watched(browser, address, width=1024) as one:
        one.goto(address)
        expect(one.locator(".sw-live tbody tr:not(.sw-group)")).to_have_count(100)
        one.get_by_role("button", name="Show all 200 clients").click()
        expect(one.locator(".sw-live tbody tr:not(.sw-group)")).to_have_count(200)
        tallest = one.evaluate(
            "Math.max(...[...document.querySelectorAll('.sw-live tbody tr')].map(r => r.offsetHeight))"
        )
        assert tallest < 110


def test_another_lift_is_drawn_without_drawing_the_page_anew(page: Page, site: str) -> None:
    page.goto(f"{site}/athlete?client=c001")
    lifts = page.get_by_role("radiogroup", name="Lift in full")
    expect(lifts).to_be_visible()
    lifts.get_by_role("radio").nth(1).click()
    expect(lifts.get_by_role("radio").nth(1)).to_have_attribute("aria-checked", "true")
    expect(page.get_by_role("heading", name=re.compile("Mara A"))).to_be_visible()
