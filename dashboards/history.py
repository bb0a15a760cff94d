"""Read-only questions to the published history; each reads no more than a page shows.

The history is opened by its real path: an update publishes a new file and moves the link, and whoever reads
the old one goes on reading it whole. `open_history` keeps the connection of the newest file it was asked
for; every question runs on a cursor of its own, so that pages of several people can ask at once.

Everything a page says about a week reads rows up to that week's last day and none after it.
"""

from __future__ import annotations

import datetime as dt
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from pipeline.contract.records import RECENT_PAIN_DAYS
from pipeline.errors import WorkspaceError


@dataclass(frozen=True)
class History:
    """One published history, whole and unchanging; so an answer stays right, and the latest are kept."""

    path: Path
    con: duckdb.DuckDBPyConnection
    _answers: OrderedDict[tuple[str, str], pl.DataFrame] = field(
        default_factory=OrderedDict, repr=False, compare=False
    )
    _asking: threading.Lock = field(default_factory=threading.Lock, repr=False, compare=False)

    def ask(self, query: str, **parameters: Any) -> pl.DataFrame:
        """The answer as a frame, to be read only; parameters are named `$name` in the query.

        WorkspaceError when the history lacks what is asked for: an older version published it.
        """
        question = (query, repr(sorted(parameters.items())))
        with self._asking:
            known = self._answers.get(question)
            if known is not None:
                self._answers.move_to_end(question)
                return known
        answer = self._ask(query, parameters)
        with self._asking:
            self._answers[question] = answer
            while len(self._answers) > MOST_ANSWERS:
                self._answers.popitem(last=False)
        return answer

    def forget_answers(self) -> None:
        """Ask everything anew from here on; for those who measure."""
        with self._asking:
            self._answers.clear()

    def _ask(self, query: str, parameters: dict[str, Any]) -> pl.DataFrame:
        cursor = self.con.cursor()
        try:
            answer: pl.DataFrame = cursor.sql(query, params=parameters or None).pl()
            return answer
        except (duckdb.CatalogException, duckdb.BinderException) as err:
            raise WorkspaceError(
                "The published history was made by another version of this program.",
                "Run update: it is rebuilt from your files.",
            ) from err
        finally:
            cursor.close()

    def ask_row(self, query: str, **parameters: Any) -> dict[str, Any] | None:
        """The first row of the answer, or None."""
        rows = self.ask(query, **parameters).head(1).to_dicts()
        return rows[0] if rows else None


MOST_ANSWERS = 150
"""Some three athletes' pages; a page drawn again after a press asks the database nothing."""

_open: dict[str, History] = {}
_opening = threading.Lock()
MOST_OPEN = 4


def open_history(real_path: Path) -> History:
    """The history at `real_path` (already resolved), opened once; WorkspaceError when it cannot be read."""
    key = str(real_path)
    with _opening:
        if key in _open:
            return _open[key]
        try:
            con = duckdb.connect(key, read_only=True)
        except duckdb.Error as err:
            raise WorkspaceError(
                f"The published history {real_path.name} cannot be read.",
                "Run update: it is rebuilt from your files; nothing you sent in is lost.",
            ) from err
        while len(_open) >= MOST_OPEN:
            # an open cursor keeps the old file alive until its question is answered
            _open.pop(next(iter(_open))).con.close()
        _open[key] = History(real_path, con)
        return _open[key]


# ---- the roster ---------------------------------------------------------------------------------


def read_weeks(history: History) -> list[dt.date]:
    """Complete weeks that have a verdict on anyone, newest first."""
    frame = history.ask("select distinct week_start from client_week order by week_start desc")
    return list(frame["week_start"])


def read_run(history: History) -> dict[str, Any]:
    """The run that made the history, with the settings in force."""
    return history.ask_row("select * from pipeline_run, (select * exclude (as_of) from setting)") or {}


def has_files(history: History) -> bool:
    """Whether any log was read, or refused, at all; the templates of plans and check-ins are none."""
    return not history.ask(
        "select 1 from file_ledger where coalesce(source_area, 'inbox') = 'inbox' limit 1"
    ).is_empty()


def read_counts(history: History) -> dict[str, Any]:
    """How many questions are open and how many records wait for an answer."""
    return history.ask_row(
        "select count(*) as n_questions, coalesce(sum(n_rows_waiting), 0)::bigint as n_waiting "
        "from open_question"
    ) or {"n_questions": 0, "n_waiting": 0}


def read_roster(history: History, week: dt.date) -> pl.DataFrame:
    """The review of everyone as of a week, most urgent first.

    For the week of `roster_review` that is that table. For an earlier week it is put together from what
    the week's verdict and the rows up to its last day say; urgency was not kept, so the order is by state.
    """
    week_end = week + dt.timedelta(days=6)
    latest = history.ask_row(
        "select max(week_start) as week_start, (select as_of from setting) as as_of from roster_review"
    )
    if latest and latest["week_start"] == week:
        # what came in since the week ended is known too
        return history.ask(_ROSTER_NOW, week=week, week_end=week_end, until=latest["as_of"] or week_end)
    return history.ask(_ROSTER_THEN, week=week, week_end=week_end, until=week_end)


_STATE_ORDER = """list_position(
            ['over_reaching', 'plateau', 'off_plan', 'no_recent_log', 'returning',
            'planned_deload', 'progressing', 'steady', 'not_enough_data'], w.state),
            w.confidence desc nulls last, w.client_id"""

_LINES = f"""
    lines as (
        select client_id, list({{'week': week_start, 'value': strength_index}} order by week_start) as line
        from client_strength_week
        where week_start between $week::date - 77 and $week::date
        group by client_id
    ),
    effort as (
        select client_id, sum(n_unknown_effort_sets)::double as unknown_effort_sets
        from session_summary where week_start = $week::date
        group by client_id
    ),
    plans as (
        select client_id, arg_max(plan, valid_from) as plan, arg_max(phase, valid_from) as phase
        from plan_slot
        where valid_from <= $week_end::date and (valid_to is null or valid_to >= $week::date)
        group by client_id
    ),
    pain as (
        select
            client_id, count(*) as n_pain_notes,
            list({{'note': note, 'day': session_date, 'is_warning': is_warning_sign}}
                order by is_warning_sign desc, session_date desc, source_row) as pain_notes
        from pain_note
        where session_date > $until::date - {RECENT_PAIN_DAYS} and session_date <= $until::date
        group by client_id
    )"""  # noqa: S608 a constant

_ROSTER_NOW = f"""
    with {_LINES}
    select
        r.place, r.client_id, coalesce(r.name, r.client_id) as name, r.state, r.since_week, r.weeks_in_state,
        r.confidence, r.reason, r.urgency, r.needs_a_look, r.previous_state, r.what_changed, r.last_log_date,
        r.days_since_log, r.n_sessions, r.attendance_pct, r.set_completion_pct, r.hard_sets, r.planned_sets,
        r.slope_pct_per_week, r.n_waiting, r.n_pain_notes, pain.pain_notes, c.tags, c.status, plans.plan,
        plans.phase, lines.line, effort.unknown_effort_sets
    from roster_review r
    left join client c on c.client_id = r.client_id
    left join lines on lines.client_id = r.client_id
    left join plans on plans.client_id = r.client_id
    left join effort on effort.client_id = r.client_id
    left join pain on pain.client_id = r.client_id
    order by r.place, r.client_id"""  # noqa: S608 a constant

_ROSTER_THEN = f"""
    with {_LINES},
    four_weeks as (
        select
            client_id,
            1e2 * sum(n_done) / nullif(sum(n_planned) - coalesce(sum(n_excused), 0), 0) as attendance_pct,
            1e2 * sum(least(done_sets, planned_sets)) / nullif(sum(planned_sets), 0) as set_completion_pct,
            sum(planned_sets) filter (week_start = $week::date)::double as planned_sets
        from adherence_week
        where week_start between $week::date - 21 and $week::date
        group by client_id
    ),
    trained as (
        select
            client_id, max(session_date) as last_log_date,
            sum(n_hard_sets) filter (week_start = $week::date)::double as hard_sets
        from session_summary
        where session_date <= $week_end::date
        group by client_id
    )
    select
        null::bigint as place, w.client_id, coalesce(c.name, w.client_id) as name, w.state, w.since_week,
        w.weeks_in_state, w.confidence, w.reasons as reason, null::double as urgency,
        w.state in ('over_reaching', 'plateau', 'off_plan', 'no_recent_log')
            or pain.n_pain_notes is not null as needs_a_look,
        before.state as previous_state, null::varchar as what_changed, trained.last_log_date,
        $week_end::date - trained.last_log_date as days_since_log, w.n_sessions, four_weeks.attendance_pct,
        four_weeks.set_completion_pct, trained.hard_sets, four_weeks.planned_sets,
        strength.slope_pct_per_week, 0::bigint as n_waiting, coalesce(pain.n_pain_notes, 0) as n_pain_notes,
        pain.pain_notes, c.tags, c.status, plans.plan, plans.phase, lines.line,
        effort.unknown_effort_sets
    from client_week w
    left join client c on c.client_id = w.client_id
    left join client_week before on before.client_id = w.client_id and before.week_start = $week::date - 7
    left join client_strength_week strength
        on strength.client_id = w.client_id and strength.week_start = $week::date
    left join four_weeks on four_weeks.client_id = w.client_id
    left join trained on trained.client_id = w.client_id
    left join pain on pain.client_id = w.client_id
    left join lines on lines.client_id = w.client_id
    left join plans on plans.client_id = w.client_id
    left join effort on effort.client_id = w.client_id
    where w.week_start = $week::date
    order by
        {_STATE_ORDER}"""  # noqa: S608 a constant


def read_order(history: History, week: dt.date) -> pl.DataFrame:
    """client_id, name and place in the order of the week's roster, without the rest of it.

    Those who need a look come first, as on the roster; `place` is the order of urgency.
    """
    now = history.ask(
        "select r.client_id, coalesce(r.name, r.client_id) as name, r.place from roster_review r "
        "where r.week_start = $week::date order by not r.needs_a_look, r.place, r.client_id",
        week=week,
    )
    if not now.is_empty():
        return now
    return history.ask(
        f"""
        select w.client_id, coalesce(c.name, w.client_id) as name,
            row_number() over (order by {_STATE_ORDER}) as place
        from client_week w left join client c on c.client_id = w.client_id
        where w.week_start = $week::date
        order by {_STATE_ORDER}""",  # noqa: S608 a constant
        week=week,
    )


def read_clients(history: History) -> pl.DataFrame:
    """Everyone: client_id, name, unit, place, in the order of the last review."""
    return history.ask(
        "select c.client_id, coalesce(c.name, c.client_id) as name, c.unit, r.place from client c "
        "left join roster_review r on r.client_id = c.client_id "
        "order by not r.needs_a_look nulls last, r.place nulls last, name"
    )


def read_months(history: History) -> list[str]:
    """Months with a session, newest first, as YYYY-MM."""
    frame = history.ask(
        "select distinct strftime(session_date, '%Y-%m') as month from session_summary order by month desc"
    )
    return list(frame["month"])
