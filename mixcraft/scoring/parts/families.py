"""Families: how many kinds grow together, pests and diseases they share, and what grew in the bed before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mixcraft.crops import load_crop
from mixcraft.crops.model import Crop
from mixcraft.files.facts import Facts, Names
from mixcraft.recipe.plan import Plan
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import effective_number, told_losses
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part


def families(evidence: Evidence) -> Judged:
    """Effective number of families by growth, pests shared in the mixture, and the bed's own history: what is left of the points
    by each is multiplied, so that two faults cost more than one and a third not less than nothing."""
    plan = evidence.season.plan
    made: dict[str, float] = {}
    for planned, amount in zip(plan.plantings, evidence.growth_g, strict=True):
        family = planned.planting.crop.family
        made[family] = made.get(family, 0.0) + float(amount)
    number = effective_number(np.array(list(made.values())))
    found = [*_few(plan, made, number), *_shared_pests(evidence), *rotation_reasons(plan)]
    left = np.array([1.0 - reason.points / 100.0 for reason in found])
    score = 100.0 * float(left.prod())
    reasons = tuple(replace(r, points=float(p)) for r, p in zip(found, told_losses(left, score), strict=True))
    return Judged(score, Facts(families=float(len(made)), effective=number), Facts(), reasons)


def _few(plan: Plan, made: dict[str, float], number: float) -> list[Reason]:
    """Too few families by growth, and the one that has most of it."""
    c = constants()
    points = 100.0 * (1.0 - min(1.0, np.log1p(number) / np.log1p(c["families_full"]))) * c["families_few_loss"] / 100.0
    if points < c["families_named_loss"]:
        return []
    top = max(made, key=lambda family: made[family])
    names = tuple(p.name for p in plan.plantings if p.planting.crop.family == top)
    numbers = Facts(effective=number, share=made[top] / max(sum(made.values()), 1e-9))
    return [Reason("families", "few families", float(points), names, None, numbers, Facts(family=(top,)))]


def _shared_pests(evidence: Evidence) -> list[Reason]:
    """Pairs of different crops that feed the same pests and diseases, each told once."""
    plan, loss = evidence.season.plan, constants()["shared_pests_loss"]
    reasons: list[Reason] = []
    told: set[frozenset[int]] = set()
    for edge in evidence.edges_of("shares family"):
        pair = frozenset((edge.source, edge.target))
        crops = [plan.plantings[i].planting.crop for i in (edge.source, edge.target)]
        if pair in told or crops[0].id == crops[1].id:
            continue
        told.add(pair)
        if not (edge.names["pests"] or edge.names["diseases"]):
            continue
        a, b = (evidence.names[i] for i in sorted(pair))
        shared = Facts(pests=edge.names["pests"], diseases=edge.names["diseases"])
        reasons.append(
            Reason("families", "shared pests", loss * edge.strength, (a, b), evidence.edge_dates(edge), Facts(), shared,
                   evidence.edge_key(edge))
        )  # fmt: skip
    return reasons


def rotation_reasons(plan: Plan) -> list[Reason]:
    """Crops that follow a host of the same soil-borne disease too soon, or their own family where no interval is known; points
    are those that each costs by itself."""
    reasons = []
    for planned in plan.plantings:
        found = [
            reason for ago, names in plan.bed.history for name in names
            for reason in _follows(planned.name, planned.planting.crop, load_crop(name), ago)
        ]  # fmt: skip
        if found:
            reasons.append(max(found, key=lambda r: (r.points, r.names["earlier"], r.cause, tuple(r.names.values()))))
    return reasons


def _follows(planting: str, crop: Crop, earlier: Crop, ago: int) -> list[Reason]:
    """Why `crop` ought not to follow `earlier` after so many years.  Growers rotate by family; a disease with many hosts that the
    crop shares with another family counts for a part."""
    c = constants()
    found = []
    soil_borne = {d.name: d for d in crop.diseases if d.soil_borne}
    for disease in earlier.diseases:
        mine = soil_borne.get(disease.name)
        years = max((mine.years or 0.0) if mine else 0.0, disease.years or 0.0)
        if mine and ago < years:
            akin = 1.0 if earlier.family == crop.family else c["rotation_other_family"]
            points = akin * c["rotation_loss"] * (1.0 - ago / (years + 1.0))
            names: Names = Facts(earlier=(earlier.name,), disease=(disease.name,))
            found.append(Reason("families", "rotation", points, (planting,), None, Facts(ago=float(ago), years=years), names))
    if earlier.family == crop.family and ago < c["rotation_family_years"]:
        points = c["rotation_family_share"] * c["rotation_loss"] * (1.0 - ago / (c["rotation_family_years"] + 1.0))
        names = Facts(earlier=(earlier.name,), family=(crop.family,))
        found.append(Reason("families", "family again", points, (planting,), None, Facts(ago=float(ago)), names))
    return found


PART = Part("families", families)
