"""The commands plan-check and next-week on small workspaces."""

import json

import duckdb
import pytest
from click.testing import CliRunner

from pipeline.cli import setwright
from pipeline.commands.init import make_workspace
from pipeline.contract import TABLES
from pipeline.contract.frames import frame_of
from pipeline.errors import SetwrightError
from pipeline.model.load_tables import load_tables

PLAN = """client_id,plan,valid_from,valid_to,phase,day,weekday,exercise,sets,reps,rir
amara,Spring,2026-05-01,2026-05-31,build,A,Mon,Bench Press,6,5-8,2
amara,Spring,2026-05-01,2026-05-31,build,B,Tue,Bench Press,6,5-8,2
amara,Summer,2026-06-01,,build,A,Mon,Bench Press,8,5-8,2
amara,Summer,2026-06-01,,build,B,Tue,Bench Press,8,5-8,2
amara,Summer,2026-06-01,,build,B,Tue,wobble press,3,8-12,2
"""


@pytest.fixture
def workspace(tmp_path):
    root = tmp_path / "clients"
    make_workspace(root)
    (root / "clients.csv").write_text("client_id,name\namara,Amara Okonjo\n")
    (root / "plans" / "amara.csv").write_text(PLAN)
    return root


def run(*arguments):
    return CliRunner().invoke(setwright, [str(one) for one in arguments], catch_exceptions=True)


def test_plan_check_shows_findings_layouts_changes_and_rows_that_could_not_be_read(workspace):
    result = run("plan-check", workspace)
    assert result.exit_code == 0
    said = " ".join(result.output.split())
    assert "amara.csv, row 6: “wobble press” is no exercise that is known for certain." in said
    assert "Amara Okonjo — Summer, build, from 2026-06-01 on" in said
    assert (
        "LOOK A (Mon) and B (Tue) are hard, follow each other and both train the chest and have presses at load."
        in said
    )
    assert "Mon A · Thu B" in said
    assert "Changed since the version of 2026-05-01: A: Bench Press: 8 sets instead of 6." in said


def test_plan_check_as_json_carries_figure_and_source(workspace):
    data = json.loads(run("plan-check", workspace, "--client", "amara", "--json").output)
    found = {f["rule"]: f for f in data["versions"][0]["findings"] if f["severity"] == "look"}
    assert found["hard_days_in_a_row"]["figure"] == 1.0
    assert "[P]" in found["hard_days_in_a_row"]["source"]
    assert [row["source_row"] for row in data["rejected"]] == [6]


def test_plan_check_reads_a_file_on_its_own_for_whichever_client(tmp_path):
    (tmp_path / "somebody.csv").write_text(PLAN.replace("amara", "somebody"))
    result = run("plan-check", tmp_path / "somebody.csv", "--version", "2026-05-01")
    assert result.exit_code == 0
    assert result.output.count("somebody — Spring") == 1


def test_only_the_given_weekdays_are_proposed(workspace):
    output = run("plan-check", workspace, "--days", "wed,sat").output
    assert "Wed A · Sat B" in output or "Wed B · Sat A" in output


def test_rules_are_listed_with_figures_and_sources_and_switched_off_in_the_settings(workspace):
    settings = workspace / "workspace.toml"
    settings.write_text(settings.read_text() + "\n[plan_rules]\nhard_days_in_a_row = false\n")
    assert "hard_days_in_a_row (off)" in run("plan-check", workspace, "--rules").output
    rules = json.loads(run("plan-check", workspace, "--rules", "--json").output)
    assert rules["frequency"]["figures"]["least_days"] == 2
    data = json.loads(run("plan-check", workspace, "--json").output)
    assert "hard_days_in_a_row" not in {f["rule"] for f in data["versions"][0]["findings"]}


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--client", "nobody"], "no plan of client 'nobody'"),
        (["--version", "2025-01-01"], "No version begins on 2025-01-01"),
        (["--against", "2025-01-01"], "No version of amara begins on 2025-01-01"),
        (["--days", "someday"], "'someday' is no weekday"),
    ],
)
def test_a_choice_that_names_nothing_is_one_line(workspace, options, said):
    result = run("plan-check", workspace, *options)
    assert isinstance(result.exception, SetwrightError)
    assert said in str(result.exception)


@pytest.fixture
def published(workspace):
    """The workspace with a history that holds one target of Amara and none of Lukas."""
    path = workspace / "made.duckdb"
    rows = {
        "next_target": [
            {
                "client_id": "amara",
                "day": "A",
                "slot": 1,
                "exercise_id": "bench_press",
                "sets": 3,
                "exercise_name": "Bench Press",
                "target_load_kg": 80.0,
                "rule": "more_reps",
            }
        ],
        "client": [{"client_id": "amara", "name": "Amara"}, {"client_id": "lukas", "name": "Lukas"}],
        "plan_layout": [],
        "plan_slot": [],
        "logged_set": [],
        "setting": [],
    }
    with duckdb.connect(str(path)) as con:
        load_tables(con, {name: frame_of(TABLES[name], given) for name, given in rows.items()})
    (workspace / "history.duckdb").symlink_to(path)
    return workspace


def test_next_week_writes_a_sheet_for_one_client_or_for_everyone_with_a_plan(published, tmp_path):
    one = run("next-week", published, "--client", "amara", "--out", tmp_path / "a.csv")
    assert (one.exit_code, (tmp_path / "a.csv").exists()) == (0, True)
    every = run("next-week", published, "--all", "--out", tmp_path / "sheets")
    assert every.exit_code == 0
    assert [path.name for path in (tmp_path / "sheets").iterdir()] == ["amara_next_week.xlsx"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--client", "lukas"], "No plan of lukas has been read"),
        (["--client", "nobody"], "There is no client 'nobody' in the history. Clients are, for example: "),
        (["--client", "amarra"], "Clients are, for example: amara."),
        ([], "Say whose sheet"),
    ],
)
def test_next_week_says_why_there_is_no_sheet(published, options, said):
    result = run("next-week", published, *options)
    assert isinstance(result.exception, SetwrightError)
    assert said in str(result.exception)


@pytest.mark.parametrize("command", ["plan-check", "next-week"])
def test_help_carries_an_example(command):
    assert f"setwright {command} my_clients" in run(command, "--help").output
