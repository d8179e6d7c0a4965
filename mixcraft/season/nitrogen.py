"""Nitrogen that soil, feeding and legumes give to a bed, and what its crops want of it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from numpy.typing import NDArray

from mixcraft.crops.model import Crop

from .constants import constant

Floats = NDArray[np.float64]
CURVES = Path(__file__).with_name("nitrogen_curves.yaml")


@lru_cache(maxsize=1)
def _curves() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.safe_load(CURVES.read_text("utf-8"))
    return loaded


def dilution(crop: Crop, c4: bool) -> tuple[float, float]:
    """Critical nitrogen of a crop [% of dry matter] at 1 t/ha, and the power to which it falls with the stand's mass."""
    curves = _curves()
    words = (crop.botanical, " ".join(crop.botanical.split()[:2]), crop.botanical.split()[0], crop.family)
    name = next((w for w in words if w in curves["crops"]), None)
    record = curves["crops"][name] if name else curves["c4" if c4 else "c3"]
    return float(record["most"]), float(record["power"])


def fixes_g_m2(crop: Crop) -> float:
    """Greatest nitrogen that a crop fixes in a season [g/m2], 0 for others than legumes."""
    record = crop.records.get("nutrition.fixation")
    if record is None:
        return 0.0
    return record.high if record.high is not None else record.value


def soil_supply(soil: str, tmean_c: Floats) -> tuple[float, Floats]:
    """Mineral nitrogen in the soil at first [g/m2], and what its humus gives each day [g/(m2 d)], shape of `tmean_c` [C].

    Mineralisation doubles with each 10 C, and stands still in frost.
    """
    start = constant(f"soil_nitrogen_{soil.replace(' ', '_')}")
    warmth = constant("mineral_q10") ** ((tmean_c - constant("mineral_reference")) / 10.0)
    return start, np.where(tmean_c > 0.0, constant("mineral_rate") * warmth, 0.0)


def fed(kind: str, litres_m2: float) -> float:
    """Nitrogen that a bed's feeding makes available in a year [g/m2]."""
    if kind == "usual":
        return constant("usual_feeding")
    return litres_m2 * constant("compost_nitrogen") * constant("compost_available")


def compost_litres(nitrogen_g_m2: float) -> float:
    """Litres of compost to the square metre that make so much nitrogen available in their first year."""
    return nitrogen_g_m2 / (constant("compost_nitrogen") * constant("compost_available"))


def curves_of(crops: Sequence[Crop], c4: Sequence[bool]) -> tuple[Floats, Floats]:
    """`dilution` of crops, (P,) each."""
    found = [dilution(crop, flag) for crop, flag in zip(crops, c4, strict=True)]
    return np.array([f[0] for f in found]), np.array([f[1] for f in found])
