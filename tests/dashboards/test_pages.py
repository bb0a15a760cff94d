"""Every page, run by Streamlit's own test runner."""

from __future__ import annotations

import datetime as dt
import os
import re
from pathlib import Path

import duckdb
import pytest
from made_history import AS_OF, LONG_NAME, make_workspace
from streamlit.testing.v1 import AppTest

from pipeline.notes import NotesStore

PAGES = Path(__file__).resolve().parents[2] / "dashboards" / "pages"
LAST_WEEK = AS_OF - dt.timedelta(days=6)
PATIENCE_S = 30


def run_page(name: str, **address: str) -> AppTest:
    """A page as it is drawn at an address."""
    test = AppTest.from_file(str(PAGES / f"{name}.py"), default_timeout=PATIENCE_S)
    for key, value in address.items():
        test.query_params[key] = value
    return test.run()


def words_of(test: AppTest) -> str:
    """All markup of the page."""
    return "\n".join(str(one.value if hasattr(one, "value") else one.proto.body) for one in test.get("html"))


@pytest.mark.parametrize("name", ["roster", "athlete", "plan", "data", "reports"])
def test_a_page_draws_without_an_error(name: str, shown: Path) -> None:
    test = run_page(name)
    assert not test.exception
    assert "sw-title" in words_of(test)


@pytest.mark.parametrize("name", ["roster", "athlete", "plan", "data", "reports"])
def test_a_workspace_without_a_history_shows_how_to_begin(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "inbox").mkdir()
    (tmp_path / "workspace.toml").write_text("", encoding="utf-8")
    monkeypatch.setitem(os.environ, "SETWRIGHT_WORKSPACE", str(tmp_path))
    test = run_page(name)
    assert not test.exception
    assert "Nothing has been read yet" in words_of(test)


def test_a_folder_that_is_no_workspace_is_said_to_be_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(os.environ, "SETWRIGHT_WORKSPACE", str(tmp_path / "nowhere"))
    test = run_page("roster")
    assert not test.exception
    assert "There is no folder" in words_of(test)


def test_a_damaged_history_is_said_to_be_so_and_can_be_rebuilt(shown: Path) -> None:
    (shown / "history.duckdb").resolve().write_bytes(b"no database" * 1000)
    test = run_page("roster")
    assert not test.exception
    assert "cannot be read" in words_of(test)
    assert [button.label for button in test.button] == ["Update"]


@pytest.fixture(scope="module")
def one_client(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace of one client and two weeks, only read."""
    return make_workspace(tmp_path_factory.mktemp("one") / "w", n_clients=1, n_weeks=2)


@pytest.fixture
def no_preview(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports are not drawn in this test; it is about what stands around them."""

    def write_report(*arguments: object, **named: object) -> Path:
        out = next(one for one in arguments if isinstance(one, Path) and one.suffix == ".html")
        out.write_text("<p>a report</p>", encoding="utf-8")
        return out

    monkeypatch.setattr("dashboards.report.write_report", write_report)


@pytest.mark.parametrize("name", ["roster", "athlete", "plan", "data", "reports"])
def test_one_client_is_enough(name: str, one_client: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(os.environ, "SETWRIGHT_WORKSPACE", str(one_client))
    assert not run_page(name).exception


@pytest.fixture(scope="module")
def hostile_names(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace whose clients have long names and markup in them, only read."""
    workspace = make_workspace(
        tmp_path_factory.mktemp("hostile") / "w", n_clients=2, n_weeks=4, long_names=True
    )
    with duckdb.connect(str((workspace / "history.duckdb").resolve())) as con:
        hostile = "<script>alert(1)</script> " + LONG_NAME
        con.execute("update client set name = ? where client_id = 'c001'", [hostile])
        con.execute(
            "update roster_review set name = (select name from client c where c.client_id = "
            "roster_review.client_id)"
        )
    return workspace


@pytest.mark.parametrize("name", ["athlete", "plan", "reports"])
def test_long_names_and_markup_in_names_are_shown_as_text(
    name: str, hostile_names: Path, no_preview: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(os.environ, "SETWRIGHT_WORKSPACE", str(hostile_names))
    test = run_page(name, client="c001")
    assert not test.exception
    assert "&lt;script&gt;" in words_of(test)
    assert "<script>" not in words_of(test)


def test_the_athlete_page_says_state_reason_evidence_and_options(shown: Path) -> None:
    words = words_of(run_page("athlete", client="c001"))
    for said in (
        "Over-reaching",
        "Five of six lifts down",
        "Sleep is at the usual",
        "Talk about sleep and food",
        "What would change it",
    ):
        assert said in words


@pytest.mark.parametrize(
    ("outcome", "said"),
    [
        ("missed", "missed"),
        ("excused", "excused"),
        ("no_log", "nothing came in"),
        ("open", "still open"),
        ("done", "left out"),
    ],
)
def test_a_planned_exercise_without_sets_says_why(outcome: str, said: str, shown: Path) -> None:
    with duckdb.connect(str((shown / "history.duckdb").resolve())) as con:
        con.execute("update planned_session set outcome = ?, session_date = null", [outcome])
        con.execute("update planned_exercise set done_sets = 0, session_date = null, done_exercise_id = null")
    table = words_of(run_page("athlete", client="c001")).split("Planned and done")[1].split("</table>")[0]
    assert f">{said}</span>" in table
    assert table.count(">missed</span>") == (table.count("<tr") - 1 if outcome == "missed" else 0)


def test_pain_notes_stand_word_for_word_with_the_caution(shown: Path) -> None:
    words = words_of(run_page("athlete", client="c001"))
    assert "left shoulder pinches on the way down, stopped at 2 sets" in words
    assert "Pain overrides progress" in words
    assert "licensed medical care" in words


def test_the_plan_page_shows_findings_layouts_changes_and_what_came_of_blocks(shown: Path) -> None:
    words = words_of(run_page("plan", client="c001"))
    for said in (
        "below the target of 6 to 14",
        "Mon Push A · Wed Pull A · Fri Legs",
        "4 sets instead of 3",
        "no clear change",
        "92 → 95",
        "Leg press (1)",
    ):
        assert said in words


@pytest.mark.parametrize("name", ["roster", "athlete", "plan"])
def test_cautions_stand_on_pages_that_decisions_rest_on(name: str, shown: Path) -> None:
    assert "not medical advice" in words_of(run_page(name))


def test_a_past_week_shows_nothing_that_came_later(shown: Path) -> None:
    week = LAST_WEEK - dt.timedelta(weeks=6)
    test = run_page("athlete", client="c001", week=week.isoformat())
    assert not test.exception
    words = words_of(test)
    assert "As it looked on" in words
    assert "pinches" not in words
    days = [label for box in test.selectbox if box.label == "Session" for label in box.options]
    assert days
    assert not any("June" in day or "Jun " in day for day in days)


def test_an_address_with_an_unknown_client_or_week_is_answered_kindly(shown: Path) -> None:
    test = run_page("athlete", client="nobody", week="not-a-week")
    assert not test.exception
    assert "Nobody of that id" in words_of(test)


def test_marking_an_athlete_as_reviewed_is_kept_in_the_notes(shown: Path) -> None:
    test = run_page("athlete", client="c001")
    test.button(key="mark_c001").click().run()
    assert not test.exception
    assert set(NotesStore(shown / "notes.duckdb").read_reviewed(LAST_WEEK)) == {"c001"}


def test_a_mark_made_in_another_tab_is_not_taken_back_by_a_second_one(shown: Path) -> None:
    test = run_page("athlete", client="c001")
    NotesStore(shown / "notes.duckdb").mark_reviewed(["c001"], LAST_WEEK, "steady")
    test.button(key="mark_c001").click().run()
    assert set(NotesStore(shown / "notes.duckdb").read_reviewed(LAST_WEEK)) == {"c001"}
    test.button(key="unmark_c001").click().run()
    assert not NotesStore(shown / "notes.duckdb").read_reviewed(LAST_WEEK)


def test_a_note_and_a_follow_up_are_kept_word_for_word(shown: Path) -> None:
    test = run_page("athlete", client="c001")
    test.text_area(key="note_c001").input('asks about "pause" bench; <b>calm</b>')
    [keep] = [button for button in test.button if button.label == "Keep"]
    keep.click().run()
    assert not test.exception
    [note] = NotesStore(shown / "notes.duckdb").read_notes("c001")
    assert note.body == 'asks about "pause" bench; <b>calm</b>'
    assert note.week_start == LAST_WEEK
    assert "&lt;b&gt;calm" in words_of(test)


def test_notes_of_last_week_are_still_shown_this_week(shown: Path) -> None:
    store = NotesStore(shown / "notes.duckdb")
    store.write_note("c001", LAST_WEEK - dt.timedelta(weeks=1), "call about the shoulder")
    assert "call about the shoulder" in words_of(run_page("athlete", client="c001"))


def test_an_answer_with_a_click_goes_into_answers_csv(shown: Path) -> None:
    test = run_page("data", section="questions")
    test.button(key="choose_q-press_bench_press").click().run()
    assert not test.exception
    assert "bench_press" in (shown / "answers.csv").read_text(encoding="utf-8")
    # whoever opens the page elsewhere sees it as well
    for page in (test, run_page("data", section="questions")):
        assert "Answered: <b>Bench press</b>" in words_of(page)


@pytest.mark.parametrize(
    ("section", "said"),
    [
        ("files", "c002/broken.xlsx"),
        ("refused", "are not a number"),
        ("waiting", "has to be answered first"),
        ("spellings", "benchpres"),
        ("checks", "A load is between"),
        ("known", "None."),
        ("ignored", "None."),
    ],
)
def test_each_section_of_the_data_page_shows_its_rows(section: str, said: str, shown: Path) -> None:
    test = run_page("data", section=section)
    assert not test.exception
    assert said in words_of(test)


def test_records_in_equal_what_became_of_them(shown: Path) -> None:
    words = words_of(run_page("data"))
    for figure in ("<b>90</b> records in", "<b>80</b> loaded", "<b>3</b> refused"):
        assert figure in words


def test_a_report_is_made_where_reports_belong(shown: Path) -> None:
    test = run_page("reports", client="c001", month="2025-06")
    test.button(key="make_one").click().run()
    assert not test.exception
    made = shown / "reports" / "2025-06" / "c001-2025-06.pdf"
    assert made.read_bytes().startswith(b"%PDF")


def test_the_words_for_a_report_are_kept(shown: Path, no_preview: None) -> None:
    test = run_page("reports", client="c001", month="2025-06")
    [word] = [area for area in test.text_area if area.label == "On the month"]
    word.input("A good month.")
    [keep] = [button for button in test.button if button.label == "Keep"]
    keep.click().run()
    kept = NotesStore(shown / "notes.duckdb").read_month_text("c001", "2025-06")
    assert kept == {"report": "A good month."}


def test_a_lb_client_sees_pounds(shown: Path) -> None:
    words = words_of(run_page("athlete", client="c002"))
    assert "e1RM, lb" in words
    assert "e1RM, kg" not in words


def without_weeks(workspace: Path, *, with_files: bool) -> None:
    """Take every verdict out of the history, and the files too."""
    with duckdb.connect(str((workspace / "history.duckdb").resolve())) as con:
        con.execute("delete from client_week")
        con.execute("delete from roster_review")
        if not with_files:
            con.execute("delete from file_ledger")


@pytest.mark.parametrize("name", ["roster", "athlete", "plan"])
def test_before_the_first_full_week_the_pages_say_where_the_questions_are(name: str, shown: Path) -> None:
    without_weeks(shown, with_files=True)
    words = words_of(run_page(name))
    assert "No complete week yet" in words
    assert "answer on the page Data" in words


def test_questions_can_be_answered_before_the_first_full_week(shown: Path) -> None:
    without_weeks(shown, with_files=True)
    test = run_page("data", section="questions")
    test.button(key="choose_q-press_bench_press").click().run()
    assert not test.exception
    assert "bench_press" in (shown / "answers.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["roster", "data", "reports"])
def test_a_history_of_no_files_shows_how_to_begin(name: str, shown: Path) -> None:
    without_weeks(shown, with_files=False)
    assert "Nothing has been read yet" in words_of(run_page(name))


def test_one_press_marks_an_athlete_and_opens_the_next_who_is_not_reviewed(shown: Path) -> None:
    order = [row[0] for row in _ask(shown, "select client_id from roster_review order by place")]
    NotesStore(shown / "notes.duckdb").mark_reviewed([order[1]], LAST_WEEK, "steady")
    test = run_page("athlete", client=order[0])
    test.button(key=f"reviewed_next_{order[0]}").click().run()
    assert not test.exception
    assert set(NotesStore(shown / "notes.duckdb").read_reviewed(LAST_WEEK)) == set(order[:2])
    assert test.query_params["client"] in (order[2], [order[2]])


def _ask(workspace: Path, query: str) -> list[tuple[object, ...]]:
    with duckdb.connect(str((workspace / "history.duckdb").resolve()), read_only=True) as con:
        return con.execute(query).fetchall()


def test_the_sets_of_a_planned_exercise_stand_beside_it(shown: Path) -> None:
    table = words_of(run_page("athlete", client="c001")).split("Planned and done")[1].split("</table>")[0]
    assert "What was done" in table
    assert re.search(r"kg × \d+, \d+", table)


def test_the_load_of_the_week_comes_with_its_caution_and_without_a_ratio(shown: Path) -> None:
    with duckdb.connect(str((shown / "history.duckdb").resolve())) as con:
        con.execute("delete from load_week")
        con.execute(
            "insert into load_week by name select 'c001' as client_id, ?::date as week_start, "
            "4 as n_sessions, 80 as n_working_sets, 12345.0 as volume_kg, 29.0 as hardest_day_pct, "
            "1 as n_back_to_back, 4 as n_sessions_with_load, 1592.0 as session_load_au, "
            "1.63 as monotony, 2595.0 as strain_au",
            [LAST_WEEK],
        )
    words = words_of(run_page("athlete", client="c001"))
    for said in ("12,345 kg", "1,592", "1.63", "2,595", "no limit holds for everyone"):
        assert said in words


def test_measures_that_need_session_rpe_are_left_out_without_it(shown: Path) -> None:
    with duckdb.connect(str((shown / "history.duckdb").resolve())) as con:
        con.execute("update load_week set session_load_au = null, monotony = null, strain_au = null")
    assert ">Monotony<" not in words_of(run_page("athlete", client="c001"))


def test_a_block_shows_hard_sets_a_muscle_against_plan_target_and_the_block_before(shown: Path) -> None:
    [(start,)] = _ask(shown, "select max(valid_from) from block_review where client_id = 'c001'")
    with duckdb.connect(str((shown / "history.duckdb").resolve())) as con:
        con.execute("delete from block_muscle")
        con.execute(
            "insert into block_muscle by name select 'c001' as client_id, 'P' as plan, "
            "?::date as valid_from, unnest(['chest', 'abs']) as muscle, 9.0 as planned_sets, "
            "unnest([7.5, 2.0]) as done_sets, unnest([0.0, 6.0]) as unknown_effort_sets, "
            "8.0 as previous_done_sets, 10.0 as target_low, "
            "unnest([20.0, 16.0]) as target_high",
            [start],
        )
        con.execute("update block_muscle set target_low = 6 where muscle = 'abs'")
    table = (
        words_of(run_page("plan", client="c001"))
        .split("Hard sets a muscle</caption>")[1]
        .split("</table>")[0]
    )
    chest, abs_ = table.split("Abs")
    assert "below" in chest
    # with effort written down it might have been enough
    assert "below" not in abs_
    assert "+6" in abs_


def test_plans_and_check_ins_are_not_counted_as_records_of_logs(shown: Path) -> None:
    with duckdb.connect(str((shown / "history.duckdb").resolve())) as con:
        con.execute(
            "insert into file_ledger by name "
            "select * replace ('plans' as source_area, 'p.csv' as source_file) "
            "from file_ledger where is_current and outcome = 'read' limit 1"
        )
    words = words_of(run_page("data"))
    assert "<b>90</b> records in" in words
    assert "1 file of plans and check-ins" in words
