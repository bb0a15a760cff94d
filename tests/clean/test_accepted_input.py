"""The page of accepted input is true: every example it shows is read as it says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.inbox_reading import ReadInbox, read_log

PAGE = (Path(__file__).parents[2] / "pipeline" / "clean" / "README.md").read_text(encoding="utf-8")


def tables(section: str) -> list[list[list[str]]]:
    """The tables of a section: rows of cells, the heading row left out."""
    text = PAGE.split(f"\n## {section}\n", 1)[1].split("\n## ", 1)[0]
    found = []
    for block in re.findall(r"(?:^\|.*\n)+", text + "\n", re.MULTILINE):
        rows = [
            [cell.strip().strip("`") for cell in line.strip("|").split(" | ")] for line in block.splitlines()
        ]
        found.append([[cell.strip("| `") for cell in row] for row in rows[2:]])
    return found


def layouts() -> Iterator[Any]:
    """Each file of the layouts' section with the sets it should give."""
    text = PAGE.split("\n## Layouts\n", 1)[1].split("\n## ", 1)[0]
    files = re.findall(r"([^\n]+):\n\n```(csv|txt)\n(.*?)```", text, re.DOTALL)
    for (title, suffix, content), rows in zip(files, tables("Layouts"), strict=True):
        yield pytest.param(f"anna/log.{suffix}", content, rows, id=title)


def load_in_words(row: dict[str, Any]) -> str:
    """The load of a set as the page says it."""
    basis, load = row["load_basis"], row["load_kg"]
    kg = "" if load is None else f"{abs(round(load, 2)):g} kg"
    match basis:
        case "band":
            return "a band"
        case "machine_step":
            return "a machine step"
        case "assistance":
            return f"{kg} of help"
        case "bodyweight":
            return f"bodyweight + {kg}" if load else "bodyweight"
        case "per_hand":
            return f"{kg} a hand"
    return kg


def reps_in_words(row: dict[str, Any]) -> str:
    """The repetitions of a set as the page says them."""
    if row["duration_s"] is not None:
        return f"{row['duration_s']:g} s"
    if row["reps_left"] is not None:
        return f"{row['reps_left']} left, {row['reps_right']} right"
    if row["reps"] == 0:
        return "a missed attempt"
    said = f"{row['reps']} repetitions"
    if row["is_at_least"]:
        return f"at least {said}"
    if row["set_kind"] == "rest_pause":
        return f"{said}, rest-pause"
    return f"{said} to failure" if row["rir"] == 0 else said


def effort_in_words(row: dict[str, Any]) -> str:
    """The effort of a set as the page says it, "" where there is none."""
    return ", ".join(f"{name.upper()} {row[name]:g}" for name in ("rpe", "rir") if row[name] is not None)


def set_in_words(row: dict[str, Any]) -> str:
    """A set of the layouts' section."""
    return ", ".join(filter(None, (f"{row['reps']} × {load_in_words(row)}", effort_in_words(row))))


def otherwise(read: ReadInbox) -> str:
    """What became of a record without a set."""
    if read.waiting:
        return "asked"
    (row,) = read.cleaned.tables.rejected_row.to_dicts()
    return f"refused: {row['message']}"


@pytest.mark.parametrize(("name", "content", "rows"), list(layouts()))
def test_a_layout_is_read_as_the_page_says(name: str, content: str, rows: list[list[str]]) -> None:
    read = read_log(content, name)
    found = [[str(s["source_row"]), s["exercise_name"], set_in_words(s)] for s in read.sets]
    assert found == rows
    assert read.reasons == []


@pytest.mark.parametrize(("exercise", "written", "expected"), tables("Loads")[0])
def test_a_load_is_read_as_the_page_says(exercise: str, written: str, expected: str) -> None:
    read = read_log(f'Date,Exercise,Load,Reps\n2026-03-02,{exercise},"{written}",8\n')
    assert (load_in_words(read.sets[0]) if read.sets else otherwise(read)) == expected


@pytest.mark.parametrize(("exercise", "written", "expected"), tables("Repetitions")[0])
def test_repetitions_are_read_as_the_page_says(exercise: str, written: str, expected: str) -> None:
    load = "" if exercise == "Plank" else "20"
    read = read_log(f'Date,Exercise,kg,Reps\n2026-03-02,{exercise},{load},"{written}"\n')
    assert (reps_in_words(read.sets[0]) if read.sets else otherwise(read)) == expected


@pytest.mark.parametrize(("column", "written", "expected"), tables("Effort")[0])
def test_effort_is_read_as_the_page_says(column: str, written: str, expected: str) -> None:
    read = read_log(f'Date,Exercise,kg,Reps,{column}\n2026-03-02,Bench Press,60,8,"{written}"\n')
    (row,) = read.sets
    refused = [f"no effort: {r['message']}" for r in read.cleaned.tables.rejected_row.to_dicts()]
    assert (effort_in_words(row) or refused[0]) == expected


@pytest.mark.parametrize(("written", "expected"), tables("Sets in one cell")[0])
def test_sets_in_one_cell_are_read_as_the_page_says(written: str, expected: str) -> None:
    read = read_log(f'Date,Exercise,Result\n2026-03-02,Bench Press,"{written}"\n')
    groups: dict[tuple[str, str], list[str]] = {}
    for row in read.sets:
        groups.setdefault((load_in_words(row), effort_in_words(row)), []).append(str(row["reps"]))
    found = [
        ", ".join(filter(None, (f"{', '.join(reps)} × {load}", effort)))
        for (load, effort), reps in groups.items()
    ]
    assert ("; ".join(found) or otherwise(read)) == expected


@pytest.mark.parametrize(("written", "expected"), tables("Dates")[0])
def test_a_date_is_read_as_the_page_says(written: str, expected: str) -> None:
    read = read_log(f'Date,Exercise,kg,Reps\n"{written}",Bench Press,60,8\n', order="")
    assert (read.sets[0]["session_date"].isoformat() if read.sets else otherwise(read)) == expected


@pytest.mark.parametrize(("written", "expected"), tables("Exercises")[0])
def test_an_exercise_is_read_as_the_page_says(written: str, expected: str) -> None:
    read = read_log(f'Date,Exercise,kg,Reps\n2026-03-02,"{written}",60,8\n')
    assert (read.sets[0]["exercise_name"] if read.sets else otherwise(read)) == expected
