"""Picking as a table: from how the parts of a planting are picked to what the day loop reads (`tables.PICKS`).

Whole plants once or over time, leaf by leaf, cut and come again, fruit and pods as they ripen, side shoots and flowers,
thinnings: each is a way with its pool, and with how much it takes, what it leaves and when it is due again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from mixcraft.crops.bulbs import makes_bulbs
from mixcraft.crops.clock import SOWN
from mixcraft.crops.constants import constant as crop_constant
from mixcraft.recipe.plan import HarvestPlan, Planned

from .constants import constant
from .tables import (
    ALL_RIPE,
    CUT,
    HEAD,
    LEAF,
    LEAVES,
    OF_SIZE,
    ORGAN,
    OVER_TIME,
    PICKS,
    RIPE,
    RIPENED,
    SIDE,
    THINNINGS,
    WHOLE,
    WINDOWS,
    WITH_MAIN,
    Ints,
    Table,
    table,
)

G_PER_KG = 1000.0
WEEK = 7.0
"""Days of a gardener's round."""
POOLS = {"organ": ORGAN, "leaf": LEAF, "side": SIDE}
NO_DAY = -1


def in_rounds(harvest: HarvestPlan) -> HarvestPlan:
    """A harvest of leaves as it is done in a stand: plants that are each due every two weeks are picked in two rounds, half of
    them a week, rather than all in one week and none in the next; the same leaves are taken in all."""
    if harvest.method != "leaf" or harvest.interval_days <= WEEK:
        return harvest
    take = 1.0 - (1.0 - harvest.take) ** (WEEK / harvest.interval_days)
    return replace(harvest, interval_days=WEEK, take=take)


class PickRow(NamedTuple):
    """One harvest of a planting, `harvest` among its own; fields as in `tables.PICKS`, with `main` among the planting's rows."""

    harvest: int
    way: int
    pool: int
    main: int
    take: float
    cuts: int
    counted: bool
    interval: float
    at_once: int
    ends: bool
    side_share: float
    stored: float
    dry: float
    least: float
    usual: float
    spared: float
    spread: float
    clears: bool
    ripe_only: bool


MAIN = PickRow._fields.index("main")


def main_harvest(harvests: Sequence[HarvestPlan]) -> int | None:
    """Which harvest takes a planting's whole plants for their main part, if one does."""
    whole = [i for i, x in enumerate(harvests) if x.method in ("once", "pull") and x.part.pool != "side"]
    mains = [i for i in whole if harvests[i].part.role == "main"]
    return mains[-1] if mains else whole[0] if whole else None


def _stays(planned: Planned, harvests: Sequence[HarvestPlan], main: int | None) -> bool:
    """Whether plants stay for shoots that come after their main part, a head, is cut."""
    if main is None:
        return False
    cut = harvests[main]
    head = cut.part.pool == "organ" and not planned.planting.crop.in_soil and cut.method == "once"
    shoots = (x.part for x in harvests if x.part.pool == "side" and "after" in x.part.records)
    return head and any(part.opens == cut.part.opens for part in shoots)


def _way(harvest: HarvestPlan, index: int, main: int | None, stays: bool) -> int:
    """The way in which a harvest picks."""
    if harvest.method in ("once", "pull"):
        if main is not None and main != index:
            return WITH_MAIN
        return HEAD if stays and main == index else WHOLE
    if harvest.method == "thin":
        return THINNINGS
    if harvest.part.pool == "leaf":
        return CUT if harvest.method == "cut" else LEAVES
    return RIPE


def attained_size() -> float:
    """What the plants that a bed attains weigh over those of a trial plot; the rest of what is not attained is plants that are
    lost or culled."""
    return float(constant("attained") ** constant("attained_by_size"))


def wanted_size(planned: Planned, harvest: HarvestPlan) -> float:
    """Fresh mass [g] of the main part of a plant for which is waited, and at which it is pulled: the published yield over the
    usual density; 0 for other parts, for plants whose leaves are picked as well, which do not fill, for bulbs, which do not grow
    when their tops have fallen, and for tubers and what holds for long, which are dug when they are wanted."""
    crop = planned.planting.crop
    if harvest.part.role != "main" or any(x.method in ("leaf", "cut") for x in planned.harvests) or makes_bulbs(crop):
        return 0.0
    lasts = crop.root_form == "tuberous" or harvest.part.number("hold", 0.0) > crop_constant("long_hold")
    if harvest.method == "pull" and lasts:
        return 0.0
    return G_PER_KG * crop["harvest.yield_sole"] / crop["spacing.density"]


def in_one_go(planned: Planned, harvest: HarvestPlan) -> int:
    """When whole plants are taken (`tables.OVER_TIME` and the others): bulbs, which do not grow when their tops have fallen, are
    lifted then; fruit is cut when the last of it is ripe, large and small on one day."""
    crop = planned.planting.crop
    if harvest.method != "once":
        return OVER_TIME
    if harvest.part.role != "main":
        return OF_SIZE
    return RIPENED if makes_bulbs(crop) else ALL_RIPE if "fruit" in crop.kinds else OF_SIZE


def spared_share(planned: Planned, harvest: HarvestPlan, way: int) -> float:
    """Share of the plants that stay when the others are pulled: some, where pods or shoots of their stems are wanted as well."""
    before = harvest.part.role == "main" and harvest.part.closes == "bolt" and way == WHOLE
    return float(constant("spared_for_seed")) if before and wants_stems(planned) else 0.0


def wants_stems(planned: Planned) -> bool:
    """Whether pods, flowers or shoots of its stems are picked from a planting as well."""
    return any(x.part.pool == "side" and x.part.opens in ("bolt", "flower") for x in planned.harvests)


def clears_stand(planned: Planned, harvest: HarvestPlan) -> bool:
    """Whether the last picking of leaves takes the stand: of plants that live once and of which nothing comes after."""
    leaves = harvest.part.role == "main" and harvest.part.pool == "leaf"
    return leaves and planned.planting.crop.life != "perennial" and not wants_stems(planned)


def size_spread(establish: str) -> float:
    """How far the sizes of plants lie from their mean, as a share of it, if they lie evenly: the root of three of their standard
    deviations over the mean."""
    return math.sqrt(3.0) * constant("size_variation_sown" if establish in SOWN else "size_variation_planted")


def pick_rows(planned: Planned) -> tuple[PickRow, ...]:
    """The harvests of a planting in the order of a day: what leaves plants standing first, then what comes with its main part,
    then whole plants."""
    harvests = tuple(in_rounds(x) for x in planned.harvests)
    main = main_harvest(harvests)
    stays = _stays(planned, harvests, main)
    ways = [_way(x, i, main, stays) for i, x in enumerate(harvests)]
    turn = {
        i: 1 if ways[i] == WITH_MAIN else 2 * (x.method in ("once", "pull") and x.part.pool != "side")
        for i, x in enumerate(harvests)
    }
    order = sorted(range(len(harvests)), key=turn.__getitem__)
    rows = []
    for i in order:
        x = harvests[i]
        side = x.part.number("share", 0.0) if x.part.pool == "side" else 0.0
        dry = x.part.number("dry_matter")
        sized = ways[i] in (WHOLE, HEAD) and x.part.pool != "side"
        least = dry * x.part.number("market_least", 0.0) / attained_size() if sized else 0.0
        usual = dry * wanted_size(planned, x) / attained_size() if least > 0.0 else 0.0
        spread = size_spread(planned.planting.establish) if least > 0.0 else 0.0
        rows.append(
            PickRow(
                i, ways[i], POOLS[x.part.pool], NO_DAY if main is None else order.index(main), x.take, x.cuts,
                x.counted,
                max(1.0, x.interval_days), in_one_go(planned, x), i == main, side,
                x.part.number("stored", 0.0), dry, least, usual,
                spared_share(planned, x, ways[i]), spread, clears_stand(planned, x),
                x.part.ripe_only,
            )
        )  # fmt: skip
    return tuple(rows)


@dataclass(frozen=True)
class Windows:
    """When the harvests of a planting are picked, in its own order: first and last day, that until which what is too small is
    left to grow, and the first on which its plants are full-grown, (Y, H); the day on which its thinning begins (Y,), `NO_DAY` if
    it is not thinned."""

    opens: Ints
    closes: Ints
    latest: Ints
    grown: Ints
    thin_day: Ints


def thinning_days(planned: Planned, opens: Ints) -> Ints:
    """Day on which surplus seedlings are first taken out (Y,): the recipe's, else the opening of the thinnings' window."""
    if planned.sown_factor <= 1.0:
        return np.full(len(opens), NO_DAY)
    if planned.thin_day is not None:
        return np.full(len(opens), planned.thin_day)
    return opens[:, next(i for i, x in enumerate(planned.harvests) if x.method == "thin")]


def picks_of(of: Sequence[int], rows: Sequence[tuple[PickRow, ...]], windows: Sequence[Windows]) -> tuple[Table, Table]:
    """Harvests of columns that grow the plantings `of`, a table of `tables.PICKS`, and their windows, one of `tables.WINDOWS`;
    `rows` and `windows` by planting."""
    found: list[tuple[float, ...]] = []
    for c, p in enumerate(of):
        first = len(found)
        found += [(c, *row[1:MAIN], row.main + first if row.main >= 0 else NO_DAY, *row[MAIN + 1 :]) for row in rows[p]]
    days = table(WINDOWS, len(found), len(windows[0].thin_day))
    each = [(windows[p], [row.harvest for row in rows[p]]) for p in of]
    for name in ("opens", "closes", "latest", "grown"):
        days[name] = np.concatenate([getattr(window, name)[:, own] for window, own in each], axis=1).T
    return np.array(found, dtype=PICKS).view(np.recarray), days
