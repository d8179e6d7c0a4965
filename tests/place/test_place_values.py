"""A place, and a garden at it, is a value: equal and hashed by what it holds."""

from __future__ import annotations

import pickle
from dataclasses import replace

from mixcraft.place import reference_place
from mixcraft.recipe.model import Bed, Garden


def test_places_and_gardens_are_equal_by_content():
    here = reference_place("Oxford")
    copy = pickle.loads(pickle.dumps(here))
    assert copy == here
    assert hash(copy) == hash(here)
    warmer = replace(here, normals=replace(here.normals, tmax_c=here.normals.tmax_c + 1.0))
    assert warmer != here
    assert len({Garden("g", place, (Bed("b", 1.0, 1.0),)) for place in (here, copy, warmer)}) == 2
