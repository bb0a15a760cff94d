"""What came in, as a page the coach can read: files, what was refused and why, what waits for an answer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

import duckdb

from pipeline.workspace import Workspace

_STYLE = """
body{font:15px/1.5 system-ui,sans-serif;margin:2rem auto;max-width:68rem;padding:0 1rem;color:#1f2a2e;background:#fff}
h1{font-size:1.5rem}h2{font-size:1.1rem;margin-top:2rem}table{border-collapse:collapse;width:100%}
th,td{border-bottom:1px solid #d5dcdd;padding:.3rem .5rem;text-align:left;vertical-align:top}
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}caption{text-align:left;color:#56666b;padding:.2rem 0}
@media (prefers-color-scheme:dark){body{background:#161c1e;color:#e3e9ea}th,td{border-color:#37444a}}
"""
_MOST_ROWS = 500


def write_result_page(con: duckdb.DuckDBPyConnection, workspace: Workspace, as_of: date) -> None:
    """Write `reports/what came in.html`: self-contained, nothing in it can run or reach out."""
    parts = [
        f"<h1>What came in, as of {as_of.isoformat()}</h1>",
        _table(
            con,
            "Files",
            "Records in = loaded + already known + refused + waiting + no set.",
            ("file", "records", "loaded", "known", "refused", "waiting", "no set", "sets", "remark"),
            """
            select source_area || '/' || source_file, n_records, n_loaded, n_duplicate, n_rejected, n_waiting,
                   n_ignored, n_sets, message
            from file_ledger where is_current order by source_area, source_file""",
        ),
        _table(
            con,
            "Questions only you can answer",
            "Rows wait until they are answered.",
            ("id", "question", "rows waiting"),
            "select question_id, question, n_rows_waiting from open_question order by n_rows_waiting desc, question_id",
        ),
        _table(
            con,
            "Refused",
            "Nothing is lost: each record stands here as it was written.",
            ("file", "sheet", "row", "text", "why", "what to do"),
            """
            select source_file, source_sheet, source_row, raw_text, message || case when is_part
                   then ' (the rest of the row was kept)' else '' end, suggestion
            from rejected_row order by source_file, source_sheet, source_row""",
        ),
        _table(
            con,
            "Rules that were checked",
            "Rows that break a rule are refused; a broken rule that stops keeps the last history.",
            ("rule", "table", "checked", "failed"),
            """
            select meaning, checked_table, n_checked, n_failed from validation_result
            order by n_failed desc, checked_table, rule_id""",
        ),
    ]
    workspace.reports.mkdir(mode=0o700, exist_ok=True)
    page = (
        f"<!doctype html><html lang='en'><head><meta charset='utf-8'><title>What came in</title>"
        f"<style>{_STYLE}</style></head><body>{''.join(parts)}</body></html>"
    )
    target = workspace.reports / "what came in.html"
    draft = target.with_suffix(".new")
    draft.write_text(page, encoding="utf-8")
    draft.chmod(0o600)
    draft.replace(target)


def _table(
    con: duckdb.DuckDBPyConnection, title: str, caption: str, header: Sequence[str], query: str
) -> str:
    rows = con.execute(f"select * from ({query}) limit {_MOST_ROWS + 1}").fetchall()  # noqa: S608 - own queries
    if not rows:
        return f"<h2>{escape(title)}</h2><p>None.</p>"
    more = (
        f"<p>The first {_MOST_ROWS} are shown; export the table for all.</p>"
        if len(rows) > _MOST_ROWS
        else ""
    )
    numbers = [all(isinstance(row[i], int | float | None) for row in rows) for i in range(len(header))]

    def cells(values: Sequence[object], tag: str) -> str:
        return "".join(
            f"<{tag}{' class=n' if numbers[i] else ''}>{escape('' if v is None else str(v))}</{tag}>"
            for i, v in enumerate(values)
        )

    body = "".join(f"<tr>{cells(row, 'td')}</tr>" for row in rows[:_MOST_ROWS])
    return (
        f"<h2>{escape(title)}</h2><table><caption>{escape(caption)}</caption>"
        f"<thead><tr>{cells(header, 'th')}</tr></thead><tbody>{body}</tbody></table>{more}"
    )
