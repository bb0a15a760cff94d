"""The words of the pages: states with their shapes, the trade's terms explained, cautions.

A state is a word and a shape, never a colour alone. Shapes are SVG paths in a box from −1 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class StateWord:
    """How a state is said, drawn and explained. `tone`: attention, main or quiet (see `theme.Palette`)."""

    word: str
    shape: str
    is_filled: bool
    tone: str
    meaning: str


STATE_WORDS: dict[str, StateWord] = {
    "over_reaching": StateWord(
        "Over-reaching",
        "M-1,-.7H1L0,.9Z",
        True,
        "attention",
        "Pattern consistent with accumulated fatigue: performance falls across lifts, or the same work costs "
        "more effort, while the plan asked for no less. Whether it passes in days or weeks shows only after "
        "recovery.",
    ),
    "plateau": StateWord(
        "Plateau",
        "M-1,-.28H1V.28H-1Z",
        True,
        "attention",
        "The pooled strength line has been flat for weeks, beyond measurement error, though the plan was "
        "done.",
    ),
    "off_plan": StateWord(
        "Off plan",
        "M-.8,-.8L.8,.8M.8,-.8L-.8,.8",
        False,
        "attention",
        "Too little of the plan was done to judge how it works; excused days do not count.",
    ),
    "no_recent_log": StateWord(
        "No recent log",
        "M0,-.9A.9,.9 0 1 1 -.01,-.9Z",
        False,
        "attention",
        "Nothing came in for longer than the limit in workspace.toml. It says nothing about training.",
    ),
    "returning": StateWord(
        "Returning",
        "M-.9,.7V-.1A.9,.8 0 0 1 .9,-.1V.2M.4,-.3L.9,.3L1.3,-.3",
        False,
        "main",
        "Back after a lay-off: lower loads are expected for a while and raise no flag.",
    ),
    "planned_deload": StateWord(
        "Planned deload",
        "M-1,-.6H-.5L-.2,.6H.2L.5,-.6H1",
        False,
        "quiet",
        "A lighter week of the plan: less volume and effort on purpose.",
    ),
    "progressing": StateWord(
        "Progressing",
        "M-1,.7L0,-.9L1,.7Z",
        True,
        "main",
        "The pooled strength line rises by more than its error.",
    ),
    "steady": StateWord(
        "Steady",
        "M0,-.75A.75,.75 0 1 1 -.01,-.75Z",
        True,
        "quiet",
        "No rise or fall beyond measurement error, and not long enough to call it a plateau.",
    ),
    "not_enough_data": StateWord(
        "Not enough data",
        "M-.9,0H-.5M-.2,0H.2M.5,0H.9",
        False,
        "quiet",
        "Too few comparable sessions to tell a trend from noise.",
    ),
}
"""In the order in which states ask for attention, where nothing finer is known."""

SEVERITY_WORDS: dict[str, StateWord] = {
    "look": StateWord(
        "Look", "M-1,-.7H1L0,.9Z", True, "attention", "Worth a change before the plan goes out."
    ),
    "consider": StateWord(
        "Consider", "M0,-1L1,0L0,1L-1,0Z", False, "main", "May be meant so; worth a thought."
    ),
    "fine": StateWord(
        "Fine", "M0,-.75A.75,.75 0 1 1 -.01,-.75Z", True, "quiet", "As practice would have it."
    ),
}

SPEAKS_WORDS: dict[str, StateWord] = {
    "for": StateWord("for", "M-.8,0H.8M0,-.8V.8", False, "main", "Speaks for it"),
    "against": StateWord("against", "M-.8,0H.8", False, "quiet", "Speaks against it"),
}

TERMS: dict[str, str] = {
    "e1RM": "Estimated one-repetition maximum: the load you could lift once, estimated from load, "
    "repetitions and repetitions in reserve. The band is the 90 % interval of the level.",
    "RIR": "Repetitions in reserve: how many more could have been done before failure.",
    "hard set": "A working set at the effort limit of workspace.toml or closer to failure (4 RIR unless "
    "changed). Counted 1 for a muscle trained directly, 0.5 indirectly.",
    "strength": "e1RM levels of all lifts pooled into one line; 100 is the client's first weeks. Each "
    "lift stays on its own basis.",
    "trend": "Pooled strength over the last 12 weeks, and its slope in % a week.",
    "attendance": "Planned sessions done, moved ones included, of those planned and not excused; last "
    "four weeks.",
    "set completion": "Planned sets done, each exercise capped at 100 %, of sets planned and not excused.",
    "confidence": "How often a call like this one holds where the truth is known.",
    "volume load": "Sets × repetitions × external load, both hands and both sides.",
    "target": "Weekly hard sets aimed at for a muscle, from workspace.toml or the defaults.",
    "frequency": "Sessions a week that train the muscle directly.",
    "deload": "A planned lighter week.",
    "since": "First week of the present run of this state.",
    "repetitions in range": "Sets whose repetitions lie in the planned range, of sets done.",
    "load in range": "Within 5 % of the client's own last comparable session, or above.",
    "effort in range": "Within 1 RIR of the target, of sets with effort.",
    "working sets": "Sets without warm-ups that are hard, or whose effort is unknown.",
    "fullest day": "Share of the week's working sets that fell on its fullest day.",
    "back to back": "Training days that follow a training day.",
    "session load": "Session RPE × minutes, summed over the week (Foster et al. 2001), in arbitrary units. "
    "Empty unless every training day has both.",
    "monotony": "Mean daily session load over its standard deviation in the week, rest days as zero (Foster "
    "1998). High: the days were much alike.",
    "strain": "Session load of the week × monotony (Foster 1998).",
    "relative dose intensity": "Repetitions done of repetitions planned, capped at 100 %.",
    "best": "A best that beats measurement error or the smallest load step.",
    "matched work": "Sets at the same load for the same repetitions: if reserve shrinks there, the same "
    "work costs more.",
    "lower bound": "The effort was not logged, so the true value is at least this.",
}

WHAT_KINDS: dict[str, str] = {
    "client": "Client",
    "exercise": "Exercise",
    "unit": "Unit",
    "date_order": "Order of dates",
    "date": "Date",
    "load": "Load",
    "correction": "Correction",
    "layout": "Layout",
}
BEST_KINDS: dict[str, str] = {
    "load": "load",
    "reps_at_load": "repetitions at a load",
    "e1rm": "e1RM",
    "volume": "volume load",
}
SET_KINDS: dict[str, str] = {
    "work": "",
    "warm_up": "warm-up",
    "drop": "drop set",
    "rest_pause": "rest-pause",
    "timed": "timed",
}

CAUTION = (
    "These figures describe training logs. They are not medical advice, and no figure outranks a coach's "
    "eye or a client's word. Pain overrides progress. Minors and people with a condition or injury need "
    "clearance from licensed medical care before they train hard. Local rules and licensed practice prevail."
)
PAIN_CAUTION = (
    "Client's words, unscored. Pain overrides progress: no added load on these exercises until it is "
    "resolved; when in doubt, or with a warning sign, licensed medical care comes first."
)
LOAD_CAUTION = (
    "Load is described, not judged: no limit holds for everyone. Session load, monotony and strain need "
    "session RPE and length on every training day, and are left out otherwise. No ratio of recent to earlier "
    "load is shown, because it does not foretell injury (Impellizzeri et al. 2020)."
)
WARNING_SIGNS = (
    "discomfort in chest, neck, jaw or arm",
    "breathlessness at rest or on mild exertion",
    "ankle swelling",
    "palpitations",
    "calf pain on walking",
    "a known heart murmur",
    "unusual fatigue with usual activities",
    "dizziness or fainting",
    "dark urine with severe muscle pain",
    "new numbness or weakness",
    "sudden severe headache",
)
WARNING_SIGNS_LEAD = "Stop and seek licensed medical care at any of these:"


def state_word(state: str | None) -> StateWord:
    """The word for a state; a state this version does not know is shown by its own name."""
    if state in STATE_WORDS:
        return STATE_WORDS[state]
    return StateWord((state or "unknown").replace("_", " "), "M-.9,0H.9", False, "quiet", "")
