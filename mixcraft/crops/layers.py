"""Height layers and root depth classes: one rule for the crop list and for the interaction graph."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from mixcraft.files.constants import load_numbers

CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")
HEIGHT_LAYERS = ("ground", "low", "middle", "tall", "very tall")
"""Layers that plants stand in, from the ground up; above the last bound is "very tall"."""
ROOT_CLASSES = ("shallow", "medium", "deep")


@lru_cache(maxsize=1)
def _constants() -> Mapping[str, float]:
    return load_numbers(CONSTANTS_FILE)


def height_layer(height_m: float) -> str:
    """Name of the layer that a plant of this greatest height [m] stands in."""
    bounds = _constants()
    return next((n for n in HEIGHT_LAYERS[:-1] if height_m <= bounds[f"layer_{n}_most"]), HEIGHT_LAYERS[-1])


def root_class(depth_m: float) -> str:
    """Name of the class of a rooting depth [m]."""
    bounds = _constants()
    return next((n for n in ROOT_CLASSES[:-1] if depth_m <= bounds[f"roots_{n}_most"]), ROOT_CLASSES[-1])
