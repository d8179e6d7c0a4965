"""Measures that the part scores rest on: growth kept, harvest strip, diversity, land equivalent ratio.  Pure functions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mixcraft.recipe.model import Plate
from mixcraft.recipe.plan import Plan
from mixcraft.season.result import BAND, LEAST_PICKING_KG, Band, Season

from .model import CropYield, Gap, StripWeek

Floats = NDArray[np.float64]


def growth_kept(season: Season) -> Floats:
    """Growth of each planting in the mixture over its growth without the others, (Y, P); 1 where it never grows."""
    mixed, alone = season.growth_g.sum(axis=0), season.lone_growth_g.sum(axis=0)
    return np.asarray(np.divide(mixed, alone, out=np.ones_like(mixed), where=alone > 1e-9))


def effective_number(weights: Floats) -> float:
    """Effective number of kinds: the exponential of Shannon's entropy (Hill 1973, order 1); 0 for no weight at all."""
    total = float(np.sum(weights))
    if total <= 0.0:
        return 0.0
    p = np.asarray(weights, dtype=float)[np.asarray(weights) > 0.0] / total
    return float(np.exp(-(p * np.log(p)).sum()))


def evenness(amounts: Floats) -> float:
    """Pielou's evenness: entropy over its greatest possible value, 0..1; 1 for a single class, 0 for none."""
    p = np.asarray(amounts, dtype=float)
    if p.size == 0 or p.sum() <= 0.0:
        return 0.0
    if p.size == 1:
        return 1.0
    return float(np.log(effective_number(p)) / np.log(p.size))


def land_equivalent_ratio(mixture: Floats, sole: Floats) -> Floats:
    """Land equivalent ratio (Mead & Willey 1980): the sum over crops of mixture yield over sole yield, last axis P.

    Crops with no sole yield do not count.
    """
    ratios = np.divide(mixture, sole, out=np.zeros_like(np.asarray(mixture, dtype=float)), where=np.asarray(sole) > 1e-6)
    return np.asarray(ratios.sum(axis=-1))


def area_time_equivalence_ratio(mixture: Floats, sole: Floats, sole_days: Floats, mixture_days: Floats) -> Floats:
    """Area-time equivalence ratio (Hiebsch & McCollum 1987): partial ratios weighted by sole days over mixture days.

    `mixture`, `sole`, `sole_days` (..., P), `mixture_days` (...,), all crops' days counted from sowing to clearing.
    """
    ratios = np.divide(mixture, sole, out=np.zeros_like(np.asarray(mixture, dtype=float)), where=np.asarray(sole) > 1e-6)
    return np.asarray((ratios * sole_days).sum(axis=-1) / mixture_days)


def plate_of(plan: Plan) -> Plate:
    """What the household wants of the bed: the bed's own plate, else the garden's."""
    return plan.bed.plate or plan.garden.plate


def wanted_window(plan: Plan, after_weeks: float) -> tuple[int, int]:
    """First and last day index of the window in which the household wants to pick.

    The bed's or the garden's plate if there is one and it meets the season (though no sooner than `after_weeks` after the
    first start), else from `after_weeks` after the first start until the
    first autumn frost or the end of the season, whichever comes first.
    """
    plate = plate_of(plan)
    offset = int((plan.start - plan.almanac.start).astype(int))
    if plate.start and plate.until:
        for base in (0, 365):
            first = plan.almanac.month_day(plate.start, not_before=base) - offset
            last = plan.almanac.month_day(plate.until, not_before=first + offset) - offset
            first, last = max(first, int(after_weeks * 7)), min(last, plan.days - 1)
            ripe = min((p.first_harvest for p in plan.plantings), default=0)
            if last - first >= 28 and ripe <= last:
                return first, last
    first = int(after_weeks * 7)
    last = plan.days - 1
    frost = plan.almanac.first_autumn_frost
    if frost is not None and first + 28 < frost - offset < last:
        last = frost - offset
    return min(first, last), last


def harvest_strip(season: Season, window: tuple[int, int]) -> tuple[StripWeek, ...]:
    """The weeks of the season with what is picked; a picking counts from `LEAST_PICKING_KG` up."""
    weekly = season.weekly_kg()
    total = weekly.sum(axis=2)
    amount = plate_of(season.plan).weekly_kg
    names = [p.name for p in season.plan.plantings]
    weeks = []
    for w in range(weekly.shape[0]):
        by_planting = np.zeros(len(names))
        for h, harvest in enumerate(season.harvests):
            by_planting[harvest.planting] += np.median(weekly[w, :, h])
        picked = tuple(names[i] for i in np.argsort(-by_planting) if by_planting[i] >= LEAST_PICKING_KG / 5.0)
        chance = float((total[w] >= LEAST_PICKING_KG).mean())
        served = float(np.minimum(total[w] / amount, 1.0).mean()) if amount > 0.0 else None
        wanted = window[0] <= w * 7 + 3 <= window[1]
        weeks.append(StripWeek(season.plan.date(w * 7), Band.of(total[w]), chance, picked, wanted, served))
    return tuple(weeks)


def strip_gaps(strip: tuple[StripWeek, ...]) -> tuple[Gap, ...]:
    """Runs of wanted weeks in which nothing is picked in most years."""
    gaps: list[Gap] = []
    run: list[StripWeek] = []
    for week in (*strip, None):
        if week is not None and week.wanted and not week.picked:
            run.append(week)
            continue
        if run:
            gaps.append(Gap(run[0].start, run[-1].start + np.timedelta64(6, "D"), len(run)))
        run = []
    return tuple(gaps)


def crop_yields(season: Season) -> tuple[CropYield, ...]:
    """Fresh kilograms by harvest with first and last picking days (middle of the years that pick)."""
    found = []
    for h, harvest in enumerate(season.harvests):
        kg = season.picked_kg[:, :, h]
        picked = kg > 0.0
        years = picked.any(axis=0)
        name = season.plan.plantings[harvest.planting].name
        item = CropYield(name, harvest.part.name, harvest.method, Band.of(kg.sum(axis=0)), None, None)
        if years.mean() >= 0.5:
            firsts = picked[:, years].argmax(axis=0)
            lasts = season.days - 1 - picked[::-1][:, years].argmax(axis=0)
            (a0, a, a1), (b0, b, b1) = (_days(season, days) for days in (firsts, lasts))
            item = replace(item, first=a, last=b, first_band=(a0, a1), last_band=(b0, b1))
        found.append(item)
    return tuple(found)


def _days(season: Season, days: NDArray[np.int64]) -> tuple[np.datetime64, np.datetime64, np.datetime64]:
    """Dates of the band of day indices."""
    low, middle, high = (season.plan.date(round(float(q))) for q in np.quantile(days, BAND))
    return low, middle, high


def season_ler(season: Season) -> Band:
    """Band of the season's land equivalent ratio."""
    return Band.of(land_equivalent_ratio(season.planting_kg(), season.planting_kg("sole")))


def season_ater(season: Season) -> Band:
    """Band of the season's area-time equivalence ratio; every planting's sole twin keeps its own dates."""
    days = season.field_days()
    start = np.array([p.start for p in season.plan.plantings])
    whole = (start + days).max(axis=1)
    return Band.of(area_time_equivalence_ratio(season.planting_kg(), season.planting_kg("sole"), days, whole))
