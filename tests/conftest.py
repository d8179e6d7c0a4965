"""What all tests share: shared Hypothesis settings, the demonstration files, and small gardens to grow things in."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

TESTS = Path(__file__).parent
ROOT = TESTS.parent
if str(TESTS) not in sys.path:
    sys.path.insert(0, str(TESTS))  # so that tests can import `strategies`

settings.register_profile(
    "house",
    deadline=None,  # the first example of a run pays for imports and weather
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=True,  # same seed, same examples: a red run is red for everybody
)
settings.load_profile("house")


@pytest.fixture(scope="session")
def root() -> Path:
    """Top folder of the project."""
    return ROOT


@pytest.fixture(scope="session")
def demo() -> Path:
    """Folder of the demonstration garden."""
    return ROOT / "recipes_demo"
