"""The roster: twenty-four invented clients of an invented coach, and how each keeps a log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from demo_data.splits import SPLITS, Day

FIRST_MONDAY = date(2025, 11, 17)
N_WEEKS = 32
AS_OF = date(2026, 6, 28)

PhaseKind = Literal["build", "deload", "break", "return"]


def monday_of(week: int) -> date:
    """Monday of demo week 1 … 32."""
    return FIRST_MONDAY + timedelta(weeks=week - 1)


@dataclass(frozen=True)
class Phase:
    """A stretch of plan weeks, both ends included; `block` counts build phases from 1."""

    kind: PhaseKind
    first_week: int
    last_week: int
    block: int


@dataclass(frozen=True)
class Client:
    """One client. `gain_pct` is the weekly gain in true strength at the start and at the end.

    `weeks` spells the plan: B5 five build weeks, D1 one deload week, X3 an announced break of three
    weeks, R2 two weeks of return. `strength` scales the ordinary e1RM ratios of the lifts. `draw` picks
    another stream of chance where the first one hid the client's story in noise.
    """

    client_id: str
    name: str
    status: Literal["novice", "intermediate", "advanced"]
    bodyweight_kg: float
    unit: Literal["kg", "lb"]
    date_order: str
    strength: float
    gain_pct: tuple[float, float]
    split: str
    weeks: str
    effort: Literal["rpe", "rir", "none"]
    goal: str
    tags: str
    notes: str = ""
    first_week: int = 1
    profile_unit: str | None = None
    draw: int = 0

    @property
    def days(self) -> tuple[Day, ...]:
        """The training days of the split."""
        return SPLITS[self.split]

    @property
    def phases(self) -> tuple[Phase, ...]:
        """The plan's phases in order."""
        kinds: dict[str, PhaseKind] = {"B": "build", "D": "deload", "X": "break", "R": "return"}
        phases, week, block = [], self.first_week, 0
        for code in self.weeks.split():
            length = int(code[1:])
            block += code[0] == "B"
            phases.append(Phase(kinds[code[0]], week, week + length - 1, block))
            week += length
        return tuple(phases)

    def phase(self, week: int) -> Phase | None:
        """The phase of a week; None before the client began."""
        return next((p for p in self.phases if p.first_week <= week <= p.last_week), None)


CLIENTS: tuple[Client, ...] = (
    Client(
        "amara",
        "Amara Okonjo",
        "novice",
        71,
        "kg",
        "ymd",
        0.62,
        (0.85, 0.45),
        "Full body",
        "B5 D1 B6 D1 B6 D1 B6 D1 B5",
        "rpe",
        "first pull-up, squat her bodyweight for reps",
        "gym,mornings",
    ),
    Client(
        "lukas",
        "Lukas Brenner",
        "intermediate",
        84,
        "kg",
        "dmy",
        0.95,
        (0.30, 0.18),
        "Upper/Lower",
        "B6 D1 B6 D1 B5 D1 B6 D1 B5",
        "rpe",
        "bench 120, keep the back healthy",
        "remote",
        "logs in German",
    ),
    Client(
        "chloe",
        "Chloé Marchetti-Roux",
        "intermediate",
        68.5,
        "kg",
        "dmy",
        0.86,
        (0.28, 0.15),
        "Glutes and shoulders",
        "B5 D1 B6 D1 B6 D1 B6 D1 B5",
        "rir",
        "lose six kilos before August and keep the strength",
        "remote,cut",
        "cut from 6 April",
    ),
    Client(
        "tomasz",
        "Tomasz Wieliczko",
        "advanced",
        93,
        "kg",
        "dmy",
        1.22,
        (0.12, 0.10),
        "Strength four",
        "B5 D1 B5 D1 B5 D1 B6 D1 B7",
        "rpe",
        "total 650 in autumn",
        "remote,strength",
    ),
    Client(
        "priya",
        "Priya Raghunathan",
        "novice",
        58,
        "kg",
        "dmy",
        0.60,
        (0.90, 0.50),
        "First steps",
        "B6 D1 B6 D1 B6 D1 B5 D1 B5",
        "rir",
        "get strong enough for her field work",
        "gym",
    ),
    Client(
        "marcus",
        "Marcus Tillery",
        "intermediate",
        95,
        "lb",
        "mdy",
        0.96,
        (0.32, 0.22),
        "Upper/Lower",
        "B5 D1 B5 D1 B6 D1 B5 D1 B7",
        "rpe",
        "bench 3 plates one day",
        "remote",
        draw=3,
    ),
    Client(
        "yuki",
        "Yuki Hanamori",
        "intermediate",
        62,
        "kg",
        "ymd",
        0.88,
        (0.30, 0.22),
        "Full body",
        "B5 D1 B5 D1 B6 D1 B6 D1 B6",
        "rir",
        "stronger on the climbing wall",
        "remote",
    ),
    Client(
        "sofia",
        "Sofía Ibarra Leal",
        "intermediate",
        64,
        "kg",
        "dmy",
        0.82,
        (0.30, 0.20),
        "Upper/Lower",
        "B6 D1 B5 D1 B6 D1 B6 D1 B5",
        "none",
        "visible shoulders",
        "remote",
        "new job since June",
    ),
    Client(
        "dewi",
        "Dewi Prastowo",
        "novice",
        66,
        "kg",
        "dmy",
        0.60,
        (0.75, 0.40),
        "First steps",
        "B6 D1 B6 D1 B6 D1 B6 D1 B4",
        "none",
        "carry two toddlers upstairs",
        "remote",
        "sends notes from her phone",
    ),
    Client(
        "hank",
        "Hank Lindqvist",
        "intermediate",
        88,
        "lb",
        "mdy",
        0.78,
        (0.18, 0.12),
        "Home and machines",
        "B5 D1 B5 D1 B5 D1 B6 D1 B6 D1",
        "rpe",
        "ski with the grandchildren at 70",
        "gym,over 60",
    ),
    Client(
        "leila",
        "Leila Haddadian",
        "intermediate",
        61,
        "kg",
        "dmy",
        0.90,
        (0.30, 0.24),
        "Glutes and shoulders",
        "B5 D1 B6 D1 B5 D1 B6 D1 B5 D1",
        "rir",
        "hip thrust 160",
        "remote",
    ),
    Client(
        "kofi",
        "Kofi Asante-Boateng",
        "novice",
        79,
        "kg",
        "dmy",
        0.66,
        (0.85, 0.50),
        "Mornings",
        "B6 D1 B6 D1 B6 D1 B5 D1 B5",
        "rir",
        "put on eight kilos",
        "gym,mornings",
    ),
    Client(
        "meilin",
        "Mei-Lin Zhao",
        "intermediate",
        55,
        "kg",
        "dmy",
        0.74,
        (0.06, 0.03),
        "Mornings",
        "B5 D1 B6 D1 B6 D1 B6 D1 B5",
        "rir",
        "keep what she has, twice or three times a week",
        "gym,mornings",
        "maintenance is agreed",
    ),
    Client(
        "oskar",
        "Oskar Nyqvist",
        "intermediate",
        82,
        "kg",
        "dmy",
        0.92,
        (0.34, 0.26),
        "Mornings",
        "B5 D1 B5 D1 B5 D1 B6 D1 B7",
        "rir",
        "deadlift 200",
        "gym,mornings",
    ),
    Client(
        "rana",
        "Rana El-Masri",
        "intermediate",
        66,
        "kg",
        "dmy",
        0.84,
        (0.30, 0.24),
        "Upper/Lower",
        "B6 D1 B6 D1 B6 D1 B6 X3 R2",
        "rir",
        "first muscle-up",
        "remote",
        "break announced for 25 May to 14 June",
    ),
    Client(
        "diego",
        "Diego Fuentealba",
        "intermediate",
        77,
        "kg",
        "dmy",
        0.90,
        (0.30, 0.24),
        "Full body",
        "B5 D1 B6 D1 B6 D1 B5 D1 B6",
        "rpe",
        "play the whole second half",
        "remote",
    ),
    Client(
        "nora",
        "Nora Kestilä",
        "novice",
        69,
        "kg",
        "ymd",
        0.58,
        (0.90, 0.80),
        "First steps",
        "B3",
        "rir",
        "learn the lifts",
        "gym,new",
        first_week=30,
    ),
    Client(
        "tariq",
        "Tariq Mansoor-Bell",
        "novice",
        90,
        "lb",
        "mdy",
        0.62,
        (0.90, 0.80),
        "Full body",
        "B2",
        "rpe",
        "off the desk chair",
        "remote,new",
        first_week=31,
        profile_unit="",
    ),
    Client(
        "ivana",
        "Ivana Petrova-Kline",
        "intermediate",
        70,
        "kg",
        "dmy",
        0.84,
        (0.26, 0.18),
        "Glutes and shoulders",
        "B5 D1 B6 D1 B6 D1 B6 D1 B5",
        "rir",
        "three solid months",
        "remote",
    ),
    Client(
        "joao",
        "João Valadares",
        "advanced",
        86,
        "kg",
        "dmy",
        1.16,
        (0.14, 0.12),
        "Strength four",
        "B5 D1 B6 D1 B6 D1 B6 D1 B5",
        "rpe",
        "bench 160 at the club day",
        "remote,strength",
    ),
    Client(
        "grace",
        "Grace Whitlock-Adeyemi",
        "intermediate",
        73,
        "lb",
        "mdy",
        0.90,
        (0.32, 0.26),
        "Upper/Lower",
        "B6 D1 B6 D1 B6 D1 B5 D1 B5",
        "rpe",
        "peak her squat for the town games",
        "remote,strength",
        "heavier block from 25 May",
    ),
    Client(
        "sven",
        "Sven Aukland",
        "advanced",
        99,
        "kg",
        "dmy",
        1.20,
        (0.24, 0.22),
        "Strength four",
        "B5 D1 B5 D1 B6 D1 B6 D1 B6",
        "rpe",
        "squat 240",
        "remote,strength",
    ),
    Client(
        "fatou",
        "Fatou Diallo-Sarr",
        "intermediate",
        74,
        "kg",
        "dmy",
        0.84,
        (0.28, 0.18),
        "Glutes and shoulders",
        "B6 D1 B5 D1 B6 D1 B6 D1 B5",
        "none",
        "feel at home in the gym again",
        "gym",
    ),
    Client(
        "pavel",
        "Pavel Dvorsky",
        "advanced",
        90,
        "kg",
        "dmy",
        1.18,
        (0.12, 0.08),
        "Strength four",
        "B6 D1 B6 D1 B6 D1 B5 D1 B5",
        "rpe",
        "keep lifting through the building season",
        "remote",
    ),
)
BY_ID: dict[str, Client] = {client.client_id: client for client in CLIENTS}
