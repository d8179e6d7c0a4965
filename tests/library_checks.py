"""Checks of a crop against handbook tables: each gives what it has to complain about, nothing where the crop agrees.

Kept apart from the tests, so that the tests of single wrong numbers can ask the same checks.  Tolerances are named sizes.  They
come from how the tables are printed (steps of 0.05, of 5 F, classes) and from how far handbooks differ among themselves on one
crop; where that is a rule of thumb, the line says "common practice, no source".
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from library_tables import Row, band, by_crop, limits, meets, of, rows

from mixcraft.crops import Crop

Complaints = list[str]

ONE_TENTH = 0.1  # FAO-56 prints Kc in steps of 0.05; the copy kept the middle of ranges up to 0.2 wide
ONE_STEP = 0.05  # and p in steps of 0.05
FIVE_F = 2.8  # soil temperatures are printed in steps of 5 F
FOUR_C = 4.0  # three of four base temperatures that SWAT and ECOCROP print for one crop agree within it (tested)
TWO_ZONES = 11.2  # lists of hardiness zones, 5.6 C wide, differ among themselves by up to two (mint, asparagus: in the file)
CANOPY_C = 2.8  # on clear nights a canopy is 1.1 to 2.8 C colder than the air (MSU 2014)
ONE_QUARTER = 1.25
HALF_AGAIN = 1.5
ROUNDED_CM = 0.1  # inches turned into centimetres
FACTOR_TWO = 2.0  # handbooks differ by up to this on yields, heights and seed counts (common practice, no source)
ONE_POINT, ONE_IN_TEN = 1.0, 0.1  # the note of the dry-matter table: within 1 point, cultivars differ


@dataclass(frozen=True)
class Table:
    """A handbook table and the check of a crop against it.

    `at_least` is the number of crops it must go on covering; `aside` holds crops that the table does not mean or where it
    stands alone, with the reason.
    """

    name: str
    found: tuple[Row, ...]
    check: Callable[[Crop, list[Row]], Complaints]
    at_least: int
    aside: Mapping[str, str] = field(default_factory=dict)

    @property
    def crops(self) -> dict[str, list[Row]]:
        """Rows by crop, without those put aside."""
        return {crop: rows for crop, rows in by_crop(self.found).items() if crop not in self.aside}

    def complaints(self, crop: Crop) -> Complaints:
        """What the table has against a crop; nothing if it does not list it."""
        mine = self.crops.get(crop.id, [])
        return [f"{self.name}: {text}" for text in self.check(crop, mine)] if mine else []


def outside(name: str, value: float, low: float, high: float) -> Complaints:
    """A complaint if a value lies outside low to high."""
    return [] if low - 1e-9 <= value <= high + 1e-9 else [f"{name} {value:g} outside {low:.3g} to {high:.3g}"]


def near_some(name: str, value: float, found: Iterable[Row], within: float) -> Complaints:
    """A complaint unless some row prints the value within a tolerance."""
    printed = [row.low for row in found]
    return [] if any(abs(value - p) <= within + 1e-9 for p in printed) else [f"{name} {value:g}, printed {printed}"]


def within_factor(name: str, value: float, found: list[Row], factor: float, change: float = 1.0) -> Complaints:
    """A complaint if a value is further than a factor from all that the rows print."""
    low, high = band(found, lambda _, v: v * change)
    return outside(name, value, low / factor, high * factor)


# FAO-56, Tables 12 and 22 ------------------------------------------------------------------------------------------------


def _fao_water(crop: Crop, found: list[Row]) -> Complaints:
    fields = {
        "Kc mid": ("root.kc_mid", ONE_TENTH), "Kc end": ("root.kc_end", ONE_TENTH),
        "depletion fraction p": ("root.depletion", ONE_STEP),
    }  # fmt: skip
    return [
        text
        for quantity, (name, within) in fields.items()
        if (printed := [row for row in found if row.quantity == quantity])
        for text in near_some(name, crop[name], printed, within)
    ]


def _fao_depth(crop: Crop, found: list[Row]) -> Complaints:
    low, high = band(found)
    return outside("root.depth", crop["root.depth"], low, high)


SUPPORTED = ("tomato-cherry", "tomato-cordon", "asparagus", "globe-artichoke", "broccoli-sprouting", "gherkin", "cucumber")
"""Tall on supports, or tall with stems that FAO and SWAT print without: checked from below only, as all climbers are."""


def _height(crop: Crop, found: list[Row]) -> Complaints:
    low, high = band(found, lambda row, v: v / 100.0 if row.unit == "cm" else v)
    tall = crop.form == "climber" or crop.id in SUPPORTED
    return outside("canopy.height", crop["canopy.height"], low / FACTOR_TWO, 10.0 if tall else high * FACTOR_TWO)


# Seed ------------------------------------------------------------------------------------------------------------------


def _soil_temperatures(crop: Crop, found: list[Row]) -> Complaints:
    """Minimum, optimum and maximum between the lowest and highest of the lists and the table of days, one step of 5 F wider."""
    said: Complaints = []
    for end in ("minimum", "optimum", "maximum"):
        printed = [r for r in found if r.quantity.startswith(f"germination soil temperature {end}") and "range" not in r.quantity]
        printed += [r for r in found if r.quantity == f"{end} from the days to emergence"]
        if printed:
            name = {"minimum": "emergence.t_min", "optimum": "emergence.t_optimum", "maximum": "emergence.t_max"}[end]
            low, high = band(printed)
            said += outside(name, crop[name], low - FIVE_F, high + FIVE_F)
    return said


def _legal_germination(crop: Crop, found: list[Row]) -> Complaints:
    return near_some("seed.germination", crop["seed.germination"], found, 0.0)


def _seed_count(crop: Crop, found: list[Row]) -> Complaints:
    return within_factor("seed.per_gram", crop["seed.per_gram"], found, FACTOR_TWO)


# Time and room ---------------------------------------------------------------------------------------------------------


def _days(crop: Crop, found: list[Row]) -> Complaints:
    """The range of days meets the printed one, a quarter wider; counted from planting out where either counts so.

    The handbook marks some crops as transplanted and leaves others that are raised in modules unmarked, so that both counts
    are allowed for these.
    """
    record = crop.records["development.days_to_harvest"]
    low, high = band(found)
    nursery = 7.0 * crop.number("seed.module_age", 0.0) if "module" in crop.establish else 0.0
    shift = -nursery if crop.counted_from == "sowing" else nursery
    bottom, top = limits(record)
    if any(bottom + s <= high * ONE_QUARTER and top + s >= low / ONE_QUARTER for s in (0.0, shift)):
        return []
    return [f"days_to_harvest {bottom:g} to {top:g} from {crop.counted_from}, printed {low:g} to {high:g}"]


def _cycle(crop: Crop, found: list[Row]) -> Complaints:
    """The first harvest comes before the growing cycle ends; that runs on to the last harvest, so there is no lower bound."""
    longest = band(found)[1]
    return outside("development.days_to_harvest", crop["development.days_to_harvest"], 0.0, longest * ONE_QUARTER)


def _spacing(crop: Crop, found: list[Row]) -> Complaints:
    """In the row as printed within half again; rows in a bed have no path between them, so they are bounded from above."""
    in_row = [r for r in found if r.quantity == "in-row spacing"]
    between = [r for r in found if r.quantity == "row spacing"]
    said: Complaints = []
    low, high = band(in_row)
    hills = low > 45.0 and high / low < 1.01  # hills several feet apart, with more than one plant to the hill
    if not hills and not meets(crop.records["spacing.in_row"], low / HALF_AGAIN, high * HALF_AGAIN + ROUNDED_CM):
        said.append(f"spacing.in_row {limits(crop.records['spacing.in_row'])}, printed {low:g} to {high:g} cm")
    said += outside("spacing.between_rows", crop["spacing.between_rows"], low / HALF_AGAIN / 10.0, band(between)[1] * FACTOR_TWO)
    field_density = 1e4 / (high * band(between)[1])
    said += outside("spacing.density", crop["spacing.density"], field_density / FACTOR_TWO, 1e4)
    return said


def _sowing_depth(crop: Crop, found: list[Row]) -> Complaints:
    return within_factor("seed.depth", crop["seed.depth"], found, HALF_AGAIN)


def _row_yield(crop: Crop, found: list[Row]) -> Complaints:
    """Kilograms per metre of row over the row distance meet the range of the yield alone within a factor of two.

    The row is that of the Maine chart where it lists the crop, and the bed's own at the narrow end, since beds have no paths.
    """
    bed_m = crop["spacing.between_rows"] / 100.0
    charted = [r for r in of("spacing", "row spacing") if crop.id in r.crops]
    wide_m = max([bed_m, *(r.high / 100.0 for r in charted)])
    low, high = band(found)
    low, high = low / wide_m / FACTOR_TWO, high / bed_m * FACTOR_TWO
    record = crop.records["harvest.yield_sole"]
    return [] if meets(record, low, high) else [f"yield_sole {limits(record)} kg/m2, rows give {low:.2f} to {high:.2f}"]


# Roots -----------------------------------------------------------------------------------------------------------------

ROOT_CLASSES = {"shallow": (0.0, 0.91), "moderate": (0.46, 1.22), "shallow/moderate": (0.0, 1.22), "deep": (0.61, 3.5)}
"""Metres; 18 to 24 (36) in, 36 to 48 in and more than 48 in, each class reaching one class down, since the depths printed beside
the classes often lie below them (note of the compilation)."""


def _root_class(crop: Crop, found: list[Row]) -> Complaints:
    bands = [ROOT_CLASSES[row.text] for row in found]
    low, high = min(b[0] for b in bands), max(b[1] for b in bands)
    return outside("root.depth", crop["root.depth"], low, high)


def _deepest_root(crop: Crop, found: list[Row]) -> Complaints:
    high = band(found, lambda row, v: v / 100.0 if row.unit == "cm" else v)[1]
    return outside("root.depth", crop["root.depth"], 0.0, high * HALF_AGAIN)


# Cold and warmth -------------------------------------------------------------------------------------------------------


def _frost_class(crop: Crop, found: list[Row]) -> Complaints:
    """Hardy crops stand -2.2 C, grown or (for the lightly hardy) at some age; susceptible ones die between -2.2 and 0 C."""
    grown, young = crop["frost.grown"], crop["frost.seedling"]
    said: Complaints = []
    for row in found:
        if row.text.startswith("hard frost hardy"):
            said += outside("frost.grown", grown, -60.0, -2.2)
        elif row.text.startswith("light frost hardy"):
            said += outside("frost (hardier age)", min(grown, young), -60.0, -2.2)
        else:
            said += outside("frost.grown", grown, -2.2, 0.0)
    return said


def _freezing_point(crop: Crop, found: list[Row]) -> Complaints:
    """Nothing dies in air that leaves its tissue unfrozen."""
    return outside("frost.grown", crop["frost.grown"], -60.0, band(found)[1] + CANOPY_C)


def _survival(crop: Crop, found: list[Row]) -> Complaints:
    grown = crop["frost.grown"]
    said: Complaints = []
    for row in found:
        if row.quantity.startswith("killed"):
            said += outside("frost.grown", grown, row.low - CANOPY_C, row.high + CANOPY_C)
        elif row.quantity == "tolerates":
            said += outside("frost.seedling", crop["frost.seedling"], -60.0, row.high)
        else:  # burned but not killed down to, or survives below
            said += outside("frost.grown", grown, -60.0, row.low + 0.3)  # printed in whole F, 26 F = -3.3 C
    return said


def _killing_temperature(crop: Crop, found: list[Row]) -> Complaints:
    """ECOCROP's killing temperatures below 0 C (0 and above are place-holders), a cold canopy warmer at most."""
    said: Complaints = []
    for row in found:
        if row.low < 0.0:
            name = "frost.grown" if "rest" in row.quantity else "frost.seedling"
            name = "frost.crown" if "rest" in row.quantity and "frost.crown" in crop.records else name
            said += outside(name, crop[name], -60.0, min(row.low + CANOPY_C, 0.0))
    return said


def _hardiness(crop: Crop, found: list[Row]) -> Complaints:
    """The rootstock lives through the winters of the coldest zone any list names, or of one two zones milder than all do."""
    low, high = min(row.low for row in found), max(row.high for row in found)
    return outside("frost.crown", crop.number("frost.crown", crop["frost.grown"]), low, high + TWO_ZONES)


def _growing_range(crop: Crop, found: list[Row]) -> Complaints:
    """Base to ceiling covers three quarters of ECOCROP's range; the optimum lies in its optimal one within 4 C, and its
    beginning, where a crop has one, is the coolest that ECOCROP prints.

    Its absolute limits are those of a place that suits, not fitted base temperatures, so that these may lie 8 C further out.
    """
    value = {row.quantity: row.low for row in found}
    low, high = value["absolute min temperature for growth"], value["absolute max temperature for growth"]
    cool, warm = value["optimal temperature min"], value["optimal temperature max"]
    base, best, top = (crop[f"development.{name}"] for name in ("t_base", "t_optimum", "t_ceiling"))
    said = outside("development.t_base", base, low - 2 * FOUR_C, cool)
    said += outside("development.t_optimum", best, cool - FOUR_C, warm + FOUR_C)
    said += outside("development.t_ceiling", top, warm, high + 2 * FOUR_C)
    said += outside("development.t_optimum_from", crop.number("development.t_optimum_from", cool), cool, cool)
    share = (min(top, high) - max(base, low)) / (high - low)
    return said + outside("share of the range covered", share, 0.75, 1.0)


def _base_temperature(crop: Crop, found: list[Row]) -> Complaints:
    """Between the lowest and highest base temperature that anybody prints, 4 C wider."""
    low, high = band(found)
    fits = meets(crop.records["development.t_base"], low - FOUR_C, high + FOUR_C)
    return [] if fits else [f"development.t_base {limits(crop.records['development.t_base'])}, printed {low:g} to {high:g}"]


# Canopy and harvest ----------------------------------------------------------------------------------------------------


def _light_use(crop: Crop, found: list[Row]) -> Complaints:
    """Per MJ of PAR; SIMPLE prints per MJ of global radiation, about half of which is PAR."""
    low, high = band(found, lambda row, v: 2.0 * v if "total solar" in row.quantity else v)
    return outside("canopy.rue", crop["canopy.rue"], low / FACTOR_TWO, high * ONE_QUARTER)


def _leaf_area(crop: Crop, found: list[Row]) -> Complaints:
    return within_factor("canopy.lai_max", crop["canopy.lai_max"], found, FACTOR_TWO)


def _extinction(crop: Crop, found: list[Row]) -> Complaints:
    return within_factor("canopy.k", crop["canopy.k"], found, HALF_AGAIN)


def share_of_all(row: Row, value: float) -> float:
    """A harvest index; above 1 SWAT prints the ratio of what is below the ground to what is above."""
    return value if value <= 1.0 else value / (1.0 + value)


SAME_ORGAN = {"root", "tuber", "bulb", "grain"}
"""Kinds whose organ is the harvest of the models as well; their heads and fruits count whole tops or dry seed."""


def _harvest_index(crop: Crop, found: list[Row]) -> Complaints:
    if "harvest.harvest_index" not in crop.records:
        return []
    low, high = band(found, share_of_all)
    bottom = low / FACTOR_TWO if SAME_ORGAN & set(crop.kinds) else low / 6.0
    return outside("harvest.harvest_index", crop["harvest.harvest_index"], bottom, high * ONE_QUARTER)


def _dry_matter(crop: Crop, found: list[Row]) -> Complaints:
    percent = 100.0 * crop.main_part.number("dry_matter")
    return near_some("dry_matter", percent, found, max(ONE_POINT, ONE_IN_TEN * found[0].low))


def _families(crop: Crop, found: list[Row]) -> Complaints:
    return [f"family {crop.family}, listed under {row.item}" for row in found if crop.family not in row.item]


# The tables ------------------------------------------------------------------------------------------------------------


def _frosts(text: str) -> tuple[Row, ...]:
    return tuple(r for r in rows("frost") if text in r.quantity)


_SURVIVAL = tuple(r for r in rows("frost") if r.quantity.split()[0] in ("killed", "foliage", "survives", "tolerates"))
_ECOCROP = tuple(r for r in rows("temperatures") if "ECOCROP" in r.source)
_LISTS = tuple(r for r in rows("germination_temperatures") if r.quantity != "days to germination at optimum")
_FITTED = tuple(r for r in rows("temperatures") if "base temperature" in r.quantity)
_WITH_BASE = {crop for row in _FITTED for crop in row.crops}
_BASES = _FITTED + tuple(
    replace(r, crops=tuple(c for c in r.crops if c in _WITH_BASE))
    for r in of("temperatures", "absolute min temperature for growth", source="ECOCROP")
)
_IN_FAO = {crop for row in of("fao56", "max crop height h") for crop in row.crops}
_HEIGHTS = of("canopies", "maximum canopy height")

TABLES = (
    Table(
        "FAO-56 Tables 12 and 22, Kc and p", of("fao56", "Kc mid", "Kc end", "depletion fraction p"), _fao_water, 65,
        aside={"soybean": "FAO prints soybeans picked dry; these are picked green"},
    ),
    Table("FAO-56 Table 22, rooting depth", of("fao56", "max effective rooting depth Zr"), _fao_depth, 65),
    Table("FAO-56 Table 12, height", of("fao56", "max crop height h"), _height, 60),
    Table("germination temperatures", _LISTS, _soil_temperatures, 50),
    Table("7 CFR 201.31, germination", tuple(r for r in rows("seed") if "germination" in r.quantity), _legal_germination, 90),
    Table(
        "7 CFR 201.46, seeds per gram", of("seed", "approximate seeds per gram"), _seed_count, 95,
        aside={
            "popcorn": "3 in the table as for field maize; kernels for popping are half as heavy",
            "soybean": "6 to 13 in the table; green soybeans are twice as heavy as field ones",
            "winter-squash": "14 in the table for all squashes; those of maxima are three times as heavy",
        },
    ),
    Table(
        "Knott, days to maturity", of("days", "days from planting to market maturity"), _days, 60,
        aside={"garden-cress": "Knott means the grown plant, the library cuts seedlings"},
    ),
    Table(
        "ECOCROP, growing cycle", of("days", "growing cycle length"), _cycle, 95,
        aside={"garlic": "ECOCROP counts from spring, the library from cloves set in autumn"},
    ),
    Table("Maine chart, spacing", of("spacing", "row spacing", "in-row spacing"), _spacing, 33),
    Table("Maine chart, depth", of("spacing", "planting depth"), _sowing_depth, 22),
    Table("Kansas and Maine, yield of a row", rows("row_yields"), _row_yield, 45),
    Table(
        "UC and Knott, rooting class", of("roots", "rooting depth class", "rooting depth class (Knott)"), _root_class, 75,
        aside={"sweet-corn": "shallow here, 0.8 to 1.2 m in FAO-56"},
    ),
    Table(
        "SWAT and Daisy, deepest roots", of("roots", "maximum root depth", "maximum root penetration MaxPen"), _deepest_root, 50
    ),
    Table("MSU, frost class", _frosts("frost tolerance class"), _frost_class, 60),
    Table("USDA AH 66, freezing point", _frosts("freezing point"), _freezing_point, 50),
    Table("Texas and Canada, survival", _SURVIVAL, _survival, 38),
    Table(
        "ECOCROP, killing temperature", _frosts("killing temperature"), _killing_temperature, 50,
        aside={
            "sunflower": "-10 C at rest, of an annual that has no rest",
            "cabbage-summer": "ECOCROP prints one cabbage, the winter kinds'",
        },
    ),
    Table("hardiness zones, rootstocks", rows("hardiness"), _hardiness, 20),
    Table("ECOCROP, growing range", _ECOCROP, _growing_range, 95),
    Table(
        "base temperatures", _BASES, _base_temperature, 58,
        aside={
            "lima-bean": "18 C in SWAT, 13 C in ECOCROP", "mung-bean": "15 C in SWAT, 10 C in WOFOST",
            "oats": "0 C in SWAT, 5 C in ECOCROP",
        },
    ),
    Table(
        "SWAT, SIMPLE, Kiniry, light use",
        of("canopies", "radiation use efficiency", "radiation use efficiency (total solar basis)"), _light_use, 50,
        aside={"asparagus": "9.0 g/MJ in SWAT cannot be meant"},
    ),
    Table(
        "SWAT, leaf area index", of("canopies", "maximum potential leaf area index"), _leaf_area, 50
    ),
    Table(
        "SWAT and Daisy, k", of("canopies", "light extinction coefficient k", "PAR extinction coefficient PARext"),
        _extinction, 55,
    ),
    Table(
        "SWAT, height of crops FAO lacks", tuple(r for r in _HEIGHTS if not _IN_FAO & set(r.crops)), _height, 4,
        aside={"white-clover": "SWAT prints one clover, a tall one"},
    ),
    Table(
        "SWAT and SIMPLE, harvest index", of("canopies", "potential harvest index", "harvest index"), _harvest_index, 50,
        aside={"lentil": "0.61 in SWAT, whose other pulses have 0.31 to 0.42"},
    ),
    Table(
        "USDA, dry matter", rows("dry_matter"), _dry_matter, 40,
        aside={
            "courgette": "7.2 % in the Indian tables, 5.2 % in USDA",
            "summer-squash-patty-pan": "6.8 % in the Indian tables, 5.2 % in USDA",
            "watermelon": "5.5 % in the Indian tables, 8.5 % in USDA",
        },
    ),
    Table("Connecticut, plant families", of("rotation", "members"), _families, 55),
)  # fmt: skip


def table_complaints(crop: Crop) -> Complaints:
    """What all tables have against a crop."""
    return [text for table in TABLES for text in table.complaints(crop)]
