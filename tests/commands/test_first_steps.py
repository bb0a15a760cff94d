"""From an empty workspace to loaded logs as a coach types it: init, update, questions, answer, update again."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import setwright
from pipeline.errors import SetwrightError, WorkspaceError

LOG = "Date,Exercise,Weight,Reps\n2026-06-01,Press,60,8\n2026-06-01,Back Squat,100,5\n"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(setwright, [str(one) for one in arguments], env={"COLUMNS": "100"})


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    """A workspace as `init` makes it, with one client, whose log leaves an exercise and the unit open."""
    root = tmp_path / "clients"
    assert run("init", root).exit_code == 0
    header = (root / "clients.csv").read_text(encoding="utf-8").splitlines()[0]
    with (root / "clients.csv").open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, header.split(","))
        writer.writeheader()
        writer.writerow({"client_id": "anna", "name": "Anna Berg", "date_order": "ymd"})
    (root / "inbox" / "anna").mkdir()
    (root / "inbox" / "anna" / "june.csv").write_text(LOG, encoding="utf-8")
    return root


def test_what_is_open_is_answered_one_by_one_until_all_is_loaded(begun: Path) -> None:
    first = json.loads(run("update", begun, "--as-of", "2026-06-07", "--json").stdout)
    assert (first["n_records"], first["n_loaded"], first["n_waiting"]) == (3, 0, 2)
    answers = {"unit": "kg", "exercise": "overhead_press"}
    for _ in range(len(answers)):
        found = json.loads(run("questions", begun, "--json").stdout)
        if not found:
            break
        said = run("questions", begun).output
        for question in found:
            assert f"setwright answer {begun} {question['question_id']} ANSWER" in said.replace("\n", " ")
            kept = run("answer", begun, question["question_id"], answers[question["kind"]])
            assert kept.exit_code == 0, kept.output
            assert "It takes effect with: setwright update" in kept.output
        assert run("update", begun, "--as-of", "2026-06-07", "--quiet").exit_code == 0
    assert "Nothing is open" in run("questions", begun).output
    last = json.loads(run("update", begun, "--as-of", "2026-06-07", "--json").stdout)
    assert (last["n_loaded"], last["n_waiting"]) == (2, 0)
    assert "Anna Berg" in run("review", begun, "--all").output


def test_an_answer_to_no_open_question_is_refused_and_not_kept(begun: Path) -> None:
    run("update", begun, "--as-of", "2026-06-07", "--quiet")
    result = run("answer", begun, "unit-0000000000", "kg")
    assert result.exit_code != 0
    assert not (begun / "answers.csv").exists() or "kg" not in (begun / "answers.csv").read_text()


@pytest.mark.parametrize(("kind", "nonsense"), [("unit", "stones"), ("exercise", "banana")])
def test_a_nonsense_answer_is_refused_and_not_kept(begun: Path, kind: str, nonsense: str) -> None:
    run("update", begun, "--as-of", "2026-06-07", "--quiet")
    before = (begun / "answers.csv").read_bytes()
    found = {one["kind"]: one["question_id"] for one in json.loads(run("questions", begun, "--json").stdout)}
    result = run("answer", begun, found[kind], nonsense)
    assert isinstance(result.exception, SetwrightError)
    assert nonsense in str(result.exception)
    assert (begun / "answers.csv").read_bytes() == before


def test_what_an_update_prints_adds_up(begun: Path) -> None:
    said = run("update", begun, "--as-of", "2026-06-07").output
    for part in ("3 records", "2 wait", "setwright questions"):
        assert part in said


@pytest.mark.parametrize("whose", [["--client", "anna"], ["--all"], ["--roster"]])
@pytest.mark.parametrize("month", ["Novmber", "2026-13"])
def test_a_month_that_is_none_is_refused_before_a_folder_is_named_for_it(
    begun: Path, month: str, whose: list[str]
) -> None:
    result = run("report", begun, *whose, "--month", month)
    assert "is not a month" in str(result.exception)
    assert list((begun / "reports").iterdir()) == []


@pytest.mark.parametrize(
    "command",
    [
        ["next-week", "--client", "ana"],
        ["report", "--month", "2026-06", "--client", "ana"],
        ["export-client", "ana", "--out", "ana.zip"],
        ["forget", "ana", "--yes"],
    ],
    ids=lambda command: command[0],
)
def test_an_unknown_client_is_answered_with_ids_that_are_near(begun: Path, command: list[str]) -> None:
    run("update", begun, "--as-of", "2026-06-07", "--quiet")
    result = run(command[0], begun, *command[1:])
    assert "There is no client 'ana' in the history. Clients are, for example: anna." in str(result.exception)


def test_the_review_of_all_shows_the_ids_that_other_commands_ask_for(begun: Path) -> None:
    with (begun / "clients.csv").open("a", encoding="utf-8") as handle:
        handle.write("c-042," + "A long name " * 9 + "\n")
    run("update", begun, "--as-of", "2026-06-07", "--quiet")
    said = run("review", begun, "--all").output
    assert "Anna Berg (anna) — " in said
    assert "(c-042)" in said
    assert "(anna)" not in run("review", begun).output


def test_init_speaks_of_the_roster_as_it_is(tmp_path: Path) -> None:
    said = run("init", tmp_path / "clients").output
    assert "a row each below its header" in said
    assert len((tmp_path / "clients" / "clients.csv").read_text(encoding="utf-8").splitlines()) == 1


@pytest.mark.parametrize("folder", ["inbox", "inbox/anna", "reports"])
def test_a_folder_inside_a_workspace_is_told_from_the_workspace(
    begun: Path, folder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(begun.parent)
    said = str(run("update", f"clients/{folder}").exception)
    assert said == f"clients/{folder} is a folder inside a workspace. Did you mean clients?"
    monkeypatch.chdir(begun / folder)
    assert str(run("update", ".").exception).endswith(f"Did you mean {begun}?")


def test_a_folder_in_no_workspace_is_offered_init(tmp_path: Path) -> None:
    (tmp_path / "logs").mkdir()
    assert "Make it one with: setwright init" in str(run("update", tmp_path / "logs").exception)


def test_files_that_could_not_be_read_are_named(begun: Path) -> None:
    for n in range(1, 5):
        (begun / "inbox" / "anna" / f"photo {n}.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
        said = run("update", begun, "--as-of", "2026-06-07").output
        photos = ", ".join(f"anna/photo {one}.png" for one in range(1, min(n, 3) + 1))
        line = f"  {n} file{'s' if n > 1 else ''} could not be read at all: {photos}"
        assert f"{line} and 1 more.\n" in said if n > 3 else f"{line}.\n" in said
    assert (
        run("update", begun, "--as-of", "2026-06-07").output.count("and 1 more.") == 1
    )  # nothing new to read


def test_init_leaves_what_is_there_and_refuses_a_file(begun: Path, tmp_path: Path) -> None:
    before = (begun / "clients.csv").read_bytes()
    assert run("init", begun).exit_code == 0
    assert (begun / "clients.csv").read_bytes() == before
    (tmp_path / "file").write_text("mine")
    assert isinstance(run("init", tmp_path / "file").exception, WorkspaceError)


def test_the_licences_of_what_it_runs_on_are_listed() -> None:
    found = {row["package"]: row for row in json.loads(run("licences", "--json").stdout)}
    assert {"polars", "duckdb", "altair", "streamlit", "great-expectations"} <= set(found)
    assert all(row["version"] and row["licence"] for row in found.values())
    assert len(run("licences").output.splitlines()) == len(found)


def test_help_names_every_command_and_a_typing_error_is_one_line() -> None:
    assert "questions" in run("--help").output
    result = run("udpate", "nowhere")
    assert result.exit_code == 2
    assert "Traceback" not in result.output
