"""HTML that pages are made of: tables, state marks, small pictures. Everything from data is escaped here."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from dashboards.wording import StateWord


class Html(str):
    """Markup made by this module: the only text a table does not escape."""

    __slots__ = ()


Cell = str | int | float | dt.date | None


@dataclass(frozen=True)
class Head:
    """A column's heading: what it says, the term explained, `l`eft or `r`ight, narrowest width in rem.

    `sort_key` makes it a button that asks for that order (live tables only).
    """

    label: str
    explained: str = ""
    align: str = "l"
    sort_key: str = ""
    drop_at: str = ""
    """`narrow`: left out on narrow screens; `phone`: on a phone, where a live table's rows become blocks."""


def join(parts: Sequence[str], glue: str = "") -> Html:
    """Markup of the parts, plain ones escaped."""
    return Html(glue.join(part if isinstance(part, Html) else escape(part) for part in parts))


def element(tag: str, content: str, css_class: str = "", title: str = "") -> Html:
    """An element around `content` (escaped unless already markup)."""
    body = content if isinstance(content, Html) else escape(content)
    attributes = f' class="{escape(css_class)}"' if css_class else ""
    attributes += f' title="{escape(title)}"' if title else ""
    return Html(f"<{tag}{attributes}>{body}</{tag}>")


def show_date(day: dt.date | None, *, year: bool = False) -> str:
    """A day as one says it: `23 Jun`, with the year where it matters."""
    if day is None:
        return "–"
    return f"{day.day} {day:%b}" + (f" {day.year}" if year else "")


def show_figure(value: float | None, digits: int = 1) -> str:
    """A figure without needless zeros, a true minus sign, a dash for nothing."""
    if value is None:
        return "–"
    shown = f"{value:,.{digits}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    return "0" if shown in ("-0", "0") else shown.replace("-", "−")


def show_signed(value: float | None, digits: int = 1) -> str:
    """A change: with its sign."""
    shown = show_figure(value, digits)
    return f"+{shown}" if value is not None and value > 0 and shown != "0" else shown


def shape_mark(word: StateWord) -> Html:
    """The shape of a state; its word stands beside it, or in the title. `page_style` draws it."""
    return Html(f'<span class="sw-shape {shape_class(word)}" aria-hidden="true"></span>')


def shape_class(word: StateWord) -> str:
    """The style class that draws a state's shape."""
    return f"sw-shape-{word.word.lower().replace(' ', '-')}"


def state_mark(word: StateWord) -> Html:
    """Shape and word of a state, explained on hovering."""
    return Html(
        f'<span class="sw-state sw-{word.tone}" title="{escape(word.meaning)}">'
        f"{shape_mark(word)}<span>{escape(word.word)}</span></span>"
    )


def spark_svg(values: Sequence[float | None], described: str) -> Html:
    """A line without axes, 12 weeks wide at most; `described` says it in words."""
    known = [(i, v) for i, v in enumerate(values) if v is not None]
    if len(known) < 2:
        return Html("")
    low, high = min(v for _, v in known), max(v for _, v in known)
    middle, reach = (low + high) / 2, max((high - low) / 2, 0.02 * abs(high) or 1.0)
    # a change below two per cent stays visibly small: the scale never zooms into noise
    points = [(4 + 72 * i / (len(values) - 1), 12 - 9 * (v - middle) / reach) for i, v in known]
    line = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    x, y = points[-1]
    return Html(
        f'<svg class="sw-spark" viewBox="0 0 80 24" role="img" aria-label="{escape(described)}">'
        f'<polyline points="{line}" fill="none" stroke="currentColor" stroke-width="1.5"/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.2" fill="currentColor"/></svg>'
    )


def bar_svg(done: float | None, planned: float | None, unknown: float, described: str) -> Html:
    """Done as a bar, unknown as an outline after it, planned as an upright line."""
    full = max((planned or 0) * 1.15, (done or 0) + unknown, 1.0)
    width, outline = 60 * (done or 0) / full, 60 * unknown / full
    parts = [f'<rect x="0" y="4" width="{width:.1f}" height="6" class="sw-bar-done"/>']
    if outline > 1:
        parts.append(
            f'<rect x="{width + 0.5:.1f}" y="4.5" width="{outline - 1:.1f}" height="5" '
            'class="sw-bar-unknown"/>'
        )
    if planned:
        at = 60 * planned / full
        parts.append(f'<rect x="{at - 1:.1f}" y="1" width="2" height="12" class="sw-tick"/>')
    return Html(
        f'<svg class="sw-bar" viewBox="0 0 62 14" role="img" aria-label="{escape(described)}">'
        f'<rect x="0" y="4" width="60" height="6" class="sw-bar-back"/>{"".join(parts)}</svg>'
    )


def count_words(n: int, one: str, many: str) -> str:
    """`1 row waits`, `1,204 rows wait`."""
    return f"{n:,} {one if n == 1 else many}"


def table(
    heads: Sequence[Head],
    rows: Sequence[Sequence[Cell]],
    *,
    caption: str,
    row_classes: Sequence[str] = (),
    sorted_by: str = "",
    headings: dict[int, str] | None = None,
) -> Html:
    """A table; `caption` is what a screen reader announces it as. Plain cells are escaped.

    `headings`: words to stand over the group of rows that begins at a row's number.
    """
    out = [f'<div class="sw-scroll"><table class="sw-table"><caption>{escape(caption)}</caption><thead><tr>']
    out += [_head(head, sorted_by) for head in heads]
    out.append("</tr></thead><tbody>")
    for number, row in enumerate(rows):
        if headings and number in headings:
            out.append(
                f'<tr class="sw-group"><th scope="rowgroup" colspan="{len(heads)}">'
                f"{escape(headings[number])}</th></tr>"
            )
        css_class = row_classes[number] if number < len(row_classes) else ""
        out.append(f'<tr class="{escape(css_class)}">')
        out += [
            f'<td class="sw-{head.align} {"sw-" + head.drop_at if head.drop_at else ""}">{_cell(value)}</td>'
            for head, value in zip(heads, row, strict=True)
        ]
        out.append("</tr>")
    out.append("</tbody></table></div>")
    return Html("".join(out))


def _head(head: Head, sorted_by: str) -> str:
    label = escape(head.label)
    title = f' title="{escape(head.explained)}"' if head.explained else ""
    css_class = f"sw-{head.align}" + (f" sw-{head.drop_at}" if head.drop_at else "")
    if not head.sort_key:
        hint = ' class="sw-term"' if head.explained else ""
        return f'<th scope="col" class="{css_class}"{title}><span{hint}>{label}</span></th>'
    is_sorted = head.sort_key == sorted_by
    state = ' aria-sort="other"' if is_sorted else ""
    arrow = " ↓" if is_sorted else ""
    return (
        f'<th scope="col" class="{css_class}"{state}{title}>'
        f'<button type="button" data-act="sort" data-of="{escape(head.sort_key)}">'
        f"{label}{arrow}</button></th>"
    )


def _cell(value: Cell) -> str:
    if isinstance(value, Html):
        return value
    if value is None:
        return "–"
    if isinstance(value, dt.date):
        return escape(show_date(value, year=True))
    if isinstance(value, float | int):
        return escape(show_figure(value))
    return escape(value)
