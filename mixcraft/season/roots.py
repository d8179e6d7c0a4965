"""Roots and soils: how deep roots go, in which layers, and what soils hold.

Layers and textures after FAO-56 (Allen et al. 1998, chapters 7 and 8; Table 19).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.model import Crop
from mixcraft.files.constants import load_constants

from .constants import FILE, constant

Floats = NDArray[np.float64]

_HELD = "available_water_"
SOILS = tuple(name.removeprefix(_HELD).replace("_", " ") for name in load_constants(FILE) if name.startswith(_HELD))
"""Soil textures that have records."""
MM_PER_M = 1000.0


@dataclass(frozen=True)
class Texture:
    """What a soil holds: `available` between field capacity and wilting point, `wilting` at wilting point [m3/m3], and
    `readily` [mm], which evaporates from the surface as fast as the air takes it (FAO-56 Table 19)."""

    available: float
    wilting: float
    readily: float

    @property
    def evaporable(self) -> float:
        """Total evaporable water [mm]: the surface layer dries to half its wilting point (FAO-56 eq. 73)."""
        below = constant("dried_share") * self.wilting
        return MM_PER_M * constant("evaporation_depth") * (self.available + below)


def texture(soil: str) -> Texture:
    """The `Texture` of a soil of `SOILS`.  Raises ``KeyError``."""
    names = (f"{kind}{soil.replace(' ', '_')}" for kind in (_HELD, "wilting_point_", "readily_evaporable_"))
    return Texture(*(constant(name) for name in names))


def available_water_m3_m3() -> Mapping[str, float]:
    """Water between field capacity and wilting point by soil texture [m3/m3] (FAO-56 Table 19)."""
    return {soil: texture(soil).available for soil in SOILS}


@lru_cache(maxsize=1)
def _layers() -> tuple[float, ...]:
    return constant("evaporation_depth"), *(float(v) for v in load_constants(FILE)["soil_layers"].value)


def layer_bounds() -> Floats:
    """Lower bounds of the soil layers [m] (L,); the first is the layer that evaporation dries."""
    return np.array(_layers())


def root_layers(depth_m: Floats, bounds_m: Floats) -> Floats:
    """Share of the roots in each layer, last axis: falling in a straight line from the surface to `depth_m`.

    `depth_m` (...,) [m], `bounds_m` (L,) lower bounds of layers [m]; the result (..., L) sums to 1 if the layers reach deep
    enough.
    """
    inside = np.minimum(np.concatenate([[0.0], bounds_m]) / np.maximum(depth_m, 1e-6)[..., None], 1.0)
    above, below = inside[..., :-1], inside[..., 1:]
    return np.asarray((below - above) * (2.0 - above - below))


def roots_grown(thermal: Floats, ready: Floats | float) -> Floats:
    """How far a root system is grown, 0..1, at a thermal time since emergence [C d]; `ready` is that of ripeness [C d]."""
    return np.asarray(np.clip(thermal / (constant("root_grown_share") * ready), 0.0, 1.0))


def root_depth(crop: Crop, thermal: Floats) -> Floats:
    """Depth of a crop's roots [m] at a thermal time since emergence [C d], no deeper than the soil is followed."""
    deepest = min(crop["root.depth"], _layers()[-1])
    young = min(deepest, constant("root_depth_least"))
    return np.asarray(young + (deepest - young) * roots_grown(thermal, crop["development.ready"]))
