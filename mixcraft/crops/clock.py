"""The clock of one planting: from its start to emergence, flower, bolting, ripeness and death, over many years at once.

Everything here depends on temperature and day length alone, not on growth, so it can be computed before the season is
run and used by start rules.  Shapes: years first, days last, (Y, D); event days are (Y,) indices, `NEVER` if none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .development import (
    NEVER,
    bolting_day,
    crop_thermal_rate,
    emergence_day,
    first_day_reaching,
    nursery_thermal_time,
)
from .model import Crop, Part

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SEEDLING_C_D = 120.0
"""Thermal time [C d] over which frost limits pass from the seedling's to the grown plant's.  Common practice, no source."""
SOWN = ("broadcast", "drills", "stations")
WARM_SEED_C, SEED_KEEPS_DAYS = 8.0, 60
"""Seed that asks for soil at least this warm [C] rots if it is not up after so many days.  Common practice, no source."""
PIECES = ("tuber", "clove", "set", "crown", "division")
"""Ways of establishing from a piece of a plant, which sprouts on what it holds."""
PLANTED = ("module", "plant")
"""Ways of establishing that set out a plant in leaf."""
DORMANT = (*PIECES, "plant")
BURIED = ("tap", "tuberous", "bulb")
"""Root forms whose main part, if it is an organ, sits in the soil and outlives the tops."""


@dataclass(frozen=True)
class Clock:
    """Days of a planting's life.  `thermal` (Y, D) is thermal time since emergence [C d], negative before it; `dieback` (Y, D)
    days on which frost kills the tops of a plant whose rootstock lives on."""

    start: int
    emergence: Ints
    organ: Ints
    ready: Ints
    flower: Ints
    bolt: Ints
    end: Ints
    death: Ints
    thermal: Floats
    rate: Floats
    dieback: Bools

    def event(self, name: str) -> Ints:
        """Days of the event `name`: start, emergence, organ_start, ready, flower, bolt, end or frost (death)."""
        table = {
            "start": np.full_like(self.emergence, self.start), "emergence": self.emergence, "organ_start": self.organ,
            "ready": self.ready, "first harvest": self.ready, "flower": self.flower, "bolt": self.bolt, "end": self.end,
            "frost": self.death,
        }  # fmt: skip
        return table[name]


def head_start(crop: Crop, establish: str) -> float:
    """Thermal time [C d] that planting material has behind it when it goes into the bed; 0 for seed."""
    if establish in PLANTED:
        return nursery_thermal_time(crop, crop.number("seed.module_age", 5.0))
    return 0.0


def run_clock(
    crop: Crop,
    establish: str,
    start: int,
    mean_c: Floats,
    min_c: Floats,
    soil_c: Floats,
    daylength_h: Floats,
) -> Clock:
    """The clock of `crop` started on day index `start` in the given weather.

    Parameters: `mean_c`, `min_c` daily air temperature under the planting's covers [C], `soil_c` temperature at sowing
    depth [C], all (Y, D); `daylength_h` (D,) as plants perceive it [h].
    """
    years, days = mean_c.shape
    if establish in PLANTED:
        emergence = np.full(years, start, dtype=np.int64)
    else:
        emergence = emergence_day(crop, soil_c, start)
        if establish in SOWN and crop["emergence.t_min"] >= WARM_SEED_C:
            emergence = np.where(emergence > start + SEED_KEEPS_DAYS, NEVER, emergence)
    rate = crop_thermal_rate(crop, mean_c)
    green = np.arange(days) >= emergence[:, None]
    thermal = np.cumsum(np.where(green, rate, 0.0), axis=1) + head_start(crop, establish)
    ready = _reach(thermal, green, crop["development.ready"], emergence)
    flower = _reach(thermal, green, crop.number("development.flower", np.inf), emergence)
    organ = _reach(thermal, green, crop.number("harvest.organ_start", np.inf), emergence)
    end = _reach(thermal, green, crop["development.end"], emergence)
    behind = np.inf if establish in PIECES else head_start(crop, establish)
    bolt = bolting_day(crop, mean_c, rate, daylength_h, np.minimum(emergence, days), behind)
    bulbing = crop.records.get("development.bulbing.critical_daylength")
    if bulbing is not None:
        long_enough = np.broadcast_to(daylength_h > bulbing.value, mean_c.shape)
        big_enough = np.arange(days) >= organ[:, None]
        organ = first_day_reaching(big_enough & long_enough, True)
        takes = crop["development.ready"] - crop.number("harvest.organ_start", crop["development.ready"])
        ready = np.maximum(ready, _later(thermal, organ, takes))
    thermal = np.where(green, thermal, -1.0)
    death = frost_death(crop, min_c, thermal, establish)
    dieback = frost_dieback(crop, min_c, thermal, establish)
    return Clock(start, emergence, organ, ready, flower, bolt, end, death, thermal, rate, dieback)


def _later(thermal: Floats, event: Ints, takes_c_d: float) -> Ints:
    """Day on which so much thermal time [C d] has passed since the days of an event, (Y,)."""
    begun = np.take_along_axis(thermal, np.minimum(event, thermal.shape[1] - 1)[:, None], axis=1)
    return np.asarray(np.where(event < NEVER, first_day_reaching(thermal - begun, takes_c_d), NEVER), dtype=np.int64)


def _reach(thermal: Floats, green: NDArray[np.bool_], target: float, emergence: Ints) -> Ints:
    days = first_day_reaching(np.where(green, thermal, -1.0), target)
    return np.asarray(np.where(emergence < NEVER, days, NEVER), dtype=np.int64)


def frost_limit(crop: Crop, thermal: Floats, establish: str = "drills", *, tops: bool = False) -> Floats:
    """Killing temperature [C] by stage: the seedling's just after emergence, passing to the grown plant's.

    A grown plant with a hardy rootstock lives until that dies; with `tops`, the temperature that kills what stands above the
    ground.  Shape of `thermal`; -inf before emergence, when the frost finds nothing above the ground.
    """
    young, grown = crop["frost.seedling"], crop["frost.grown"]
    if not tops:
        grown = crop.number("frost.crown", grown)
    share = np.clip(thermal / SEEDLING_C_D, 0.0, 1.0)
    if establish in DORMANT:
        share = np.ones_like(thermal)
    return np.asarray(np.where(thermal < 0.0, -np.inf, young + (grown - young) * share))


def frost_death(crop: Crop, min_c: Floats, thermal: Floats, establish: str = "drills") -> Ints:
    """Day on which frost kills the planting, `NEVER` if none does; (Y,)."""
    return first_day_reaching(min_c <= frost_limit(crop, thermal, establish), True)


def frost_dieback(crop: Crop, min_c: Floats, thermal: Floats, establish: str = "drills") -> Bools:
    """Days on which frost kills the tops of a crop whose rootstock lives on, (Y, D)."""
    if "frost.crown" not in crop.records:
        return np.zeros(min_c.shape, dtype=bool)
    return np.asarray(min_c <= frost_limit(crop, thermal, establish, tops=True))


def part_window(crop: Crop, part: Part, clock: Clock) -> tuple[Ints, Ints]:
    """First and last day on which `part` can be picked, (Y,) each; `NEVER` opening if it never comes.

    Roots and tubers stay pickable for their `hold` after frost has killed the tops.
    """
    opens = clock.event(part.opens)
    if "after" in part.records:
        opens = _later(clock.thermal, opens, part.number("after"))
    closes = np.minimum(clock.event(part.closes), clock.end)
    if "hold" in part.records:
        hold = int(part.number("hold"))
        closes = np.minimum(closes, np.where(opens < NEVER, opens + hold, NEVER))
    if part.pool == "organ" and crop.root_form in BURIED and set(part.methods) & {"once", "pull"}:
        survives = clock.death + int(part.number("hold", 14.0))
        closes = np.minimum(closes, np.where(clock.death < NEVER, survives, NEVER))
    else:
        closes = np.minimum(closes, clock.death)
    opens = np.where(opens <= closes, opens, NEVER)
    return np.asarray(opens, dtype=np.int64), np.asarray(closes, dtype=np.int64)
