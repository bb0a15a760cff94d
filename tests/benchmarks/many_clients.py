"""A published history of any size: each client of a small one many times over, and their months once more
before themselves. Made in DuckDB, so that thousands of clients and tens of millions of sets take minutes.

Rows keep their figures; ids and names of the copies get a number, dates of the repeated months lie earlier.
Tables that an update groups stand in no order (as grouping leaves them), so that no page is fast only because
a client's rows happen to lie together; sets stand by client, as they are read.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import duckdb

NOW_ONLY = frozenset({
    "client", "roster_review", "next_target", "open_question", "waiting_row", "rejected_row", "duplicate_row",
    "ignored_row", "file_ledger", "name_resolution", "volume_response", "own_volume_response",
    "session_context", "block_exercise", "block_lift", "block_muscle", "block_review", "plan_audit",
    "plan_layout", "plan_change", "excused_span",
})  # fmt: skip
"""Tables that say how things stand, or are long enough: copied with the clients, not with the months."""
IN_ORDER = frozenset({"logged_set", "plan_slot", "check_in", "client"})


@dataclass(frozen=True)
class Size:
    """How often the clients, and how often their months, stand in the copy."""

    n_copies: int
    n_spans: int


def size_for(history: Path, n_clients: int, n_sets: int) -> Size:
    """The copies it takes to have at least that many clients and sets."""
    clients, sets = count_of(history)
    n_copies = -(-n_clients // clients)
    return Size(n_copies, max(1, -(-n_sets // (sets * n_copies))))


def multiply_history(source: Path, target: Path, size: Size) -> None:
    """Write the history at `source`, multiplied, to `target`."""
    target.unlink(missing_ok=True)
    with duckdb.connect(str(target)) as con:
        con.execute(f"attach '{source}' as small (read_only)")
        con.execute("set preserve_insertion_order = true")
        first, last = con.execute(
            "select min(week_start), max(week_start) from small.client_week"
        ).fetchall()[0]
        span = (last - first) + dt.timedelta(days=7)
        for name in [
            row[0]
            for row in con.execute(
                "select table_name from duckdb_tables() where database_name = 'small' order by table_name"
            ).fetchall()
        ]:
            con.execute(f"create table {name} as select * from small.{name} limit 0")
            con.execute(f"insert into {name} {_copied(con, name, size, span)}")
        con.execute("update pipeline_run set n_sets = (select count(*) from logged_set)")
        con.execute("detach small")


def _copied(con: duckdb.DuckDBPyConnection, name: str, size: Size, span: dt.timedelta) -> str:
    """The select that makes a table's rows: copies of clients, earlier months."""
    columns = con.execute(
        "select column_name, data_type from duckdb_columns() where database_name = 'small' "
        "and table_name = ? order by column_index",
        [name],
    ).fetchall()
    kinds = dict(columns)
    if "client_id" not in kinds and name not in ("file_ledger", "waiting_row", "rejected_row", "ignored_row"):
        return f"select * from small.{name}"
    n_spans = 1 if name in NOW_ONLY else size.n_spans
    back = f"(s.n * {span.days})::integer"
    changed = []
    for column, kind in columns:
        if column == "place" and name == "roster_review":
            changed.append(f"(t.place - 1) * {size.n_copies} + c.n + 1 as place")
        elif column in ("client_id", "question_id"):
            changed.append(f"case when c.n = 0 then t.{column} else t.{column} || '_' || c.n end as {column}")
        elif column == "name":
            changed.append("case when c.n = 0 then t.name else t.name || ' ' || c.n end as name")
        elif column == "source_file":
            changed.append("c.n || '/' || s.n || '/' || t.source_file as source_file")
        elif column == "valid_to" and n_spans > 1:
            # a plan that goes on today ended where the later copy of it begins
            changed.append(
                f"case when s.n = 0 then t.valid_to else coalesce(t.valid_to, (select as_of from small.setting))"
                f" - {back} end::date as valid_to"
            )
        elif kind == "DATE" and n_spans > 1:
            changed.append(f"(t.{column} - {back})::date as {column}")
        else:
            changed.append(f"t.{column}")
    order = "c.n, t.client_id, s.n desc, t.rowid" if name in IN_ORDER else "hash(t.rowid, c.n, s.n)"
    return (
        f"select {', '.join(changed)} from small.{name} t, range({size.n_copies}) c(n), "
        f"range({n_spans}) s(n) order by {order}"
    )


def workspace_of(source: Path, folder: Path, size: Size) -> Path:
    """A workspace at `folder` whose published history is `source` multiplied; settings as usual."""
    store = folder / ".setwright" / "history"
    for part in (folder / "inbox", store):
        part.mkdir(parents=True, exist_ok=True)
    (folder / "workspace.toml").write_text("", encoding="utf-8")
    multiply_history(source, store / "history-000001.duckdb", size)
    link = folder / "history.duckdb"
    link.unlink(missing_ok=True)
    link.symlink_to(Path(".setwright") / "history" / "history-000001.duckdb")
    return folder


def count_of(history: Path) -> tuple[int, int]:
    """Clients and sets of a history."""
    with duckdb.connect(str(history), read_only=True) as con:
        clients, sets = con.execute(
            "select (select count(*) from client), (select count(*) from logged_set)"
        ).fetchall()[0]
    return int(clients), int(sets)
