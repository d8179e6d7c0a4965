"""What crops want of nitrogen: the share of their dry matter at which growth is just not held back, and what legumes fix."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from mixcraft.crops.model import Crop

CURVES = Path(__file__).with_name("nitrogen_curves.yaml")
C4_GENERA = ("Zea", "Amaranthus", "Portulaca", "Cymbopogon")
"""Genera of the library whose photosynthesis is C4 (Sage 2017, J. Exp. Bot. 68:4039-4056, from memory)."""


def is_c4(crop: Crop) -> bool:
    """Whether a crop's photosynthesis is C4."""
    return crop.botanical.split()[0] in C4_GENERA


@lru_cache(maxsize=1)
def _curves() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.load(CURVES.read_bytes(), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return loaded


def dilution(crop: Crop) -> tuple[float, float, float]:
    """Critical nitrogen of a crop [% of dry matter] as `kernel_nitrogen.critical_share` takes it: at 1 t/ha and the power to
    which it falls with the stand's mass, or of a very large stand and the share by which it is more in a small one."""
    curves = _curves()
    words = crop.botanical.split()
    name = next((w for w in (crop.id, " ".join(words[:2]), words[0]) if w in curves["crops"]), None)
    record = curves["crops"][name] if name else curves["c4" if is_c4(crop) else "c3"]
    return float(record["most"]), float(record.get("power", 0.0)), float(record.get("more", 0.0))


def fixes_g_m2(crop: Crop) -> float:
    """Greatest nitrogen that a crop fixes in a season [g/m2]; 0 for all but legumes."""
    record = crop.records.get("nutrition.fixation")
    if record is None:
        return 0.0
    return record.high if record.high is not None else record.value
