"""Which day it is where the coach is."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from pipeline.errors import WorkspaceError
from pipeline.workspace import Settings, parse_settings


def test_two_ends_of_the_world_are_never_on_the_same_day_of_the_clock() -> None:
    west, east = (parse_settings(f'time_zone = "{zone}"').today() for zone in ("Etc/GMT+12", "Etc/GMT-14"))
    assert (east - west).days in (1, 2)
    assert west <= datetime.now(UTC).date() <= east


def test_without_a_zone_it_is_the_machines_own_day() -> None:
    before = date.today()
    assert before <= Settings().today() <= date.today()


@pytest.mark.parametrize("name", ["Atlantis/Centre", "../secret", "GMT plus two"])
def test_a_zone_nobody_knows_is_refused_by_name(name: str) -> None:
    with pytest.raises(WorkspaceError, match="time_zone"):
        parse_settings(f'time_zone = "{name}"')
