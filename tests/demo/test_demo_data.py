"""The demo is what its lists say: same bytes from the same seed, every planted row where it is said to be."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import polars as pl
import pytest

from demo_data.generate import SEED, write_demo
from demo_data.habits import HABITS
from demo_data.lifting import simulate
from demo_data.lifts import LIFTS
from demo_data.roster import AS_OF, BY_ID, CLIENTS, N_WEEKS, monday_of
from demo_data.splits import SPLITS
from demo_data.stories import STORIES
from pipeline.contract.verdicts import STATES
from pipeline.workspace import open_workspace

DEMO = Path(__file__).parents[2] / "demo_data"
WORKSPACE = DEMO / "workspace"
FATES = {"loaded", "duplicate", "rejected", "waiting", "ignored"}

# what must be read at a planted place: defect → text that is in the record
SIGNS = {
    "RPE 11": "11",
    "unreadable load": "??",
    "slipped digit": "1000",
    "date in the future": "2027",
    "effort as a range": "8-9",
    "at least that many repetitions": "15+",
    "pounds in a kilogram file": "lb",
    "missed attempt": "|0|",
    "rest-pause": "8+3+2",
    "left and right differ": "L10/R8",
    "bodyweight plus load": "BW+10",
    "drop set": "20/15/10",
    "ambiguous exercise name": "Press",
    "unknown exercise name": "Harbour Shuffle",
    "mistyped exercise name": "Bech Press",
    "damaged letters": "BankdrÃ¼cken",
    "note of pain": "knee hurts",
    "note of a warning sign": "dizzy",
    "emoji note": "💪",
    "note that looks like a formula": "=2 more",
    "band": "red band",
    "pin number of a machine": "pin ",
    "assisted pull-up": "|-80|",
    "timed plank": "s|",
    "total row": "Total",
    "rest day row": "Rest day",
    "planned but not done": "skipped",
    "header repeated": "Reps",
    "warm-up set": "|W|",
    "bodyweight with a slipped point": "6.75",
    "decimal comma in a file with points": ",5|",
    "file with a header only": "Datum",
}


def planted(what: str) -> list[dict[str, str]]:
    with (DEMO / "planted.csv").open(encoding="utf-8", newline="") as handle:
        return [row for row in csv.DictReader(handle) if row["what"] == what]


def encoding_of(path: Path) -> str:
    habit = HABITS.get(path.parent.name)
    return habit.encoding if habit else "utf-8"


def records_of(path: Path, sheet: str) -> list[str]:
    """Records of a file as text, cells between bars."""
    if path.suffix == ".xlsx":
        page = openpyxl.load_workbook(path, read_only=True)[sheet]
        rows = [
            ["" if cell is None else str(cell) for cell in row] for row in page.iter_rows(values_only=True)
        ]
    else:
        text = path.read_bytes().decode(encoding_of(path))
        if path.suffix == ".txt":
            rows = [[line] for line in text.splitlines()]
        else:
            delimiter = {".tsv": "\t"}.get(path.suffix, ";" if ";" in text.splitlines()[0] else ",")
            rows = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    return ["|" + "|".join(row) + "|" for row in rows]


@pytest.mark.slow
def test_generating_again_gives_the_same_bytes_as_the_committed_demo(tmp_path: Path) -> None:
    write_demo(tmp_path)
    made = {p.relative_to(tmp_path): p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    for path, content in made.items():
        assert (DEMO / path).read_bytes() == content, path
    inputs = ("inbox", "plans", "check_ins")
    kept = {p.relative_to(DEMO) for part in inputs for p in (WORKSPACE / part).rglob("*") if p.is_file()}
    assert kept == {path for path in made if len(path.parts) > 2 and path.parts[1] in inputs}


def test_another_seed_gives_other_sets() -> None:
    assert simulate(BY_ID["yuki"], SEED) == simulate(BY_ID["yuki"], SEED)
    assert simulate(BY_ID["yuki"], SEED) != simulate(BY_ID["yuki"], SEED + 1)


@pytest.mark.parametrize("row", planted("defect"), ids=lambda r: f"{r['story']}-{r['file']}-{r['row']}")
def test_every_planted_defect_is_where_the_list_says(row: dict[str, str]) -> None:
    path = WORKSPACE / row["file"]
    assert path.exists()
    assert row["expected_fate"] in FATES
    if row["row"]:
        record = records_of(path, row["sheet"])[int(row["row"]) - 1]
        assert SIGNS.get(row["story"], "") in record
        if row["story"] == "blank rows":
            assert not record.strip("|")


def test_the_duplicated_file_and_the_pasted_session_repeat_what_stands_elsewhere() -> None:
    folder = WORKSPACE / "inbox" / "amara"
    again = folder / "amara_2026-02_sent again.csv"
    assert again.read_bytes() == (folder / "amara_2026-02.csv").read_bytes()
    records = records_of(WORKSPACE / "inbox/rana/rana_2026-04.csv", "")
    pasted = [int(row["row"]) for row in planted("defect") if row["story"] == "pasted session"]
    assert len(pasted) > 5
    assert all(records[n - 1] in records[: pasted[0] - 1] for n in pasted)


@pytest.mark.slow
def test_the_file_lists_count_every_record() -> None:
    expected = pl.read_csv(DEMO / "expected_files.csv")
    for file in expected.iter_rows(named=True):
        path = WORKSPACE / "inbox" / file["source_file"]
        if path.suffix == ".csv" and file["n_rejected"] == file["n_records"] == 1:
            continue  # refused whole
        sheets = openpyxl.load_workbook(path, read_only=True).sheetnames if path.suffix == ".xlsx" else [""]
        assert sum(len(records_of(path, sheet)) for sheet in sheets) == file["n_records"], path
    total = expected.select(pl.sum_horizontal(f"n_{fate}" for fate in FATES).sum()).item()
    assert total == expected["n_records"].sum()


def test_the_roster_has_24_clients_with_plans_that_end_with_the_demo() -> None:
    clients = pl.read_csv(WORKSPACE / "clients.csv")
    assert clients["client_id"].n_unique() == 24
    assert [c.client_id for c in CLIENTS] == clients["client_id"].to_list()
    assert {c.phases[-1].last_week for c in CLIENTS} == {N_WEEKS}
    assert (AS_OF - monday_of(N_WEEKS)).days == 6


def test_most_clients_log_in_26_weeks_and_more() -> None:
    weeks = {c.client_id: {s.day.isocalendar()[:2] for s in simulate(c, SEED)[0]} for c in CLIENTS}
    assert sum(len(logged) >= 26 for logged in weeks.values()) >= 20
    assert {len(weeks["nora"]), len(weeks["tariq"])} == {2, 3}


def test_the_last_week_shows_a_rich_mix_of_states() -> None:
    last = {s.client_id: s.expected_state for s in STORIES if s.last_week == N_WEEKS}
    assert {c.client_id for c in CLIENTS} - set(last) == {"diego"}
    assert set(last.values()) == set(STATES)


def test_every_story_names_a_state_of_the_contract() -> None:
    for row in planted("story"):
        assert row["expected_state"] in STATES
        assert set(filter(None, row["also_right"].split(";"))) <= set(STATES)
        assert row["from_week"] <= row["to_week"] <= "2026-06-22"


def test_every_planned_lift_is_known_to_the_demo() -> None:
    slots = [slot for days in SPLITS.values() for day in days for slot in day.slots]
    assert {slot.lift_id for slot in slots} <= set(LIFTS)
    assert {other for slot in slots for other in slot.alternatives} <= set(LIFTS)


def test_the_workspace_opens_with_unit_and_date_order_left_open() -> None:
    settings = open_workspace(WORKSPACE).settings
    assert settings.unit == ""
    assert settings.date_order == ""


def test_the_demo_stays_small() -> None:
    parts = ("inbox", "plans", "check_ins")
    assert sum(p.stat().st_size for part in parts for p in (WORKSPACE / part).rglob("*")) < 3_000_000
