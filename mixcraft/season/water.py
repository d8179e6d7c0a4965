"""Water in the soil of a bed: a daily balance after FAO-56 over soil layers that the plantings' roots share.

Rain and watering fill layers from the top, what is too much drains away; bare soil dries its top; every planting asks for its
share of the day's transpiration and takes it where its roots are, as far as the layer's water allows (the stress coefficient of
FAO-56 eq. 84, layer by layer).  A bed that is watered whenever it needs it knows no stress and is not followed.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.constants import load_constants

from .constants import FILE, constant
from .growth import BalanceError
from .setting import BEFORE_DAYS, Setting

Floats = NDArray[np.float64]

LAYERS = 10
SOILS = ("sand", "loamy sand", "sandy loam", "loam", "silt loam", "clay loam", "clay")
WATERING_WEEKDAY = 0
MM_PER_M = 1000.0


def available_water_m3_m3() -> Mapping[str, float]:
    """Water between field capacity and wilting point by soil texture [m3/m3] (FAO-56 Table 19)."""
    record = load_constants(FILE)["available_water"]
    return dict(zip(SOILS, (float(v) for v in record.value), strict=True))


def root_layers(depth_m: Floats, bounds_m: Floats) -> Floats:
    """Share of the roots in each layer, last axis: falling in a straight line from the surface to `depth_m`.

    `depth_m` (...,) [m], `bounds_m` (L,) lower bounds of layers [m]; the result (..., L) sums to 1 if the layers reach deep
    enough.
    """
    edges = np.concatenate([[0.0], bounds_m])
    inside = np.clip(edges / np.maximum(depth_m, 0.02)[..., None], 0.0, 1.0)
    return np.asarray(np.diff(2.0 * inside - inside**2, axis=-1))


def roots_grown(thermal: Floats, ready: Floats | float) -> Floats:
    """How far a root system is grown, 0..1, at a thermal time since emergence [C d]; `ready` is that of ripeness [C d]."""
    return np.asarray(np.clip(thermal / (constant("root_grown_share") * ready), 0.0, 1.0))


def stress(depletion: Floats, available: Floats, p: Floats) -> Floats:
    """Water stress coefficient Ks (FAO-56 eq. 84): 1 while depletion is below p x available water, 0 when all is used."""
    return np.asarray(np.clip((available - depletion) / np.maximum((1.0 - p) * available, 1e-9), 0.0, 1.0))


class BedWater:
    """The soil water of a bed through a season; call it once a day, in order.

    ``bed_water(day, leaf_m2)`` takes leaf areas (Y, P) and returns the factor (Y, P) by which drought slows growth.
    `evaporated`, `transpired`, `drained`, `added` are running totals [mm] (Y,); raises `BalanceError` when they do not close.
    """

    def __init__(self, setting: Setting) -> None:
        plan = setting.plan
        b = BEFORE_DAYS
        weather = setting.weather
        self.rain, self.et0 = weather.rain_mm[:, b:], weather.et0_mm[:, b:]
        years = self.rain.shape[0]
        self.bounds = np.linspace(constant("soil_depth") / LAYERS, constant("soil_depth"), LAYERS)
        thick = constant("soil_depth") / LAYERS
        self.capacity = np.full(LAYERS, available_water_m3_m3()[plan.bed.soil] * thick * MM_PER_M)
        self.depletion = np.zeros((years, LAYERS))
        self.weekly = plan.bed.watering.mm_per_week if plan.bed.watering.kind == "weekly" else 0.0
        crops = [p.planting.crop for p in plan.plantings]
        self.area = np.array([p.stand.area_m2 for p in plan.plantings])
        self.bed_m2 = plan.bed.area_m2
        self.k = np.array([c["canopy.k"] for c in crops])
        self.kc = np.array([c["root.kc_mid"] for c in crops])
        self.p = np.array([c["root.depletion"] for c in crops])
        self.roots = np.array([min(c["root.depth"], constant("soil_depth")) for c in crops])
        ready = np.array([c["development.ready"] for c in crops])
        self.grown = roots_grown(setting.thermal, ready)
        self.added, self.drained = np.zeros(years), np.zeros(years)
        self.evaporated, self.transpired = np.zeros(years), np.zeros(years)

    def __call__(self, day: int, leaf_m2: Floats) -> Floats:
        cover = -np.expm1(-self.k * leaf_m2 / self.area)
        bare = np.clip(1.0 - (cover * self.area).sum(axis=1) / self.bed_m2, 0.0, 1.0)
        et0 = self.et0[:, day]
        demand = self.kc * cover * self.area / self.bed_m2 * et0[:, None]
        excess = np.maximum(demand.sum(axis=1) / np.maximum(self.kc.max() * et0, 1e-9), 1.0)
        demand = demand / excess[:, None]
        shares = root_layers(self.roots * self.grown[day], self.bounds)
        p = self.p + constant("depletion_slope") * (constant("depletion_reference") - self.kc * et0[:, None])
        p = np.clip(p, 0.1, 0.8)
        ks = stress(self.depletion[:, None, :], self.capacity, p[..., None])
        uptake = demand[..., None] * shares * ks
        factor = np.where(demand > 0.0, (shares * ks).sum(axis=-1) / np.maximum(shares.sum(axis=-1), 1e-9), 1.0)
        self._update(day, et0, bare, uptake.sum(axis=1))
        return np.asarray(factor)

    def _update(self, day: int, et0: Floats, bare: Floats, uptake: Floats) -> None:
        before = self.depletion.sum(axis=1)
        wet = np.clip(1.0 - self.depletion[:, 0] / self.capacity[0], 0.0, 1.0)
        share = min(1.0, constant("evaporation_depth") / self.bounds[0])
        most = share * (self.capacity[0] - self.depletion[:, 0])
        evaporation = np.minimum(constant("bare_soil_factor") * et0 * bare * wet, most)
        change = uptake.copy()
        change[:, 0] += evaporation
        room = self.capacity - self.depletion
        change = np.minimum(change, room)
        evaporation = np.minimum(evaporation, change[:, 0])
        self.depletion = self.depletion + change
        water = self.rain[:, day] + (self.weekly if day % 7 == WATERING_WEEKDAY else 0.0)
        left = water.copy()
        for layer in range(LAYERS):
            filled = np.minimum(left, self.depletion[:, layer])
            self.depletion[:, layer] -= filled
            left = left - filled
        self.added += water
        self.drained += left
        self.evaporated += evaporation
        self.transpired += change.sum(axis=1) - evaporation
        after = self.depletion.sum(axis=1)
        error = (after - before) - (change.sum(axis=1) - (water - left))
        if np.abs(error).max() > 1e-6 or (self.depletion < -1e-9).any():
            raise BalanceError("soil water does not balance")
