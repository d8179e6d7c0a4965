"""A crop on one page that a grower reads: when, how, how far apart, how deep, how long, how much, with what caution."""

from __future__ import annotations

import math
from collections.abc import Iterator

from mixcraft.crops.bulbs import grows_from_cloves
from mixcraft.crops.cautions import cautions
from mixcraft.crops.clock import SOWN
from mixcraft.crops.library import plain_name
from mixcraft.crops.model import Crop, Part
from mixcraft.crops.records import Record

from .amounts import NBSP, Units, area_density, depth_words, length_words, plain_number, weight_words
from .plain import listed, percent
from .us import in_units

WAYS = {
    "broadcast": "scattered over the bed", "drills": "sown in drills", "stations": "sown at its place, a few seeds each",
    "module": "raised in modules or pots and planted out", "plant": "bought as young plants", "set": "planted as sets",
    "tuber": "planted as tubers", "clove": "planted as cloves", "crown": "planted as crowns", "division": "planted as divisions",
}  # fmt: skip
METHODS = {
    "once": "taken all at one time", "pull": "pulled plant by plant", "leaf": "outer leaves picked again and again",
    "cut": "cut and come again", "pick": "picked over and over", "thin": "taken as thinnings",
}  # fmt: skip
SHADE = {"bears": "bears half a day of shade", "moderate": "bears a little shade", "sun": "wants full sun"}
FEEDING = {"fixes": "feeds itself with nitrogen from the air", "low": "a light feeder", "medium": "a medium feeder",
           "high": "a heavy feeder"}  # fmt: skip
LIVES = {"annual": "annual", "biennial": "biennial", "perennial": "perennial"}
HARDY_C, HALF_C = -6.0, -1.5
"""Grown plants that stand this frost are called hardy, and half-hardy.  Common practice, no source."""
EVEN_WATER, DRY_DAYS = 0.35, 0.55
"""Shares of the soil's water that may be used before growth slows, of crops that want even watering and that bear dry days.
Common practice, no source."""


def page(crop: Crop, asked: str = "", units: Units = "metric") -> list[tuple[str, str]]:
    """The page as headings with their text; the first is the title.  `asked` is the name that was looked up."""
    also = [name for name in crop.names["en"] if plain_name(name) not in (plain_name(crop.name), plain_name(asked))]
    title = f"{asked} ({crop.name})" if asked and plain_name(asked) != plain_name(crop.name) else crop.name
    found = [(f"{title}  {crop.botanical}, {crop.family}", ""), ("", crop.about)]
    found += [("also called", ", ".join(also))] if also else []
    found += [("when", " ".join(_when(crop))), ("how", _how(crop)), ("how far", _apart(crop, units))]
    found += [("how deep", _deep(crop, units))]
    found += [("how big", _size(crop, units)), ("how long", _long(crop)), ("picked", " ".join(_picked(crop, units)))]
    found += [("how much", _much(crop, units)), ("feeding", _feeding(crop))]
    found += [("pests", _ills(crop))] if crop.pests or crop.diseases else []
    found += [("caution", text) for text in _cautions(crop)]
    return [(head, in_units(text, units).replace(NBSP, " ")) for head, text in found if head or text]


def _when(crop: Crop) -> Iterator[str]:
    """Warmth for the seed, and frost."""
    if any(way in SOWN for way in crop.establish) and "emergence.t_min" in crop.records:
        yield f"Sow when the soil has {crop['emergence.t_min']:.0f} C, better {crop['emergence.t_optimum']:.0f} C{_up(crop)}."
    young, grown = crop["frost.seedling"], crop["frost.grown"]
    if young > HALF_C:
        yield f"Plant out after the last frost: young plants die at {young:g} C."
    else:
        yield f"Young plants stand {young:g} C."
    word = "hardy" if grown <= HARDY_C else "half-hardy" if grown <= HALF_C else "tender"
    yield f"Grown plants are {word} and die at {grown:g} C."
    if crop.bolting == "long_day":
        yield "Runs to seed in the long days of early summer."
    elif crop.bolting.startswith("chill") and not grows_from_cloves(crop):
        weeks = round(crop["development.bolting.chill_days"] / 7.0)
        days = "in long days " if crop.bolting == "chill_long_day" else ""
        yield f"Runs to seed {days}after about {weeks} weeks of cold."


def _up(crop: Crop) -> str:
    """Days to emergence at a cool and a good temperature, from the table of the crop if it has one."""
    table = crop.emergence_table
    if table is None:
        return ""
    known = [(t, d) for t, d in zip(table.temperatures_c, table.days, strict=True) if not math.isnan(d)]
    if len(known) < 2:
        return ""
    (cool, slow), (good, quick) = known[len(known) // 3], min(known, key=lambda pair: pair[1])
    return f"; up in {slow:.0f} days at {cool:g} C, in {quick:.0f} at {good:g} C"


def _how(crop: Crop) -> str:
    ways = ", or ".join(WAYS.get(way, way) for way in crop.establish)
    age = crop.number("seed.module_age", 0.0)
    said = f"{ways[:1].upper()}{ways[1:]}."
    return f"{said} Plants are set out {age:g} weeks after sowing indoors." if age and "module" in crop.establish else said


def _apart(crop: Crop, units: Units) -> str:
    row, between = crop["spacing.in_row"] / 100.0, crop["spacing.between_rows"] / 100.0
    said = f"{length_words(row, units)} in the row, {length_words(between, units)} between rows; alone"
    said += f" {area_density(crop['spacing.density'], units)}"
    cut = crop.number("spacing.cutting_density", 0.0)
    return said + (f", for cutting young {area_density(cut, units)}." if cut else ".")


def _deep(crop: Crop, units: Units) -> str:
    return f"{depth_words(crop['seed.depth'] / 100.0, units)}; roots reach {length_words(crop['root.depth'], units)}."


def _size(crop: Crop, units: Units) -> str:
    height, spread = length_words(crop["canopy.height"], units), length_words(crop["canopy.spread"], units)
    climbs = ", climbs: give it a support" if crop.form == "climber" else ""
    return f"{height} high, {spread} wide{climbs}; {SHADE[crop.shade]}; {LIVES.get(crop.life, crop.life)}."


def _long(crop: Crop) -> str:
    record = crop.records["development.days_to_harvest"]
    begin = "planting out" if crop.counted_from != "sowing" else "sowing"
    said = f"First picking about {record.value:.0f} days after {begin}{_range(record)}."
    years = int(crop.number("harvest.establishing", 0.0))
    return said + (f" Little in the first {years} years." if years > 1 else " Little in the first year." if years else "")


def _range(record: Record) -> str:
    return f" ({record.low:g} to {record.high:g})" if record.low is not None and record.high is not None else ""


def _picked(crop: Crop, units: Units) -> Iterator[str]:
    for part in crop.parts:
        ways = ", or ".join(METHODS.get(method, method) for method in part.methods)
        every = part.number("interval", 0.0)
        often = f", every {every:g} days" if every and part.methods[0] not in ("once",) else ""
        yield f"{part.name[:1].upper()}{part.name[1:]}: {ways}{often}{_keeping(part, units)}."


def _keeping(part: Part, units: Units) -> str:
    if not part.food:
        return ", not eaten"
    portion, keeps = part.number("portion", 0.0), part.number("keeps", 0.0)
    said = f"; a portion is {weight_words(portion / 1000.0, units)}" if portion else ""
    return said + (f", keeps {keeps:.0f} days" if keeps else "")


def _much(crop: Crop, units: Units) -> str:
    record = crop.records["harvest.yield_sole"]
    span = f", from {record.low:g} to {record.high:g} kg/m2," if record.low is not None and record.high is not None else ""
    said = f"{plain_number(record.value, 1)} kg/m2{span} when grown alone by good practice."
    if "seed.per_gram" not in crop.records:
        return said
    germination = percent(crop.number("seed.germination", 0.0) / 100.0)
    seeds = float(f"{crop['seed.per_gram']:.2g}")
    return f"{said} A gram holds about {seeds:g} seeds, of which {germination} come up at best."


def _feeding(crop: Crop) -> str:
    dry = crop["root.depletion"]
    water = "wants even watering" if dry <= EVEN_WATER else "bears dry days" if dry >= DRY_DAYS else ""
    visits = "its flowers feed pollinators" if crop.visitors else ""
    return "; ".join(part for part in (FEEDING[crop.nitrogen], water, visits) if part).capitalize() + "."


def _ills(crop: Crop) -> str:
    ills = [d.name + (f" ({d.years:g} years without)" if d.years else "") for d in crop.diseases]
    return "; ".join(part for part in (listed(list(crop.pests)), listed(ills)) if part) + "."


def _cautions(crop: Crop) -> list[str]:
    """The cautions, the gravest first."""
    codes = dict.fromkeys([*crop.cautions, *(code for part in crop.parts for code in part.cautions)])
    known = [cautions()[code] for code in codes if code in cautions()]
    ordered = sorted(known, key=lambda record: int(record.get("rank", 2)))
    texts = [f"{record.get('title', '')}: {' '.join(str(record.get('short', record['text'])).split())}" for record in ordered]
    return list(dict.fromkeys(texts))
