"""An update from the page: the day it reads up to, and that one runs at a time and goes on by itself."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import pytest

from dashboards import running_update
from dashboards.running_update import begin_update, day_to_read_up_to, latest_update, summary_line
from pipeline.errors import WorkspaceError
from pipeline.workspace import Workspace, open_workspace

TODAY = dt.date(2026, 11, 25)


def days_ago(n: int) -> dt.date:
    return TODAY - dt.timedelta(days=n)


@pytest.mark.parametrize(
    ("read_up_to", "published", "suggested"),
    [
        (None, None, TODAY),
        (days_ago(7), days_ago(7), TODAY),
        (days_ago(40), days_ago(40), TODAY),
        (days_ago(8), days_ago(7), TODAY),
        (days_ago(150), days_ago(0), days_ago(150)),
        (days_ago(150), days_ago(20), days_ago(150)),
        (days_ago(-3), days_ago(0), TODAY),
    ],
    ids=[
        "no history yet", "last Monday", "back from a long holiday", "up to the evening before",
        "an example held at its day", "a look back some weeks ago", "a clock that ran ahead",
    ],
)  # fmt: skip
def test_today_unless_the_history_is_held_at_an_earlier_day(
    read_up_to: dt.date | None, published: dt.date | None, suggested: dt.date
) -> None:
    assert day_to_read_up_to(read_up_to, published, TODAY) == suggested


@pytest.fixture
def place(tmp_path: Path) -> Workspace:
    """A workspace without anything in it."""
    (tmp_path / "workspace.toml").write_text("", encoding="utf-8")
    return open_workspace(tmp_path)


def says(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    """Have an update run this Python instead."""
    monkeypatch.setattr(running_update, "update_command", lambda *_: [sys.executable, "-u", "-c", code])


def test_a_second_press_joins_the_update_that_runs(place: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    says(monkeypatch, "import time; time.sleep(60)")
    first = begin_update(place, TODAY)
    try:
        assert not first.is_over
        assert begin_update(place, TODAY) is first
        assert latest_update(place) is first
    finally:
        first.process.kill()
        first.listener.join(10)


def test_an_update_is_heard_to_its_end_though_nobody_looks(
    place: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    says(monkeypatch, "print('Starting'); print(); print('Read 3 files as of today')")
    begun = begin_update(place, TODAY)
    begun.listener.join(30)
    assert begun.is_over
    assert begun.went_well
    assert begun.lines == ["Starting", "Read 3 files as of today"]
    assert summary_line(begun.lines) == "Read 3 files as of today"


def test_after_an_update_that_failed_another_can_begin(
    place: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    says(monkeypatch, "import sys; sys.exit('Another update is running')")
    failed = begin_update(place, TODAY)
    failed.listener.join(30)
    assert failed.is_over
    assert not failed.went_well
    assert failed.lines == ["Another update is running"]
    again = begin_update(place, TODAY)
    again.listener.join(30)
    assert again is not failed


def test_someone_who_may_only_look_begins_no_update(place: Workspace) -> None:
    reader = Workspace(**{**vars(place), "is_read_only": True})
    with pytest.raises(WorkspaceError, match="not change"):
        begin_update(reader, TODAY)
