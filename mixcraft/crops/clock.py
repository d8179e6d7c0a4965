"""The clock of one planting: from its start to emergence, flower, bolting, ripeness and death, over many years at once.

Everything here depends on temperature and day length alone, not on growth, so it can be computed before the season is
run and used by start rules.  Shapes: years first, days last, (Y, D); event days are (Y,) indices, `NEVER` if none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .bulbs import (
    bulb_cold,
    grows_from_cloves,
    in_leaf,
    makes_bulbs,
    ripened_by_heat,
    swelling_daylength,
    swells_by_age,
)
from .cold import (
    chilled,
    crown_temperature,
    felt_by_crown,
    ground_frozen,
    leaf_killed,
    leaf_limit,
    leaf_minimum,
    newly_killed,
)
from .constants import constant
from .development import (
    NEVER,
    bolting_day,
    crop_degree_days,
    crop_thermal_rate,
    daylength_factor,
    development_rate,
    emergence_day,
    first_day_reaching,
    first_from,
    later,
    nursery_days,
    nursery_thermal_time,
    podding_factor,
)
from .heat import setting_share, unfit, worn_out
from .model import BURIED, Crop
from .resting import Stood, comes_up, counted_days, resting, wakes_on
from .seedlings import stand
from .standing import keeps_in_ground, standing_days

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SEEDLING_C_D = constant("seedling_span")
"""Thermal time [C d] over which frost limits pass from the seedling's to the grown plant's."""
SOWN = ("broadcast", "drills", "stations")
WARM_SEED_C, SEED_KEEPS_DAYS = constant("warm_seed"), constant("seed_keeps")
"""Seed that asks for soil at least this warm [C] rots if it is not up after so many days."""
PIECES = ("tuber", "clove", "set", "crown", "division")
"""Ways of establishing from a piece of a plant, which sprouts on what it holds."""
PLANTED = ("module", "plant")
"""Ways of establishing that set out a plant in leaf."""
STANDING = "standing"
"""How a perennial comes into a season that was planted in leaf, or sown, in a year before, or whose leaf is eaten."""
ROOTED = "rooted"
"""How a perennial comes into a season that was planted as a piece in a year before and sprouts from it again."""
SPROUTING = (*PIECES, ROOTED)
"""Ways of coming into a season as a piece that sprouts."""
DORMANT = (*SPROUTING, "plant", STANDING)


@dataclass(frozen=True)
class Clock:
    """Days of a planting's life. `thermal` (Y, D) is thermal time since emergence [C d], negative before it, `rate` (Y, D) that
    by which leaf grows on a day; `dieback` (Y, D) the share of its leaf that frost takes on a day; `setting` (Y, D) the share
    of flowers, heads and bulbs that set and fill in heat; `standing` (Y, D) days of standing (`mixcraft.crops.standing`);
    `unfit` and `frozen` (Y, D) days on which heat spoils what is ready, and on which the ground cannot be dug.  `wood` is the
    day from which roots are woody; `rest` that from which growth rests in the cold after what is eaten has begun to fill;
    `buds` the last of the short days in which a crop that fruits in them makes new buds, if it does when it is ripe; `chill`
    and `heat` are the days on which those end the crop; `death` is the first of frost, chill and heat. From the day `old`
    leaves die of age; from the day `tops` there are none, and only the tubers are left, `NEVER` for others."""

    start: int
    emergence: Ints
    organ: Ints
    ready: Ints
    flower: Ints
    bolt: Ints
    wood: Ints
    rest: Ints
    buds: Ints
    end: Ints
    death: Ints
    thermal: Floats
    rate: Floats
    dieback: Floats
    setting: Floats
    standing: Floats
    unfit: Bools
    frozen: Bools
    chill: Ints
    heat: Ints
    old: Ints
    tops: Ints

    @cached_property
    def middle_thermal(self) -> Floats:
        """Thermal time in the middle of the years, (D,)."""
        ordered, count = np.sort(self.thermal, axis=0), len(self.thermal)
        return np.asarray(0.5 * (ordered[(count - 1) // 2] + ordered[count // 2]))

    def event(self, name: str) -> Ints:
        """Days of the event `name`: start, emergence, organ_start, ready, flower, bolt, rest (the cold or age ends the growth of
        what has begun to fill), end or frost (death)."""
        table = {
            "start": np.full_like(self.emergence, self.start), "emergence": self.emergence, "organ_start": self.organ,
            "ready": self.ready, "first harvest": self.ready, "flower": self.flower, "bolt": self.bolt,
            "rest": np.minimum(self.rest, self.old), "end": self.end, "frost": self.death,
        }  # fmt: skip
        return table[name]

    def moved(self, first: int, days: int | None = None) -> Clock:
        """The same clock on a count of days that begins on day `first` of this one; what happens after `days` days of it does not
        happen."""
        last = NEVER if days is None else first + days

        def move(event: Ints) -> Ints:
            return np.asarray(np.where(event < last, event - first, NEVER))

        here = slice(first, None if days is None else first + days)
        events: dict[str, Any] = {name: move(getattr(self, name)) for name in DAYS}
        return replace(self, start=self.start - first, **events, **{name: getattr(self, name)[:, here] for name in SERIES})


DAYS = ("emergence", "organ", "ready", "flower", "bolt", "wood", "rest", "buds", "end", "death", "chill", "heat", "old", "tops")
SERIES = ("thermal", "rate", "dieback", "setting", "standing", "unfit", "frozen")


def nursery_weeks(crop: Crop) -> float:
    """Weeks from sowing indoors to planting out."""
    return crop.number("seed.module_age", constant("nursery_usual"))


def head_start(crop: Crop, establish: str) -> float:
    """Thermal time [C d] that planting material has behind it when it goes into the bed, a set when it comes up; 0 for seed.

    Days that are counted from planting hold the check that modules suffer; those that are counted from sowing do not.  A division
    is older than a seedling: it has what a raised plant has, or what one that stood the winter has where that is less.
    """
    if establish == "set":
        return crop.number("seed.set_lead", 0.0)
    if establish == STANDING:
        return _left_by_winter(crop) if crop.main_part.pool == "leaf" else head_start(crop, "plant")
    if establish == "division" and crop.counted_from == "sowing" and not crop.in_soil:
        return min(head_start(crop, "plant"), head_start(crop, STANDING))
    if establish not in PLANTED:
        return 0.0
    weeks = nursery_weeks(crop)
    gain = 1.0
    if establish == "module" and crop.counted_from == "sowing":
        gain = max(constant("nursery_gain"), 1.0 - constant("nursery_check") / nursery_days(weeks))
    return gain * nursery_thermal_time(crop, weeks)


def _left_by_winter(crop: Crop) -> float:
    """Thermal time [C d] that leaf of a plant which stands from the year before has behind it: of bushes, which keep it, all
    until it can be picked, of others all but what it takes to grow again between two pickings."""
    usual = np.array(crop.number("development.reference_temperature", constant("nursery_warmth")))
    days = 0.0 if crop.form == "bush" else crop.main_part.number("interval", 0.0)
    again = days * float(crop_thermal_rate(crop, usual))
    return max(crop["development.ready"] - again, 0.0)


def run_clock(
    crop: Crop, establish: str, start: int, mean_c: Floats, min_c: Floats, soil_c: Floats, daylength_h: Floats,
    snow_cm: Floats | None = None, open_c: Floats | None = None, sky: Floats | None = None, stands: Stood | None = None,
) -> Clock:  # fmt: skip
    """The clock of `crop` started on day index `start` in the given weather.  What is begun in frozen ground never comes up.

    Parameters: `mean_c`, `min_c` daily air temperature under the planting's covers [C], `soil_c` temperature at sowing
    depth [C], all (Y, D); `daylength_h` (D,) from sunrise to sunset [h]; `snow_cm` (Y, D) snow on the ground, none if not given;
    `open_c` (Y, D) the air's mean outside the covers [C], by which plants grow old: a cover hastens growth, and does not shorten
    a life; `sky` (D,) share of what leaves lose to a clear sky by night that they lose under the covers, all if not given;
    `stands` what a plant that stands brings into the season.
    """
    days = mean_c.shape[1]
    snow = np.zeros_like(mean_c) if snow_cm is None else snow_cm
    brings = (stands or Stood()) if establish == STANDING else stands
    counts, head = counted_days(crop, head_start(crop, establish), start, daylength_h, brings)
    rate, pace = crop_thermal_rate(crop, mean_c) * counts, development_rate(crop, mean_c) * counts
    frozen = ground_frozen(mean_c, snow)
    piece = establish in SPROUTING
    wakes = wakes_on(crop, start, mean_c, soil_c, daylength_h, establish == ROOTED) if piece else start
    emergence = comes_up(np.where(_at(frozen, start), NEVER, _emergence(crop, establish, wakes, soil_c, rate)), start, brings)
    green = np.arange(days) >= emergence[:, None]
    thermal = _developed(crop, np.where(green, pace, 0.0), head, daylength_h)
    heat = first_day_reaching(worn_out(crop, mean_c, green), True)
    grown, size = _since_emergence(crop, pace, green, thermal, head)
    leaf_c = leaf_minimum(crop, min_c, sky)
    dieback = frost_dieback(crop, min_c, size, establish, hardening=True, leaf_c=leaf_c)
    events = _events(crop, thermal, green, emergence, daylength_h, heat, dieback)
    up = np.minimum(emergence, days)
    wintered = brings is not None and brings.wintered and not piece
    bolt, wood = _stem(crop, mean_c, daylength_h, up, np.inf if piece else head, start if piece else up, wintered)
    ages = _degree_days(crop, mean_c if open_c is None else open_c, green, head), _degree_days(crop, mean_c, green, head)
    end, old = _ageing(crop, ages, green, emergence, events, bolt)
    standing = standing_days(mean_c)
    tops, end = keeps_in_ground(crop, standing, events["ready"], end)
    chill = first_day_reaching(chilled(crop, mean_c, green, min_c), True)
    if makes_bulbs(crop):
        events["ready"], heat = ripened_by_heat(events["organ"], events["ready"], heat)
    frost = frost_death(crop, min_c, size, establish, mean_c, snow, events["organ"], leaf_c)
    setting = setting_share(crop, mean_c, min_c) * bulb_cold(crop, mean_c, start, events["organ"], daylength_h)
    return Clock(
        start, emergence, events["organ"], events["ready"], events["flower"], bolt, wood,
        resting(crop, rate, mean_c, events["organ"]), last_buds(crop, events["ready"], daylength_h), end,
        np.minimum(np.minimum(frost, chill), heat), grown, rate,
        np.maximum(dieback, np.arange(days) >= tops[:, None]), setting, standing, unfit(crop, mean_c), frozen, chill, heat,
        old, tops,
    )  # fmt: skip


def _stem(
    crop: Crop, mean_c: Floats, daylength_h: Floats, green_from: Ints, behind: float, cold_from: Ints | int, wintered: bool,
) -> tuple[Ints, Ints]:  # fmt: skip
    """Day on which the stem shows and day from which the root is woody, (Y,) each, of plants that have so much thermal time
    `behind` them [C d] when they are up, and feel the cold from a day on, or are `wintered`."""
    passed, woody = crop_degree_days(crop, mean_c), woody_share(crop)

    def reached(share: float) -> Ints:
        return bolting_day(crop, mean_c, passed, daylength_h, green_from, behind, share, cold_from, wintered)

    bolt = reached(1.0)
    return bolt, bolt if woody == 1.0 else reached(woody)


def _at(true: Bools, day: int) -> Bools:
    """Whether it is true on a day, (Y,); not after the last."""
    return true[:, day] if 0 <= day < true.shape[1] else np.zeros(len(true), dtype=bool)


def last_buds(crop: Crop, ready: Ints, daylength_h: Floats) -> Ints:
    """Last of the short days in which a crop that makes its flower buds in them goes on making them when it is ripe, (Y,); the
    day of ripeness itself for others, and in long days."""
    if "development.short_days" not in crop.records:
        return ready
    long = daylength_h >= crop["development.short_days"]
    until = first_from(long, ready)
    return np.asarray(np.where(ready < NEVER, np.minimum(until, len(long)), NEVER), dtype=np.int64)


def _developed(crop: Crop, rate: Floats, head: float, daylength_h: Floats) -> Floats:
    """Thermal time (Y, D) [C d] from daily `rate` and a head start, told in the crop's reference days: to the flower day length
    hastens it or holds it back, and afterwards in crops whose pods mind it."""
    if not {"development.photoperiod.critical", "development.podding.longest"} & crop.records.keys():
        return np.asarray(np.cumsum(rate, axis=1) + head)
    led = rate * daylength_factor(crop, daylength_h)
    before = np.cumsum(led, axis=1) + head < crop["development.flower"]
    after = rate * podding_factor(crop, daylength_h)
    return np.asarray(np.cumsum(np.where(before, led, after), axis=1) + head)


def _degree_days(crop: Crop, air_c: Floats, green: Bools, head: float) -> Floats:
    """Degree days that count for growing old, (Y, D) [C d], of a plant in such air that has a head start."""
    return np.asarray(np.cumsum(np.where(green, crop_degree_days(crop, air_c), 0.0), axis=1) + head)


def _as_old(lived: Floats, under: Floats, day: Ints) -> Ints:
    """Day (Y,) on which plants would be as old outside, by degree days `lived`, as they are on a day `under` their covers."""
    age = np.take_along_axis(under, np.minimum(day, under.shape[1] - 1)[:, None], axis=1)
    reached = np.maximum(first_day_reaching(lived - age, -1e-9), day)
    return np.asarray(np.where(day < NEVER, np.minimum(reached, NEVER), NEVER), dtype=np.int64)


def _since_emergence(crop: Crop, rate: Floats, green: Bools, thermal: Floats, head: float) -> tuple[Floats, Floats]:
    """Thermal time [C d] and that by which frost finds a plant a seedling or grown, (Y, D) each, negative before emergence: the
    second is what it has had, though short days have kept it from making way towards its flower."""
    size = thermal
    if "development.photoperiod.critical" in crop.records:
        had = np.cumsum(np.where(green, rate, 0.0), axis=1) + head
        size = np.maximum(thermal, np.minimum(had, np.nextafter(crop["development.flower"], 0.0)))
    return np.where(green, thermal, -1.0), np.where(green, size, -1.0)


def _emergence(crop: Crop, establish: str, start: int, soil_c: Floats, rate: Floats) -> Ints:
    """Day on which the planting is up, (Y,); NEVER where too little of it gets away (`mixcraft.crops.seedlings`)."""
    years, days = rate.shape
    if establish in (*PLANTED, STANDING):
        emergence = np.full(years, start, dtype=np.int64)
    else:
        emergence = emergence_day(crop, soil_c, start)
        if establish in SOWN and crop["emergence.t_min"] >= WARM_SEED_C:
            emergence = np.where(emergence > start + SEED_KEEPS_DAYS, NEVER, emergence)
    grown = np.cumsum(np.where(np.arange(days) >= emergence[:, None], rate, 0.0), axis=1)
    established = first_day_reaching(grown, constant("winter_size" if establish in SOWN else "seedling_until"))
    if crop.life == "perennial" and establish not in SOWN:
        return emergence
    away = stand(crop, establish in SOWN, establish in PIECES, soil_c, start, emergence, established)
    followed = established < NEVER
    least = constant("stand_least" if establish in SOWN else "planted_least")
    return np.asarray(np.where(followed & (away < least), NEVER, emergence), dtype=np.int64)


def stands_till_it_bolts(crop: Crop) -> bool:
    """Whether a crop lives until it runs to seed: biennials, and what is pulled or cut whole and holds in the bed."""
    if crop.bolting == "none" or crop.life == "perennial":
        return False
    return crop.life == "biennial" or (crop.main_part.pool == "organ" and "hold" in crop.main_part.records)


def woody_share(crop: Crop) -> float:
    """Share of the way to the stem after which the main part is no good: roots that shoot after a winter go woody first."""
    root = crop.bolting.startswith("chill") and crop.root_form == "tap" and crop.main_part.pool == "organ"
    return constant("woody_from") if root else 1.0


SPARED = constant("spared")
"""How much longer than usual a biennial's ageing leaves are picked if it does not run to seed."""
OLD_SHARE = constant("old_share")
"""Share of the thermal life after which leaves die of age, where no stem ends it."""


def _ageing(
    crop: Crop, ages: tuple[Floats, Floats], green: Bools, emergence: Ints, events: dict[str, Ints], bolt: Ints
) -> tuple[Ints, Ints]:  # fmt: skip
    """Day on which the life ends and day from which leaves die of age, (Y,) each.

    A root that stands, or a biennial, lives on in leaf for as long as it does not run to seed, one that is picked leaf by leaf
    some time longer only; others by their thermal life, counted from their ripeness, which heat or short days may have put off,
    as does garlic, whose scapes do not end it.  So are leaves that wait with their flowers for longer days.  Under a cover they
    are no older than they would be outside when they are ripe: `ages` are degree days outside and under it.
    """
    gap = crop["development.end"] - crop["development.ready"]
    lived, under = ages
    end = later(lived, _as_old(lived, under, events["ready"]), gap)
    old = _reach(lived, green, OLD_SHARE * crop["development.end"], emergence)
    if "development.photoperiod.critical" in crop.records:
        old = np.maximum(old, later(lived, events["ready"], OLD_SHARE * crop["development.end"] - crop["development.ready"]))
    if stands_till_it_bolts(crop) and not grows_from_cloves(crop):
        if crop.main_part.pool != "leaf":
            return np.maximum(end, bolt), bolt
        end = np.maximum(end, np.minimum(bolt, later(lived, events["ready"], SPARED * gap)))
    return np.asarray(end), np.minimum(np.maximum(old, events["ready"]), end)


def _events(
    crop: Crop, thermal: Floats, green: Bools, emergence: Ints, daylength_h: Floats, heat: Ints, dieback: Floats
) -> dict[str, Ints]:  # fmt: skip
    """Days of organ start, ripeness and flower, (Y,) each.  A bulb begins on the first long day on which the plant is far
    enough (`swells_by_age` where no day is short) and `in_leaf`, and is ripe so long after (`_bulb_days`); a tuber that wants
    short days begins on the first of them."""
    organ = _reach(thermal, green, crop.number("harvest.organ_start", np.inf), emergence)
    ready = _reach(thermal, green, crop["development.ready"], emergence)
    if makes_bulbs(crop):
        least = crop.number("development.bulbing.least", crop.number("harvest.organ_start", 0.0))
        able = _reach(thermal, green, least, emergence)
        takes = crop["development.ready"] - crop.number("harvest.organ_start", crop["development.ready"])
        long_enough = daylength_h > swelling_daylength(crop, daylength_h)
        if swells_by_age(crop, daylength_h):
            able = np.maximum(able, organ)
        settled = 0.0 if grows_from_cloves(crop) else constant("bulb_leaf_until")
        organ, ready = _bulb_days(thermal, in_leaf(thermal, able, dieback, least), long_enough, takes, heat, settled)
    if "development.tuber_days" in crop.records:
        organ = first_from(daylength_h < crop["development.tuber_days"], organ)
        ready = later(thermal, organ, crop["development.ready"] - crop["harvest.organ_start"])
    flower = _reach(thermal, green, crop.number("development.flower", np.inf), emergence)
    return {"organ": organ, "ready": ready, "flower": flower}


def _bulb_days(
    thermal: Floats, able: Bools, long_enough: Bools, takes_c_d: float, heat: Ints, settled: float
) -> tuple[Ints, Ints]:  # fmt: skip
    """Days on which bulbs begin to swell and are ripe, (Y,) each, of plants that are `able` to on some days, (Y, D).

    They swell in days (D,) that are `long_enough`.  Onions that shorter days find before a share `settled` of their way go back
    to leaf (Aoba 1964: the thicker the bulb, the longer it takes) and begin anew in the long days of the next year, unless `heat`
    has ripened them before.
    """
    organ, ready = np.full_like(heat, NEVER), np.full_like(heat, NEVER)
    turns = np.flatnonzero(np.diff(np.concatenate([[False], long_enough, [False]])))
    for first, last in zip(turns[::2], turns[1::2], strict=True):
        begins = first_day_reaching(able[:, first:last], True)
        begins = np.where(begins < NEVER, begins + first, NEVER)
        stays = np.minimum(later(thermal, begins, settled * takes_c_d), heat) < (NEVER if last == len(long_enough) else last)
        done = (organ == NEVER) & (begins < NEVER) & stays
        organ, ready = np.where(done, begins, organ), np.where(done, later(thermal, begins, takes_c_d), ready)
    return organ, ready


def _reach(thermal: Floats, green: NDArray[np.bool_], target: float, emergence: Ints) -> Ints:
    days = first_day_reaching(np.where(green, thermal, -1.0), target)
    return np.asarray(np.where(emergence < NEVER, days, NEVER), dtype=np.int64)


def frost_limit(
    crop: Crop, thermal: Floats, establish: str = "drills", nights_c: Floats | None = None, *, tops: bool = False
) -> Floats:
    """Killing temperature [C] by stage: the seedling's just after emergence, passing to the grown plant's as it has hardened.

    From its first flowers on `frost.bloom` ends an annual that has one, as flowers and pods freeze before the leaf does.
    A grown plant with a hardy rootstock lives until that dies; with `tops`, the temperature that kills what stands above the
    ground.  Seedlings harden in cold nights by as much as grown leaves do, and are never hardier than those.  Without the minima
    `nights_c` (Y, D) that it has had, plants are fully hardened and seedlings are not.  Shape of `thermal`; -inf before
    emergence, when the frost finds nothing above the ground.
    """
    seedling, grown = crop["frost.seedling"], crop["frost.grown"]
    limit, young = np.full_like(thermal, grown), np.full_like(thermal, seedling)
    if nights_c is not None:
        limit = leaf_limit(crop, nights_c)
        gained = max(grown, constant("soft_limit")) - limit
        young = np.maximum(seedling - gained, min(seedling, grown))
    if not tops and "frost.crown" in crop.records:
        limit = np.full_like(thermal, crop["frost.crown"])
    if "frost.bloom" in crop.records:
        limit = np.where(thermal >= crop["development.flower"], np.maximum(limit, crop["frost.bloom"]), limit)
    share = np.clip(thermal / SEEDLING_C_D, 0.0, 1.0)
    if establish in DORMANT:
        share = np.ones_like(thermal)
    return np.asarray(np.where(thermal < 0.0, -np.inf, young + (limit - young) * share))


def lives_below(crop: Crop) -> bool:
    """Whether the plant outlives its tops: a hardy rootstock, or a root, bulb or tuber in the ground that is not an annual's
    mere root."""
    if "frost.crown" in crop.records:
        return True
    stored = crop.in_soil and bool(set(crop.main_part.methods) & {"once", "pull"})
    return stored or (crop.life == "biennial" and crop.root_form in BURIED)


def frost_death(
    crop: Crop, min_c: Floats, thermal: Floats, establish: str = "drills", mean_c: Floats | None = None,
    snow_cm: Floats | None = None, organ: Ints | None = None, leaf_c: Floats | None = None,
) -> Ints:  # fmt: skip
    """Day on which frost kills the planting, `NEVER` if none does; (Y,).

    A rootstock feels the air as it is over bare ground, less what snow keeps off; a root, bulb or tuber without limits of its own
    dies when it gets as cold in the ground as what kills the leaf: by night where it reaches the surface, by the day's mean
    where it lies deeper.  What stands above the ground alone dies with most of its leaf, a seedling with half of it; with most
    of it dies a plant that will have tubers or a bulb, and has none before the days `organ` (Y,).  Leaves get as cold as `leaf_c`
    (Y, D) [C], or as they do under the open sky.
    """
    leaf = leaf_minimum(crop, min_c) if leaf_c is None else leaf_c
    snow = np.zeros_like(min_c) if snow_cm is None else snow_cm
    limit = frost_limit(crop, thermal, establish, min_c if mean_c is not None else None)
    if "frost.crown" in crop.records:
        felt = felt_by_crown(min_c, snow)
    elif lives_below(crop):
        topless = leaf_killed(leaf, limit) >= constant("frost_fatal")
        deep = mean_c is not None and crop.root_form != "tap"
        felt = crown_temperature(mean_c if mean_c is not None and deep else min_c, snow)
        limit = frost_limit(crop, thermal, establish)
        if organ is not None and crop.root_form != "tap" and establish not in SPROUTING:
            rootless = np.arange(min_c.shape[1]) < organ[:, None]
            return first_day_reaching((felt <= limit) | (rootless & topless), True)
    else:
        age = 1.0 if establish in DORMANT else np.clip(thermal / SEEDLING_C_D, 0.0, 1.0)
        fatal = constant("frost_fatal_young") + (constant("frost_fatal") - constant("frost_fatal_young")) * age
        return first_day_reaching(leaf_killed(leaf, limit) >= fatal, True)
    return first_day_reaching(felt <= limit, True)


def frost_dieback(
    crop: Crop,
    min_c: Floats,
    thermal: Floats,
    establish: str = "drills",
    *,
    hardening: bool = False,
    leaf_c: Floats | None = None,
) -> Floats:
    """Share of the leaf that stands which frost kills on each day, (Y, D); leaves get as cold as `leaf_c`, or as they do under
    the open sky."""
    limit = frost_limit(crop, thermal, establish, min_c if hardening else None, tops=True)
    return newly_killed(leaf_killed(leaf_minimum(crop, min_c) if leaf_c is None else leaf_c, limit))
