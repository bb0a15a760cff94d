"""The three ways of doing the job give the same weekly figures, or the comparison of their times means
nothing."""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.workspace import open_workspace

TOLERANCE = 1e-9


def check_same_results(folder: Path) -> None:
    """SystemExit naming the first week whose sets, hard sets or volume differ between setwright, floor and
    pandas."""
    with duckdb.connect() as con:
        con.execute(f"attach '{open_workspace(folder).published_history()}' as ours (read_only)")
        con.execute(
            "create view ours_week as select client_id, week_start, sum(n_sets)::bigint as n_working_sets,"
            " sum(n_hard_sets)::bigint as n_hard_sets, sum(volume_kg) as volume_kg"
            " from ours.session_summary group by all"
        )
        others = {}
        if (folder / "floor.duckdb").exists():
            con.execute(f"attach '{folder / 'floor.duckdb'}' as floor (read_only)")
            others["floor"] = "floor.week"
        if (folder / "pandas" / "week.parquet").exists():
            others["pandas"] = f"read_parquet('{folder / 'pandas' / 'week.parquet'}')"
        for name, other in others.items():
            wrong = con.execute(
                f"select client_id, week_start::date from ours_week as a full join {other} as b"
                " using (client_id, week_start) where a.n_working_sets is distinct from b.n_working_sets"
                " or a.n_hard_sets is distinct from b.n_hard_sets"
                f" or not abs(a.volume_kg - b.volume_kg) <= {TOLERANCE} * b.volume_kg"
                " order by all limit 1"
            ).fetchall()
            if wrong:
                raise SystemExit(f"{name} and setwright differ, first in {wrong[0]}")
