"""What all tests share: shared Hypothesis settings, the demonstration files, and small gardens to grow things in."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

TESTS = Path(__file__).parent
ROOT = TESTS.parent
BENCH = "bench"
SETTINGS, LEAST_EXAMPLES = "_hypothesis_internal_use_settings", 3
"""Where Hypothesis keeps the settings of a property, and the fewest examples that one is tried with."""
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command has it: with more, weather differs in the last digit
sys.dont_write_bytecode = False  # else every process would take ten seconds to ready the assertions of all tests, in every run
if str(TESTS) not in sys.path:
    sys.path.insert(0, str(TESTS))  # so that tests can import `strategies`


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Workers for ``-n auto``: none for a few files, which end before workers have started, or for benches; else one a core."""
    few = len(config.args) <= 3 and all(".py" in name for name in config.args)
    return 0 if few or _benches(config) else None


def _benches(config: pytest.Config) -> bool:
    """Whether benches are asked for: ``-m bench``, not ``-m "not bench"``."""
    return re.search(rf"(?<!not )\b{BENCH}\b", config.option.markexpr) is not None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Benches run only where they are asked for: no other test depends on the clock.  A run without the slow tests also tries
    fewer examples of each property."""
    if not _benches(config):
        config.hook.pytest_deselected(items=[item for item in items if item.get_closest_marker(BENCH)])
        items[:] = [item for item in items if not item.get_closest_marker(BENCH)]
    if "not slow" in config.option.markexpr:
        for item in items:
            _few_examples(getattr(item, "obj", None))


def _few_examples(test: object) -> None:
    """A quarter of the examples that a property is tried with otherwise."""
    known = getattr(test, SETTINGS, None)
    if known is not None and not getattr(test, "few_examples", False):
        setattr(test, SETTINGS, settings(known, max_examples=max(LEAST_EXAMPLES, known.max_examples // 4)))
        test.few_examples = True  # type: ignore[attr-defined]


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
