"""The season as it came out: frozen results with their shapes, and the summaries that everything downstream reads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import Clock
from mixcraft.crops.development import NEVER
from mixcraft.place import Weather
from mixcraft.recipe.plan import HarvestPlan, Plan

if TYPE_CHECKING:
    from .sharing import Corrections

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BAND = (0.1, 0.5, 0.9)
"""Quantiles of an 80 % band with its middle."""
LEAST_PICKING_KG = 0.05
"""A picking smaller than this from a whole bed is not counted as one.  Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Band:
    """A middle with the 80 % band around it over weather years."""

    low: float
    middle: float
    high: float

    @classmethod
    def of(cls, values: NDArray[Any]) -> Band:
        """Band of the values of several years; nan where there are none."""
        if values.size == 0:
            return cls(np.nan, np.nan, np.nan)
        low, middle, high = np.quantile(values, BAND)
        return cls(float(low), float(middle), float(high))


def middle_of_years(values: Floats, axis: int = 1) -> Floats:
    """Medians over the few years of a season, by sorting: what `numpy.median` gives, in a fraction of its time."""
    ordered, count = np.sort(values, axis=axis), values.shape[axis]
    low, high = (ordered[(*[slice(None)] * axis, k)] for k in ((count - 1) // 2, count // 2))
    return np.asarray(0.5 * (low + high))


def weekly(values: Floats) -> Floats:
    """Sums by week along the first axis; a last part week counts as a week."""
    weeks = -(-values.shape[0] // 7)
    padded = np.zeros((weeks * 7, *values.shape[1:]))
    padded[: values.shape[0]] = values
    return np.asarray(padded.reshape(weeks, 7, *values.shape[1:]).sum(axis=1))


@dataclass(frozen=True)
class Season:
    """A plan grown over Y weather years of D days; P plantings and H harvests as in the plan.

    ``leaf_m2``, ``height_m`` (D, Y, P); ``absorbed_mj`` PAR absorbed, ``alone_mj`` what the same leaves would absorb without
    the others, (D, Y, P); ``takers`` (D, P, P) who takes whose light, rows summing to 1 where it is lost; ``growth_g`` dry
    matter (D, Y, P) and ``lone_growth_g`` of the same planting grown without the others; ``picked_kg``, ``lone_kg``,
    ``sole_kg`` fresh mass (D, Y, H) of the mixture, of each planting without the others, and of each crop alone on the
    whole bed at its best density; ``small_kg`` (D, Y, H) what the mixture gave below the least size that counts as a harvest,
    which is not in `picked_kg`; ``nitrogen`` (Y, P, 3) what each planting took from the soil, fixed and at most lacked [g/m2 of
    its ground]; ``held_back`` (Y, P, 3) and ``lone_held_back`` the mean logarithm of what drought, too little nitrogen and the
    neighbours' leaf in its room divide growth by; ``water`` stress factor (D, Y, P), 1 = none; event days (Y, P) and windows
    (Y, H) are day indices, `NEVER` for what does not happen; `clocks` by planting; `ground` holds (day, share of open sky on the
    soil (nx, ny)) of the days on which the voxel model was asked; `corrections` are what it said, for a neighbouring recipe.
    """

    plan: Plan
    weather: Weather
    leaf_m2: Floats
    height_m: Floats
    absorbed_mj: Floats
    alone_mj: Floats
    takers: Floats
    growth_g: Floats
    lone_growth_g: Floats
    picked_kg: Floats
    lone_kg: Floats
    sole_kg: Floats
    small_kg: Floats
    nitrogen: Floats
    held_back: Floats
    lone_held_back: Floats
    water: Floats
    emergence: Ints
    death: Ints
    opens: Ints
    closes: Ints
    light_model: str
    clocks: tuple[Clock, ...] = ()
    ground: tuple[tuple[int, Floats], ...] = ()
    corrections: Corrections | None = None

    @cached_property
    def taken_mj(self) -> Floats:
        """Light that each planting lost to each other in the middle year [MJ], (D, P, P)."""
        alone = self.alone_mj
        kept = np.minimum(np.divide(self.absorbed_mj, alone, out=np.ones_like(alone), where=alone > 0.0), 1.0)
        return np.asarray(self.takers * (middle_of_years(1.0 - kept) * middle_of_years(alone))[:, :, None])

    @property
    def days(self) -> int:
        """Days followed."""
        return int(self.picked_kg.shape[0])

    @property
    def years(self) -> int:
        """Weather years."""
        return int(self.picked_kg.shape[1])

    @property
    def before(self) -> int:
        """Days of its weather before day 0 of the plan."""
        return self.weather.day(self.plan.start)

    @property
    def harvests(self) -> tuple[HarvestPlan, ...]:
        """The harvests, as the last axis of `picked_kg` runs."""
        return self.plan.harvests

    def dates(self) -> NDArray[np.datetime64]:
        """Calendar days, (D,)."""
        return self.plan.start + np.arange(self.days)

    def weekly_kg(self) -> Floats:
        """Fresh kilograms by week of the season, (W, Y, H); week 0 begins on the first sowing day."""
        return weekly(self.picked_kg)

    def planting_kg(self, kind: str = "mixture") -> Floats:
        """Fresh kilograms of the season by planting, (Y, P): mixture, lone or sole.

        The sole crop is the better of two: the crop at its best density on the whole bed, and the planting as it is in the
        recipe with the bed to itself.
        """
        if kind == "sole":
            return np.maximum(self._by_planting(self.sole_kg), self._by_planting(self.lone_kg))
        return self._by_planting({"mixture": self.picked_kg, "lone": self.lone_kg}[kind])

    def _by_planting(self, source: Floats) -> Floats:
        result, total = np.zeros((self.years, len(self.plan.plantings))), source.sum(axis=0)
        for h, harvest in enumerate(self.harvests):
            result[:, harvest.planting] += total[:, h]
        return result

    def partial_ler(self) -> Floats:
        """Partial land equivalent ratios (Mead & Willey 1980), (Y, P): mixture yield over sole yield, on the same bed.

        Main and secondary parts count by fresh mass; nan where the crop yields nothing alone.
        """
        mixture, sole = self.planting_kg(), self.planting_kg("sole")
        return np.divide(mixture, sole, out=np.full_like(mixture, np.nan), where=sole > 1e-6)

    def field_days(self) -> Floats:
        """Days that each planting holds its ground, from sowing to its last leaf or picking, (Y, P)."""
        held, picked = self.leaf_m2 > 0.0, self.picked_kg > 0.0
        last = np.where(held.any(axis=0), self.days - 1 - held[::-1].argmax(axis=0), 0)
        day = np.where(picked.any(axis=0), self.days - 1 - picked[::-1].argmax(axis=0), 0)
        for h, harvest in enumerate(self.harvests):
            last[:, harvest.planting] = np.maximum(last[:, harvest.planting], day[:, h])
        start = np.array([p.start for p in self.plan.plantings])
        return np.asarray(np.clip(last - start + 1.0, 1.0, None))

    def first_picking(self) -> Ints:
        """Day of the first picking of each planting, (Y, P), `NEVER` if none."""
        result = np.full((self.years, len(self.plan.plantings)), NEVER, dtype=np.int64)
        for h, harvest in enumerate(self.harvests):
            picked = self.picked_kg[:, :, h] > 0.0
            day = np.where(picked.any(axis=0), picked.argmax(axis=0), NEVER)
            result[:, harvest.planting] = np.minimum(result[:, harvest.planting], day)
        return result

    def last_picking(self) -> Ints:
        """Day of the last picking of each planting, (Y, P), -1 if none."""
        result = np.full((self.years, len(self.plan.plantings)), -1, dtype=np.int64)
        for h, harvest in enumerate(self.harvests):
            picked = self.picked_kg[:, :, h] > 0.0
            day = np.where(picked.any(axis=0), self.days - 1 - picked[::-1].argmax(axis=0), -1)
            result[:, harvest.planting] = np.maximum(result[:, harvest.planting], day)
        return result

    def to_frame(self) -> Any:
        """Daily middle values as a pandas (or else polars) frame: date, planting, leaf area, height, light, picked kg.

        Raises ImportError when neither library is installed.
        """
        columns = self._columns()
        try:
            import pandas

            return pandas.DataFrame(columns)
        except ImportError:
            import polars

            return polars.DataFrame(columns)

    def _columns(self) -> dict[str, Any]:
        names = [p.name for p in self.plan.plantings]
        dates = np.repeat(self.dates(), len(names))
        picked = np.zeros((self.days, self.years, len(names)))
        for h, harvest in enumerate(self.harvests):
            picked[:, :, harvest.planting] += self.picked_kg[:, :, h]

        def middle(a: Floats) -> Floats:
            return np.asarray(np.median(a, axis=1).ravel())

        return {
            "date": dates, "planting": names * self.days, "leaf_m2": middle(self.leaf_m2),
            "height_m": middle(self.height_m), "par_absorbed_mj": middle(self.absorbed_mj),
            "par_alone_mj": middle(self.alone_mj), "growth_g": middle(self.growth_g),
            "picked_kg": np.asarray(picked.mean(axis=1).ravel()),
        }  # fmt: skip
