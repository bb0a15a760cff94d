"""Every model keeps the grain its header states."""

import pytest
from given_tables import run_on
from random_training import random_history

from pipeline.contract import TABLES
from pipeline.model.sql_models import read_models

WEEK = "client_id, week_start"
SESSION = "client_id, session_date, exercise_id"
BLOCK = "client_id, plan, valid_from"
# what makes a row unique in the models that the contract does not list
KEYS = {
    "stg_set": "source_area, source_file, source_sheet, source_row, part_index",
    "stg_similar_exercise": "exercise_id, other_id",
    "set_e1rm": f"{SESSION}, source_row, part_index",
    "exercise_day": SESSION,
    "best_set": f"{SESSION}, is_lower_bound, is_short, has_estimate",
    "lift_observation": SESSION,
    "lift_circumstance": SESSION,
    "session_item": SESSION,
    "muscle_session": "client_id, session_date, muscle",
    "day_load": "client_id, session_date",
    "plan_day_in_force": "client_id, day, plan",
    "planned_item": f"{WEEK}, item_no",
    "planned_item_done": f"{WEEK}, item_no",
    "item_day": f"{WEEK}, item_no",
    "item_match_on_day": f"{WEEK}, item_no",
    "item_match": f"{WEEK}, item_no",
    "session_fit": f"{WEEK}, planned_no, session_date",
    "session_match": f"{WEEK}, planned_no",
    "planned_session_outcome": f"{WEEK}, planned_no",
    "client_week_log": WEEK,
    "adherence_at_week_end": WEEK,
    "block_version": BLOCK,
    "block_day": f"{BLOCK}, day",
    "block_week": f"{BLOCK}, week_start",
    "block_session": f"{BLOCK}, week_start, day, planned_date",
    "training_block": BLOCK,
    "planned_exercise": f"{WEEK}, plan, day, planned_date, slot",
}
SQL_MODELS = [model.name for model in read_models()]


@pytest.fixture(scope="module")
def trained():
    """A connection with every SQL model run on a random roster."""
    return run_on(SQL_MODELS, *random_history(7))


@pytest.mark.parametrize("name", SQL_MODELS)
def test_a_model_has_one_row_a_grain(trained, name):
    keys = KEYS.get(name) or ", ".join(TABLES[name].key)
    assert keys
    twice = trained.execute(
        f"select {keys}, count(*) from {name} group by {keys} having count(*) > 1"
    ).fetchall()
    assert twice == []
    assert trained.table(name).pl().height > 0
