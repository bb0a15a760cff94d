"""Lays long tables out as client × week grids, so that every signal is one array operation.

Weeks are numbered from 0 over the whole calendar; a client's weeks run from the first log to the last
complete week. Everything here looks back only: column t of a grid never depends on a later one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

Grid = NDArray[np.float64]


@dataclass(frozen=True)
class Axis:
    """The clients (rows) and weeks (columns) of a grid."""

    clients: list[str]
    first_week: date
    n_weeks: int

    @property
    def shape(self) -> tuple[int, int]:
        """Clients × weeks."""
        return len(self.clients), self.n_weeks

    def week(self, column: int) -> date:
        """First day of week `column`."""
        return self.first_week + timedelta(days=7 * column)

    def columns(self, weeks: pl.Series) -> NDArray[np.int64]:
        """Column numbers of a series of week starts."""
        days = (weeks - self.first_week).dt.total_days()
        return (days // 7).cast(pl.Int64).to_numpy()

    def rows(self, clients: pl.Series) -> NDArray[np.int64]:
        """Row numbers of a series of client ids; -1 for a client without a row."""
        known = pl.DataFrame(
            {"client_id": pl.Series(self.clients, dtype=pl.String), "row": np.arange(len(self.clients))}
        )
        return (
            clients.rename("client_id")
            .cast(pl.String)
            .to_frame()
            .join(known, on="client_id", how="left", maintain_order="left")["row"]
            .fill_null(-1)
            .cast(pl.Int64)
            .to_numpy()
        )

    def spread(self, frame: pl.DataFrame, column: str, empty: float = np.nan) -> Grid:
        """Grid of `column` of a frame with client_id and week_start; `empty` where it has no row."""
        return self.spread_all(frame, [column], empty)[column]

    def spread_all(
        self, frame: pl.DataFrame, columns: Sequence[str], empty: float = np.nan
    ) -> dict[str, Grid]:
        """The same for several columns, whose rows are looked for once."""
        grids = {column: np.full(self.shape, empty) for column in columns}
        if frame.is_empty():
            return grids
        row, col = self.rows(frame["client_id"]), self.columns(frame["week_start"])
        inside = (row >= 0) & (col >= 0) & (col < self.n_weeks)
        place = (row[inside], col[inside])
        for column, grid in grids.items():
            grid[place] = frame[column].cast(pl.Float64).fill_null(empty).to_numpy()[inside]
        return grids


MOST_CLIENTS = 60
MOST_CELLS = 2_000_000
"""Clients, and cells of one grid of their stretches, that are held at once."""


def in_chunks(axis: Axis, n_rows: int) -> Iterator[tuple[slice, Axis]]:
    """The clients in parts whose stretches (`n_rows` over all clients) fit into memory, and their axes."""
    cells = max(n_rows, 1) / max(len(axis.clients), 1) * max(axis.n_weeks, 1)
    size = max(1, min(MOST_CLIENTS, int(MOST_CELLS / max(cells, 1.0))))
    for start in range(0, max(len(axis.clients), 1), size):
        part = slice(start, start + size)
        yield part, Axis(axis.clients[part], axis.first_week, axis.n_weeks)


def trailing_sum(grid: Grid, weeks: int, lag: int = 0) -> Grid:
    """Sum over the `weeks` columns that end `lag` columns back; missing counts as 0."""
    return window_of(np.cumsum(np.nan_to_num(grid), axis=1), weeks, lag)


def window_of(total: Grid, weeks: int, lag: int = 0) -> Grid:
    """The same from running totals, for grids that many windows are taken of."""
    out = np.zeros_like(total)
    n = total.shape[1]
    if lag < n:
        out[:, lag:] = total[:, : n - lag]
        if lag + weeks < n:
            out[:, lag + weeks :] -= total[:, : n - lag - weeks]
    return out


def trailing_mean(grid: Grid, weeks: int, lag: int = 0, least: int = 1) -> Grid:
    """Mean of what is there in the `weeks` columns that end `lag` back; NaN where fewer than `least`."""
    n = trailing_sum((~np.isnan(grid)).astype(float), weeks, lag)
    total = trailing_sum(grid, weeks, lag)
    return np.where(n >= least, total / np.maximum(n, 1), np.nan)


def trailing_sd(grid: Grid, weeks: int, lag: int = 0) -> Grid:
    """Sample standard deviation likewise; NaN below two values."""
    n = trailing_sum((~np.isnan(grid)).astype(float), weeks, lag)
    total, squares = trailing_sum(grid, weeks, lag), trailing_sum(grid * grid, weeks, lag)
    spread = np.maximum(squares - total * total / np.maximum(n, 1), 0) / np.maximum(n - 1, 1)
    return np.where(n >= 2, np.sqrt(spread), np.nan)


def carry_forward(grid: Grid) -> Grid:
    """The last value known at each column; NaN before the first."""
    column = np.where(~np.isnan(grid), np.arange(grid.shape[1]), -1)
    last = np.maximum.accumulate(column, axis=1)
    filled = np.take_along_axis(grid, np.maximum(last, 0), axis=1)
    return np.where(last >= 0, filled, np.nan)


def plain(values: Grid) -> Grid:
    """Values without the rounding noise of long sums, and without negative zeros."""
    return np.round(values, 9) + 0.0


def weeks_since(event: NDArray[np.bool_]) -> Grid:
    """Columns since `event` was last true (0 in that column); infinite before the first."""
    column = np.where(event, np.arange(event.shape[1]), -1)
    last = np.maximum.accumulate(column, axis=1)
    return np.where(last >= 0, np.arange(event.shape[1]) - last, np.inf)
