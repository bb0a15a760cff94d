"""Every training table is made, from a few weeks of logs and from nothing."""

from given_tables import day, logged, planned, run_on

WANTED = [
    "session_summary",
    "exercise_session",
    "strength_trend",
    "client_strength_week",
    "muscle_week",
    "load_week",
    "planned_session",
    "planned_exercise",
    "adherence_week",
    "personal_best",
]
NEED_MORE_DATA = ["session_context", "volume_response"]


def n_rows(con, table):
    return con.table(table).pl().height


def test_every_table_of_the_training_contract_is_filled_from_a_few_weeks_of_logs():
    sets = [
        logged(7 * w, "bench_press", 100 + w, 5, rir=2.0, set_index=k) for w in range(8) for k in (1, 2, 3)
    ]
    sets += [
        logged(7 * w + 3, "squat", 140 + 2.5 * w, 5, rir=1.0, set_index=k) for w in range(8) for k in (1, 2)
    ]
    plan = [planned("A", 1, "bench_press"), planned("B", 3, "squat", sets=2)]
    con = run_on(WANTED, sets, plan, as_of=day(55))
    for table in WANTED:
        assert n_rows(con, table) > 0, table


def test_every_table_can_be_made_from_nothing():
    con = run_on([*WANTED, *NEED_MORE_DATA])
    for table in (*WANTED, *NEED_MORE_DATA):
        assert n_rows(con, table) == 0, table
