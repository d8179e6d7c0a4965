"""Windows of picking: when each part of a crop can be picked, by the clock of a planting."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .bulbs import makes_bulbs, spoilt_by_shooting
from .clock import Clock
from .constants import constant
from .development import NEVER, first_day_reaching, first_from, later
from .model import Crop, Part
from .standing import holds_until

Ints = NDArray[np.int64]


def grows_on(crop: Crop, part: Part) -> bool:
    """Whether what is below its least size when it would be ripe is left to grow: roots, stems and heads of leaves of biennials,
    which fill for as long as the plant stands; not curds and other flowers, nor bulbs, whose tops fall."""
    main = part.role == "main" and part.pool == "organ" and "market_least" in part.records
    return main and crop.life != "perennial" and crop.bolting.startswith("chill") and not makes_bulbs(crop)


def lifted_when_tops_end(crop: Crop, part: Part) -> bool:
    """Whether a part is lifted as it is when the cold ends the growth of its tops: tubers, full-grown or not."""
    lifted = part.role == "main" and part.pool == "organ" and bool(set(part.methods) & {"once", "pull"})
    return lifted and crop.root_form == "tuberous"


def full_enough(crop: Crop, part: Part) -> float:
    """Share of its filling from which a part is cut before chill or frost though not ripe, as it has most of its dry matter:
    squash that keeps, and grain, which dries on dead stalks; 0 of others, which are lost."""
    if part.role != "main" or part.pool != "organ" or part.methods[0] != "once":
        return 0.0
    if "grain" in crop.kinds:
        return constant("grain_fit")
    return constant("squash_fit") if "fruit" in crop.kinds and part.closes == "frost" and not part.ripe_only else 0.0


def cold_opens(crop: Crop, part: Part) -> bool:
    """Whether the cold that ends a plant opens the window of a part that is not ripe by then."""
    return lifted_when_tops_end(crop, part) or full_enough(crop, part) > 0.0


def cut_by_size(crop: Crop, part: Part) -> bool:
    """Whether a part is cut as soon as there is enough of it, before its plants are full-grown: leaf that can be sown thick."""
    return part.pool == "leaf" and part.role == "main" and part.opens == "ready" and "spacing.cutting_density" in crop.records


def eaten_young(part: Part) -> bool:
    """Whether a part is leaf that is food before it is full-grown, so that plants about to run to seed are picked as they are."""
    main = part.pool == "leaf" and part.role == "main" and part.opens == "ready"
    return main and part.closes == "bolt" and bool({"leaf", "cut"} & set(part.methods))


def food_from(part: Part, clock: Clock) -> Ints:
    """Day on which a part is ready, (Y,), or of leaf that is known to be food some time before, `young` [C d] from emergence, is
    that."""
    ready = clock.event(part.opens)
    if "young" in part.records:
        ready = np.minimum(ready, later(clock.thermal, clock.emergence, part.number("young")))
    return ready


def part_window(crop: Crop, part: Part, clock: Clock, method: str = "", *, stands: bool = False) -> tuple[Ints, Ints]:
    """First and last day on which `part` can be picked, by its first method or another, (Y,) each, of a perennial that is set out
    or `stands` already; `NEVER` opening if it never comes.

    What is ready holds for its `hold` in days of standing: longer in the cool, shorter in the heat, and tubers that are
    lifted ripe from the day on which their tops are dead; what is picked again and again has its season of so many days.
    Published days to harvest are those to the first pulling. What fills for as long as it stands is pulled as far as it is of
    size when growth rests for the winter, though it is not full-grown: roots, one by one or all in one go; tubers are lifted
    as they are then, or when chill or frost ends their tops, before which squash and grain are cut that have most of their dry
    matter. Leaf that can be sown thick is cut from its fourth leaf on, when there is enough of it; what is about to run to seed
    is picked half-grown in the three weeks before, or cut in one go in the last of them; perennials that are set out in leaf
    root for some weeks first. What is in the ground is not dug from frozen soil; what is of a cool annual is spoilt after some
    days of heat, above the ground.
    """
    opens, closes, _ = part_days(crop, part, clock, method, stands=stands)
    return opens, closes


def part_days(crop: Crop, part: Part, clock: Clock, method: str = "", *, stands: bool = False) -> tuple[Ints, Ints, Ints]:
    """As `part_window`, and the last day until which what is too small to count may be left to grow (`grows_on`), (Y,) each."""
    opens = clock.event(part.opens)
    if "after" in part.records:
        opens = later(clock.thermal, opens, part.number("after"))
    full = opens
    if grows_on(crop, part) and "pull" in part.methods:
        opens = np.minimum(opens, clock.rest)
    if crop.life == "perennial" and part.pool == "leaf" and not stands:
        roots = np.where(clock.emergence == clock.start, clock.start + int(constant("plants_root")), 0)
        opens = np.where(opens < NEVER, np.maximum(opens, roots), NEVER)
    if lifted_when_tops_end(crop, part):
        over = np.minimum(clock.rest, np.where(clock.death < NEVER, clock.death - 1, NEVER))
        opens = full = np.where(over > clock.organ, np.minimum(opens, over), opens)
    if enough := full_enough(crop, part):
        fills = crop["development.ready"] - crop["harvest.organ_start"]
        fit = later(clock.thermal, clock.organ, enough * fills)
        opens = np.where(fit < clock.death, np.minimum(opens, clock.death - 1), opens)
    ends = clock.wood if part.closes == "bolt" and part.role == "main" else clock.event(part.closes)
    closes = latest = np.minimum(np.minimum(ends, clock.end), clock.death)
    if "hold" in part.records:
        hold = part.number("hold")
        picked = part.methods[0] == "pick" and not grows_on(crop, part)
        begins = np.maximum(full, np.where(full < NEVER, clock.buds, 0)) if part.opens == "ready" else full
        ripe = np.where((clock.tops < NEVER) & (part.methods[0] == "once"), np.maximum(clock.tops, full), full)
        holds = begins + int(hold) if picked else holds_until(clock.standing, ripe, hold)
        latest = closes if grows_on(crop, part) else np.minimum(closes, holds)
        closes = np.minimum(closes, holds)
    of_use = opens
    if cut_by_size(crop, part) and method == "cut":
        opens = of_use = np.minimum(opens, _leaves(clock))
    elif eaten_young(part):
        opens, of_use = _young_leaf(part, clock, method or part.methods[0], opens, ends)
    days = np.arange(clock.thermal.shape[1])
    buried = part.pool == "organ" and crop.in_soil and bool(set(part.methods) & {"once", "pull"})
    if buried:
        opens = first_from(~clock.frozen, opens)
        freezes = first_from(clock.frozen, opens) - 1
        closes, latest = np.minimum(closes, freezes), np.minimum(latest, freezes)
    if not buried and clock.unfit.any():
        spoilt = np.cumsum(clock.unfit & (days >= of_use[:, None]), axis=1) > constant("heat_days_left")
        spoils = first_day_reaching(spoilt, True)
        closes, latest = np.minimum(closes, spoils), np.minimum(latest, spoils)
    if part.role == "main" and spoilt_by_shooting(crop):
        opens = np.where(clock.bolt < opens, NEVER, opens)
    opens = np.where(opens <= closes, opens, NEVER)
    latest = np.clip(latest, closes, closes + int(constant("grow_on_most")))
    return tuple(np.asarray(days, dtype=np.int64) for days in (opens, closes, latest))  # type: ignore[return-value]


def _leaves(clock: Clock) -> Ints:
    """First day on which a plant has leaves enough to be cut, (Y,)."""
    return later(clock.thermal, clock.emergence, constant("cut_leaves") * constant("leaf_appears"))


def _young_leaf(part: Part, clock: Clock, method: str, full: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """First day on which leaf is picked though it may not be full-grown, and the day from which heat can spoil it, (Y,) each, of
    leaf that is full-grown on the days `full` and no food from the days `ends` on."""
    leaves = _leaves(clock)

    def ahead(days: str) -> Ints:
        return np.maximum(leaves, ends - int(constant(days)))

    late = np.where(ends < full, np.minimum(full, ahead("before_stems")), full)
    if method == "once":
        return late, late
    if method == "leaf" and "young" in part.records:
        late = np.minimum(late, food_from(part, clock))
    return np.minimum(late, ahead("young_before_stems")), late
