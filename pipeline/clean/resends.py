"""Records already known: the same file again, a pasted session, a session sent twice, a corrected resend.

Compared are the sets themselves (client, day, exercise, loads, repetitions in order), never the notes, so that
a resend with added remarks is still the same session. A session that comes again with other figures never
counts twice: a file whose name says that it corrects replaces the older one, any other is asked about.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import polars as pl

from pipeline.answers import Answers, Question
from pipeline.contract.group_numbers import group_numbers, run_numbers
from pipeline.contract.sheets import SourceFile

_CORRECTS = re.compile(
    r"correct|\bfix(?:ed)?\b|korrig|korrektur|corrig|correg|corrett|revised|\brev\d|amended|\bv[2-9]\b|_v[2-9]\b",
    re.IGNORECASE,
)
_COPY = re.compile(r"(?:\(\d+\)|\bcopy\b|kopie|copie|copia|again|nochmal|resent|duplicate)", re.IGNORECASE)


def reading_order(source_file: str) -> tuple[bool, bool, str]:
    """Originals first, then copies, then corrections, each by path."""
    name = source_file.rsplit("/", 1)[-1]
    return bool(_CORRECTS.search(name)), bool(_COPY.search(name)), source_file


def same_content(sources: Iterable[SourceFile], whose: Callable[[str], str]) -> dict[str, str]:
    """Files whose bytes another file holds already: path → path of the first.

    `whose` gives the client a path belongs to: two clients of one class may well send the same file.
    """
    first: dict[tuple[str, str], str] = {}
    copies: dict[str, str] = {}
    for source in sorted(sources, key=lambda s: reading_order(s.source_file)):
        key = (source.content_hash, whose(source.source_file))
        if source.refusal is None and key in first:
            copies[source.source_file] = first[key]
        elif source.refusal is None:
            first[key] = source.source_file
    return copies


_WHAT = pl.struct("a_load_kg", "a_load_basis", "a_reps", "a_duration_s").alias("what")
_LEAST_PASTED_SETS = 3  # fewer equal sets of a day standing apart in one file may well be more sets


@dataclass(frozen=True)
class Correction:
    """A session that two files give with other figures: the question, and the rows of either."""

    question: Question
    client_id: str
    older: list[int]
    newer: list[int]


@dataclass(frozen=True)
class Resends:
    """What was found: `duplicate` entry → entry that holds it already, `superseded` entry → first entry of
    what holds instead, `waiting` entry → question; `short` block → duplicates of a session of too few sets to
    be taken for pasted by itself."""

    duplicate: dict[int, int]
    superseded: dict[int, int]
    waiting: dict[int, str]
    questions: list[Correction]
    short: dict[int, dict[int, int]] = field(default_factory=dict)


def find_resends(sets: pl.DataFrame, answers: Answers) -> Resends:
    """Compare all sets of all files; `sets` has `entry` (a number an entry), source, client, day, exercise,
    `a_load_kg`, `a_reps`, `a_duration_s`, `set_number_text`, in reading order of the files.
    """
    found = Resends({}, {}, {}, [])
    if not sets.height:
        return found
    # in a grid the days stand side by side, so that a day's sets are one block though others lie between them
    if sets["is_grid"].any():
        grids = sets.filter(pl.col("is_grid")).sort(
            "source_file", "source_sheet", "client_id", "session_date", "entry"
        )
        sets = pl.concat([sets.filter(~pl.col("is_grid")), grids])
    frame = sets.with_columns(
        run_numbers(sets, ["source_file", "source_sheet", "client_id", "session_date"], "block"),
        pl.col("a_load_kg").round(2),
    )
    frame = frame.with_columns(run_numbers(frame, ["block", "exercise_id"]))
    _inside_blocks(frame, found)
    blocks = frame.unique("block", keep="first", maintain_order=True).select("client_id", "session_date")
    again = blocks.filter(blocks.is_duplicated()).unique()
    if again.height:
        repeated = frame.join(again, on=["client_id", "session_date"], how="semi", maintain_order="left")
        repeated = repeated.with_columns(_WHAT)
        for _, session in repeated.group_by("client_id", "session_date", maintain_order=True):
            _compare_blocks(session, found, answers)
        _pasted_on(frame, found)
    return found


def _pasted_on(frame: pl.DataFrame, found: Resends) -> None:
    """A session too short to be taken for a pasted one, behind a pasted one as its like is behind the original."""
    if not found.short:
        return
    near = [n for block in found.short for n in (block - 1, block)]
    entries = dict(frame.filter(pl.col("block").is_in(near)).group_by("block").agg("entry").iter_rows())
    firsts = [
        first
        for block, duplicates in found.short.items()
        for first in (*duplicates.values(), *(found.duplicate.get(e, -1) for e in entries.get(block - 1, [])))
    ]
    block_of = dict(frame.filter(pl.col("entry").is_in(firsts)).select("entry", "block").iter_rows())
    for block, duplicates in sorted(found.short.items()):
        before = [found.duplicate.get(entry) for entry in entries.get(block - 1, [])]
        if before and all(entry is not None for entry in before):
            originals = {block_of[first] for first in duplicates.values()}
            if originals == {block_of[entry] + 1 for entry in before if entry is not None}:
                found.duplicate.update(duplicates)


def _inside_blocks(frame: pl.DataFrame, found: Resends) -> None:
    """A session pasted right behind itself, or a numbered set that stands twice on a day of a file."""
    numbered = frame.filter(
        pl.col("set_number_text").is_not_null() & ~pl.col("is_counted").fill_null(value=False)
    )
    numbered = numbered.with_columns(
        group_numbers(numbered, ["source_file", "client_id", "session_date", "exercise_id"], "lift")
    )
    numbered = numbered.filter(pl.struct("lift", "set_number_text").is_duplicated())
    keys = ["lift", "set_number_text", "a_load_kg", "a_load_basis", "a_reps", "a_duration_s"]
    twice = numbered.with_columns(
        pl.col("entry").first().over(keys).alias("first_entry"),
        pl.col("source_row").first().over(keys).alias("first_row"),
    )
    twice = twice.filter(
        (pl.col("entry") != pl.col("first_entry")) & (pl.col("source_row") != pl.col("first_row"))
    )
    found.duplicate.update(zip(twice["entry"].to_list(), twice["first_entry"].to_list(), strict=True))
    shape = frame.group_by("block").agg(
        pl.len().alias("n"),
        pl.col("exercise_id").n_unique().alias("lifts"),
        pl.col("run").n_unique().alias("runs"),
    )
    halves = shape.filter(
        (pl.col("n") % 2 == 0) & (pl.col("lifts") >= 2) & (pl.col("runs") >= 2 * pl.col("lifts"))
    )
    candidates = frame.join(halves, on="block", how="semi", maintain_order="left").with_columns(_WHAT)
    for _, block in candidates.group_by("block", maintain_order=True):
        signature = list(zip(block["exercise_id"], block["what"].to_list(), strict=True))
        half = len(signature) // 2
        if [str(s) for s in signature[:half]] == [str(s) for s in signature[half:]]:
            entries = block["entry"].to_list()
            found.duplicate.update(zip(entries[half:], entries[:half], strict=True))


def _compare_blocks(session: pl.DataFrame, found: Resends, answers: Answers) -> None:
    """Each later block of a client's day against the earlier ones, exercise by exercise."""
    seen: dict[str, list[tuple[str, list[str], list[int]]]] = {}
    conflicts: dict[str, tuple[list[int], list[int]]] = {}
    for _, block in session.group_by("block", maintain_order=True):
        source_file = str(block["source_file"][0])
        fresh: dict[str, tuple[str, list[str], list[int]]] = {}
        duplicates: dict[int, int] = {}
        for (exercise_id,), sets in block.group_by("exercise_id", maintain_order=True):
            what = [str(w) for w in sets["what"].to_list()]
            entries = sets["entry"].to_list()
            earlier = seen.get(str(exercise_id), [])
            same = next((old for old in earlier if old[1] == what), None)
            other_file = next((old for old in earlier if old[0] != source_file), None)
            if same is not None:
                duplicates.update(zip(entries, same[2], strict=True))
                continue
            if other_file is not None:
                older, newer = conflicts.setdefault(source_file, ([], []))
                older += other_file[2]
                newer += entries
            fresh[str(exercise_id)] = (source_file, what, entries)
        in_this_file = any(old[0] == source_file for sets in seen.values() for old in sets)
        if not in_this_file or len(duplicates) == block.height >= _LEAST_PASTED_SETS:
            found.duplicate.update(duplicates)
        elif len(duplicates) == block.height:
            found.short[int(block["block"][0])] = duplicates
        for exercise_id, block_sets in fresh.items():
            seen.setdefault(exercise_id, []).append(block_sets)
    for source_file, (older, newer) in conflicts.items():
        day, client_id = session["session_date"][0], str(session["client_id"][0])
        question = Question("correction", client_id, source_file, day.isoformat())
        choice = (answers.find(question) or "").strip().lower()
        if not choice and _CORRECTS.search(source_file.rsplit("/", 1)[-1]):
            choice = "newer"
        if choice == "newer":
            found.superseded.update(dict.fromkeys(older, newer[0]))
        elif choice == "older":
            found.superseded.update(dict.fromkeys(newer, older[0]))
        elif choice != "both":
            found.waiting.update(dict.fromkeys(newer, question.question_id))
            found.questions.append(Correction(question, client_id, older, newer))
