"""The sections of a client's report: figures into blocks, in the reader's words."""

from __future__ import annotations

from datetime import date

from dashboards.report.blocks import Block, heading, items, quote, table, text, tiles
from dashboards.report.facts import Excused, MonthFacts, Target
from dashboards.report.month_calendar import make_calendar, shortened, undated
from dashboards.report.strength_sections import load_text
from dashboards.report.words import Words

MOST_TARGETS = 8
HARDLY_UNKNOWN = 0.1  # share of working sets without effort from which the report says so
LEAST_SESSIONS = 3  # below this the month is told in short


def opening(facts: MonthFacts, words: Words) -> list[Block]:
    """What the month was about, in a few true sentences."""
    if not facts.sessions:
        return _quiet_opening(facts, words)
    month = words.month_name(facts.month.first)
    said = [words.text("opening.trained", len(facts.sessions), month=month)]
    if facts.n_due:
        said += _plan_sentences(facts, words)
    if facts.planned and facts.n_unplanned:
        said.append(words.text("opening.unplanned", facts.n_unplanned))
    if facts.deload_weeks:
        weeks = words.listing([words.text("opening.week_of", day=words.day(d)) for d in facts.deload_weeks])
        said.append(words.text("opening.deload", weeks=weeks))
    if facts.excused:
        said.append(words.text("opening.excused", spans=_spans(facts.excused, words)))
    blocks = [text(" ".join(said))]
    news = _strength_sentences(facts, words)
    if facts.bests:
        news.append(words.text("opening.bests", len(facts.bests)))
    if news:
        blocks.append(text(" ".join(news)))
    if facts.first_log and not any(lift.now for lift in facts.lifts):
        blocks.append(text(words.text("quiet.little")))
    return blocks


def _quiet_opening(facts: MonthFacts, words: Words) -> list[Block]:
    month = words.month_name(facts.month.first)
    said = []
    excused_all = facts.excused and not facts.n_due
    if excused_all:
        said += [
            words.text("quiet.excused", spans=_spans(facts.excused, words)),
            words.text("quiet.excused_return"),
        ]
    else:
        said += [words.text("quiet.no_log", month=month), words.text("quiet.no_log_invite")]
        if facts.excused:
            said.append(words.text("opening.excused", spans=_spans(facts.excused, words)))
    said.append(
        words.text("quiet.last_log", date=words.full_day(facts.last_log))
        if facts.last_log
        else words.text("quiet.never")
    )
    return [heading(words.text("quiet.heading")), text(" ".join(said))]


def _plan_sentences(facts: MonthFacts, words: Words) -> list[str]:
    done, due, moved = facts.n_done, facts.n_due, facts.n_outcome("moved")
    if done == due:
        said = [words.text("opening.plan_all", due)]
    else:
        said = [words.text("opening.plan_some", due, done=words.number(done), due=words.number(due))]
    if moved:
        said.append(words.text("opening.plan_moved", moved))
    if missed := facts.n_outcome("missed"):
        # what waits for an answer may be the very session that seems to be missing
        said.append(words.text("opening.not_counted" if facts.n_waiting else "opening.not_done", missed))
    if no_log := facts.n_outcome("no_log"):
        said.append(words.text("opening.no_log", no_log))
    return said


def _strength_sentences(facts: MonthFacts, words: Words) -> list[str]:
    told = [lift for lift in facts.lifts if lift.now is not None]
    said = []
    for verdict, message in (("rising", "opening.stronger"), ("falling", "opening.lower")):
        names = [lift.exercise_name for lift in told if lift.verdict == verdict]
        if names:
            said.append(words.text(message, lifts=words.listing(names)))
    if told and not said:
        said.append(words.text("opening.stronger_none"))
    return said


def _spans(spans: tuple[Excused, ...], words: Words) -> str:
    return words.listing(
        [
            words.text(
                "opening.span", days=words.days(span.first, span.last), kind=span_name(span.kind, words)
            )
            for span in spans
        ]
    )


def span_name(kind: str, words: Words) -> str:
    """The reader's word for a kind of excused span; the coach's own word where there is none."""
    return words.text(f"span.{kind}") if words.has(f"span.{kind}") else kind


def key_figures(facts: MonthFacts, words: Words) -> list[Block]:
    """The month in four figures; none of a month without sessions."""
    if not facts.sessions:
        return []
    if facts.n_due:
        sessions = (words.number(facts.n_done), words.text("tile.sessions_of", facts.n_due))
    else:
        sessions = (words.number(len(facts.sessions)), words.text("tile.sessions_plain"))
    shown = [
        (words.text("tile.sessions"), *sessions),
        (words.text("tile.sets"), words.number(facts.n_sets), words.text("tile.sets_small")),
    ]
    if facts.volume_kg > 0:
        shown.append(
            (
                words.text("tile.volume", unit=words.unit),
                words.number(words.in_unit(facts.volume_kg)),
                words.text("tile.volume_small"),
            )
        )
    if facts.bests:
        shown.append(
            (words.text("tile.bests"), words.number(len(facts.bests)), words.text("tile.bests_small"))
        )
    return [tiles(shown)]


def calendar(facts: MonthFacts, words: Words) -> list[Block]:
    """Sessions done against planned."""
    if not facts.sessions and not facts.planned:
        return []
    blocks = [heading(words.text("calendar.heading")), make_calendar(facts, words)]
    if names := undated(facts):
        blocks.append(text(words.text("calendar.any_day", sessions=words.listing(names)), "small"))
    return blocks


def coach_note(facts: MonthFacts, words: Words) -> list[Block]:
    """The coach's own words for the month."""
    if not facts.coach_note.strip():
        return []
    return [heading(words.text("note.heading")), quote(facts.coach_note.strip())]


def state(facts: MonthFacts, words: Words) -> list[Block]:
    """The state in words for the client; nothing where there is none."""
    if not facts.state or not words.has(f"state.{facts.state}"):
        return []
    return [heading(words.text("state.heading")), text(words.text(f"state.{facts.state}"))]


def muscles_text(facts: MonthFacts, words: Words) -> list[Block]:
    """What a hard set is, and how much of the picture is missing."""
    explained = [
        words.text("muscles.explain", rir=words.number(facts.hard_set_max_rir, 1)),
        words.text("muscles.weeks", len(facts.weeks)),
    ]
    blocks = [text(" ".join(explained), "small", keep=True)]
    known = facts.n_hard_sets + facts.n_unknown_effort_sets
    share = facts.n_unknown_effort_sets / facts.n_sets if facts.n_sets and known else 0.0
    if share > HARDLY_UNKNOWN:
        blocks.append(
            text(words.text("muscles.unknown", share=words.percent(share * 100)), "small", keep=True)
        )
    return blocks


def muscles_table(facts: MonthFacts, words: Words) -> Block:
    """Hard sets a week by muscle, against plan and target."""
    none = words.text("number.none")
    has_unknown = any(m.unknown_effort_sets > 0 for m in facts.muscles)
    has_plan = any(m.planned_sets is not None for m in facts.muscles)
    rows = []
    for m in facts.muscles:
        row = [
            words.text(f"muscle.{m.muscle}") if words.has(f"muscle.{m.muscle}") else m.muscle,
            words.fixed(m.hard_sets, 1),
        ]
        if has_unknown:
            row.append(words.fixed(m.unknown_effort_sets, 1) if m.unknown_effort_sets else none)
        if has_plan:
            row.append(words.fixed(m.planned_sets, 1) if m.planned_sets is not None else none)
        row.append(
            words.text(
                "number.range_short", low=words.number(m.target_low, 1), high=words.number(m.target_high, 1)
            )
            if m.target_low is not None and m.target_high is not None
            else none
        )
        rows.append(row)
    return table(
        [
            (words.text("muscles.muscle"), "left"),
            (words.text("muscles.done"), "right"),
            *([(words.text("muscles.unknown_effort"), "right")] if has_unknown else []),  # type: ignore[list-item]
            *([(words.text("muscles.planned"), "right")] if has_plan else []),  # type: ignore[list-item]
            (words.text("muscles.target"), "right"),
        ],
        rows,
        words.text("muscles.table"),
    )


def check_ins_table(facts: MonthFacts, words: Words) -> Block:
    """Averages of what was sent in, beside the month before."""
    none = words.text("number.none")
    return table(
        [
            (words.text("check_ins.measure"), "left"),
            (words.text("check_ins.now"), "right"),
            (words.text("check_ins.before"), "right"),
            (words.text("check_ins.entries"), "right"),
        ],
        [
            [
                words.text(f"measure.{v.measure}"),
                measure_text(v.measure, v.value, words),
                measure_text(v.measure, v.before, words) if v.before is not None else none,
                words.number(v.n_entries),
            ]
            for v in facts.check_ins
        ],
        words.text("check_ins.table"),
    )


def measure_text(measure: str, value: float, words: Words) -> str:
    """A check-in's average with its unit."""
    if measure == "bodyweight_kg":
        return words.text("number.load", number=words.fixed(words.in_unit(value), 1), unit=words.unit)
    number = words.fixed(value, 1)
    if measure == "waist_cm":
        return words.text("measure.cm", number=number)
    return words.text("measure.hours", number=number) if measure == "sleep_h" else number


def next_steps(facts: MonthFacts, words: Words) -> list[Block]:
    """The coach's focus for the next month and what the plan proposes; at least an invitation to talk."""
    blocks = [heading(words.text("next.heading"))]
    if facts.focus.strip():
        blocks.append(quote(facts.focus.strip()))
    # loads of weeks ago are no way back into training
    if not facts.targets or not facts.sessions:
        return blocks if facts.focus.strip() else [*blocks, text(words.text("next.talk"))]
    # the first exercises of each day are its main ones [P]; those chosen stand in the order of the week
    chosen = sorted(facts.targets, key=lambda target: target.slot)[:MOST_TARGETS]
    shown = sorted(chosen, key=lambda target: (target.planned_on or date.max, target.day, target.slot))
    blocks += [
        table(
            [
                (words.text("next.lift"), "left"),
                (words.text("next.day"), "left"),
                (words.text("next.sets"), "right"),
                (words.text("next.load"), "right"),
                (words.text("next.reps"), "right"),
                (words.text("next.rir"), "right"),
            ],
            [_target_row(target, words) for target in shown],
            words.text("next.explain"),
            dense=True,
        ),
    ]
    if (hidden := len(facts.targets) - len(shown)) > 0:
        blocks.append(text(words.text("next.more", hidden), "small"))
    return blocks


def _target_row(target: Target, words: Words) -> list[str]:
    none = words.text("number.none")
    low, high = target.rep_low, target.rep_high
    if low is None:
        reps = none
    elif high is None or high == low:
        reps = words.number(low)
    else:
        reps = words.text("number.range", low=words.number(low), high=words.number(high))
    return [
        target.exercise_name,
        shortened(target.day) or none,
        words.number(target.sets) if target.sets is not None else none,
        load_text(target.load_kg, target.load_basis, words) if target.load_kg is not None else none,
        reps,
        words.number(target.rir, 1) if target.rir is not None else none,
    ]


def care(facts: MonthFacts, words: Words) -> list[Block]:
    """The cautions that stand in every report; pain notes only as a kind pointer, never in their words."""
    blocks = [heading(words.text("care.heading"))]
    if facts.has_pain_note and not facts.has_warning_sign:
        blocks.append(text(words.text("care.pain"), "strong"))
    return [
        *blocks,
        items([words.text(f"care.{key}") for key in ("not_advice", "stop", "clearance", "estimates")]),
    ]
