"""The interactions of a season: who takes light, shares roots or families, relays, feeds, covers or supports whom."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.recipe.plan import Planned
from mixcraft.season.overlaps import bed_overlaps
from mixcraft.season.result import Season, middle_of_years, weekly
from mixcraft.season.setting import days_shut, needs_pollinators

from .constants import constants
from .traits import flowering_days, ground_cover, growing, root_shares, schoener_overlaps

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

KINDS = (
    "takes light", "shares root space", "shares family", "leaves room in time", "supports", "fixes nitrogen for",
    "covers ground for", "attracts pollinators for",
)  # fmt: skip
EVIDENCE = ("computed", "published trial", "common practice")


@dataclass(frozen=True)
class Edge:
    """A directed interaction between plantings `source` and `target` (indices).

    `strength` 0..1; `days` first and last day index of the season; `evidence` one of `EVIDENCE`; `peak` the greatest weekly
    strength; `numbers` and `names` what else is known of it: the mean niche `overlap` of roots, the `family` and the `pests` and
    `diseases` that both are hosts of.
    """

    source: int
    target: int
    kind: str
    strength: float
    days: tuple[int, int]
    evidence: str
    peak: float = 0.0
    numbers: Numbers = field(default_factory=Facts)
    names: Names = field(default_factory=Facts)


def edges(season: Season, overlaps: Floats | None = None) -> list[Edge]:
    """All edges of the season, strongest first within each kind, kinds in the order of `KINDS`.

    `overlaps` (P, P) is `bed_overlaps(season.plan)`, if it is at hand.
    """
    share = bed_overlaps(season.plan) if overlaps is None else overlaps
    alive = growing(season)
    return [edge for kind in KINDS for edge in edges_of(kind, season, share, alive)]


def edges_of(kind: str, season: Season, overlaps: Floats, alive: Bools) -> list[Edge]:
    """The edges of one of `KINDS`, strongest first; `overlaps` (P, P) is `bed_overlaps`, `alive` (D, P) is `growing`."""
    return sorted(FINDERS[kind](season, overlaps, alive), key=lambda e: (-e.strength, e.source, e.target))


def _pairs(wanted: Bools) -> list[tuple[int, int]]:
    """Row and column of the true places of (P, P) off the diagonal."""
    return [(int(i), int(j)) for i, j in zip(*np.nonzero(wanted), strict=True) if i != j]


def _ground_in_common(share: Floats) -> Bools:
    """Whether a planting i stands on enough of j's ground for a relay or for cover, (P, P)."""
    least = constants()["same_ground_least"]
    return np.asarray(share.transpose() >= least)


def _span(days: Bools) -> tuple[int, int]:
    """First and last true day of (D,)."""
    return int(days.argmax()), int(len(days) - 1 - days[::-1].argmax())


def _light(season: Season, _share: Floats, _alive: Bools) -> list[Edge]:
    """Light that i loses to j over the season, as a share of what it would absorb without the others."""
    c = constants()
    lost = weekly(season.taken_mj)
    alone = weekly(middle_of_years(season.alone_mj))
    total = alone.sum(axis=0)[:, None]
    strength = np.divide(lost.sum(axis=0), total, out=np.zeros(lost.shape[1:]), where=total > 0)
    found = []
    for i, j in _pairs(strength >= c["least_light_share"]):
        by_week = np.divide(lost[:, i, j], alone[:, i], out=np.zeros(len(alone)), where=alone[:, i] > 1e-9)
        least = max(c["least_week_share"], c["heavy_week_share"] * by_week.max())
        heavy = np.nonzero((by_week >= least) & (alone[:, i] > 0))[0]
        if heavy.size == 0:
            continue
        days = (int(heavy[0]) * 7, min((int(heavy[-1]) + 1) * 7, season.days) - 1)
        share = lost[heavy, i, j].sum() / alone[heavy, i].sum()
        found.append(Edge(j, i, "takes light", float(strength[i, j]), days, "computed", float(share)))
    return found


def _roots(season: Season, share: Floats, alive: Bools) -> list[Edge]:
    """Niche overlap of root profiles, on the days and on the ground that two have in common."""
    profiles, lived, least = root_shares(season, alive), np.maximum(alive.sum(axis=0), 1), constants()["least_overlap"]
    living = alive.astype(float)
    together = living.T @ living
    most = share * together / lived[:, None]
    own = np.ascontiguousarray(profiles.swapaxes(0, 1))
    found = []
    for i, j in _pairs(np.triu(np.maximum(most, most.T) >= least)):
        both = alive[:, i] & alive[:, j]
        overlap = schoener_overlaps(own[i], own[j])[both]
        mean, days, numbers = float(overlap.mean()), _span(both), Facts(overlap=float(overlap.mean()))
        for a, b in ((i, j), (j, i)):
            strength = mean * float(most[a, b])
            if strength >= least:
                found.append(Edge(b, a, "shares root space", strength, days, "computed", float(overlap.max()), numbers))
    return found


def _families(season: Season, _share: Floats, alive: Bools) -> list[Edge]:
    """Plantings of one family at one time; pests do not pass to a planting under a cover that keeps them out, diseases do."""
    plantings = season.plan.plantings
    family = np.array([p.planting.crop.family for p in plantings])
    shut = [days_shut(planned, season.days, "pests_out") if planned.covers else None for planned in plantings]
    found = []
    for i, j in _pairs(family[:, None] == family):
        both = alive[:, i] & alive[:, j]
        if both.any():
            closed: Bools = np.zeros(int(both.sum()), dtype=bool)
            for days in (shut[i], shut[j]):
                if days is not None:
                    closed |= days[both]
            open_share = 1.0 - float(closed.mean())
            together = float(both.sum() / max(alive[:, i].sum(), 1))
            found.append(_family(plantings[i], plantings[j], open_share, together, _span(both)))
    return found


def _family(a: Planned, b: Planned, open_share: float, together: float, days: tuple[int, int]) -> Edge:
    """Two plantings of a family, `together` for that share of the first one's days, `open_share` of these without a cover."""
    c, ca, cb = constants(), a.planting.crop, b.planting.crop
    shared = sorted(set(ca.pests) & set(cb.pests))
    ills = sorted({d.name for d in ca.diseases} & {d.name for d in cb.diseases})
    weight = min(1.0, (open_share * len(shared) + len(ills)) / c["family_most_shared"])
    strength = together * (c["family_base"] + (1.0 - c["family_base"]) * weight)
    pests = tuple(shared) if open_share >= c["open_share_least"] else ()
    names = Facts(family=(ca.family,), pests=pests, diseases=tuple(ills))
    return Edge(b.index, a.index, "shares family", strength, days, "common practice", 0.0, Facts(), names)


def _relays(season: Season, share: Floats, alive: Bools) -> list[Edge]:
    """Plantings that are gone before another on the same ground makes much of its growth."""
    c, growth = constants(), season.growth_g.sum(axis=1)
    before = np.concatenate([np.zeros((1, growth.shape[1])), np.cumsum(growth, axis=0)])
    total, lived, shared = before[-1], alive.any(axis=0), _ground_in_common(share)
    lasts = (len(alive) - 1 - alive[::-1].argmax(axis=0)).tolist()
    found = []
    for i, j in _pairs(shared & (total > 0) & np.outer(lived, lived)):
        gone, last = lasts[i] + 1, lasts[j]
        later = 1.0 - before[gone, j] / total[j]
        if later >= c["relay_least"] and last > gone:
            found.append(Edge(i, j, "leaves room in time", float(later * min(1.0, share[j, i])), (gone, last), "computed"))
    return found


def _supports(season: Season, share: Floats, _alive: Bools) -> list[Edge]:
    """Climbers without a trellis or support beside a strong upright plant that is taller than half a climber."""
    c, plantings = constants(), season.plan.plantings
    free = [p.planting.crop.form == "climber" and p.support_m is None for p in plantings]
    poles = [p.planting.crop.form == "upright" and p.planting.crop["canopy.height"] >= c["pole_least_height"] for p in plantings]
    found = []
    for i, j in _pairs(np.outer(free, poles) & (share > c["pole_ground_least"])):
        days = (max(plantings[i].start, plantings[j].start), min(plantings[i].end, plantings[j].end))
        if days[1] > days[0]:
            found.append(Edge(j, i, "supports", float(share[i, j]), days, "common practice"))
    return found


def _nitrogen(season: Season, share: Floats, _alive: Bools) -> list[Edge]:
    """Crops that fix nitrogen beside crops that need it; it is mostly soil nitrogen that is spared."""
    c, plantings = constants(), season.plan.plantings
    fixing = [p.planting.crop.nitrogen == "fixes" for p in plantings]
    needs = np.array([c.get(f"nitrogen_need_{p.planting.crop.nitrogen}", 0.0) for p in plantings])
    found = []
    for i, j in _pairs(np.outer(fixing, needs > 0.0) & (c["nitrogen_ground_least"] < share.T)):
        giver, taker = plantings[i], plantings[j]
        full = min(1.0, giver.planting.crop.number("nutrition.fixation", c["fixation_usual"]) / c["fixation_full"])
        days = (max(giver.start, taker.start), min(season.days - 1, taker.end))
        strength = c["nitrogen_handed_most"] * full * needs[j] * share[j, i]
        if days[1] > days[0] and strength >= c["nitrogen_least"]:
            found.append(Edge(i, j, "fixes nitrogen for", float(strength), days, "published trial"))
    return found


def _covers(season: Season, share: Floats, alive: Bools) -> list[Edge]:
    """Plantings that cover the ground under a taller one."""
    c, tall = constants(), season.height_m.sum(axis=1)
    pairs = _pairs(_ground_in_common(share))
    low = {(i, j): alive[:, i] & alive[:, j] & (tall[:, i] < tall[:, j]) for i, j in pairs}
    low = {pair: days for pair, days in low.items() if np.count_nonzero(days) >= c["cover_least_days"]}
    covers = {i: ground_cover(season, i) for i in {i for i, _ in low}}
    found = []
    for (i, j), days in low.items():
        under = days & (covers[i] >= c["ground_cover_least"])
        count = np.count_nonzero(under)
        if count >= c["cover_least_days"]:
            strength = float(covers[i][under].mean() * share[j, i] * min(1.0, count / c["cover_full_days"]))
            found.append(Edge(i, j, "covers ground for", strength, _span(under), "computed"))
    return found


def _pollinators(season: Season, _share: Floats, alive: Bools) -> list[Edge]:
    """Flowers that insects visit, open while a crop in flower needs them."""
    plantings = season.plan.plantings
    giving = [bool(p.planting.crop.visitors) for p in plantings]
    needing = [needs_pollinators(p.planting.crop) for p in plantings]
    pairs = _pairs(np.outer(giving, needing))
    flowers = {i: flowering_days(season, i, alive) for i in {i for pair in pairs for i in pair}}
    found = []
    for i, j in pairs:
        both = flowers[i] & flowers[j]
        if both.any():
            strength = float(both.sum() / flowers[j].sum())
            found.append(Edge(i, j, "attracts pollinators for", strength, _span(both), "published trial"))
    return found


FINDERS: dict[str, Callable[[Season, Floats, Bools], list[Edge]]] = dict(
    zip(KINDS, (_light, _roots, _families, _relays, _supports, _nitrogen, _covers, _pollinators), strict=True)
)
"""What finds the edges of each kind, given `bed_overlaps` and `growing`."""
