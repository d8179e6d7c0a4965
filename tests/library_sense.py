"""Checks of a crop against itself and against common sense, where no handbook table lists it.

Limits are "common practice, no source" where nothing else is said: they are wide, and only there to notice a slipped
point or unit.
"""

from __future__ import annotations

import math

from library_checks import Complaints, outside
from library_tables import limits, of

from mixcraft.crops import Crop

ONE_QUARTER = 1.25
SEED_G_CM3 = 1.0  # seeds sink or float in water as they are fat or starchy (common practice, no source)
DIAMETERS = (0.5, 15.0)  # sown at two to four diameters, fine seed deeper than that since soil dries, dust-like seed pressed in
TALLEST_M = {"rosette": 1.2, "sprawling": 1.2, "bush": 1.5, "upright": 2.5, "climber": 3.0}
MIN_OVER_BASE_C = (-8.0, 10.0)  # leek and lettuce come up colder than they grow; beans are not sown as cold as they could


def distances(crop: Crop) -> Complaints:
    """Plants to the square metre are what the distances leave, within a quarter or within the record's own range."""
    record = crop.records["spacing.density"]
    computed = 1e4 / (crop["spacing.in_row"] * crop["spacing.between_rows"])
    low, high = limits(record)
    low, high = min(low, record.value / ONE_QUARTER), max(high, record.value * ONE_QUARTER)
    if not low <= computed <= high:
        return [f"density {record.value:g} ({low:g} to {high:g}), distances leave {computed:.3g} 1/m2"]
    return outside("distances over density", computed / record.value, 0.3, 3.0)


def seed_diameter_cm(crop: Crop) -> float:
    """Diameter of a sphere as heavy as one seed [cm]."""
    return float((6.0 / (math.pi * SEED_G_CM3 * crop["seed.per_gram"])) ** (1.0 / 3.0))


def sowing_depth(crop: Crop) -> Complaints:
    """Seed is covered by so many of its own diameters."""
    if "seed.per_gram" not in crop.records or crop.establish[0] not in ("drills", "broadcast", "stations", "module"):
        return []
    return outside("sowing depth in seed diameters", crop["seed.depth"] / seed_diameter_cm(crop), *DIAMETERS)


def height(crop: Crop) -> Complaints:
    """No taller than its form allows."""
    return outside("canopy.height", crop["canopy.height"], 0.05, TALLEST_M[crop.form])


def roots(crop: Crop) -> Complaints:
    """No annual roots deeper than the deepest of FAO-56 Table 22; perennials no deeper than alfalfa there, 3 m."""
    deepest = max(row.high for row in of("fao56", "max effective rooting depth Zr"))
    return outside("root.depth", crop["root.depth"], 0.1, 3.0 if crop.life == "perennial" else deepest)


BELOW_THE_LAW = {"rosemary"}
"""Kinds that 7 CFR 201.31 does not list and that germinate worse than all it lists."""


def germination(crop: Crop) -> Complaints:
    """No worse than the worst of the legal standards (7 CFR 201.31), no better than every seed."""
    if "seed.germination" not in crop.records or crop.id in BELOW_THE_LAW:
        return []
    worst = min(row.low for row in of("seed", "minimum germination (includes hard seed)"))
    return outside("seed.germination", crop["seed.germination"], worst, 100.0)


def coldest_soil(crop: Crop) -> Complaints:
    """The coldest soil for sowing lies near the base temperatures of emergence and of growth."""
    over = crop["emergence.t_min"] - max(crop.number("emergence.t_base", -99.0), crop["development.t_base"])
    return outside("emergence.t_min over the higher base", over, *MIN_OVER_BASE_C)


def frost(crop: Crop) -> Complaints:
    """A plant that grows where it is 5 C is not killed above 0 C; none is killed at temperatures it grows well at."""
    said = outside("frost.grown", crop["frost.grown"], -60.0, max(0.0, crop["development.t_base"] - 8.0))
    return said + outside("frost.seedling", crop["frost.seedling"], -60.0, max(0.0, crop["development.t_base"] - 4.0))


CROWN_OVER_TOPS_C = (3.0, 40.0)  # strawberry's to daylily's and bergamot's (common practice, no source)


def rootstock(crop: Crop) -> Complaints:
    """A rootstock that sprouts again is at least a few degrees hardier than its tops, and dies in the cold of the steppe."""
    if "frost.crown" not in crop.records:
        return []
    said = outside("frost.grown over frost.crown", crop["frost.grown"] - crop["frost.crown"], *CROWN_OVER_TOPS_C)
    return said + outside("frost.crown", crop["frost.crown"], -45.0, -4.0)


RULES = (distances, sowing_depth, height, roots, germination, coldest_soil, frost, rootstock)


def sense_complaints(crop: Crop) -> Complaints:
    """What all rules have against a crop."""
    return [text for rule in RULES for text in rule(crop)]
