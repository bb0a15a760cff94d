"""One athlete's history for the pages: what was known at the end of a week."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Any

import polars as pl

from dashboards.history import History


@dataclass(frozen=True)
class AthleteHistory:
    """The rows on one client up to and including the week that starts on `week`.

    `weeks_back` bounds how far the charts reach. `known`: the last day known, where that is later than the
    week's end: the newest week is shown with the days that have come in since.
    """

    history: History
    client_id: str
    week: dt.date
    weeks_back: int = 26
    known: dt.date | None = None

    @property
    def until(self) -> dt.date:
        """The week's last day."""
        return self.week + dt.timedelta(days=6)

    @property
    def known_until(self) -> dt.date:
        """The last day that may be used at all."""
        return max(self.known or self.until, self.until)

    @property
    def since(self) -> dt.date:
        """First day the charts show."""
        return self.week - dt.timedelta(weeks=self.weeks_back - 1)

    def _ask(self, query: str, **more: Any) -> pl.DataFrame:
        used = {
            "client": self.client_id,
            "week": self.week,
            "until": self.until,
            "since": self.since,
            "known_until": self.known_until,
            **more,
        }
        return self.history.ask(query, **{k: v for k, v in used.items() if re.search(rf"\${k}\b", query)})

    def client(self) -> dict[str, Any] | None:
        """The client's row."""
        rows = self._ask("select * from client where client_id = $client").to_dicts()
        return rows[0] if rows else None

    def verdict(self) -> dict[str, Any] | None:
        """The week's state with its reasons and evidence."""
        rows = self._ask(
            "select * from client_week where client_id = $client and week_start = $week"
        ).to_dicts()
        return rows[0] if rows else None

    def states(self) -> pl.DataFrame:
        """State by week."""
        return self._ask(
            "select week_start, state from client_week where client_id = $client "
            "and week_start between $since and $week order by week_start"
        )

    def review(self) -> dict[str, Any] | None:
        """The roster's review, if it is of this week (options, what changed, waiting rows)."""
        rows = self._ask(
            "select * from roster_review where client_id = $client and week_start = $week"
        ).to_dicts()
        return rows[0] if rows else None

    def _trends(self) -> pl.DataFrame:
        """Trends of every lift in the weeks charts show; one scan for the table of lifts and their charts."""
        return self._ask("""
            select exercise_id, coalesce(exercise_name, exercise_id) as exercise_name, week_start,
                n_exposures, e1rm_basis, level_kind, level_kg, level_low_kg, level_high_kg,
                slope_pct_per_week, slope_low_pct_per_week, slope_high_pct_per_week, status
            from strength_trend
            where client_id = $client and week_start between $since and $week
            order by exercise_id, week_start""")

    def lifts(self) -> pl.DataFrame:
        """Lifts with a trend in the last 12 weeks: level, slope, status, state; most trained first."""
        states = self._ask(
            "select exercise_id, week_start, state, reasons from lift_week "
            "where client_id = $client and week_start between $week::date - 84 and $week"
        )
        recent = self._trends().filter(pl.col("week_start") >= self.week - dt.timedelta(days=84))
        latest = recent.group_by("exercise_id", maintain_order=True).last()
        return latest.join(states, on=["exercise_id", "week_start"], how="left").sort(
            ["n_exposures", "exercise_name"], descending=[True, False], nulls_last=True
        )

    def strength_line(self) -> pl.DataFrame:
        """Pooled strength by week."""
        return self._ask(
            "select week_start, strength_index, index_low, index_high, slope_pct_per_week, "
            "slope_low_pct_per_week, slope_high_pct_per_week, n_lifts from client_strength_week "
            "where client_id = $client and week_start between $since and $week order by week_start"
        )

    def lift_trend(self, exercise_id: str) -> pl.DataFrame:
        """A lift's level by week."""
        return self._trends().filter(pl.col("exercise_id") == exercise_id)

    def lift_sessions(self, exercise_id: str) -> pl.DataFrame:
        """A lift's sessions with their best estimate."""
        return self._ask(
            "select exercise_id, session_date, best_e1rm_kg, e1rm_low_kg, e1rm_high_kg, e1rm_kind, "
            "e1rm_basis, best_load_kg, best_reps, best_rir "
            "from exercise_session where client_id = $client "
            "and session_date between $since and $until order by session_date"
        ).filter(pl.col("exercise_id") == exercise_id)

    def _sets(self) -> pl.DataFrame:
        """Every set of the weeks charts show, and of the days around them on which a session may be done."""
        return self._ask(
            """
            select session_date, exercise_id, exercise_name, exercise_text, set_index, drop_index, part_index,
                set_kind, load_kg, load_basis, load_text, implements, reps, reps_left, reps_right,
                is_at_least, duration_s, rir, rpe, note, source_file, source_sheet, source_row
            from logged_set
            where client_id = $client and session_date between $since::date - 7 and $known_until
            order by session_date, source_file, source_sheet, source_row, set_index, drop_index, part_index"""
        )

    def lift_sets(self, exercise_id: str) -> pl.DataFrame:
        """A lift's sets, for effort at matched work."""
        return self._sets().filter(
            pl.col("exercise_id") == exercise_id, pl.col("session_date").is_between(self.since, self.until)
        )

    def bests(self, exercise_id: str | None = None) -> pl.DataFrame:
        """Bests, newest first: of one lift, or of all."""
        bests = self._ask(
            "select best_date, exercise_id, exercise_name, kind, value, unit, previous_value, previous_date, "
            "load_kg, reps from personal_best where client_id = $client "
            "and best_date between $since and $until order by best_date desc, exercise_name, kind"
        )
        return bests if exercise_id is None else bests.filter(pl.col("exercise_id") == exercise_id)

    def spans(self) -> pl.DataFrame:
        """Deload weeks of the plan, breaks and excused days: date_from, date_to, kind."""
        return self._ask("""
            select week_start as date_from, (week_start + 6)::date as date_to, 'deload' as kind
            from adherence_week
            where client_id = $client and phase = 'deload' and week_start between $since and $week
            union all
            select greatest(date_from, $since), least(date_to, $until), kind
            from excused_span
            where client_id = $client and date_from <= $until and date_to >= $since
            order by date_from""")

    def plan_changes(self) -> pl.DataFrame:
        """Days on which another plan begins: change_date, label.

        A deload or break of a plan is a span, not a change, and neither is going on after it.
        """
        return self._ask("""
            with version as (
                select valid_from, string_agg(distinct plan, ', ') as plan
                from plan_slot
                where client_id = $client and valid_from <= $until
                    and coalesce(phase, '') not in ('deload', 'break')
                group by valid_from
            ),
            followed as (
                select valid_from, plan, lag(plan) over (order by valid_from) as plan_before from version
            )
            select valid_from as change_date, coalesce(plan, 'Plan') as label
            from followed
            where valid_from >= $since and plan is distinct from plan_before
            order by valid_from""")

    def muscle_weeks(self, n_weeks: int = 12) -> pl.DataFrame:
        """Hard sets a muscle, week by week."""
        return self._ask(
            """
            select week_start, muscle, direct_hard_sets, fractional_hard_sets, unknown_effort_sets,
                n_sessions, planned_sets, planned_direct_sets, target_low, target_high
            from muscle_week
            where client_id = $client and week_start > $week::date - 7 * $n_weeks and week_start <= $week
            order by week_start, muscle""",
            n_weeks=n_weeks,
        )

    def planned_sessions(self) -> pl.DataFrame:
        """Planned days and what became of them, as far as was known."""
        return self._as_known(
            self._ask(
                "select week_start, plan, phase, day, planned_date, outcome, session_date, planned_sets, "
                "done_sets, n_swapped from planned_session where client_id = $client "
                "and week_start between $since and $week order by week_start, planned_date, day"
            )
        )

    def planned_exercises(self) -> pl.DataFrame:
        """Planned exercises of the week, what was done of each, and what became of their day (`outcome`)."""
        return self._as_known(
            self._ask("""
                select e.*, s.outcome
                from planned_exercise e
                left join planned_session s on s.client_id = $client and s.week_start = $week
                    and s.plan is not distinct from e.plan and s.day = e.day
                    and s.planned_date is not distinct from e.planned_date
                where e.client_id = $client and e.week_start = $week
                order by e.planned_date nulls last, e.day, e.slot""")
        )

    def _as_known(self, planned: pl.DataFrame) -> pl.DataFrame:
        """What was planned and done later than was known counts as missed: nobody knew better then."""
        is_later = pl.col("session_date") > self.known_until
        nothing_done = [
            name
            for name in ("session_date", "done_exercise_id", "done_exercise_name", "done_sets",
                         "sets_in_rep_range", "n_swapped")
            if name in planned.columns
        ]  # fmt: skip
        return planned.with_columns(
            pl.when(is_later).then(pl.lit("missed")).otherwise("outcome").alias("outcome"),
            *(
                pl.when(~is_later.fill_null(value=False)).then(pl.col(name)).alias(name)
                for name in nothing_done
            ),
        )

    def adherence(self) -> pl.DataFrame:
        """Adherence by week, four weeks."""
        return self._ask(
            "select * from adherence_week where client_id = $client "
            "and week_start between $week::date - 21 and $week order by week_start desc"
        )

    def load_weeks(self) -> pl.DataFrame:
        """Load by week, four weeks, newest first."""
        return self._ask(
            "select * from load_week where client_id = $client "
            "and week_start between $week::date - 21 and $week order by week_start desc"
        )

    def week_sets(self, planned: list[dict[str, Any]]) -> pl.DataFrame:
        """The sets behind planned exercises (`planned_exercises` rows), warm-ups left out, in their order.

        A session that was moved may lie in another week; it is looked up by its day.
        """
        days = {row["session_date"] for row in planned if row["session_date"]}
        return (
            self._sets()
            .filter(pl.col("session_date").is_in(days), pl.col("set_kind") != "warm_up")
            .sort("session_date", "exercise_id", "set_index", "drop_index", "part_index", maintain_order=True)
        )

    def sessions(self) -> pl.DataFrame:
        """Sessions, newest first."""
        return self._ask(
            "select * from session_summary where client_id = $client "
            "and session_date between $since and $until order by session_date desc"
        )

    def session_sets(self, day: dt.date) -> pl.DataFrame:
        """Every set of a day with the file and row it came from."""
        return self._sets().filter(pl.col("session_date") == day)

    def check_ins(self) -> pl.DataFrame:
        """Check-ins with the week they fall in."""
        return self._ask("""
            select
                c.check_in_date, c.bodyweight_kg, c.sleep_h, c.sleep_quality, c.soreness, c.motivation,
                    c.stress,
                c.waist_cm, c.excused, c.note,
                (c.check_in_date
                    - ((isodow(c.check_in_date) - isodow($week::date) + 7) % 7)::integer)::date as week_start
            from check_in c
            where c.client_id = $client and c.check_in_date between $since and $until
            order by c.check_in_date""")

    def pain_notes(self, n_days: int = 56) -> pl.DataFrame:
        """Notes that mention pain, word for word, newest first."""
        return self._ask(
            """
            select session_date, exercise_name, note, is_warning_sign, source_file, source_sheet, source_row
            from pain_note
            where client_id = $client and session_date > $until::date - $n_days and session_date <= $until
            order by session_date desc, source_row""",
            n_days=n_days,
        )

    def next_targets(self) -> pl.DataFrame:
        """What the progression rule proposes; only as of the newest week."""
        return self._ask("select * from next_target where client_id = $client order by day, slot")

    def session_notes(self, day: dt.date) -> pl.DataFrame:
        """Lines of words among the sets of a day, word for word."""
        return self._ask(
            "select note, source_file, source_sheet, source_row from session_note "
            "where client_id = $client and session_date = $day order by source_file, source_row",
            day=day,
        )

    def observations(self) -> list[str]:
        """What went with more or less performance or progress; only as of the newest week."""
        frame = self._ask(
            "select sentence from volume_response where client_id = $client "
            "union all select sentence from session_context where client_id = $client"
        )
        return [sentence for sentence in frame["sentence"].to_list() if sentence]
