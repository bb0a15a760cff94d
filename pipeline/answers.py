"""What the coach has decided: answers.csv, asked once and kept.

One row an answer: `kind, client_id, source_file, raw_text, answer, answered_on`. An empty `client_id`,
`source_file` or `raw_text` holds for all. The file is the coach's: it may be edited by hand, and rows are only
ever added to it here.
"""

from __future__ import annotations

import csv
import fcntl
import hashlib
import io
import json
import os
from dataclasses import dataclass
from pathlib import Path

from pipeline.answer_check import check_answer
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.workspace import Workspace

HEADER = ("kind", "client_id", "source_file", "raw_text", "answer", "answered_on")
KINDS = ("client", "exercise", "unit", "date_order", "date", "load", "correction", "layout")


@dataclass(frozen=True)
class Question:
    """What is asked: its key fields; the id is the same on every update until it is answered."""

    kind: str
    client_id: str = ""
    source_file: str = ""
    raw_text: str = ""

    @property
    def question_id(self) -> str:
        key = "\x1f".join((self.kind, self.client_id, self.source_file, _folded(self.raw_text)))
        return f"{self.kind}-{hashlib.sha256(key.encode()).hexdigest()[:10]}"


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


class Answers:
    """The answers of one workspace, looked up by question; later rows beat earlier ones."""

    def __init__(self, rows: list[dict[str, str]]) -> None:
        self._rows = [{name: (row.get(name) or "").strip() for name in HEADER} for row in rows]
        self._by_kind: dict[str, list[dict[str, str]]] = {}
        for row in reversed(self._rows):
            if row["answer"]:
                self._by_kind.setdefault(row["kind"].lower(), []).append(row)

    def find(self, question: Question) -> str | None:
        """The answer that fits a question; one for just this client, file and text beats a general one."""
        best: tuple[int, str] | None = None
        for row in self._by_kind.get(question.kind, []):
            fits = (
                row["client_id"] in ("", question.client_id)
                and row["source_file"] in ("", question.source_file)
                and (not row["raw_text"] or _folded(row["raw_text"]) == _folded(question.raw_text))
            )
            closeness = sum(bool(row[name]) for name in ("client_id", "source_file", "raw_text"))
            if fits and (best is None or closeness > best[0]):
                best = (closeness, row["answer"])
        return best[1] if best else None

    def find_for_file(self, kind: str, source_file: str) -> str | None:
        """The newest answer of a kind that holds for a whole file, whatever text it was asked with."""
        fits = (row for row in self._by_kind.get(kind, []) if row["source_file"] in ("", source_file))
        return next((row["answer"] for row in fits), None)

    def kinds(self) -> set[str]:
        """Kinds that answers were given for."""
        return set(self._by_kind)

    def __len__(self) -> int:
        return len(self._rows)


def read_answers(path: Path) -> Answers:
    """The answers in a file; none where there is no file. WorkspaceError where it cannot be read."""
    if not path.exists():
        return Answers([])
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as err:
        raise WorkspaceError(f"{path} cannot be read: {err}.", "Save it as UTF-8 text.") from err
    separator = (
        ";"
        if text.splitlines() and text.splitlines()[0].count(";") > text.splitlines()[0].count(",")
        else ","
    )
    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=separator))
    if rows and not {"kind", "answer"} <= {(name or "").strip().lower() for name in rows[0]}:
        raise WorkspaceError(f"{path} has no columns kind and answer.", f"Its header is: {','.join(HEADER)}")
    return Answers(
        [{(k or "").strip().lower(): v for k, v in row.items() if isinstance(v, str)} for row in rows]
    )


def answers_since_update(workspace: Workspace) -> Answers:
    """The answers, where answers.csv was changed after the history was published; else none.

    What an update has read and still asks is open, whatever the file says.
    """
    path = workspace.answers_csv
    try:
        if path.stat().st_mtime <= workspace.published_history().stat().st_mtime:
            return Answers([])
    except OSError:
        return Answers([])
    return read_answers(path)


def write_answer(workspace: Workspace, question_id: str, answer: str) -> tuple[Question, str]:
    """Append the answer to an open question of the published history; it takes effect on the next update.

    Returns the question and the answer as it was kept. SetwrightError where there is no such question, the
    answer means nothing to it or the file cannot be written.
    """
    workspace.refuse_reader()
    answer = answer.strip()
    if not answer or "\n" in answer:
        raise SetwrightError("An answer is one line that is not empty.")
    question, choices = _open_question(workspace, question_id)
    answer = check_answer(question.kind, answer, choices, workspace.exercises_csv)
    path = workspace.answers_csv
    is_new = not path.exists() or path.stat().st_size == 0
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    if is_new:
        writer.writerow(HEADER)
    writer.writerow(
        (
            question.kind,
            question.client_id,
            question.source_file,
            question.raw_text,
            answer,
            workspace.settings.today().isoformat(),
        )
    )
    try:
        _append(path, buffer.getvalue())
    except OSError as err:
        raise SetwrightError(
            f"{path} cannot be written: {err.strerror or err}.", "Nothing was kept."
        ) from err
    return question, answer


def _append(path: Path, row: str) -> None:
    """Add a row, whole or not at all: a disk that fills up half-way leaves the file as it was."""
    with os.fdopen(os.open(path, os.O_CREAT | os.O_RDWR | os.O_APPEND, 0o600), "r+b") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        length = handle.seek(0, os.SEEK_END)
        if length:
            handle.seek(length - 1)
            row = row if handle.read(1) == b"\n" else "\n" + row
        try:
            handle.write(row.encode())
            handle.flush()
            os.fsync(handle.fileno())
        except OSError:
            os.truncate(path, length)
            raise


def _open_question(workspace: Workspace, question_id: str) -> tuple[Question, dict[str, str]]:
    """An open question, and the choices offered: value → label."""
    with workspace.open_history() as con:
        row = con.execute(
            "select kind, client_id, source_file, raw_text, choices from open_question where question_id = ?",
            [question_id],
        ).fetchone()
    if row is None:
        raise SetwrightError(
            f"There is no open question {question_id!r}.",
            f"List them with: setwright questions {workspace.root}",
        )
    *asked, choices = row
    return question_of(*asked), read_choices(choices)


def read_choices(text: str | None) -> dict[str, str]:
    """Value → label of the choices of an `open_question` row; a choice may be a bare text."""
    try:
        found = json.loads(text or "[]")
    except ValueError:
        return {}
    choices: dict[str, str] = {}
    for one in found if isinstance(found, list) else []:
        if isinstance(one, dict) and one.get("value") is not None:
            choices[str(one["value"])] = str(one.get("label") or one["value"])
        elif isinstance(one, str):
            choices[one] = one
    return choices


def question_of(kind: str, client_id: str | None, source_file: str | None, raw_text: str | None) -> Question:
    """The question that a row of `open_question` asks; spellings and clients are asked for all files at once."""
    is_for_all = kind in ("exercise", "client")
    return Question(kind, client_id or "", "" if is_for_all else source_file or "", raw_text or "")
