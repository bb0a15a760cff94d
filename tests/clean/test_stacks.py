"""Even files read together say what they say when each is read by itself."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from unittest.mock import patch

import polars as pl
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pipeline.clean import clean_inbox as module
from pipeline.clean.clean_inbox import CleanedInbox, clean_inbox
from pipeline.clean.knowledge import Knowledge
from pipeline.clean.stacks import stack_files
from pipeline.contract.sheets import SourceFile
from pipeline.ingest import read_folder
from pipeline.run.inputs import read_inputs
from pipeline.workspace import open_workspace
from tests.corpus.scoring import CASES
from tests.inbox_reading import knowledge, read_sources

HEADERS = {
    ",": ("Date,Exercise,Set,Weight (kg),Reps,RPE,Notes", "date,client,exercise,load,reps,rir,notes"),
    ";": ("Datum;Übung;Satz;Gewicht (kg);Wdh;RPE;Notiz", "Datum;Übung;Gewicht;Wdh;Einheit;RIR;Notiz"),
}
# clean cells stand first and come often; every odd one is something a log has held
CELLS: dict[str, tuple[list[str], list[str]]] = {
    "date": (
        ["2026-03-02", "2026-03-04", "02.03.2026", "4 Mar 2026"],
        ["03/04/2026", "13/04/2026", "Mon", "2031-01-01", "", "x", "Total", "2020-03-04", '"', "Rest day"],
    ),
    "client": (["Anna", "Ben"], ["", "Zoe", "Anna Berg"]),
    "exercise": (
        ["Bench Press", "Back Squat", "Deadlift", "Kniebeuge", "Pull-Up"],
        ["Bnch Press", "Plank", "Press", "Split Squat (left)", "A1 Row", "ditto", "", "Warm-up Squat", "Sled 3000",
         "Total", "Exercise"],
    ),
    "set": (["1", "2", "3"], ["W", "", "2", "10", "A"]),
    "load": (
        ["100", "82.5", "60"],
        ["82,5", "185 lb", "bw", "", "-", "100kg", "3x8@100", "1000", "60/70", "red band", "+10", "8x3"],
    ),
    "reps": (["5", "8", "10"], ["8-10", "", "skipped", "5,5,5", "3x5", "AMRAP", "30s", "x", "reps", "8+8"]),
    "effort": (["8", "7.5", ""], ["8/9", "RIR 2", "11", "-1", "easy"]),
    "unit": (["kg", ""], ["lb", "weights in lb", "stone"]),
    "notes": (
        ["", "felt good", "slow"],
        ["knee hurt", "sorry, was 85 not 100", "8", "set weight reps", "warm-up", "drop set", " "],
    ),
}  # fmt: skip
ROLES = {
    "Date,Exercise,Set,Weight (kg),Reps,RPE,Notes": "date exercise set load reps effort notes",
    "date,client,exercise,load,reps,rir,notes": "date client exercise load reps effort notes",
    "Datum;Übung;Satz;Gewicht (kg);Wdh;RPE;Notiz": "date exercise set load reps effort notes",
    "Datum;Übung;Gewicht;Wdh;Einheit;RIR;Notiz": "date exercise load reps unit effort notes",
}
NAMES = (
    "anna/log.csv",
    "anna/march 2026.csv",
    "ben/log.csv",
    "ben/log corrected.csv",
    "all.csv",
    "anna/copy.csv",
)


def differences(sources: Sequence[SourceFile], known: Knowledge) -> tuple[int, list[str]]:
    """How many files are read together, and what differs from reading each by itself."""
    stacks, _ = stack_files(sources, lambda name: known.answers.find_for_file("layout", name) is not None)
    n_files = sum(len(stack.sources) for stack in stacks)
    if not n_files:
        return 0, []
    together = clean_inbox(sources, known)
    with patch.object(module, "stack_files", lambda files, _stays_out: ([], list(files))):
        alone = clean_inbox(sources, known)
    found = []
    for name, one in _said(together).items():
        other = _said(alone)[name]
        if one != other:
            missing = [row for row in other if row not in one][:2]
            found.append(f"{name}: {[row for row in one if row not in other][:2]} for {missing}")
    return n_files, found


def _said(cleaned: CleanedInbox) -> dict[str, list[str]]:
    tables: dict[str, pl.DataFrame] = {
        **vars(cleaned.tables),
        "open_question": cleaned.open_question,
        "name_resolution": cleaned.name_resolution,
    }
    said = {name: [repr(row) for row in frame.iter_rows(named=True)] for name, frame in tables.items()}
    said["ignored_row"].sort()  # headers of files read together come behind the others
    for name, whose in (
        ("layouts", cleaned.layouts),
        ("messages", cleaned.messages),
        ("clients", {file: sorted(whose) for file, whose in cleaned.clients.items()}),
    ):
        said[name] = sorted(f"{file}: {its}" for file, its in whose.items())
    return said


@st.composite
def logs(draw: st.DrawFn) -> dict[str, str]:
    """A few files, most cells clean, some odd."""
    oddness = draw(st.sampled_from([0, 2, 10]))
    files = {}
    for name in draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True)):
        separator = draw(st.sampled_from(list(HEADERS)))
        header = draw(st.sampled_from(HEADERS[separator]))
        columns = []
        for role in ROLES[header].split():
            clean, odd = CELLS[role]
            odd = [cell for cell in odd if separator not in cell]
            columns.append(
                st.sampled_from(clean * max(1, 40 // len(clean)) + odd[: oddness * len(odd) // 10])
            )
        rows = draw(st.lists(st.tuples(*columns).map(separator.join), min_size=1, max_size=12))
        blank = draw(st.sampled_from(["", "", separator * header.count(separator), "\n"]))
        files[name] = "\n".join([header, *rows, *([blank.strip("\n")] if blank else []), *rows[:1]])
    return files


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[
        Phase.explicit,
        Phase.reuse,
        Phase.generate,
    ],  # an example is told as found: shrinking takes minutes
)
@given(logs())
def test_random_files_are_read_together_as_each_by_itself(files: dict[str, str]) -> None:
    _, found = differences(read_sources(files), knowledge())
    assert found == []


def test_even_files_of_several_clients_are_read_together() -> None:
    header = "Date,Exercise,Set,Weight (kg),Reps,RPE,Notes"
    row = "2026-03-0{},Bench Press,1,{},8,8,"
    files = {
        "anna/one.csv": "\n".join([header, row.format(2, 80), row.format(4, 82.5)]),
        "ben/one.csv": "\n".join([header, row.format(2, 60), "", row.format(4, "62.5")]),
        "ben/two.csv": "\n".join([header, row.format(6, 65), "Total,,,,8,,"]),
    }
    sources = read_sources(files)
    stacks, others = stack_files(sources, lambda name: False)
    assert [[source.source_file for source in stack.sources] for stack in stacks] == [
        ["anna/one.csv", "ben/one.csv"]
    ]
    assert [source.source_file for source in others] == ["ben/two.csv"]
    assert differences(sources, knowledge()) == (2, [])


def test_a_file_whose_layout_the_coach_has_answered_is_read_by_itself() -> None:
    sources = read_sources({"anna/one.csv": "Date,Exercise,Set,Weight,Reps\n2026-03-02,Bench Press,1,80,8"})
    assert stack_files(sources, lambda name: True) == ([], sources)
    assert len(stack_files(sources, lambda name: False)[0]) == 1


@pytest.mark.slow
def test_the_corpus_is_read_together_as_each_file_by_itself() -> None:
    n_files = 0
    for case in sorted(CASES.iterdir()):
        workspace = open_workspace(case)
        known = read_inputs(workspace, date(2026, 6, 28)).known
        n, found = differences(list(read_folder(Path(workspace.inbox), "inbox")), known)
        assert found == [], case.name
        n_files += n
    assert n_files >= 20
