"""Numbers of the design engine: records in `constants.yaml`; the usual crops of kitchen gardens in `usual_crops.yaml`."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

import yaml

from mixcraft.files.constants import load_numbers

CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")
USUAL_FILE = Path(__file__).with_name("usual_crops.yaml")


@lru_cache(maxsize=1)
def _constants() -> Mapping[str, float]:
    return load_numbers(CONSTANTS_FILE)


def constant(name: str) -> float:
    """The constant called `name`."""
    return _constants()[name]


@lru_cache(maxsize=1)
def usual_crops() -> tuple[str, ...]:
    """Crops that kitchen gardens of any climate usually grow, by id.  Common practice, no source."""
    return tuple(yaml.safe_load(USUAL_FILE.read_text("utf-8"))["usual"])
