"""Settings for all tests: properties are tried on the same examples in every run.

`pytest --hypothesis-profile=long tests/clean` tries many more, other ones each time.
"""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("steady", max_examples=100, deadline=None, derandomize=True)
settings.register_profile(
    "long", max_examples=2_000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")
