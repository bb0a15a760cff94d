"""The planted stories: what happens to whom in which weeks, and what a review should say of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Turn:
    """What is different for a client from `first_week` to `last_week` (both included).

    gain_pct    weekly gain of true strength in percent instead of the client's own; None: the client's own
    only_lifts  the lifts whose gain is replaced; empty: all
    dip_pct     loss of performance in percent, growing evenly from the first value to the second
    push        repetitions by which the client goes closer to failure than planned
    holds_load  the client does not lower a load that has become too heavy
    dose        sets done as a share of the plan
    attendance  chance that a planned session is done
    swap        chance that an exercise is replaced by something else
    strain      0 … 1, how far check-ins move towards bad sleep, soreness, low motivation, stress
    weight_pct  weekly change of bodyweight in percent
    """

    first_week: int
    last_week: int
    gain_pct: float | None = None
    only_lifts: tuple[str, ...] = ()
    dip_pct: tuple[float, float] = (0.0, 0.0)
    push: float = 0.0
    holds_load: bool = False
    dose: float = 1.0
    attendance: float | None = None
    swap: float = 0.0
    strain: float = 0.0
    weight_pct: float = 0.0

    def holds(self, week: int) -> bool:
        """Whether the turn is on in that week."""
        return self.first_week <= week <= self.last_week

    def dip(self, week: int) -> float:
        """Loss of performance in that week, percent."""
        start, end = self.dip_pct
        length = self.last_week - self.first_week
        return start if length == 0 else start + (end - start) * (week - self.first_week) / length


@dataclass(frozen=True)
class Story:
    """A planted story and what the review should say in those weeks.

    `expected_state` holds for most weeks of the span and for its last one; `also_right` lists states a
    careful reader could give instead (separated by ;).
    """

    client_id: str
    story: str
    expected_state: str
    first_week: int
    last_week: int
    also_right: str = ""
    note: str = ""


TURNS: dict[str, tuple[Turn, ...]] = {
    "lukas": (Turn(17, 32, gain_pct=0.0),),
    "marcus": (Turn(23, 32, gain_pct=0.0),),
    "sven": (Turn(19, 32, gain_pct=0.0, only_lifts=("lateral_raise", "hammer_curl", "face_pull")),),
    "tomasz": (
        Turn(27, 29, dose=1.35, dip_pct=(0.0, 1.0), push=0.5, strain=0.2),
        Turn(30, 32, dose=1.3, dip_pct=(4.0, 9.0), push=2.0, holds_load=True, strain=1.0, gain_pct=0.0),
    ),
    "joao": (
        Turn(15, 16, dose=1.3, dip_pct=(0.5, 1.5), push=0.5, strain=0.3),
        Turn(17, 19, dose=1.25, dip_pct=(4.0, 8.5), push=2.0, holds_load=True, strain=1.0, gain_pct=0.0),
        Turn(20, 21, dip_pct=(4.0, 1.0), strain=0.3),
    ),
    "sofia": (Turn(28, 32, attendance=0.33, gain_pct=0.0),),
    "fatou": (Turn(27, 32, dose=0.6, swap=0.55, attendance=0.85, gain_pct=0.05),),
    "chloe": (Turn(21, 32, gain_pct=-0.04, weight_pct=-0.6, strain=0.15),),
    "rana": (
        Turn(28, 30, attendance=0.0, gain_pct=-1.6),
        Turn(31, 32, gain_pct=1.2),
    ),
    "diego": (
        Turn(26, 29, attendance=0.0, gain_pct=-1.4),
        Turn(30, 32, gain_pct=1.2),
    ),
    "ivana": (Turn(29, 32, attendance=0.0),),
    "kofi": (Turn(1, 32, weight_pct=0.18),),
}

STORIES: tuple[Story, ...] = (
    Story(
        "lukas",
        "long plateau",
        "plateau",
        24,
        32,
        note="strength stands still from week 17; eight weeks are needed to tell",
    ),
    Story(
        "marcus",
        "short plateau",
        "plateau",
        31,
        32,
        "steady",
        "strength stands still from week 23; only the last weeks can tell",
    ),
    Story(
        "sven",
        "plateau on accessories only",
        "progressing",
        27,
        32,
        "steady",
        "lateral raise, hammer curl and face pull stand still from week 19, the main lifts go on",
    ),
    Story(
        "tomasz",
        "over-reaching now",
        "over_reaching",
        31,
        32,
        note="extra sets from week 27, performance falls across lifts from week 30, check-ins worsen",
    ),
    Story(
        "joao",
        "over-reaching in spring, cleared",
        "over_reaching",
        18,
        19,
        note="the deload of week 20 clears it; no flag from week 23 on",
    ),
    Story("joao", "recovered", "progressing", 26, 32, "steady"),
    Story(
        "sofia",
        "off plan: sessions missed",
        "off_plan",
        29,
        32,
        note="about one session in three from week 28; no excuse on the check-ins",
    ),
    Story(
        "fatou",
        "off plan: other exercises and fewer sets",
        "off_plan",
        29,
        32,
        note="comes to most sessions but swaps half the exercises and does 60 % of the sets from week 27",
    ),
    Story("hank", "planned deload", "planned_deload", 32, 32, note="week 32 is a deload in the plan"),
    Story("leila", "planned deload", "planned_deload", 32, 32, note="week 32 is a deload in the plan"),
    Story(
        "rana",
        "announced break and return",
        "returning",
        31,
        32,
        note="weeks 28 to 30 are a break in the plan; the two weeks after it are no decline",
    ),
    Story(
        "diego",
        "unannounced break and return",
        "returning",
        30,
        31,
        "steady;progressing",
        "travel, excused on the check-ins, weeks 26 to 29; back in week 30",
    ),
    Story("nora", "new client", "not_enough_data", 30, 32, note="three weeks of logs"),
    Story(
        "tariq",
        "new client",
        "not_enough_data",
        31,
        32,
        "no_recent_log",
        "two weeks of logs; the second week's file says no unit and waits",
    ),
    Story("ivana", "no recent log", "no_recent_log", 31, 32, note="last log in week 28"),
    Story(
        "chloe",
        "bodyweight cut, strength held",
        "steady",
        25,
        32,
        "progressing;plateau",
        "bodyweight falls 0.6 % a week from week 21: must not be over-reaching",
    ),
    Story(
        "grace",
        "new block, heavier and fewer repetitions",
        "progressing",
        29,
        32,
        "steady;not_enough_data",
        "main lifts go from 5-8 to 3-5 repetitions in week 28: no flag",
    ),
    Story(
        "meilin",
        "maintenance",
        "steady",
        20,
        32,
        "plateau;progressing",
        "agreed maintenance: hardly any gain all year",
    ),
    Story("amara", "novice gains", "progressing", 12, 32, "steady"),
    Story("priya", "novice gains", "progressing", 12, 32, "steady"),
    Story("kofi", "novice gains, gaining weight", "progressing", 12, 32, "steady"),
    Story("dewi", "novice gains, phone notes", "progressing", 16, 32, "steady"),
    Story("oskar", "steady intermediate gains", "progressing", 16, 32, "steady"),
    Story("yuki", "slow intermediate gains", "progressing", 20, 32, "steady"),
    Story("pavel", "very slow advanced gains", "steady", 20, 32, "progressing;plateau"),
)


def turns_of(client_id: str, week: int) -> tuple[Turn, ...]:
    """The turns that hold for a client in a week."""
    return tuple(turn for turn in TURNS.get(client_id, ()) if turn.holds(week))
