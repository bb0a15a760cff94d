"""Settings for all tests: what properties are tried on, and what checks the contract's rules.

Properties are tried on the same examples in every run; `pytest --hypothesis-profile=long tests/clean` tries
many more, other ones each time.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("steady", max_examples=100, deadline=None, derandomize=True)
settings.register_profile(
    "long", max_examples=2_000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")

# What one process has compiled the next that a test starts need not: great-expectations alone takes four seconds.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


@pytest.fixture(autouse=True, scope="module")
def plain_examiner(request: pytest.FixtureRequest) -> Iterator[None]:
    """Updates within a test check the rules plainly, save in modules that say `REAL_EXAMINER = True`."""
    patch = pytest.MonkeyPatch()
    if not getattr(request.module, "REAL_EXAMINER", False):
        from tests.plain_examiner import PlainExaminer

        patch.setattr("pipeline.validate.judge.Examiner", PlainExaminer)
    yield
    patch.undo()
