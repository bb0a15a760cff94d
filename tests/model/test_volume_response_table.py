"""What weekly amounts went with progress, from readings and weeks to the sentence, against a loop by hand."""

from datetime import timedelta

import duckdb
import numpy as np
import polars as pl
import pytest
from given_tables import MONDAY

from pipeline.analyse.volume_response import (
    SHARED_ERROR,
    build_own_volume_response,
    build_volume_response,
    fit_own,
)
from pipeline.contract import TABLES

N_BLOCKS = 7


def made_tables(seed: int) -> tuple[duckdb.DuckDBPyConnection, dict]:
    """One client, two lifts read once a week (the second from the third block on), other sets each week."""
    rng = np.random.default_rng(seed)
    weeks = [MONDAY + timedelta(days=7 * n) for n in range(4 * N_BLOCKS)]
    sets = rng.integers(30, 60, len(weeks))
    lifts = {
        "squat": [(w, 5 + 0.002 * w + rng.normal(0, 0.01), rng.uniform(0.02, 0.05)) for w in range(28)],
        "curl": [(w, 3 + 0.003 * w + rng.normal(0, 0.01), rng.uniform(0.02, 0.05)) for w in range(8, 28)],
    }
    con = duckdb.connect()
    calendar = pl.DataFrame({"week_start": weeks})  # noqa: F841 read by its name
    con.execute("create table calendar as select * from calendar")
    readings = pl.DataFrame(  # noqa: F841
        [("a", lift, weeks[w], level, sd) for lift, rows in lifts.items() for w, level, sd in rows],
        schema=["client_id", "exercise_id", "week_start", "level", "sd"],
        orient="row",
    )
    con.execute("create table lift_reading as select * from readings")
    done = pl.DataFrame({"client_id": "a", "week_start": weeks, "n_working_sets": sets})  # noqa: F841
    con.execute("create table load_week as select * from done")
    return con, {"sets": sets, "lifts": lifts}


def changes_by_hand(given: dict) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Sets, gain, variance and number of each change from a block of four weeks to the next."""
    block_sets = given["sets"].reshape(N_BLOCKS, 4).mean(axis=1)
    found = []
    for block in range(1, N_BLOCKS):
        gains, weights = [], []
        for rows in given["lifts"].values():
            both = []
            for one in (block - 1, block):
                mine = [(level, 1 / sd**2) for week, level, sd in rows if week // 4 == one]
                weight = sum(w for _, w in mine)
                both.append((sum(level * w for level, w in mine) / weight, 1 / weight) if mine else None)
            if all(both):
                gains.append(both[1][0] - both[0][0])
                weights.append(1 / (both[0][1] + both[1][1]))
        gain = sum(g * w for g, w in zip(gains, weights, strict=True)) / sum(weights) / 4
        variance = (1 / sum(weights) + 2 * SHARED_ERROR**2) / 16
        found.append(((block_sets[block - 1] + block_sets[block]) / 2, gain, variance, float(block)))
    return tuple(np.array(column) for column in zip(*found, strict=True))


@pytest.mark.parametrize("seed", range(3))
def test_a_clients_changes_are_those_counted_by_hand(seed):
    con, given = made_tables(seed)
    sets, gain, variance, when = changes_by_hand(given)
    own = fit_own(sets, gain, variance, when)
    [row] = build_own_volume_response(con).to_dicts()
    assert (row["client_id"], row["n_changes"]) == ("a", N_BLOCKS - 1)
    assert (row["sets_low"], row["sets_high"]) == pytest.approx(tuple(np.quantile(sets, [0.1, 0.9])))
    assert (row["slope"], row["variance"]) == pytest.approx((own.slope, own.variance))


def told(*clients: tuple[str, int, float, float]) -> list[dict]:
    """The rows of `volume_response` for clients given as id, changes, slope, variance."""
    con = duckdb.connect()
    con.execute(TABLES["own_volume_response"].create_sql())
    for client_id, n, slope, variance in clients:
        con.execute(
            "insert into own_volume_response values (?, ?, 40, 60, ?, ?)", [client_id, n, slope, variance]
        )
    return build_volume_response(con).to_dicts()


def test_a_slope_is_told_for_ten_sets_with_its_interval():
    # log gain for a set a week more, times ten sets, in percent; 1.645 standard errors either way
    [row] = told(("a", 6, 0.0002, 0.0001**2))
    assert row["n_blocks"] == 7
    assert row["gain_per_ten_sets_pct"] == pytest.approx(0.2)
    assert (row["gain_low_pct"], row["gain_high_pct"]) == pytest.approx(
        (0.2 - 0.1645, 0.2 + 0.1645), abs=1e-4
    )
    assert (row["own_share_pct"], row["roster_gain_pct"]) == pytest.approx((100, 0.2))
    assert row["sentence"].startswith(
        "Over 7 four-week blocks of 40 to 60 sets a week, ten sets more went with +0.20 % strength a week"
        " (90 % interval +0.04 to +0.36 %); mostly own blocks."
    )


def test_an_interval_around_nought_is_called_no_clear_direction():
    [row] = told(("a", 6, 0.0001, 0.0001**2))
    assert "; no clear direction; " in row["sentence"]


def test_a_client_with_little_of_their_own_is_told_the_rosters_figure():
    rows = told(("a", 6, 0.0, 1e-9), ("b", 6, 0.0004, 1e-9), ("c", 6, 0.01, 1e-2))
    assert "mostly the roster's figure" in rows[2]["sentence"]
    assert rows[2]["own_share_pct"] < 1
    assert rows[2]["gain_per_ten_sets_pct"] == pytest.approx(rows[2]["roster_gain_pct"], abs=0.01)
    assert rows[0]["roster_gain_pct"] == pytest.approx(0.2, abs=0.01)
