"""A client's month as a document: which sections it has, and in which order."""

from __future__ import annotations

import duckdb

from dashboards.report import sections, strength_sections
from dashboards.report.blocks import Block, Document, beside, figures, heading, text
from dashboards.report.facts import MonthFacts
from dashboards.report.figures import Figure, draw_figures
from dashboards.report.words import Words


def make_client_report(
    con: duckdb.DuckDBPyConnection,
    facts: MonthFacts,
    words: Words,
    *,
    paper: str,
    show_state: bool,
    for_screen: bool = False,
) -> Document:
    """The report, for paper or `for_screen`. A section without data is left out; the cautions never are."""
    drawn = draw_figures(con, facts, words, for_screen=for_screen) if facts.sessions else {}
    images: dict[str, str] = {}

    def charts(name: str, per_row: int = 1, caption: str = "") -> list[Block]:
        found: list[Figure] = drawn.get(name, [])
        if not found:
            return []
        block, pictures = figures(name, found, per_row, caption)
        images.update(pictures)
        return [block]

    blocks = [*sections.opening(facts, words), *sections.key_figures(facts, words)]
    if not facts.is_month_over:
        blocks.insert(
            0, text(words.text("report.month_open", date=words.full_day(facts.known_until)), "small")
        )
    if facts.n_waiting:
        blocks.append(text(words.text("waiting.rows", facts.n_waiting), "small"))
    if facts.has_warning_sign:
        # the one thing that must not wait until the last page
        blocks.insert(0, text(words.text("care.warning"), "warning"))
    blocks += sections.coach_note(facts, words)
    blocks += sections.calendar(facts, words)
    if show_state:
        blocks += sections.state(facts, words)
    if any(lift.now for lift in facts.lifts):
        blocks += [
            heading(words.text("strength.heading")),
            text(words.text("strength.explain"), "small", keep=True),
            *charts("strength"),
            *charts("lifts", 2, words.text("strength.chart_caption")),
            *strength_sections.strength_table(facts, words),
        ]
    blocks += strength_sections.bests(facts, words)
    if facts.sessions and facts.muscles:
        blocks += [
            heading(words.text("muscles.heading")),
            *sections.muscles_text(facts, words),
            *_side_by_side(
                charts("muscles", 1, words.text("muscles.chart_caption")),
                sections.muscles_table(facts, words),
            ),
        ]
    if facts.check_ins:
        blocks += [
            heading(words.text("check_ins.heading")),
            *_side_by_side(charts("bodyweight"), sections.check_ins_table(facts, words)),
        ]
    blocks += sections.next_steps(facts, words)
    blocks += sections.care(facts, words)

    month = words.month_name(facts.month.first)
    known = "report.known_until" if facts.is_month_over else "report.month_open"
    return Document(
        language=words.language,
        paper=paper,
        title=words.text("report.heading", month=month, name=facts.client.name),
        heading=facts.client.name,
        subheading=words.text("report.subheading", month=month),
        footer=words.text(known, date=words.full_day(facts.known_until)),
        page_text=words.text("report.page"),
        missing_glyphs=words.text("report.missing_glyphs"),
        blocks=tuple(blocks),
        images=images,
    )


def _side_by_side(charts: list[Block], figures_table: Block) -> list[Block]:
    return [beside(charts[0], figures_table)] if charts else [figures_table]
