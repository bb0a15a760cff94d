"""What is known besides the files themselves: roster, catalogue, answers, settings, the day of receipt."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from pipeline.answers import Answers
from pipeline.clean.amounts import ExerciseFacts
from pipeline.clean.exercise_names import NameMatcher
from pipeline.clean.people import Roster
from pipeline.reference import Catalogue
from pipeline.workspace import Settings


@dataclass(frozen=True)
class ClientProfile:
    """What clients.csv says of a client that matters for reading the client's files."""

    client_id: str
    unit: str = ""
    date_order: str = ""
    start_date: date | None = None
    name: str = ""


@dataclass(frozen=True)
class Knowledge:
    """What is known besides the file: roster, catalogue, answers, settings, the day files were received."""

    roster: Roster
    profiles: Mapping[str, ClientProfile]
    catalogue: Catalogue
    matcher: NameMatcher
    answers: Answers
    as_of: date
    default_unit: str = ""
    default_order: str = ""
    bar_kg: float = 20.0

    @cached_property
    def exercise_ids(self) -> frozenset[str]:
        """Ids of the catalogue."""
        return frozenset(self.catalogue.exercise["exercise_id"].to_list())

    @cached_property
    def unloaded_ids(self) -> frozenset[str]:
        """Ids of exercises that are mostly done without a load in kilograms."""
        exercises = self.catalogue.exercise
        return frozenset(
            exercises.filter(exercises["load_basis"].is_in(["bodyweight", "none", "band"]))["exercise_id"]
        )

    @cached_property
    def exercise_facts(self) -> dict[str, ExerciseFacts]:
        """Exercise id → what matters for reading its loads."""
        return exercise_facts(self.catalogue)

    @cached_property
    def two_sided_ids(self) -> frozenset[str]:
        """Ids of exercises that both sides do at once, so that `5/5` is two sets and not left and right."""
        exercises = self.catalogue.exercise
        return frozenset(exercises.filter(~exercises["is_one_sided"])["exercise_id"])

    @cached_property
    def exercise_names(self) -> dict[str, str]:
        """Id of an exercise → the name shown."""
        return dict(self.catalogue.exercise.select("exercise_id", "exercise_name").iter_rows())


def exercise_facts(catalogue: Catalogue) -> dict[str, ExerciseFacts]:
    """Exercise id → what matters for reading its loads."""
    columns = ("exercise_id", "implement", "load_basis", "implements", "is_one_sided", "is_timed")
    return {
        row[0]: ExerciseFacts(row[1], row[2], int(row[3] or 1), bool(row[4]), bool(row[5]))
        for row in catalogue.exercise.select(columns).iter_rows()
    }


def gather_knowledge(
    clients: Iterable[Mapping[str, object]],
    roster: Roster,
    catalogue: Catalogue,
    answers: Answers,
    as_of: date,
    settings: Settings,
) -> Knowledge:
    """What a run knows; `clients` are rows of the contract's `client` table."""
    profiles = {
        str(c["client_id"]): ClientProfile(
            str(c["client_id"]),
            str(c["unit"] or ""),
            str(c["date_order"] or ""),
            c["start_date"] if isinstance(c["start_date"], date) else None,
            str(c["name"] or ""),
        )
        for c in clients
    }
    return Knowledge(
        roster,
        profiles,
        catalogue,
        NameMatcher(catalogue),
        answers,
        as_of,
        settings.unit,
        settings.date_order,
        settings.bar_kg,
    )


def names_by_client(clients: Iterable[Mapping[str, object]]) -> list[tuple[str, str]]:
    """Id and name of each client, as a `Roster` takes them."""
    return [(str(client["client_id"]), str(client["name"])) for client in clients]
