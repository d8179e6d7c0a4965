"""The six part scores.  Each function takes what it needs and returns a `PartScore` whose reasons say what was lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.files.constants import load_numbers
from mixcraft.graph import Edge
from mixcraft.recipe.model import AtTrellis, Plate
from mixcraft.recipe.plan import Plan
from mixcraft.season.result import LEAST_PICKING_KG, Band, Season
from mixcraft.season.sharing import bed_overlaps

from .measures import effective_number, evenness
from .model import Gap, PartScore, Reason, StripWeek
from .words import capital, grams, listed, percent, span_words, weeks_words

Floats = NDArray[np.float64]


CONSTANTS_FILE = Path(__file__).with_name("constants.yaml")


def constants() -> Mapping[str, float]:
    """Weights and thresholds of the score."""
    return load_numbers(CONSTANTS_FILE)


def geometric(points: Sequence[float], weights: Sequence[float] | None = None) -> float:
    """Weighted geometric mean of points 0-100, none counting less than the floor."""
    values = np.maximum(np.asarray(points, dtype=float), constants()["floor"])
    w = np.ones(len(values)) if weights is None else np.asarray(weights, dtype=float)
    if values.size == 0 or w.sum() <= 0.0:
        return 100.0
    return float(np.exp((w * np.log(values)).sum() / w.sum()))


def _dates(plan: Plan, edge: Edge) -> tuple[np.datetime64, np.datetime64]:
    return plan.date(edge.days[0]), plan.date(edge.days[1])


def _edge_key(plan: Plan, edge: Edge) -> tuple[str, str, str]:
    return plan.plantings[edge.source].name, plan.plantings[edge.target].name, edge.kind


def _worst_first(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    return tuple(sorted(reasons, key=lambda r: (-r.points, r.sentence)))


def kept_full(plan: Plan) -> Floats:
    """Growth kept that earns full points, (P,): less is asked of plantings by the share of their ground and of their days that
    they share with others."""
    c = constants()
    start, end = (np.array([getattr(p, name) for p in plan.plantings], dtype=float) for name in ("start", "end"))
    together = np.minimum(end[:, None], end) - np.maximum(start[:, None], start)
    days = np.clip(together / np.maximum(end - start, 1.0)[:, None], 0.0, 1.0)
    others = np.where(np.eye(len(start), dtype=bool), 0.0, bed_overlaps(plan) * days)
    return np.asarray(c["kept_apart"] - (c["kept_apart"] - c["kept_full"]) * np.minimum(others.sum(axis=1), 1.0))


def canopy_points(kept: Floats, full: Floats) -> Floats:
    """Points of each planting, (P,), for the growth it keeps, full at `full`."""
    return np.asarray(100.0 * np.clip(kept / full, 0.0, 1.0))


def continuity_points(weekly_kg: Floats, wanted_kg: float = 0.0) -> float:
    """Points of one year's wanted weeks, (W,) [kg]: weeks with a picking, longest gap, evenness.

    Where the household wants `wanted_kg` a week, a week counts by the share of it that it gives.
    """
    c = constants()
    if weekly_kg.size == 0:
        return 0.0
    picked = weekly_kg >= LEAST_PICKING_KG
    served = np.minimum(weekly_kg / wanted_kg, 1.0) if wanted_kg > 0.0 else picked
    longest = run = 0
    for week in picked:
        run = 0 if week else run + 1
        longest = max(longest, run)
    return _continuity(float(served.mean()), longest, evenness(weekly_kg), c)


def _continuity(share: float, longest: int, even: float, c: Mapping[str, float]) -> float:
    gap_part = 1.0 - min(1.0, longest / c["gap_worst_weeks"])
    return 100.0 * (c["share_of_weeks"] * share + c["longest_gap"] * gap_part + c["evenness"] * even)


def yield_points(ler: float) -> float:
    """Points for a land equivalent ratio."""
    c = constants()
    return 100.0 * float(np.clip((ler - c["ler_none"]) / (c["ler_full"] - c["ler_none"]), 0.0, 1.0))


def canopy(season: Season, edges: Sequence[Edge], kept: Floats, weight: float) -> PartScore:
    """Growth kept beside the same planting unshaded, `kept` (Y, P); a geometric mean over plantings."""
    c, plan = constants(), season.plan
    middle = np.median(kept, axis=0)
    points = canopy_points(middle, kept_full(plan))
    score = geometric(list(points))
    reasons = []
    for i, planned in enumerate(plan.plantings):
        if points[i] >= 100.0 * c["kept_named"]:
            continue
        mended = points.copy()
        mended[i] = 100.0
        takers = [e for e in edges if e.target == i and e.kind == "takes light"]
        sentence = f"{planned.name}: {percent(middle[i])} of the growth it would make without its neighbours"
        weeks = edge = None
        if takers:
            worst = takers[0]
            weeks, edge = _dates(plan, worst), _edge_key(plan, worst)
            sentence += f"; {span_words(*weeks)} {percent(worst.peak)} of its light goes to {_standing(plan, worst.source)}"
            others = [plan.plantings[e.source].name for e in takers[1:3]]
            sentence += f", some more to {listed(others)}" if others else ""
        names = (planned.name, *(plan.plantings[e.source].name for e in takers[:1]))
        reasons.append(Reason("canopy", geometric(list(mended)) - score, sentence + ".", names, weeks, edge))
    least = int(np.argmin(middle))
    usual, name = percent(float(np.median(middle))), plan.plantings[least].name
    summary = f"growth kept: {usual} in the middle, least {name} {percent(middle[least])}"
    return PartScore("canopy", score, weight, summary, _worst_first(reasons))


def _standing(plan: Plan, index: int) -> str:
    """A planting by its name, with the side of the bed if it stands along one."""
    planned = plan.plantings[index]
    place = "trellis" if isinstance(planned.planting.where, AtTrellis) else "edge"
    return f"{planned.name} on the {planned.stand.edge} {place}" if planned.stand.edge else planned.name


def continuity(strip: Sequence[StripWeek], gaps: Sequence[Gap], weight: float, plate: Plate | None = None) -> PartScore:
    """Weeks of the wanted window with a picking, or with the amount that the plate asks for; the longest gap; evenness."""
    c = constants()
    wanted = [week for week in strip if week.wanted]
    if not wanted:
        return PartScore("continuity", 0.0, weight, "no week of the wanted window falls into the season", ())
    chance = float(np.mean([week.chance if week.served is None else week.served for week in wanted]))
    longest = max((gap.weeks for gap in gaps), default=0)
    even = evenness(np.array([week.kg.middle for week in wanted]))
    gap_part = 1.0 - min(1.0, longest / c["gap_worst_weeks"])
    score = _continuity(chance, longest, even, c)
    reasons = []
    for gap in gaps:
        share = gap.weeks / len(wanted)
        points = 100.0 * c["share_of_weeks"] * share
        if gap.weeks == longest:
            points += 100.0 * c["longest_gap"] * (1.0 - gap_part)
        where = span_words(gap.start, gap.end)
        sentence = f"Nothing can be picked for {weeks_words(gap.weeks)}, {where}."
        reasons.append(Reason("continuity", points, sentence, (), (gap.start, gap.end)))
    amount = plate.weekly_kg if plate is not None else 0.0
    short = [week for week in wanted if week.picked and week.served is not None and week.kg.middle < amount]
    if short:
        reasons.append(_short(short, len(wanted), amount, c))
    if even < 0.75:
        heavy = max(wanted, key=lambda week: week.kg.middle)
        total = sum(week.kg.middle for week in wanted) or 1.0
        names = listed(heavy.plantings[:2])
        sentence = (
            f"The weeks are uneven: {percent(heavy.kg.middle / total)} of the harvest comes in one week, "
            f"{span_words(heavy.start, heavy.start)}" + (f" ({names})." if names else ".")
        )
        points = 100.0 * c["evenness"] * (1.0 - even)
        reasons.append(Reason("continuity", points, sentence, heavy.plantings[:2], (heavy.start, heavy.start)))
    picked = sum(week.picked for week in wanted)
    summary = f"{picked} of {len(wanted)} wanted weeks have a picking; longest gap {weeks_words(longest)}"
    if amount > 0.0:
        enough = sum(week.kg.middle >= amount for week in wanted)
        who = f" for {plate.people}" if plate is not None and plate.people else ""
        summary += f"; {enough} {'gives' if enough == 1 else 'give'} the {grams(amount)} wanted{who}"
    return PartScore("continuity", score, weight, summary, _worst_first(reasons))


def _short(short: Sequence[StripWeek], weeks: int, amount_kg: float, c: Mapping[str, float]) -> Reason:
    """Weeks with a picking that is less than the household wants."""
    least = min(short, key=lambda week: week.kg.middle)
    points = 100.0 * c["share_of_weeks"] * sum(week.chance - (week.served or 0.0) for week in short) / weeks
    sentence = (
        f"{capital(weeks_words(len(short)))} with a picking {'gives' if len(short) == 1 else 'give'} less than the "
        f"{grams(amount_kg)} wanted; least is {grams(least.kg.middle)} {span_words(least.start, least.start)}."
    )
    return Reason("continuity", max(points, 0.0), sentence, least.plantings[:2], (least.start, least.start))


def roots(season: Season, edges: Sequence[Edge], weight: float) -> PartScore:
    """Mean root niche overlap between plantings that grow together, weighted by their growth."""
    c, plan = constants(), season.plan
    shared = [e for e in edges if e.kind == "shares root space"]
    growth = season.growth_g.mean(axis=1).sum(axis=0)
    share = growth / max(growth.sum(), 1e-9)
    count = len(share)
    pair = np.outer(share, share) * (1.0 - np.eye(count))
    strength = np.zeros((count, count))
    for edge in shared:
        strength[edge.target, edge.source] = edge.strength
    mean = float((pair * strength).sum() / pair.sum()) if pair.sum() > 0 else 0.0
    loss = 60.0 * float(np.clip((mean - c["roots_free"]) / (1.0 - c["roots_free"]), 0.0, 1.0))
    weights = {e: pair[e.target, e.source] * e.strength for e in shared}
    total = sum(weights.values()) or 1.0
    reasons, told = [], set()
    for edge in sorted(shared, key=lambda e: -weights[e]):
        names = frozenset((edge.source, edge.target))
        if loss * weights[edge] / total < 1.0 or names in told:
            continue
        told.add(names)
        both = sum(w for e, w in weights.items() if {e.source, e.target} == names)
        a, b = (plan.plantings[i].name for i in (edge.target, edge.source))
        sentence = f"{a} and {b} root in the same soil {span_words(*_dates(plan, edge))} ({edge.detail})."
        reasons.append(Reason("roots", loss * both / total, sentence, (a, b), _dates(plan, edge), _edge_key(plan, edge)))
    dry, drought = _drought(season)
    reasons += drought
    summary = f"mean root overlap {mean:.2f} (0 = apart, 1 = the same soil at the same time)"
    if plan.bed.watering.kind != "watered":
        summary += f"; drought costs {percent(dry)} of growth"
    score = max(0.0, 100.0 - loss - 100.0 * dry)
    return PartScore("roots", score, weight, summary, _worst_first(reasons))


def _drought(season: Season) -> tuple[float, list[Reason]]:
    """Share of growth lost to dry soil in the whole mixture, and a reason for each planting that loses a tenth or more."""
    factor = np.maximum(season.water, 1e-3)
    lost = (season.growth_g * (1.0 / factor - 1.0)).clip(0.0).mean(axis=1)
    made = season.growth_g.mean(axis=1)
    could = made.sum(axis=0) + lost.sum(axis=0)
    share = np.divide(lost.sum(axis=0), could, out=np.zeros_like(could), where=could > 0.0)
    whole = float(lost.sum() / max(could.sum(), 1e-9))
    reasons = []
    for i in np.nonzero(share >= 0.1)[0]:
        planned = season.plan.plantings[i]
        heavy = np.nonzero(lost[:, i] >= 0.5 * lost[:, i].max())[0]
        days = (season.plan.date(int(heavy[0])), season.plan.date(int(heavy[-1])))
        cost = percent(float(share[i]))
        wants = "more water" if season.plan.bed.watering.kind == "weekly" else "watering"
        sentence = f"{planned.name}: dry soil {span_words(*days)} costs {cost} of the growth; it wants {wants}."
        points = 100.0 * whole * float(lost[:, i].sum() / max(lost.sum(), 1e-9))
        reasons.append(Reason("roots", points, sentence, (planned.name,), days))
    return whole, reasons


def families(season: Season, edges: Sequence[Edge], weight: float) -> PartScore:
    """Effective number of families by growth, pests shared in the mixture, and the bed's own history."""
    c, plan = constants(), season.plan
    growth = season.growth_g.mean(axis=1).sum(axis=0)
    by_family: dict[str, float] = {}
    for planned, made in zip(plan.plantings, growth, strict=True):
        family = planned.planting.crop.family
        by_family[family] = by_family.get(family, 0.0) + float(made)
    number = effective_number(np.array(list(by_family.values())))
    few = 100.0 * (1.0 - min(1.0, np.log1p(number) / np.log1p(c["families_full"]))) * 0.6
    reasons = []
    if few >= 1.0:
        top = max(by_family, key=lambda f: by_family[f])
        share = by_family[top] / max(sum(by_family.values()), 1e-9)
        sentence = f"The mixture counts as {number:.1f} families by growth; {percent(share)} of it is {top}."
        names = tuple(p.name for p in plan.plantings if p.planting.crop.family == top)
        reasons.append(Reason("families", few, sentence, names))
    reasons += _shared_pests(plan, edges) + rotation_reasons(plan)
    lost = sum(reason.points for reason in reasons)
    summary = f"{len(by_family)} {'family' if len(by_family) == 1 else 'families'}, effective number {number:.1f}"
    return PartScore("families", max(0.0, 100.0 - lost), weight, summary, _worst_first(reasons))


def _shared_pests(plan: Plan, edges: Sequence[Edge]) -> list[Reason]:
    reasons: list[Reason] = []
    told: set[frozenset[int]] = set()
    for edge in edges:
        names = frozenset((edge.source, edge.target))
        crops = [plan.plantings[i].planting.crop for i in (edge.source, edge.target)]
        if edge.kind != "shares family" or names in told or crops[0].id == crops[1].id:
            continue
        told.add(names)
        shared = edge.detail.split(": ", 1)[1]
        if shared.startswith("no shared"):
            continue
        a, b = (plan.plantings[i].name for i in sorted(names))
        sentence = f"{a} and {b} feed the same pests and diseases {span_words(*_dates(plan, edge))}: {shared}."
        reasons.append(
            Reason("families", 4.0 * edge.strength, sentence, (a, b), _dates(plan, edge), _edge_key(plan, edge))
        )
    return reasons


def rotation_reasons(plan: Plan) -> list[Reason]:
    """Crops that follow a host of the same soil-borne disease too soon, or their own family where no interval is known."""
    c = constants()
    reasons = []
    for planned in plan.plantings:
        crop = planned.planting.crop
        soil_borne = {d.name: d for d in crop.diseases if d.soil_borne}
        worst: tuple[float, str] | None = None
        for ago, names in plan.bed.history:
            for name in names:
                earlier = load_crop(name)
                for disease in earlier.diseases:
                    mine = soil_borne.get(disease.name)
                    years = max((mine.years or 0.0) if mine else 0.0, disease.years or 0.0)
                    if mine and ago < years:
                        said = f"{earlier.name} grew here {_ago(ago)}; {disease.name} asks for {years:g} years without a host"
                        loss = c["rotation_loss"] * (1.0 - ago / (years + 1.0))
                        worst = max(worst or (0.0, ""), (loss, said))
                if earlier.family == crop.family and ago < c["rotation_family_years"]:
                    said = f"{earlier.name}, of the same family, grew here {_ago(ago)}"
                    loss = 0.5 * c["rotation_loss"] * (1.0 - ago / (c["rotation_family_years"] + 1.0))
                    worst = max(worst or (0.0, ""), (loss, said))
        if worst is not None:
            reasons.append(Reason("families", worst[0], f"{planned.name}: {worst[1]}.", (planned.name,)))
    return reasons


def _ago(years: int) -> str:
    return "last year" if years == 1 else f"{years} years ago"


def yields(season: Season, ler: Band, partial: Mapping[str, float], kept: Floats, weight: float) -> PartScore:
    """Land equivalent ratio against the same crops alone, each at its best density on the same bed and dates."""
    middle = 0.0 if np.isnan(ler.middle) else ler.middle
    score = yield_points(middle)
    reasons = []
    idle = [name for name, value in partial.items() if not np.isnan(value) and value < 0.03]
    for name in idle:
        sentence = f"{name}: {percent(partial[name])} of what the whole bed would give of it alone; it hardly earns its place."
        reasons.append(Reason("yield", (100.0 - score) / (len(idle) + 1), sentence, (name,)))
    nothing = [name for name, value in partial.items() if np.isnan(value)]
    for name in nothing:
        sentence = f"{name}: no harvest in most years."
        reasons.append(Reason("yield", 100.0 / len(partial), sentence, (name,)))
    if middle < 1.0:
        sentence = (
            f"The bed gives less than the same crops grown apart would on the same ground (land equivalent ratio {middle:.2f})."
        )
        reasons.append(Reason("yield", max(1.0, (100.0 - score) / 2.0), sentence))
    summary = f"land equivalent ratio {middle:.2f} ({ler.low:.2f} to {ler.high:.2f})"
    return PartScore("yield", score, weight, summary, _worst_first(reasons))
