"""A model that breaks its grain, its keys or an identity stops the publishing, and the last history stays."""

import shutil
from datetime import date
from pathlib import Path

import duckdb
import pytest

import pipeline.run.models as running
from pipeline.errors import PublishRefused
from pipeline.model.sql_models import Model, read_models
from pipeline.update import update
from pipeline.workspace import Settings, Workspace

pytestmark = pytest.mark.slow
AS_OF = date(2024, 1, 7)
LOG = """Date,Exercise,Set,Weight (kg),Reps,RIR
2024-01-01,Bench Press,1,100,5,2
2024-01-01,Bench Press,2,100,5,2
2024-01-03,Back Squat,1,140,5,2
"""


@pytest.fixture(scope="module")
def published_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One client with three sets, published once."""
    root = tmp_path_factory.mktemp("amara")
    (root / "clients.csv").write_text(
        "client_id,name,unit,date_order\namara,Amara,kg,ymd\n", encoding="utf-8"
    )
    (root / "inbox" / "amara").mkdir(parents=True)
    (root / "inbox" / "amara" / "log.csv").write_text(LOG, encoding="utf-8")
    for folder in ("plans", "check_ins"):
        (root / folder).mkdir()
    update(Workspace(root, Settings()), AS_OF)
    return root


@pytest.fixture
def workspace(published_once: Path, tmp_path: Path) -> Workspace:
    """A copy of it to do anything to."""
    return Workspace(Path(shutil.copytree(published_once, tmp_path / "w", symlinks=True)), Settings())


def published(workspace: Workspace) -> tuple[str, int]:
    path = workspace.published_history()
    with duckdb.connect(str(path), read_only=True) as con:
        return path.name, con.execute("select count(*) from logged_set").fetchall()[0][0]


@pytest.mark.parametrize(
    "table, old, new, said",
    [
        pytest.param(
            "muscle_week",
            "from every_muscle\n",
            "from (select * from every_muscle union all select * from every_muscle) as every_muscle\n",
            "muscle_week: One row a client id, week start, muscle.",
            id="every row twice",
        ),
        pytest.param(
            "exercise_session",
            "exercise_day.n_hard_sets,",
            "exercise_day.n_hard_sets + 1 as n_hard_sets,",
            "are the sums over its exercises",
            id="sums that do not add up",
        ),
        pytest.param(
            "session_summary",
            "    session.client_id,\n",
            "    cast(null as varchar) as client_id,\n",
            "client_id",
            id="a required value left out",
        ),
    ],
)
def test_a_broken_model_is_not_published(workspace, monkeypatch, table, old, new, said):
    models = read_models()
    [sound] = [model for model in models if model.name == table]
    assert sound.sql.count(old) == 1
    broken = Model(sound.name, sound.reads, sound.sql.replace(old, new))
    monkeypatch.setattr(running, "read_models", lambda: [m for m in models if m.name != table] + [broken])
    before = published(workspace)
    more = LOG.replace("01-01", "01-05").replace("100,5", "102.5,4")
    (workspace.inbox / "amara" / "more.csv").write_text(more, encoding="utf-8")
    with pytest.raises(PublishRefused, match="Nothing was published") as refused:
        update(workspace, AS_OF)
    assert said in str(refused.value)
    assert published(workspace) == before
    monkeypatch.undo()
    update(workspace, AS_OF)
    assert published(workspace)[1] > before[1]
