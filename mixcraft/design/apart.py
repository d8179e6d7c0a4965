"""Crops grown side by side without seeing one another, from one day on: what each would give on a piece of ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PLANTED
from mixcraft.crops.model import Crop
from mixcraft.recipe.model import Bed, Density, End, Garden, Harvested, OnDate, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.scoring.fates import fates
from mixcraft.scoring.model import Reason
from mixcraft.scoring.parts.families import rotation_reasons
from mixcraft.scoring.strip import crop_yields
from mixcraft.season.grow import SEED, grow
from mixcraft.season.result import Season
from mixcraft.season.trial import SIDE_M

from .constants import constant
from .curves import alone_density

Floats = NDArray[np.float64]
AT_ONCE = 40
"""Plantings of one trial: a recipe has up to 60."""
DAYS = 500


@dataclass(frozen=True)
class Grown:
    """A crop that was started on one day and grown alone.

    `first` and `last` picking days (middle of the years; None if nothing is picked in most years), `kg_m2` fresh mass of a square
    metre (middle) and its band over the years, `weekly` (W, Y) the same by week from the start on, `lost` shares of years by
    cause: frost, seed, heads, time; `rotation` what speaks against it for what grew there before.
    """

    crop: Crop
    establish: str
    start: np.datetime64
    first: np.datetime64 | None
    last: np.datetime64 | None
    kg_m2: float
    band: tuple[float, float]
    weekly: Floats
    lost: tuple[tuple[str, float], ...]
    rotation: Reason | None

    @property
    def portion_g(self) -> float:
        """Weight of a portion of the main part [g]."""
        from mixcraft.scoring.constants import constants

        return self.crop.main_part.number("portion", constants()["portion_usual_g"])

    def portions(self, area_m2: float) -> float:
        """Portions of so much ground."""
        return self.kg_m2 * area_m2 * 1000.0 / self.portion_g


def grown_apart(
    crops: Sequence[tuple[Crop, str]],
    garden: Garden,
    month_day: str,
    *,
    until: str = "",
    light: float = 1.0,
    history: tuple[tuple[int, tuple[str, ...]], ...] = (),
    under: str = "",
    years: int = 0,
) -> tuple[Grown, ...]:
    """Each crop, with its way of establishing, started on `month_day` and grown alone at the garden's place in `light` (share of
    the open sky's), cleared by the month-day `until` if there is one, in a bed that stands `under` some structure, if any."""
    found: list[Grown] = []
    for k in range(0, len(crops), AT_ONCE):
        part = crops[k : k + AT_ONCE]
        end: End = OnDate(until) if until else Harvested()
        plantings = tuple(_planting(crop, way, i, month_day, end) for i, (crop, way) in enumerate(part))
        bed = Bed("alone", SIDE_M, SIDE_M, history=history, under=under)
        alone = replace(garden, beds=(bed,))
        settled = plan(Recipe("alone", SIDE_M, SIDE_M, plantings), alone, "alone", most_days=DAYS, draw=False, apart=True)
        season = grow(settled, years or int(constant("few_years")), SEED, apart=True, light=light)
        found += _found(season, bed.area_m2)
    return tuple(found)


def _planting(crop: Crop, way: str, index: int, month_day: str, end: End) -> Planting:
    climber = crop.form == "climber"
    return Planting(
        f"start {index}", crop, way, WholeBed(), OnDate(month_day), end, Density(alone_density(crop, way)),
        support="trellis" if climber else "", support_height_m=1.8 if climber else None,
    )  # fmt: skip


def _found(season: Season, area_m2: float) -> list[Grown]:
    """What came of each planting of a trial."""
    plan_, known = season.plan, fates(season)
    yields, weekly = {y.planting: y for y in crop_yields(season)}, season.weekly_kg() / area_m2
    rotation = {r.plantings[0]: r for r in rotation_reasons(plan_)}
    planted = np.array([p.planting.establish in PLANTED for p in plan_.plantings])
    causes = (
        ("frost", known.killed & ~known.by_heat & ~known.by_chill), ("chill", known.by_chill), ("heat", known.by_heat),
        ("seed", known.lost & ~planted), ("ground", known.lost & planted), ("bolting", known.bolted),
        ("time", known.unready),
    )  # fmt: skip
    result = []
    for i, planned in enumerate(plan_.plantings):
        y, h = yields[planned.name], known.mains[i]
        begins = planned.start // 7
        lost = tuple((cause, float(years[:, i].mean())) for cause, years in causes if years[:, i].any())
        result.append(
            Grown(
                planned.planting.crop,
                planned.planting.establish,
                plan_.date(planned.start),
                y.first,
                y.last,
                y.kg.middle / area_m2,
                (y.kg.low / area_m2, y.kg.high / area_m2),
                weekly[begins:, :, h],
                lost,
                rotation.get(planned.name),
            )
        )
    return result
