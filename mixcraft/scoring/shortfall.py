"""Why a planting gives less than good practice gives on its ground: what each cause takes, by shares that sum to the whole.

From good practice to what is eaten there are three steps, each a ratio of things that were grown: the crop alone on the whole bed
from its own start, picked in its own way, over good practice; the planting among the others over that; and what counts as eaten
over what is picked.  A factor counts by its logarithm, as in `losses`, and no step's causes take more than the step: the start by
what the crop gives alone from other months, the years in which the weather takes it, walls, dry and hungry ground and the way of
picking make the first; what neighbours take of the growth, and the stand, the second; the fork and gluts the third.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PIECES, PLANTED, SOWN
from mixcraft.place.series import day_of_year
from mixcraft.recipe.plan import Planned
from mixcraft.season.directions import diffuse_shares
from mixcraft.season.open_sky import kept_of_open_sky
from mixcraft.season.trial import trial_way

from .constants import constants
from .fates import fates
from .measures import middles

if TYPE_CHECKING:
    from .evidence import Evidence

Floats = NDArray[np.float64]
CAUSES = (
    "light", "water", "nutrients", "room", "cold", "heat", "season", "lifting", "glut", "stand", "start", "young", "picking",
    "growing",
)  # fmt: skip


def shortfalls(evidence: Evidence, gives: Floats, ground: Floats) -> Floats:
    """Share of what good practice gives on its ground that each planting lacks by each of `CAUSES`, (P, 14).

    `gives` (P,) is the share of what the whole bed would give, `ground` (P,) the share of the bed that it takes; rows sum to
    1 - gives / ground, or 0 where it gives as much.
    """
    reached = np.clip(np.divide(gives, ground, out=np.ones_like(gives), where=ground > 0.0), 0.0, 1.0)
    factors = _alone(evidence) + _among(evidence, ground)
    factors[:, CAUSES.index("lifting")] = _log(evidence.undisturbed)
    factors[:, CAUSES.index("glut")] = _log(_eaten(evidence))
    factors[:, -1] += np.maximum(_log(reached) - factors.sum(axis=1), 0.0)
    factors[factors.sum(axis=1) <= 0.0, -1] = 1.0
    return np.asarray((1.0 - reached)[:, None] * factors / factors.sum(axis=1, keepdims=True))


def _step(evidence: Evidence, whole: Floats, rest: list[str], **by: Floats) -> Floats:
    """Logarithms of one step by cause, (P, 14): those known, (P,) each, scaled down where they are more than the `whole` (P,),
    and what is left of it for the cause that `rest` names for each planting."""
    factors = np.zeros((len(evidence.names), len(CAUSES)))
    for cause, logs in by.items():
        factors[:, CAUSES.index(cause)] = np.maximum(logs, 0.0)
    known = factors.sum(axis=1)
    factors *= np.minimum(np.divide(whole, known, out=np.ones_like(known), where=known > 0.0), 1.0)[:, None]
    for i, cause in enumerate(rest):
        factors[i, CAUSES.index(cause)] += max(float(whole[i] - known[i]), 0.0)
    return factors


def _alone(evidence: Evidence) -> Floats:
    """Logarithms of good practice over what each crop gives alone on the bed as this recipe grows it, by cause, (P, 14)."""
    season, plan = evidence.season, evidence.season.plan
    good = np.array([evidence.references[p.planting.crop.id].kg_m2 for p in plan.plantings]) * plan.bed.area_m2
    whole = _log(np.divide(middles(evidence.planting_kg[1]), good, out=np.ones_like(good), where=good > 0.0))
    cold, heat, short = _weather(evidence)
    odd = _log(np.array([start_share(evidence, p) for p in plan.plantings]))
    start = odd - cold - heat - short  # which are what takes many of those that start at odd times
    lacking = np.maximum(season.lone_held_back.mean(axis=0), 0.0)
    rest = [_left(p, *logs) for p, logs in zip(plan.plantings, lacking[:, :2].tolist(), strict=True)]
    return _step(
        evidence, whole, rest, cold=cold, heat=heat, season=short, water=lacking[:, 0], nutrients=lacking[:, 1],
        light=_walls(evidence), start=start,
    )  # fmt: skip


def _among(evidence: Evidence, ground: Floats) -> Floats:
    """Logarithms of what each crop gives alone on the bed, by its ground, over what is picked in the mixture, (P, 14)."""
    mixture, sole = (middles(kg) for kg in evidence.planting_kg)
    whole = _log(np.divide(mixture, sole * ground, out=np.ones_like(sole), where=sole * ground > 1e-9))
    among = evidence.growth_losses
    total = among.sum(axis=1, keepdims=True)
    kept = -np.log(np.clip(middles(evidence.kept), constants()["shortfall_least"], 1.0))
    each = (np.divide(among, total, out=np.zeros_like(among), where=total > 0.0) * kept[:, None]).T
    rest = [_stand(p, float(d)) for p, d in zip(evidence.season.plan.plantings, evidence.density, strict=True)]
    return _step(evidence, whole, rest, light=each[0], water=each[1], nutrients=each[2], room=each[3])


def _stand(planned: Planned, density: float) -> str:
    """What the rest of a planting's loss among others is laid to: a stand thinner than the crop alone, or one thicker."""
    usual = planned.planting.crop["spacing.density"]
    near = constants()["stand_usual_range"]
    return "stand" if density * near < usual else "room" if density > usual * near else "growing"


def start_share(evidence: Evidence, planned: Planned) -> float:
    """Share of the best start's yield that a start on the planting's day gives: young plants count from their sowing, where the
    crop alone is sown, and what is sown from its planting, where it is planted."""
    plan, crop = evidence.season.plan, planned.planting.crop
    nursery = 7.0 * crop.number("seed.module_age", 0.0)
    ahead = nursery * ((planned.planting.establish == "module") - (trial_way(crop) == "module"))
    day = float(day_of_year(plan.date(planned.start)))
    return evidence.references[crop.id].share_from(day - ahead)


def _left(planned: Planned, water: float, nutrients: float) -> str:
    """What the rest of the first step is laid to: years, dry or hungry ground, on which a full stand lacks more than one alone,
    or the recipe's own way of raising, picking, covering and clearing."""
    if _young(planned):
        return "young"
    if max(water, nutrients) > constants()["held_back_told"]:
        return "water" if water > nutrients else "nutrients"
    return "picking" if _own_way(planned) else "growing"


def _young(planned: Planned) -> bool:
    """Whether a perennial has not stood long enough for its main part to be picked."""
    return any(planned.planting.too_young(part) for part in planned.planting.crop.parts)


def _own_way(planned: Planned) -> bool:
    """Whether a planting is raised, picked, covered or cleared in another way than the crop alone."""
    raised = {way: n for n, ways in enumerate((SOWN, PLANTED, PIECES)) for way in ways}
    if raised[planned.planting.establish] != raised[trial_way(planned.planting.crop)]:
        return True
    return bool(planned.covers) or picked_own_way(planned)


def picked_own_way(planned: Planned) -> bool:
    """Whether a planting is picked or cleared in another way than the crop alone."""
    usual = planned.planting.crop.main_part
    same = any(h.part.name == usual.name and h.method == usual.methods[0] for h in planned.harvests)
    limited = any(h.start is not None or h.until is not None for h in planned.harvests)
    return not same or limited or planned.planting.end.kind != "harvested"


def _walls(evidence: Evidence) -> Floats:
    """Logarithm of the open sky's light over that which walls and shrubs beside the bed leave to each planting, (P,), mean of
    days a month apart by the growth of the planting without the others."""
    season, plan = evidence.season, evidence.season.plan
    if not plan.bed.obstacles:
        return np.zeros(len(evidence.names))
    diffuse = diffuse_shares(season.weather, plan.place.latitude_deg)[season.before :]
    apart = int(constants()["walls_every_days"])
    days = np.arange(apart // 2, season.days, apart)
    leaf, height, growth = (np.median(a[days], axis=1) for a in (season.leaf_m2, season.height_m, season.lone_growth_g))
    kept = [kept_of_open_sky(plan, int(d), float(diffuse[d]), leaf[n], height[n]) for n, d in enumerate(days)]
    total = growth.sum(axis=0)
    return np.asarray(np.divide((_log(np.array(kept)) * growth).sum(axis=0), total, out=np.zeros_like(total), where=total > 0.0))


def _weather(evidence: Evidence) -> tuple[Floats, Floats, Floats]:
    """Logarithms for the years lost to cold, to heat and running to seed and to a season too short, (P,) each."""
    known = fates(evidence.season)
    cold = (known.killed & ~known.by_heat) | known.lost
    return tuple(_log(1.0 - years.mean(axis=0)) for years in (cold, known.by_heat | known.bolted, known.unready))  # type: ignore[return-value]


def _eaten(evidence: Evidence) -> Floats:
    """What a kilogram of food of each planting counts, where none is disturbed, (P,)."""
    season, picked = evidence.season, np.zeros(len(evidence.names))
    for h in (h for kind in evidence.kinds for h in kind.harvests):
        picked[season.harvests[h].planting] += season.picked_kg[:, :, h].sum()
    counted = evidence.food_kg.sum(axis=0) / np.maximum(evidence.undisturbed, constants()["shortfall_least"])
    return np.asarray(np.divide(counted, picked, out=np.ones_like(counted), where=picked > 1e-9))


def _log(left: Floats) -> Floats:
    return np.asarray(-np.log(np.clip(left, constants()["shortfall_least"], 1.0)))
