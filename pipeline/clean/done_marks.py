"""A column that tells what was done of a row: `yes`, `✅`, `no`, `partly`, or the sets themselves.

Beside planned figures a yes makes them the sets that were done, a no leaves nothing, and sets written there stand
instead of the plan. A text that says something else (`partly`) leaves open what was done: the row is refused.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

import polars as pl

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.cells.set_notation import parse_notation
from pipeline.clean.headers import HeaderCell
from pipeline.clean.layout import HOW_MUCH, Layout
from pipeline.clean.row_rules import is_not_done

_YES = re.compile(
    r"(?:yes|yep|y|ja|oui|si|sim|ok|okay|x|v|true|\[x\]|100 ?%|done|all(?: done| sets)?|complete[d]?|finished|full"
    r"|as (?:planned|prescribed|written|programmed)|erledigt|geschafft|gemacht|alle|alles|wie geplant|fait|complet|tout"
    r"|comme prevu|hecho|completo|todo|fatto|tutto|gedaan|feito|tudo|[✓✔✅☑👍🟢]+)"
    r"(?:[ ,;:.!(-]+[a-z ,!)]*)?[ .!]*"
)
_NO = re.compile(r"(?:\[ ?\]|[✗✘✕✖❌☐🚫⛔🔴☒]+)\ufe0f?[ .!]*")
_NO_WORDS = ("no", "n", "not", "false", "0", "nein", "nee", "non", "nao", "✗", "✘", "❌", "missed")
_IN_PART = re.compile(
    r"(?:in part|part(?:ly|ial(?:ly)?)?|half|some|almost|mostly|teilweise|zum teil|teils|halb|fast|en partie|partiel\w*"
    r"|moitie|parcial\w*|en parte|a medias|in parte|parzial\w*|quasi|deels|gedeeltelijk|half|em parte|metade|±|~"
    r"|\d{1,2} ?(?:/|of|von|de|di|sur|van) ?\d{1,2}|[1-9]\d? ?%)\b.*"
)
_SETS = re.compile(r"\d ?[x×*@]|[x×@] ?\d|\d ?(?:kgs?|lbs?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class DoneRows:
    """The rows of a table after its done column was heard.

    `undone` are the records that were not done, `unclear` those whose mark leaves it open, with the mark.
    """

    body: pl.DataFrame
    layout: Layout
    undone: frozenset[int] = frozenset()
    unclear: dict[int, str] = field(default_factory=dict)


def parse_done(text: str | None) -> str:
    """What a mark says: "yes", "no", "sets" (the sets stand there), "unclear"; "" for a blank."""
    folded = fold(text or "").strip()
    # folded, a ✕ is the x of a ticked box
    if _NO.fullmatch((text or "").strip()) or folded.strip(" .!") in _NO_WORDS or is_not_done(text):
        return "no"
    if is_blank(text):
        return ""
    if _YES.fullmatch(folded) and not re.search(r"\b(?:but|except|aber|mais|pero|ma|maar|mas|not)\b", folded):
        return "yes"
    if _SETS.search(folded):
        reading = parse_notation(text)
        if not reading.problem or reading.problem == "set_notation_ambiguous":
            return "sets"
    return "unclear"


def _says(texts: list[str], *, is_of_plan: bool) -> dict[str, str]:
    """What each mark of a column says; remarks in a column without a single yes or no are no marks."""
    says = {text: parse_done(text) for text in texts}
    figures = {text.strip() for text in texts if text.strip().isdecimal()}
    if figures and figures <= {"0", "1"}:
        says |= {text: "yes" if text.strip() == "1" else "no" for text in texts if text.strip() in figures}
    if is_of_plan or {"yes", "no", "sets"} & set(says.values()):
        return says
    return {
        text: what if _IN_PART.match(fold(text)) or text.strip().isdecimal() else ""
        for text, what in says.items()
    }


def _with_planned_exercise(body: pl.DataFrame, layout: Layout) -> pl.DataFrame:
    """Rows that name no other exercise than the planned one have that."""
    done = layout.column_of("exercise")
    planned = next((c for c, cell in layout.columns.items() if cell.planned == "exercise"), None)
    if not done or not planned:
        return body
    return body.with_columns(pl.coalesce(done, planned).alias(done))


def _ticked_results(body: pl.DataFrame, layout: Layout) -> str | None:
    """A column of results beside a plan that also holds a yes or no."""
    column = layout.column_of("notation")
    own = [cell for cell in layout.columns.values() if cell.role in HOW_MUCH]
    if not column or len(own) > 1 or not any(cell.planned in HOW_MUCH for cell in layout.columns.values()):
        return None
    texts = body[column].drop_nulls().unique().to_list()
    return column if any(parse_done(text) in ("yes", "no") for text in texts) else None


def hear_done(body: pl.DataFrame, layout: Layout) -> DoneRows:
    """The rows with planned figures as done where the done column says so, and its own sets where it has them."""
    body = _with_planned_exercise(body, layout)
    columns = dict(layout.columns)
    done = layout.column_of("done") or _ticked_results(body, layout)
    if not done or layout.kind != "set_rows":
        return DoneRows(body, layout)
    columns[done] = HeaderCell("done")
    has_own = any(cell.role in HOW_MUCH for cell in columns.values())
    planned = {c: cell for c, cell in columns.items() if cell.planned in HOW_MUCH} if not has_own else {}
    says = _says(body[done].drop_nulls().unique().to_list(), is_of_plan=bool(planned))
    for column, cell in planned.items():
        columns[column] = HeaderCell(cell.planned, cell.unit, is_per_hand=cell.is_per_hand)
    said = pl.col(done).replace_strict(says or {"": ""}, default="", return_dtype=pl.String)
    marked = body.with_columns(said.alias("done_says"), pl.col(done).alias("done_text"))
    writes_sets = "sets" in says.values()
    if writes_sets:
        own_sets = pl.col("done_says") == "sets"
        target = next((c for c, cell in columns.items() if cell.role == "notation"), done)
        amounts = [c for c, cell in columns.items() if cell.role in HOW_MUCH and c != target]
        # beside nothing else, what is neither sets nor a mark is refused as sets nobody can read
        unread = pl.when((pl.col("done_says") == "unclear") & pl.lit(not planned and not has_own))
        kept = unread.then(pl.col("done_text")) if target == done else pl.col(target)
        marked = marked.with_columns(
            pl.when(own_sets).then(pl.col("done_text")).otherwise(kept).alias(target),
            *[pl.when(own_sets).then(None).otherwise(pl.col(c)).alias(c) for c in amounts],
        )
        columns[target] = HeaderCell("notation")
    undone = pl.col("done_says") == "no"
    if planned or not has_own:
        undone |= pl.col("done_says") == ""
    is_unclear = pl.col("done_says") == "unclear"
    for counted in filter(None, (layout.column_of("reps"), layout.column_of("n_sets"))):
        # a number that repeats the row's own count says that it was done
        is_unclear &= ~(pl.col("done_text") == pl.col(counted)).fill_null(value=False)
    if has_own and {"yes", "no"} <= set(says.values()):
        # where ticks are the only marks a row's own figures count; beside a no, a blank leaves it open
        is_unclear |= pl.col("done_says") == ""
    unclear = marked.filter(is_unclear).select("source_row", pl.col("done_text").fill_null("no mark"))
    return DoneRows(
        marked.drop("done_says", "done_text"),
        replace(layout, columns=columns),
        frozenset(marked.filter(undone)["source_row"].to_list()),
        dict(unclear.iter_rows()),
    )
