"""What the tests of the design engine share."""

from __future__ import annotations

import pytest

from mixcraft.place import Place
from mixcraft.recipe.model import Garden
from mixcraft.recipe.reading import load_garden
from mixcraft.files import resource


@pytest.fixture(scope="session")
def garden() -> Garden:
    """The garden of the demonstration."""
    return load_garden(resource("recipes_demo", "kiln-lane.garden.yaml"))


@pytest.fixture(scope="session")
def oxford(garden: Garden) -> Place:
    """The place of that garden."""
    return garden.place
