"""What the trade would consider next, each tied to the figure it rests on; never an order.

With pain noted nothing here proposes more load, more sets or harder effort: pain overrides progress.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp
from typing import Any

Option = dict[str, str]


def suggest_options(row: Mapping[str, Any]) -> list[Option]:
    """Options for one client's last week from `state` and signals; a list of {option, because}."""
    options: list[Option] = []
    if row.get("has_warning"):
        options.append(
            _option(
                "Stop and ask the client to seek licensed medical care before training goes on",
                "a note of the last two weeks names a warning sign; read it word for word",
            )
        )
    in_pain = bool(row.get("n_pain_notes"))
    if in_pain:
        options.append(
            _option(
                "Talk about the pain first, and hold or ease the exercises concerned",
                f"{_notes(row['n_pain_notes'])} of the last two weeks; pain overrides progress",
            )
        )
    options += _BY_STATE.get(str(row.get("state")), _nothing)(row, in_pain)
    return options


def _option(option: str, because: str) -> Option:
    return {"option": option, "because": because}


def _muscle(name: Any) -> str:
    return str(name).replace("_", " ")


def _notes(n: int) -> str:
    return "one note mentions pain" if n == 1 else f"{n} notes mention pain"


def _nothing(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    del row, in_pain
    return []


def _figure(row: Mapping[str, Any], name: str) -> float:
    value = row.get(name)
    return 0.0 if value is None else float(value)


def _tired_answers(row: Mapping[str, Any]) -> bool:
    return _figure(row, "n_answers") > 0 and _figure(row, "strain_2") > 0.5


def _over_reaching(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    del in_pain
    options = [
        _option(
            "A lighter week: same days, about half the sets, two repetitions more in reserve",
            str(row.get("reason") or "strength is below the client's own recent level"),
        )
    ]
    if row.get("more_muscle"):
        options.append(
            _option(
                f"One or two sets fewer for the {_muscle(row['more_muscle'])}",
                f"{_figure(row, 'more_sets'):.0f} sets a week more than in the eight weeks before",
            )
        )
    elif _figure(row, "dose_3") > 0.1:
        options.append(
            _option(
                "One or two sets fewer where sets were added",
                f"{100 * (exp(_figure(row, 'dose_3')) - 1):.0f} % more sets than usual in three weeks",
            )
        )
    if _tired_answers(row):
        options.append(
            _option(
                "Ask about sleep, food, work and stress",
                f"check-ins {_figure(row, 'strain_2'):.1f} standard deviations more tired than usual",
            )
        )
    else:
        options.append(
            _option(
                "Talk before changing much: stress outside training shows the same way",
                "the log alone cannot tell where the fatigue comes from",
            )
        )
    return options


def _plateau(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    options: list[Option] = []
    slope = f"pooled slope {_figure(row, 'slope_pct_per_week'):+.2f} % a week"
    if not in_pain:
        if _figure(row, "reserve_lifts_2") > 0 and _figure(row, "reserve_change_2") > 1:
            options.append(
                _option(
                    "A small load step on the main lifts",
                    f"{_figure(row, 'reserve_change_2') / 2.5:.1f} more repetitions in reserve than before",
                )
            )
        if row.get("less_muscle"):
            options.append(
                _option(
                    f"One or two sets more for the {_muscle(row['less_muscle'])}, if recovery is good",
                    f"{_figure(row, 'less_sets'):.0f} sets a week below the least aimed at",
                )
            )
        else:
            options.append(_option("One or two sets more for one muscle, if recovery is good", slope))
    if _figure(row, "plan_age") >= 8:
        options.append(
            _option(
                "Another lift or repetition range in the stalled patterns",
                f"the present plan is {_figure(row, 'plan_age'):.0f} weeks old",
            )
        )
    else:
        options.append(_option("Hold for another two weeks and look again", slope))
    if _tired_answers(row):
        options.append(
            _option(
                "Look at sleep, food and stress before adding work",
                f"check-ins {_figure(row, 'strain_2'):.1f} standard deviations more tired than usual",
            )
        )
    return options


def _off_plan(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    del in_pain
    missed = _figure(row, "missed_4")
    because = f"{missed:.0f} planned sessions missed in four weeks" if missed else "planned sets are left out"
    return [
        _option("Ask what stands in the way", because),
        _option("Fewer days or shorter sessions that will be done", because),
    ]


def _no_recent_log(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    del in_pain
    days = row.get("days_since_log")
    return [
        _option(
            "Ask whether training goes on and the log is only late",
            "no log yet" if days is None else f"{days} days without a log",
        )
    ]


def _returning(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    del in_pain
    return [
        _option(
            "Start below the old loads with repetitions to spare and build over two to three weeks",
            str(row.get("reason") or "back after a pause"),
        )
    ]


def _progressing(row: Mapping[str, Any], in_pain: bool) -> list[Option]:
    if in_pain:
        return []
    return [_option("Go on as planned", f"pooled slope {_figure(row, 'slope_pct_per_week'):+.2f} % a week")]


_BY_STATE = {
    "over_reaching": _over_reaching,
    "plateau": _plateau,
    "off_plan": _off_plan,
    "no_recent_log": _no_recent_log,
    "returning": _returning,
    "progressing": _progressing,
}
