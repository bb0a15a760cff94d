"""The roster's rows, filters, orders and markup."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from dashboards.markup import Head, Html, element, show_date, show_figure, show_signed, spark_svg, table
from dashboards.roster_table import ORDERS, PainWords, RosterRow, matches, roster_markup
from dashboards.wording import STATE_WORDS, TERMS, state_word
from pipeline.contract.verdicts import STATES
from pipeline.notes import FollowUp, Note

WEEK = dt.date(2025, 6, 23)
ROW = RosterRow(
    place=1, client_id="c/1&x", name="Mara <b>A.</b>", state="plateau", since_week=WEEK, weeks_in_state=1,
    confidence=0.7, reason="Flat for 7 weeks.", needs_a_look=True, what_changed="Was steady last week.",
    last_log_date=WEEK, days_since_log=6, attendance_pct=92.0, set_completion_pct=88.0, hard_sets=21.0,
    planned_sets=24.0, unknown_effort_sets=0.0, slope_pct_per_week=-0.04, n_waiting=1, n_pain_notes=0,
    tags=("online", "evening"), plan="Block 2", phase="build", line=(100.0, 100.5, None, 101.0),
)  # fmt: skip


def markup(row: RosterRow = ROW, *, reviewed: bool = False, **more: object) -> str:
    notes = more.get("notes", {})
    due = more.get("due", {})
    return roster_markup(
        [row],
        {row.client_id} if reviewed else set(),
        notes,
        due,
        WEEK,
        bool(more.get("latest", True)),
        "urgency",
    )


def test_every_state_of_the_contract_has_a_word_a_shape_of_its_own_and_a_meaning() -> None:
    assert set(STATE_WORDS) == set(STATES)
    assert len({word.shape for word in STATE_WORDS.values()}) == len(STATES)
    assert len({word.word for word in STATE_WORDS.values()}) == len(STATES)
    assert all(word.meaning.endswith(".") for word in STATE_WORDS.values())


def test_the_meaning_of_over_reaching_keeps_to_the_wording_agreed() -> None:
    assert "consistent with accumulated fatigue" in STATE_WORDS["over_reaching"].meaning
    assert "over-trained" not in str(STATE_WORDS) + str(TERMS)


def test_a_state_of_a_later_version_is_shown_by_its_own_name() -> None:
    assert state_word("some_new_state").word == "some new state"


def test_names_and_ids_are_shown_as_text_and_kept_in_the_link() -> None:
    html = markup()
    assert "Mara &lt;b&gt;A.&lt;/b&gt;" in html
    assert "<b>A." not in html
    assert 'href="athlete?client=c%2F1%26x"' in html
    assert 'data-of="c/1&amp;x"' in html


def test_a_past_week_stays_in_the_link() -> None:
    assert "week=2025-06-23" in markup(latest=False)
    assert "week=" not in markup(latest=True)


def test_reason_and_change_stand_in_full_where_a_look_is_needed() -> None:
    assert "sw-one-line" not in markup().split("Flat for")[0].rsplit("<td", 1)[1]
    assert "Was steady last week." in markup()


def test_a_reviewed_row_says_so_to_eye_and_ear() -> None:
    assert 'aria-pressed="true"' in markup(reviewed=True)
    assert ">Reviewed</button>" in markup(reviewed=True)


def test_a_due_follow_up_and_a_note_stand_under_the_name() -> None:
    html = markup(
        due={"c/1&x": FollowUp("f", "c/1&x", WEEK, "knee", dt.datetime(2025, 6, 1))},
        notes={"c/1&x": Note("n", "c/1&x", WEEK, "sleeps badly", dt.datetime(2025, 6, 1))},
    )
    assert "follow up 23 Jun" in html
    assert "note: sleeps badly" in html


def test_sets_of_unknown_effort_are_told_apart_from_hard_sets() -> None:
    html = markup(replace(ROW, hard_sets=4.0, unknown_effort_sets=18.0))
    assert "4 / 24" in html
    assert "+18 ?" in html
    assert "18 sets of unknown effort" in html


def test_a_client_who_never_logged_has_dashes_and_no_picture() -> None:
    html = markup(
        replace(
            ROW, last_log_date=None, days_since_log=None, attendance_pct=None, hard_sets=None,
            planned_sets=None, slope_pct_per_week=None, line=(), since_week=None, weeks_in_state=None,
        )
    )  # fmt: skip
    assert "never" in html
    assert "sw-spark" not in html


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", True),
        ("mara", True),
        ("FLAT seven", False),
        ("flat 7", True),
        ("evening block", True),
        ("zzz", False),
    ],
)
def test_a_search_needs_all_its_words_in_any_case(text: str, found: bool) -> None:
    assert matches(ROW, text, [], [], []) is found


@pytest.mark.parametrize(
    ("states", "plans", "tags", "found"),
    [(["plateau"], [], [], True), (["steady"], [], [], False), ([], ["Block 2"], [], True),
     ([], ["Block 1"], [], False), ([], [], ["gym", "evening"], True), ([], [], ["gym"], False)],
)  # fmt: skip
def test_filters_leave_what_they_name(
    states: list[str], plans: list[str], tags: list[str], found: bool
) -> None:
    assert matches(ROW, "", states, plans, tags) is found


@pytest.mark.parametrize("order", ORDERS)
def test_rows_with_nothing_known_can_be_ordered_too(order: str) -> None:
    blank = replace(
        ROW, place=2, since_week=None, slope_pct_per_week=None, attendance_pct=None, last_log_date=None
    )  # fmt: skip
    assert {row.place for row in sorted([blank, ROW], key=ORDERS[order])} == {1, 2}


@pytest.mark.parametrize(
    ("value", "shown"),
    [(None, "–"), (0.0, "0"), (-0.04, "0"), (-0.5, "−0.5"), (2.0, "2"), (1234.56, "1,234.6")],
)
def test_figures_are_shown_as_one_reads_them(value: float | None, shown: str) -> None:
    assert show_figure(value) == shown


@pytest.mark.parametrize(("value", "shown"), [(0.3, "+0.3"), (0.0, "0"), (0.01, "0"), (-0.3, "−0.3")])
def test_changes_carry_their_sign(value: float, shown: str) -> None:
    assert show_signed(value) == shown


def test_dates_carry_the_year_only_where_asked() -> None:
    assert show_date(dt.date(2025, 6, 3)) == "3 Jun"
    assert show_date(dt.date(2025, 6, 3), year=True) == "3 Jun 2025"


def test_plain_text_is_escaped_once_and_markup_not_at_all() -> None:
    html = table([Head("<i>")], [["a & b"], [element("b", "c & d")]], caption="x")
    assert "&lt;i&gt;" in html
    assert "a &amp; b" in html
    assert "<b>c &amp; d</b>" in html
    assert isinstance(html, Html)


def test_a_small_picture_does_not_zoom_into_noise() -> None:
    """A change of half a per cent stays a small part of the height; one of ten per cent fills it."""

    def reach(values: list[float | None]) -> float:
        points = spark_svg(values, "x").split('points="')[1].split('"')[0].split()
        heights = [float(point.split(",")[1]) for point in points]
        return max(heights) - min(heights)

    assert reach([100.0, 100.5]) < 6
    assert reach([100.0, 110.0]) == pytest.approx(18)


def test_one_point_is_no_line() -> None:
    assert spark_svg([None, 100.0], "x") == ""


def test_words_on_pain_stand_in_the_row_as_they_were_written_warning_signs_first() -> None:
    pain = tuple(
        PainWords(note, WEEK, is_warning)
        for note, is_warning in (("dizzy <after> this", True), ("knee hurts", False), ("knee again", False))
    )
    html = markup(replace(ROW, state="steady", n_pain_notes=3, pain=pain))
    assert "Warning sign named: </b><q>dizzy &lt;after&gt; this</q>" in html
    assert "Pain is mentioned: </b><q>knee hurts</q>" in html
    assert "and 1 more" in html
    assert "knee again" not in html


def test_those_who_need_a_look_stand_under_their_own_heading_before_the_others() -> None:
    calm = replace(ROW, place=1, client_id="calm", name="Calm", needs_a_look=False)
    rows = sorted([calm, replace(ROW, place=2)], key=ORDERS["urgency"])
    html = roster_markup(rows, set(), {}, {}, WEEK, True, "urgency")
    look, rest = html.index("Need a look (1)"), html.index("No look needed (1)")
    assert look < html.index("Mara") < rest < html.index("Calm")
    assert "No look needed" not in roster_markup(rows, set(), {}, {}, WEEK, True, "name")
