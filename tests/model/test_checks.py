"""The checks find what they are there for, and nothing in sound tables."""

import polars as pl
import pytest
from given_tables import day, every_model, logged, planned, run_on
from random_training import random_history

from pipeline.contract import TABLES, training, verdicts
from pipeline.model.checks import check_models, read_checks, refusals, validation_rows
from pipeline.model.data_dictionary import data_dictionary

TRAINING = [table.name for table in training.TABLES] + ["personal_best"]


def sound_history():
    """Three weeks of two lifts against a plan, every training table made."""
    sets = [
        logged(7 * week, "bench_press", 100 + week, 5, rir=2.0, set_index=k)
        for week in range(5)
        for k in (1, 2, 3)
    ]
    sets += [logged(7 * week + 2, "squat", 140, 5, set_index=k) for week in range(5) for k in (1, 2)]
    plan = [planned("A", 1, "bench_press"), planned("B", 3, "squat", sets=2)]
    return run_on(TRAINING, sets, plan, as_of=day(34))


@pytest.fixture(scope="module")
def made():
    con = sound_history()
    yield con
    con.close()


@pytest.fixture
def con(made):
    """The sound tables, to tamper with: what a test does to them is undone behind it."""
    made.execute("begin transaction")
    yield made
    made.execute("rollback")


def failed(con):
    return {finding.check.rule_id for finding in check_models(con) if finding.n_failed}


def test_sound_tables_pass_every_check(con):
    findings = check_models(con)
    assert failed(con) == set()
    assert refusals(findings) == []
    assert {check.rule_id for check in read_checks()} <= {finding.check.rule_id for finding in findings}


@pytest.mark.parametrize("seed", range(3))
def test_random_training_passes_every_check(seed):
    sets, plan = random_history(seed)
    assert failed(run_on(TRAINING, sets, plan)) <= {"estimates_lie_within_reach"}


# one tampering a check: a statement, and the check that must find it
@pytest.mark.parametrize("statement, rule_id", [
    ("delete from stg_set where set_index = 3", "no_set_is_lost"),
    ("update session_summary set n_hard_sets = n_hard_sets + 1", "exercise_sessions_add_up_to_session"),
    ("update session_summary set volume_kg = volume_kg + 1", "exercise_sessions_add_up_to_session"),
    ("update muscle_week set fractional_hard_sets = 99", "muscle_sets_add_up_to_week"),
    ("delete from muscle_week where muscle = 'chest'", "muscle_volume_adds_up_to_week"),
    ("update adherence_week set n_missed = n_missed + 1", "planned_sessions_add_up"),
    ("update adherence_week set attendance_pct = 120", "adherence_is_a_share"),
    ("update adherence_week set n_planned = 0", "adherence_is_a_share"),
    ("update planned_exercise set done_sets = done_sets + 5", "a_logged_set_serves_one_plan"),
    ("update exercise_session set e1rm_low_kg = best_e1rm_kg + 1", "an_interval_holds_its_estimate"),
    ("update exercise_session set e1rm_basis = 'system' where session_date = date '2024-01-01'",
     "a_trend_has_one_basis"),
    ("update exercise_session set best_e1rm_kg = 900 where session_date = date '2024-01-01'",
     "estimates_lie_within_reach"),
    ("insert into muscle_week select * from muscle_week limit 1", "muscle_week.key"),
    ("update session_summary set client_id = null", "session_summary.client_id.required"),
    ("update strength_trend set status = 'sideways'", "strength_trend.status.allowed"),
    ("update strength_trend set level_kg = 'nan'::double", "strength_trend.level_kg.finite"),
])  # fmt: skip
def test_a_check_finds_what_it_is_there_for(con, statement, rule_id):
    con.execute(statement)
    assert rule_id in failed(con)


def test_every_check_of_sql_has_a_tampering_that_fails_it():
    tested = {
        mark.args[1][k][1]
        for mark in test_a_check_finds_what_it_is_there_for.pytestmark
        for k in range(len(mark.args[1]))
    }
    assert {check.rule_id for check in read_checks()} <= tested


def test_a_failed_stopping_check_is_one_sentence_with_the_first_bad_row(con):
    con.execute("update adherence_week set attendance_pct = 120 where week_start = date '2024-01-08'")
    [sentence] = refusals(check_models(con))
    assert "adherence_week" in sentence
    assert "1 of 5 rows" in sentence
    assert "2024-01-08" in sentence


def test_a_warning_does_not_stop_the_publishing(con):
    con.execute(
        "update exercise_session set best_e1rm_kg = 900, e1rm_high_kg = null"
        " where session_date = date '2024-01-01'"
    )
    findings = check_models(con)
    assert refusals(findings) == []
    assert [f.check.rule_id for f in findings if f.n_failed] == ["estimates_lie_within_reach"]


def test_findings_are_kept_as_validation_results(con):
    rows = validation_rows(check_models(con))
    assert rows.columns == [name for name in TABLES["validation_result"].column_names if name in rows.columns]
    assert rows.select("rule_id", "checked_table").is_duplicated().sum() == 0
    assert rows["n_failed"].sum() == 0


def test_the_data_dictionary_has_every_column_of_every_table_with_a_meaning():
    rows = data_dictionary()
    assert rows.height == sum(len(table.columns) for table in TABLES.values())
    assert rows["meaning"].null_count() == 0
    assert set(rows["table_name"]) == set(TABLES)


def test_every_number_of_the_data_dictionary_has_a_unit():
    rows = data_dictionary().filter(pl.col("type").is_in(["whole", "real"]))
    assert rows.height > 200
    assert rows.filter(pl.col("unit").is_null())["column_name"].to_list() == []


def test_every_computed_table_of_the_contract_has_a_model():
    made = {model.name for model in every_model()}
    by_the_run = {"pipeline_run", "data_dictionary"}
    assert {table.name for table in (*training.TABLES, *verdicts.TABLES)} - made <= by_the_run | {
        "next_target"
    }
