"""Runs report jobs in several processes, so that one that fails, or dies, stops no other.

A worker is a process of its own (`python -m dashboards.report.workers`) that reads a job a line from its
standard input and answers a result a line. It imports and warms up the chart engine once. The standard
pools are not used because they start the main program again, which may be a dashboard page.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import cast

from dashboards.report.writing import FileFormat, Paper, ReportResult, write_report
from pipeline.errors import SetwrightError

PROJECT_ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Job:
    """One report to write; paths as text, empty where there is none."""

    history_path: str
    notes_path: str
    client_id: str
    month: str
    out_path: str
    file_format: str
    language: str
    paper: str
    show_state: bool
    messages_folder: str


def run_jobs(jobs: list[Job], processes: int, on_done: Callable[[ReportResult], None]) -> list[ReportResult]:
    """Do the jobs in `processes` worker processes (in this one, if that is 1); results in order of jobs."""
    if processes <= 1 or len(jobs) <= 1:
        results = []
        for job in jobs:
            results.append(do_job(job))
            on_done(results[-1])
        return results
    waiting: queue.SimpleQueue[tuple[int, Job]] = queue.SimpleQueue()
    done: queue.SimpleQueue[tuple[int, ReportResult]] = queue.SimpleQueue()
    for numbered in enumerate(jobs):
        waiting.put(numbered)
    threads = [
        threading.Thread(target=_keep_a_worker_busy, args=(waiting, done), daemon=True)
        for _ in range(min(processes, len(jobs)))
    ]
    for thread in threads:
        thread.start()
    by_number: dict[int, ReportResult] = {}
    while len(by_number) < len(jobs):
        number, result = done.get()
        by_number[number] = result
        on_done(result)
    for thread in threads:
        thread.join()
    return [by_number[number] for number in range(len(jobs))]


def do_job(job: Job) -> ReportResult:
    """Write one report; whatever goes wrong becomes the result's error."""
    try:
        path = write_report(
            Path(job.history_path),
            Path(job.notes_path) if job.notes_path else None,
            job.client_id,
            job.month,
            Path(job.out_path),
            file_format=cast(FileFormat, job.file_format),
            language=job.language,
            paper=cast(Paper, job.paper),
            show_state=job.show_state,
            messages_folder=Path(job.messages_folder) if job.messages_folder else None,
        )
    except SetwrightError as err:
        return ReportResult(job.client_id, None, str(err))
    except Exception as err:  # noqa: BLE001 - one client's report must not take the roster's with it
        return ReportResult(job.client_id, None, f"{type(err).__name__}: {err}")
    return ReportResult(job.client_id, path)


def _keep_a_worker_busy(
    waiting: queue.SimpleQueue[tuple[int, Job]], done: queue.SimpleQueue[tuple[int, ReportResult]]
) -> None:
    worker: subprocess.Popen[str] | None = None
    try:
        while True:
            try:
                number, job = waiting.get_nowait()
            except queue.Empty:
                return
            if worker is None or worker.poll() is not None:
                worker = _start_worker()
            done.put((number, _ask(worker, job)))
    finally:
        if worker is not None:
            if worker.stdin:
                worker.stdin.close()
            worker.wait()


def _start_worker() -> subprocess.Popen[str]:
    paths = [str(PROJECT_ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    return subprocess.Popen(
        [sys.executable, "-m", "dashboards.report.workers"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONIOENCODING": "utf-8"},
    )


def _ask(worker: subprocess.Popen[str], job: Job) -> ReportResult:
    died = ReportResult(job.client_id, None, "The process that wrote this report ended before it was done.")
    if worker.stdin is None or worker.stdout is None:
        return died
    try:
        worker.stdin.write(json.dumps(asdict(job)) + "\n")
        worker.stdin.flush()
        answer = worker.stdout.readline()
    except OSError:
        worker.kill()
        return died
    if not answer:
        worker.kill()
        worker.wait()
        return died
    told = json.loads(answer)
    return ReportResult(told["client_id"], Path(told["path"]) if told["path"] else None, told["error"])


def serve() -> None:
    """Answer jobs from standard input until it ends."""
    for line in sys.stdin:
        result = do_job(Job(**json.loads(line)))
        answer = {"client_id": result.client_id, "path": str(result.path or ""), "error": result.error}
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    serve()
