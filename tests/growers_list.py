"""What a grower asks of a recipe before looking at its score (common practice, no source; written before the search was run)."""

from __future__ import annotations

import numpy as np

from mixcraft.crops.clock import PLANTED
from mixcraft.recipe.density import usual_range
from mixcraft.recipe.plan import Plan, Planned
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.fates import fates
from mixcraft.season.result import Season

LEAST_KINDS = 4
LEAST_WEEKS = 0.8
"""Share of the wanted weeks with a picking."""
MOST_LOST = 0.2
"""Share of years in which a planting may be lost."""
ROOM = 1.1
"""A tenth beyond the densest usual stand is no fault."""
THINNEST = 0.25
"""Share of the thinnest usual stand below which a planting is hardly there; among others less than usual is usual."""
TENDER_FROM_C = -1.5
"""A crop whose grown leaves die above this is tender."""
AUTUMN = ("garlic", "onion", "onion-autumn", "broad-bean", "corn-salad", "spinach", "winter-purslane")
"""Crops that are also put in in autumn."""


def complaints(season: Season) -> list[str]:
    """What a grower would say against a recipe, in words; nothing if it passes."""
    evidence, plan = Evidence(season), season.plan
    said = [f"{hit.second} stands on {hit.first}" for hit in evidence.collisions]
    for i, planned in enumerate(plan.plantings):
        low, high = _range(planned)
        density = float(evidence.density[i])
        if not THINNEST * low <= density <= ROOM * high:
            said.append(f"{planned.name}: {density:.3g} plants to the square metre, {low:.3g} to {high:.3g} are usual")
        if not _in_season(planned, plan):
            said.append(f"{planned.name} ({planned.planting.crop.id}) is started on {plan.date(planned.start)}")
    known = fates(season)
    lost = (known.killed | known.lost | known.bolted | known.unready).mean(axis=0)
    said += [f"{evidence.names[i]} is lost in {lost[i]:.0%} of years" for i in np.nonzero(lost > MOST_LOST)[0]]
    on = evidence.weeks.wanted
    eaten = evidence.eaten.portions[on].sum(axis=0).mean(axis=0)
    if int((eaten >= 1.0).sum()) < LEAST_KINDS:
        said.append(f"{int((eaten >= 1.0).sum())} kinds")
    picked = float((np.median(evidence.eaten.served, axis=1)[on] >= 0.1).mean())
    if picked < LEAST_WEEKS:
        said.append(f"something to eat in {picked:.0%} of the wanted weeks")
    return said


def _range(planned: Planned) -> tuple[float, float]:
    """The usual range, from the thinnest of full plants to the densest of the way of picking."""
    low, high = usual_range(planned)
    whole = planned.planting.crop.records["spacing.density"]
    return min(low, whole.low or whole.value), high


def _in_season(planned: Planned, plan: Plan) -> bool:
    """Tender crops from a week before the last frost until ten weeks before the first, young plants until eight; hardy ones from
    ten weeks before the last until a week before the first; what is put in in autumn until four weeks after; any time where no
    frost comes.

    Until searches had found beans set out at Winnipeg on 13 July, which are picked from the third week of August and give as much
    as those of June, young plants had to be set out ten weeks before the first frost, as if they were sown then.
    """
    sky, crop = plan.almanac, planned.planting.crop
    if sky.last_spring_frost is None or sky.first_autumn_frost is None:
        return True
    offset = int((plan.start - sky.start).astype(int))
    day = (planned.start + offset) % 365
    tender = crop["frost.grown"] > TENDER_FROM_C
    first = sky.last_spring_frost % 365 - (7 if tender else 70)
    ahead = 56 if planned.planting.establish in PLANTED else 70
    last = sky.first_autumn_frost % 365 - (ahead if tender else 7)
    last += 35 if crop.id in AUTUMN else 0
    return any(first <= day + turn <= last + (365 if last < first else 0) for turn in (0, 365))
