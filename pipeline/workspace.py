"""The workspace: the folder a coach owns, where its files lie, and what workspace.toml says."""

from __future__ import annotations

import fcntl
import os
import re
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, fields
from datetime import date, datetime
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from pipeline.errors import WorkspaceError
from pipeline.sign_in import SignIn, parse_sign_in
from pipeline.spark_settings import SparkSettings, parse_spark

if TYPE_CHECKING:
    import duckdb

VERSION = 2
"""Version of the folder's layout. `pipeline/keep/versions.py` brings an older one up to date; a newer one is
refused."""

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
E1RM_EQUATIONS = ("epley", "brzycki", "lombardi", "mayhew", "oconner", "wathan", "lander")


@dataclass(frozen=True)
class Settings:
    """What workspace.toml decides; every field has a default that suits a new coach.

    `unit` and `date_order` stay empty unless the coach states them: a file that does not say, of a
    client whose profile does not say, is then asked about instead of guessed.
    """

    unit: str = ""
    date_order: str = ""
    time_zone: str = ""
    first_day_of_week: str = "monday"
    report_language: str = "en"
    paper: str = "a4"
    e1rm_equation: str = "epley"
    e1rm_max_reps: int = 12
    hard_set_max_rir: float = 4.0
    bar_kg: float = 20.0
    recent_log_days: int = 14
    muscle_targets: dict[str, tuple[float, float]] = field(default_factory=dict)
    plan_rules: dict[str, object] = field(default_factory=dict)
    progression: dict[str, object] = field(default_factory=dict)
    sign_in: SignIn | None = None
    spark: SparkSettings = field(default_factory=SparkSettings)

    def today(self) -> date:
        """Today where the coach is; where this machine is if the coach does not say."""
        return datetime.now(ZoneInfo(self.time_zone) if self.time_zone else None).date()

    @property
    def first_weekday(self) -> int:
        """1 Monday … 7 Sunday."""
        return WEEKDAYS.index(self.first_day_of_week) + 1


_ALLOWED: dict[str, tuple[str, ...]] = {
    "unit": ("", "kg", "lb"),
    "date_order": ("", "dmy", "mdy", "ymd"),
    "first_day_of_week": WEEKDAYS,
    "paper": ("a4", "letter"),
    "e1rm_equation": E1RM_EQUATIONS,
}
_BOUNDS: dict[str, tuple[float, float]] = {
    "e1rm_max_reps": (1, 20),
    "hard_set_max_rir": (0, 6),
    "bar_kg": (5, 30),
    "recent_log_days": (3, 90),
}


def parse_settings(text: str, where: str = "workspace.toml") -> Settings:
    """Settings from the text of workspace.toml; WorkspaceError naming the key at fault."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise WorkspaceError(
            f"{where} is not valid TOML: {err}.", "Correct that line and run again."
        ) from err
    flat: dict[str, object] = {}
    for key, value in raw.items():
        if key in ("defaults", "thresholds") and isinstance(value, dict):
            flat.update(value)
        else:
            flat[key] = value
    known = {f.name: f for f in fields(Settings)}
    values: dict[str, object] = {}
    for key, value in flat.items():
        if key not in known:
            raise WorkspaceError(
                f"{where} has a setting {key!r} that does not exist.", f"Settings are: {', '.join(known)}."
            )
        values[key] = _checked(key, value, where)
    return Settings(**values)  # type: ignore[arg-type]


def _checked(key: str, value: object, where: str) -> object:
    if key in _ALLOWED:
        word = str(value).strip().lower()
        if word not in _ALLOWED[key]:
            choices = ", ".join(w for w in _ALLOWED[key] if w)
            raise WorkspaceError(f"{where}: {key} = {value!r} is not one of {choices}.")
        return word
    if key in _BOUNDS:
        low, high = _BOUNDS[key]
        if not isinstance(value, int | float) or isinstance(value, bool) or not low <= value <= high:
            raise WorkspaceError(f"{where}: {key} = {value!r} is not a number from {low:g} to {high:g}.")
        return int(value) if key in ("e1rm_max_reps", "recent_log_days") else float(value)
    if key == "muscle_targets":
        if not isinstance(value, dict):
            raise WorkspaceError(f"{where}: muscle_targets must be a table, such as chest = [10, 20].")
        return {muscle: _checked_range(muscle, span, where) for muscle, span in value.items()}
    if key == "time_zone":
        return _checked_zone(str(value).strip(), where)
    if key == "sign_in":
        return parse_sign_in(value, where)
    if key == "spark":
        return parse_spark(value, where)
    if key in ("plan_rules", "progression"):
        return _checked_changes(key, value, where)
    return str(value)


def _checked_zone(name: str, where: str) -> str:
    try:
        return ZoneInfo(name).key if name else ""
    except (KeyError, ValueError, OSError) as err:
        raise WorkspaceError(
            f"{where}: time_zone = {name!r} is not known.", 'Write it like "Europe/Lisbon" (IANA names).'
        ) from err


def _checked_changes(key: str, value: object, where: str) -> dict[str, object]:
    """The coach's changes to plan rules or progression, as they stand, once they are known to fit."""
    from pipeline.reference.plan_rules import changed_plan_rules
    from pipeline.reference.progression import changed_progression

    if not isinstance(value, dict):
        raise WorkspaceError(f"{where}: {key} must be a table, [{key}].")
    try:
        changed_plan_rules(value) if key == "plan_rules" else changed_progression(value)
    except ValueError as err:
        raise WorkspaceError(f"{where}: [{key}] {err}.") from err
    return value


def _checked_range(muscle: str, span: object, where: str) -> tuple[float, float]:
    match span:
        case [int() | float() as low, int() | float() as high] if 0 <= low <= high:
            return float(low), float(high)
    raise WorkspaceError(f"{where}: muscle_targets.{muscle} = {span!r} is not a range such as [10, 20].")


@dataclass(frozen=True)
class Workspace:
    """Paths of one workspace. Nothing is created by looking at them.

    `is_read_only`: opened for someone who may look and not write; every way to write refuses.
    """

    root: Path
    settings: Settings
    is_read_only: bool = False

    @property
    def clients_csv(self) -> Path:
        return self.root / "clients.csv"

    @property
    def exercises_csv(self) -> Path:
        return self.root / "exercises.csv"

    @property
    def answers_csv(self) -> Path:
        return self.root / "answers.csv"

    @property
    def inbox(self) -> Path:
        return self.root / "inbox"

    @property
    def plans(self) -> Path:
        return self.root / "plans"

    @property
    def check_ins(self) -> Path:
        return self.root / "check_ins"

    @property
    def messages(self) -> Path | None:
        """The coach's own words for reports, one catalogue a language; None where there are none."""
        folder = self.root / "messages"
        return folder if folder.is_dir() else None

    @property
    def reports(self) -> Path:
        return self.root / "reports"

    @property
    def backups(self) -> Path:
        return self.root / "backups"

    @property
    def notes_db(self) -> Path:
        return self.root / "notes.duckdb"

    @property
    def history_db(self) -> Path:
        """A link to the published history; connect by its real path (`published_history`)."""
        return self.root / "history.duckdb"

    @property
    def store(self) -> Path:
        """Our own folder: the histories behind the link, the lock, the validation page."""
        return self.root / ".setwright"

    def published_history(self) -> Path:
        """Real path of the published history; WorkspaceError when nothing was published yet."""
        if not self.history_db.exists():
            raise WorkspaceError(
                f"{self.root} has no published history yet.", f"Run: setwright update {self.root}"
            )
        return self.history_db.resolve()

    @contextmanager
    def open_history(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """The published history, to read; WorkspaceError when there is none or it is damaged or outdated."""
        import duckdb

        path = self.published_history()
        try:
            with duckdb.connect(str(path), read_only=True) as con:
                yield con
        except duckdb.Error as err:
            raise WorkspaceError(
                f"The published history {path.name} is damaged or was made by another version.",
                f"It is rebuilt from your files: setwright update {self.root}",
            ) from err

    def refuse_reader(self) -> None:
        """WorkspaceError for someone who may look and not write."""
        if self.is_read_only:
            raise WorkspaceError("You may look at this workspace, not change it.", "Ask the coach.")

    @contextmanager
    def lock(self) -> Iterator[None]:
        """Hold the workspace for one writer; WorkspaceError at once when another holds it or none can write."""
        self.refuse_reader()
        try:
            self.store.mkdir(mode=0o700, exist_ok=True)
            handle = os.open(self.store / "lock", os.O_CREAT | os.O_RDWR, 0o600)
        except OSError as err:
            raise WorkspaceError(
                f"{self.root} cannot be written: {err.strerror}.",
                "Check that the folder is yours and its disk is not write-protected.",
            ) from err
        try:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as err:
                raise WorkspaceError(
                    f"Another update, backup or restore is running on {self.root}.",
                    "Wait for it to end and run again.",
                ) from err
            yield
        finally:
            os.close(handle)


def layout_version(root: Path) -> int:
    """Version of the workspace at `root`; 1 for one that says none. WorkspaceError where it says nonsense."""
    path = root / ".setwright" / "version"
    try:
        text = path.read_text(encoding="ascii").strip()
        return int(text)
    except FileNotFoundError:
        return 1 if (root / ".setwright" / "history").exists() else VERSION
    except (OSError, ValueError) as err:
        raise WorkspaceError(
            f"{path} does not say a version.", "Remove it if no newer setwright was used on this folder."
        ) from err


def open_workspace(path: str | Path) -> Workspace:
    """The workspace at `path`; WorkspaceError when the folder or its settings cannot be used."""
    root = Path(path).expanduser()
    if not root.exists():
        raise WorkspaceError(f"There is no folder {root}.", f"Make one with: setwright init {root}")
    if not root.is_dir():
        raise WorkspaceError(f"{root} is a file, not a workspace folder.")
    found = layout_version(root)
    if found > VERSION:
        raise WorkspaceError(
            f"{root} was last written by a newer setwright (layout {found}, this one knows {VERSION}).",
            "Install the newer version; nothing was touched.",
        )
    settings_file = root / "workspace.toml"
    if not settings_file.exists():
        if not (root / "inbox").is_dir():
            around = _workspace_around(root)
            if around is not None:
                raise WorkspaceError(f"{root} is a folder inside a workspace.", f"Did you mean {around}?")
            raise WorkspaceError(
                f"{root} is not a workspace: it has neither workspace.toml nor an inbox.",
                f"Make it one with: setwright init {root}",
            )
        return Workspace(root.resolve(), Settings())
    try:
        text = settings_file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as err:
        raise WorkspaceError(f"{settings_file} cannot be read: {err}.") from err
    return Workspace(root.resolve(), parse_settings(text, str(settings_file)))


def _workspace_around(folder: Path) -> Path | None:
    """The workspace a folder lies in, as it was typed where that says it; None where there is none."""
    typed = [parent for parent in folder.parents if parent != Path()]
    return next(
        (place for place in (*typed, *folder.resolve().parents) if (place / "workspace.toml").is_file()), None
    )


def client_file_stem(client_id: str) -> str:
    """The part of a file name that tells whose it is: safe on every system, another for every client.

    Only ids that no system changes or mixes up (small letters, digits) stand as they are. Any other is told
    by its digest as well; its dot is in no plain id, so that the two kinds never meet.
    """
    if re.fullmatch(r"[a-z0-9_][a-z0-9_-]{0,59}", client_id):
        return client_id
    plain = re.sub(r"[^a-z0-9_-]+", "_", client_id.lower()).strip("_-")[:40] or "client"
    return f"{plain}.{sha256(client_id.encode('utf-8', 'surrogatepass')).hexdigest()[:12]}"
