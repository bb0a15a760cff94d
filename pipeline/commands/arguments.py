"""Arguments that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import click


class DayType(click.ParamType):  # type: ignore[type-arg,unused-ignore] # generic since click 8.2
    """A day written as 2026-06-28."""

    name = "DATE"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is no day; write it as 2026-06-28.", param, ctx)


workspace_argument = click.argument("workspace", type=click.Path())


def as_of_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """`--as-of DATE`: the day the files were received; today where it is not given."""
    return click.option(
        "--as-of",
        type=DayType(),
        default=None,
        help="The day up to which is known, as 2026-06-28. [default: today]",
    )(function)
