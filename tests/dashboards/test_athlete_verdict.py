"""The head of the athlete's page: what the reason says is not said again."""

from __future__ import annotations

import json

import pytest

from dashboards.athlete_verdict import evidence_list, is_said

REASON = "The plan is not being done: 5 of 16 planned sessions missed in four weeks, 26 % of the sets done."


@pytest.mark.parametrize(
    ("text", "is_in_it"),
    [
        ("5 of 16 planned sessions missed in four weeks", True),
        ("the plan is not being done 5 of 16", True),
        (REASON, True),
        ("5 of 16 planned sessions missed in three weeks", False),
        ("-26 % of the sets done", False),
        ("+26 % of the sets done", False),
        ("−26 % of the sets done", False),
    ],
)
def test_only_what_stands_in_the_reason_counts_as_said(text: str, is_in_it: bool) -> None:
    assert is_said(text, REASON) == is_in_it


def test_evidence_leaves_out_what_the_reason_says_and_names_each_side_once() -> None:
    signals = [
        {"speaks": "for", "text": "5 of 16 planned sessions missed in four weeks"},
        {"speaks": "for", "text": "sleep is down by an hour"},
        {"speaks": "for", "text": "soreness is up"},
        {"speaks": "against", "text": "two sessions wait for an answer"},
    ]
    shown = evidence_list(json.dumps(signals), REASON)
    assert "5 of 16" not in shown
    assert shown.count("Speaks for it") == 1
    assert shown.index("soreness is up") < shown.index("Speaks against it") < shown.index("two sessions wait")


@pytest.mark.parametrize("text", [None, "", "[]", "no json", '{"speaks": "for"}', "[1, 2]"])
def test_evidence_that_says_nothing_shows_nothing(text: str | None) -> None:
    assert evidence_list(text, REASON) == ""
