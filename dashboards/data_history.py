"""What became of every record, for the page Data. Long lists are cut; how long they are is told."""

from __future__ import annotations

from typing import Any

import polars as pl

from dashboards.history import History

MOST_ROWS = 200

_KINDS: dict[str, tuple[str, str]] = {
    # section: (table, columns)
    "refused": (
        "rejected_row",
        "source_area, source_file, source_sheet, source_row, column_name, raw_text, "
        "reason_code, message, suggestion",
    ),
    "waiting": (
        "waiting_row",
        "source_area, source_file, source_sheet, source_row, raw_text, message, question_id",
    ),
    "known": (
        "duplicate_row",
        "source_area, source_file, source_sheet, source_row, first_seen_file, first_seen_row, message",
    ),
    "ignored": ("ignored_row", "source_area, source_file, source_sheet, source_row, rule, raw_text"),
}


def read_totals(history: History) -> dict[str, Any]:
    """Records of the logs as they are now, and what became of them; they add up.

    Plans and check-ins are counted apart: `n_other_files`, `n_other_records`.
    """
    return (
        history.ask_row("""
        with log as (
            select * from file_ledger where is_current and coalesce(source_area, 'inbox') = 'inbox'
        ),
        other as (
            select count(*) as n_other_files, coalesce(sum(n_loaded), 0)::bigint as n_other_records
            from file_ledger where is_current and coalesce(source_area, 'inbox') <> 'inbox'
        )
        select
            count(*) filter (outcome <> 'gone') as n_files,
            count(*) filter (outcome = 'refused') as n_refused_files,
            coalesce(sum(n_records), 0)::bigint as n_records, coalesce(sum(n_loaded), 0)::bigint as n_loaded,
            coalesce(sum(n_duplicate), 0)::bigint as n_duplicate,
            coalesce(sum(n_rejected), 0)::bigint as n_rejected,
            coalesce(sum(n_waiting), 0)::bigint as n_waiting,
            coalesce(sum(n_ignored), 0)::bigint as n_ignored, coalesce(sum(n_sets), 0)::bigint as n_sets,
            any_value(n_other_files) as n_other_files, any_value(n_other_records) as n_other_records
        from other left join log on true""")
        or {}
    )


def read_questions(history: History, limit: int, offset: int) -> pl.DataFrame:
    """Open questions, those that hold most rows first."""
    return history.ask(
        """
        select q.question_id, q.kind, q.client_id, coalesce(c.name, q.client_id) as client_name,
            q.source_file,
            q.raw_text, q.question, q.choices, q.suggested, q.n_rows_waiting
        from open_question q left join client c on c.client_id = q.client_id
        order by q.n_rows_waiting desc nulls last, q.question_id limit $most offset $skip""",
        most=limit,
        skip=offset,
    )


def read_question_rows(history: History, question_id: str, limit: int = 5) -> pl.DataFrame:
    """The first rows that wait for a question."""
    return history.ask(
        "select source_file, source_sheet, source_row, raw_text from waiting_row where question_id = "
        "$question order by source_file, source_sheet, source_row limit $most",
        question=question_id,
        most=limit,
    )


def read_exercises(history: History) -> pl.DataFrame:
    """The catalogue's exercises by name."""
    return history.ask("select exercise_id, exercise_name from exercise order by exercise_name")


def read_files(history: History, search: str, only_problems: bool) -> pl.DataFrame:
    """The files as they are now, newest first; with `only_problems` those with something to see to."""
    return history.ask(
        """
        with whole_file as (
            select source_area, source_file, any_value(message) as message
            from rejected_row where source_row is null group by source_area, source_file
        )
        select f.source_area, f.source_file, f.outcome,
            coalesce(nullif(f.message, ''), case when f.outcome = 'refused' then w.message end) as message,
            f.layout, f.first_seen_date, f.n_records, f.n_loaded, f.n_duplicate, f.n_rejected, f.n_waiting,
            f.n_ignored, f.n_sets
        from file_ledger f
        left join whole_file w on w.source_area = f.source_area and w.source_file = f.source_file
        where f.is_current and contains(lower(f.source_file), lower($search))
            and (not $only_problems or f.outcome <> 'read' or f.n_rejected > 0 or f.n_waiting > 0)
        order by f.outcome <> 'refused', f.n_rejected + f.n_waiting desc, f.source_area, f.source_file
        limit $most""",
        search=search,
        only_problems=only_problems,
        most=MOST_ROWS + 1,
    )


def read_reasons(history: History) -> pl.DataFrame:
    """Why records were refused, commonest first."""
    return history.ask("""
        select reason_code, count(*) as n_rows, count(distinct source_file) as n_files,
        from rejected_row group by reason_code order by n_rows desc, reason_code""")


def read_records(history: History, section: str, search: str, reason: str = "") -> pl.DataFrame:
    """Records of a section (refused, waiting, known, ignored) whose file or text holds the search.

    `reason` leaves only those refused for it.
    """
    table, columns = _KINDS[section]
    text = "raw_text" if "raw_text" in columns else "message"
    of_reason = "and ($reason = '' or reason_code = $reason)" if section == "refused" else ""
    only = {"reason": reason} if section == "refused" else {}
    # what is put into the text are the constants above
    return history.ask(
        f"""
        select {columns} from {table}
        where (contains(lower(source_file), lower($search))
            or contains(lower(coalesce({text}, '')), lower($search))) {of_reason}
        order by source_area, source_file, source_sheet, source_row limit $most""",  # noqa: S608
        search=search,
        most=MOST_ROWS + 1,
        **only,
    )


def read_spellings(history: History, search: str) -> pl.DataFrame:
    """What each spelling was taken for, least sure first; clients who write it alike in one row."""
    return history.ask(
        """
        select
            exercise_text, exercise_name, how, score, sum(n_rows)::bigint as n_rows,
            count(client_id) as n_clients, min(client_id) as client_id
        from name_resolution
        where contains(lower(exercise_text), lower($search))
            or contains(lower(coalesce(exercise_name, '')), lower($search))
        group by exercise_text, exercise_name, how, score
        order by score nulls last, exercise_text, exercise_name limit $most""",
        search=search,
        most=MOST_ROWS + 1,
    )


def read_checks(history: History) -> pl.DataFrame:
    """The rules of the contract as checked in this run, failed ones first."""
    return history.ask(
        "select rule_id, checked_table, severity, meaning, n_checked, n_failed from validation_result "
        "order by n_failed > 0 desc, checked_table, rule_id"
    )
