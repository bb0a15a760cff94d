"""Whether an answer means anything to the question it is given to: said at once, not dropped by the next update."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from pipeline.errors import SetwrightError

NO_EXERCISE = ("ignore", "none", "not an exercise")
_WORDS = {
    "unit": {
        **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"), "kg"),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
    },
    "date_order": {"dmy": "dmy", "mdy": "mdy", "day first": "dmy", "month first": "mdy"},
    "correction": {one: one for one in ("newer", "older", "both")},
    "layout": {
        one: one for one in ("sets_reps", "load_reps", "reps_load", "load_reps_sets", "load_sets_reps")
    },
}
KEEPS = ("keep", "yes", "right", "ok")  # answers that leave the load as it is written
_LEAST_COLUMNS = 3


def check_answer(kind: str, answer: str, choices: Mapping[str, str], exercises_csv: Path) -> str:
    """The answer to keep, as an update understands it; SetwrightError for one that means nothing.

    `choices`: value → label of the choices offered. An exercise is kept by its id; a client may be a new id,
    a load any figure, a date any writing of a day.
    """
    word = " ".join(answer.casefold().split())
    for value, label in choices.items():
        if word in (value.casefold(), " ".join(label.casefold().split())):
            return value
    if kind == "exercise":
        return _exercise(answer, word, exercises_csv)
    words = _WORDS.get(kind, {})
    # of the layout it is asked either what stands in a cell or what the columns are
    if word in words and (kind != "layout" or not choices or words[word] in choices):
        return words[word]
    names_columns = kind == "layout" and sum(map(bool, map(str.strip, word.split(",")))) >= _LEAST_COLUMNS
    if kind in _WORDS and not names_columns:
        offered = list(choices) or list(dict.fromkeys(words.values()))
        raise SetwrightError(f"{answer} is no answer to this question.", f"Answer with {_either(offered)}.")
    has_figure = re.search(r"\d", word)
    if kind == "load" and not has_figure and word not in KEEPS:
        raise SetwrightError(f"{answer} is no load.", "Answer with a figure such as 85, or with keep.")
    if kind == "date" and not has_figure:
        raise SetwrightError(f"{answer} is no day.", "Write it as 2026-06-28.")
    return answer


def _either(words: list[str]) -> str:
    """`kg or lb`; column names, which hold commas themselves, are parted by semicolons."""
    between = "; " if any("," in word for word in words) else ", "
    return between.join(words[:-1]) + " or " + words[-1] if len(words) > 1 else words[0]


def _exercise(answer: str, word: str, exercises_csv: Path) -> str:
    """The id of the exercise named by id, name or spelling; the coach's own spellings come first."""
    # only here: reading the catalogue takes time that other answers need not pay
    from pipeline.reference.catalogue import plain_key, read_catalogue_rows, read_unsure_spellings
    from pipeline.reference.coach_exercises import lay_coach_exercises_over

    if word in NO_EXERCISE:
        return "ignore"
    rows = read_catalogue_rows()
    if exercises_csv.exists():
        rows = lay_coach_exercises_over(rows, exercises_csv)
    known = {plain_key(one.spelling): one.exercise_id for one in rows.spellings if not one.is_coach_own}
    known |= {plain_key(one.exercise_name): one.exercise_id for one in rows.exercises.values()}
    known |= {plain_key(one.spelling): one.exercise_id for one in rows.spellings if one.is_coach_own}
    known |= {plain_key(exercise_id): exercise_id for exercise_id in rows.exercises}
    key = plain_key(answer)
    if key in known:
        return known[key]
    for unsure in read_unsure_spellings():
        if plain_key(unsure.spelling) == key:
            raise SetwrightError(
                f"{answer} can be more than one exercise.", f"Answer with {_either(list(unsure.candidates))}."
            )
    raise SetwrightError(
        f"{answer} is no known exercise.", "Use the name or id of one, or add it to exercises.csv."
    )
