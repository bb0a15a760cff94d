"""The monthly report: what a client did, in the client's unit and language, as PDF, web page or workbook.

Reads the published history and the coach's texts; writes files; knows nothing of how the history is made.
"""

from dashboards.report.month import parse_month
from dashboards.report.words import languages
from dashboards.report.writing import (
    ReportResult,
    report_file_name,
    write_report,
    write_reports,
    write_roster_summary,
)

__all__ = [
    "ReportResult",
    "languages",
    "parse_month",
    "report_file_name",
    "write_report",
    "write_reports",
    "write_roster_summary",
]
