"""What a coach reads: every state has a sentence, evidence that parses, and options that are no orders."""

from __future__ import annotations

import json
import re

import polars as pl
import pytest

from pipeline.analyse.states.options import suggest_options
from pipeline.analyse.states.roster import reason_with_waiting, urgency
from tests.laboratory.roster import simulate
from tests.laboratory.tables import load_tables, run_states


@pytest.fixture(scope="module")
def con():
    con = load_tables(simulate("impulse", 25, seed=5, weeks=44))
    con.execute("""
        insert into pain_note by name
        select client_id, max(session_date) as session_date, 'sharp pain in my knee' as note, 'pain' as word,
          false as is_warning_sign
        from logged_set where client_id in ('c0001', 'c0002', 'c0003') group by client_id
    """)
    con.execute("insert into client by name select 'quiet' as client_id, 'No Log Yet' as name")
    run_states(con)
    yield con
    con.close()


def test_every_state_comes_with_a_sentence_evidence_and_what_would_change_it(con) -> None:
    for table in ("client_week", "lift_week"):
        frame = con.table(table).pl()
        assert (
            frame.select(pl.col("reasons", "evidence", "would_change", "state", "confidence").null_count())
            .sum_horizontal()
            .item()
            == 0
        )
        assert frame["reasons"].str.ends_with(".").all()
        assert frame["confidence"].is_between(0, 1).all()
        for text in frame["evidence"].unique():
            for item in json.loads(text):
                assert set(item) == {"signal", "figure", "unit", "speaks", "text"}
                assert item["speaks"] in ("for", "against")
                assert isinstance(item["figure"], float)


@pytest.mark.parametrize(
    "state", ["progressing", "plateau", "over_reaching", "off_plan", "planned_deload", "returning"]
)
def test_each_state_shows_a_figure_that_speaks_for_it(con, state: str) -> None:
    frame = con.table("client_week").pl().filter(pl.col("state") == state)
    assert len(frame) > 0
    spoken = [{item["speaks"] for item in json.loads(text)} for text in frame["evidence"]]
    assert sum("for" in speaks for speaks in spoken) >= 0.95 * len(spoken)


def test_the_words_go_no_further_than_the_log_can_tell(con) -> None:
    text = " ".join(
        con.sql("select string_agg(reasons || evidence || would_change, ' ') from client_week").fetchall()[0]
    )
    options = con.sql("select string_agg(options, ' ') from roster_review").fetchall()[0][0]
    assert not re.search(r"over-?train|injur|must|diagnos", text + options, re.IGNORECASE)
    fatigue = con.sql("select reasons from client_week where state = 'over_reaching'").fetchall()
    assert all(row[0].startswith("Pattern consistent with accumulated fatigue") for row in fatigue)


def test_an_unsure_plateau_says_so_and_a_steady_week_names_a_possible_one(con) -> None:
    weeks = con.sql("select state, confidence, reasons from client_week").pl()
    plateau = weeks.filter(pl.col("state") == "plateau")
    unsure = plateau["reasons"].str.contains("may still be slow progress")
    assert unsure.to_list() == (plateau["confidence"] < 0.4995).to_list()
    assert 0 < unsure.sum() < len(plateau)
    possible = weeks.filter(pl.col("reasons").str.contains("A plateau is possible"))
    assert set(possible["state"]) == {"steady"}
    stated = possible["reasons"].str.extract(r"about (\d+) %\.$").cast(pl.Int64)
    assert stated.is_between(30, 50).all()


def test_no_week_is_confident_beyond_what_was_measured_in_the_laboratory(con) -> None:
    frame = con.sql("select confidence from client_week where state = 'plateau'").pl()
    assert frame["confidence"].max() < 0.95


def test_the_roster_holds_every_client_once_in_order_of_urgency(con) -> None:
    frame = con.sql("select * from roster_review order by place").pl()
    assert len(frame) == 26
    assert frame["place"].to_list() == list(range(1, 27))
    assert frame["needs_a_look"].is_sorted(descending=True)
    for look in (True, False):
        assert frame.filter(pl.col("needs_a_look") == look)["urgency"].is_sorted(descending=True)
    quiet = frame.filter(pl.col("client_id") == "quiet").row(0, named=True)
    assert (quiet["state"], quiet["reason"]) == ("no_recent_log", "No log has come in yet.")
    assert quiet["needs_a_look"]


def test_a_change_of_state_is_told_and_no_change_is_silent(con) -> None:
    frame = con.sql(
        "select state, previous_state, what_changed from roster_review where week_start is not null"
    ).pl()
    same = (frame["state"] == frame["previous_state"]) | frame["previous_state"].is_null()
    assert (frame.filter(same)["what_changed"] == "").all()
    assert (frame.filter(~same)["what_changed"] != "").all()


def test_a_pain_note_brings_the_client_up_and_puts_talking_first(con) -> None:
    frame = con.sql("select * from roster_review where n_pain_notes > 0").pl()
    assert len(frame) >= 1
    assert frame["needs_a_look"].all()
    for text in frame["options"]:
        assert json.loads(text)[0]["option"].startswith("Talk about the pain first")


ADDS_WORK = re.compile(r"load step|sets more|go on as planned", re.IGNORECASE)


@pytest.mark.parametrize(
    "state", ["progressing", "plateau", "steady", "returning", "over_reaching", "off_plan"]
)
def test_pain_suppresses_every_option_that_adds_work(state: str) -> None:
    row = {
        "state": state,
        "n_pain_notes": 1,
        "slope_pct_per_week": 0.1,
        "reserve_lifts_2": 5,
        "reserve_change_2": 3.0,
        "less_muscle": "quads",
        "less_sets": 3.0,
    }
    assert not any(ADDS_WORK.search(option["option"]) for option in suggest_options(row))


def test_without_pain_a_stall_with_repetitions_to_spare_may_get_a_small_load_step() -> None:
    row = {
        "state": "plateau",
        "slope_pct_per_week": 0.02,
        "reserve_lifts_2": 5,
        "reserve_change_2": 3.0,
        "less_muscle": "side_delts",
        "less_sets": 3.0,
    }
    options = suggest_options(row)
    assert any("small load step" in option["option"] for option in options)
    assert any("side delts" in option["option"] for option in options)
    assert all(option["because"] for option in options)


def test_a_warning_sign_sends_the_client_to_licensed_medical_care_before_anything_else() -> None:
    first = suggest_options({"state": "progressing", "n_pain_notes": 1, "has_warning": True})[0]
    assert "licensed medical care" in first["option"]


def test_a_reason_that_rests_on_gaps_says_that_records_wait() -> None:
    frame = pl.DataFrame(
        {"state": ["off_plan", "off_plan", "plateau"], "n_waiting": [40, 0, 40], "reason": ["Missed."] * 3}
    )
    said = frame.select(reason_with_waiting())["reason"].to_list()
    assert said[1:] == ["Missed.", "Missed."]
    assert "40 of this client's records wait for an answer" in said[0]


def test_a_warning_sign_comes_before_any_state_however_sure() -> None:
    steady = {
        "state": "steady",
        "confidence": 0.5,
        "weeks_in_state": 9,
        "has_warning": True,
        "n_pain_notes": 1,
    }
    tired = {"state": "over_reaching", "confidence": 0.99, "weeks_in_state": 1, "has_warning": False}
    frame = pl.DataFrame([steady, {**tired, "n_pain_notes": 0}]).with_columns(n_waiting=pl.lit(0))
    first, second = frame.select(urgency=urgency())["urgency"].to_list()
    assert first > second
    assert first <= 100
