"""Published experiments grown as recipes: what `test_mixtures_experiments` and `test_mixtures_second` compare.

The figures, with the source beside each, are in data/experiments.yaml, data/experiments_second.yaml and
data/experiments_third.yaml.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from numpy.typing import NDArray
from strategies import garden, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.model import Bed, Count, Feeding, OnDate, Planting, Recipe, Rows, Span, Strip, Where, WholeBed
from mixcraft.recipe.plan import Plan, plan
from mixcraft.season.grow import grow
from mixcraft.season.result import Season

Floats = NDArray[np.float64]

DATA = Path(__file__).parent / "outside" / "data" / "experiments.yaml"
SECOND, THIRD = (DATA.with_name(f"experiments_{name}.yaml") for name in ("second", "third"))
SIDE_M = 2.0
YEARS = 3
SEED = 11
WHOLE = WholeBed()
WAYS = ("drills", "stations", "tuber", "set", "clove", "plant", "module")
PLANTED = (
    "basil", "broccoli", "brussels-sprouts", "cabbage-summer", "cabbage-winter", "cauliflower", "celeriac", "celery",
    "chicory-sugarloaf", "chilli", "collards", "courgette", "cucumber", "leek", "lettuce-butterhead", "lettuce-crisphead",
    "lettuce-loose-leaf", "onion-short-day", "pepper-sweet", "spinach-malabar", "tomato-bush", "tomato-cordon",
)  # fmt: skip
"""Crops of the file that are planted out, as in the papers."""


@lru_cache(maxsize=1)
def figures() -> dict[str, Any]:
    """The published figures as they are written down."""
    loaded: dict[str, Any] = yaml.safe_load(DATA.read_text("utf-8"))
    return loaded


@lru_cache(maxsize=1)
def second() -> dict[str, Any]:
    """The mixtures of the second list."""
    loaded: dict[str, Any] = yaml.safe_load(SECOND.read_text("utf-8"))["mixtures"]
    return loaded


@lru_cache(maxsize=1)
def third() -> dict[str, Any]:
    """The mixtures of the third list."""
    loaded: dict[str, Any] = yaml.safe_load(THIRD.read_text("utf-8"))["mixtures"]
    return loaded


def spec_of(name: str) -> dict[str, Any]:
    """A mixture of one of the lists."""
    found: dict[str, Any] = figures()["mixtures"].get(name) or second().get(name) or third()[name]
    return found


@dataclass(frozen=True)
class Grown:
    """One experiment grown: partial ratios against the crop alone (P,), and the season."""

    name: str
    kept: Floats
    season: Season

    @property
    def ratio(self) -> float:
        """Land equivalent ratio."""
        return float(self.kept.sum())


def way_of(crop: str) -> str:
    """Planted where that is usual, else sown."""
    found = load_crop(crop)
    wanted = ("module", *WAYS) if crop in PLANTED else WAYS
    return next((w for w in wanted if w in found.establish), found.establish[0])


def stand(
    crop: str, share: float, start: str, where: Where = WHOLE, density: float | None = None, free: bool = False
) -> Planting:
    """A crop at a density, or at a share of its best."""
    found = load_crop(crop)
    density = share * found["spacing.density"] if density is None else density
    support = {"support": "trellis", "support_height_m": 2.0} if found.form == "climber" and not free else {}
    return planting(crop, crop, where, OnDate(start), establish=way_of(crop), density_per_m2=density, **support)


def _places(spec: dict[str, Any]) -> tuple[float, list[Where]]:
    """Side of the bed and where each crop of a mixture stands."""
    layout, crops = spec.get("layout", {}), spec["crops"]
    if "strips" in layout:
        wide = float(layout["strips"])
        return 2.0 * wide, [Strip((Span(i * wide), Span((i + 1) * wide))) for i in range(len(crops))]
    if "pairs" in layout:
        period, gap = float(layout["period"]), float(layout["gap"])
        first = Rows("width", (Span(0.5 * period - 0.5 * gap), Span(0.5 * period + 0.5 * gap)))
        edges = Rows("width", (Span(0.5 * gap), Span(period - 0.5 * gap)))
        return period, [first if c["crop"] == layout["pairs"] else edges for c in crops]
    return SIDE_M, [WholeBed()] * len(crops)


def field(spec: dict[str, Any], plantings: list[Planting], length_m: float) -> Plan:
    """Plantings in a bed that stands for a piece of a field."""
    fed = Feeding("none" if spec.get("feeding") == "poor" else "usual")
    one = Bed("bed", length_m, SIDE_M, feeding=fed)
    recipe = Recipe("experiment", length_m, SIDE_M, tuple(plantings))
    return plan(recipe, garden(one, spec["place"]), "bed")


@lru_cache(maxsize=64)
def mixture(name: str) -> Grown:
    """A mixture of the file grown in a large field."""
    spec = spec_of(name)
    length, places = _places(spec)
    plantings = []
    for c, where in zip(spec["crops"], places, strict=True):
        one = stand(c["crop"], c.get("share", 1.0), c["start"], where, c.get("density"), c.get("free", False))
        if isinstance(where, Rows):
            count = max(1, round(c["share"] * one.crop["spacing.density"] * length * SIDE_M))
            one = replace(one, amount=Count(count))
        plantings.append(one)
    season = grow(field(spec, plantings, length), YEARS, SEED, cyclic=True)
    kept = np.nanmedian(season.partial_ler(), axis=0)
    if "strips" in spec.get("layout", {}):
        kept = kept * len(places)
    for i, c in enumerate(spec["crops"]):
        if "sole" in c:
            kept[i] = np.median(season.planting_kg()[:, i] / alone(name, i).planting_kg()[:, 0])
    return Grown(name, kept, season)


@lru_cache(maxsize=64)
def shaded(name: str, light: float | None = None) -> Season:
    """A crop alone in a large field with a share of the open sky's light."""
    spec = figures()["shade"][name]
    passed = spec["light"] if light is None else light
    return grow(field(spec, [stand(spec["crop"], 1.0, spec["start"])], SIDE_M), YEARS, SEED, cyclic=True, light=passed)


def kept_in_shade(name: str) -> float:
    """Yield under shade over yield in the open."""
    return float(np.median(shaded(name).planting_kg()[:, 0] / shaded(name, 1.0).planting_kg()[:, 0]))


def light_use(season: Season, index: int = 0, days: slice = slice(None)) -> float:
    """Dry matter over light absorbed [g/MJ] of a planting."""
    return float(np.median(season.growth_g[days, :, index].sum(axis=0) / season.absorbed_mj[days, :, index].sum(axis=0)))


def together(season: Season) -> slice:
    """Days until the first of the plantings is gone."""
    last = [np.nonzero((season.leaf_m2[:, :, i] > 0.0).all(axis=1))[0].max() for i in range(season.leaf_m2.shape[2])]
    return slice(0, min(last))


@lru_cache(maxsize=8)
def alone(name: str, index: int) -> Season:
    """A crop of a mixture alone in a large field at its best density."""
    spec = spec_of(name)
    crop = spec["crops"][index]
    sole = stand(crop["crop"], 1.0, crop["start"], density=crop.get("sole"))
    return grow(field(spec, [sole], SIDE_M), YEARS, SEED, cyclic=True)


def weighed_kg_m2(season: Season, index: int) -> Floats:
    """All that was lifted of a planting, what is too small to count as a harvest too, as trials weigh it (Y,) [kg/m2]."""
    mine = [h for h, harvest in enumerate(season.harvests) if harvest.planting == index]
    return np.asarray((season.picked_kg + season.small_kg)[:, :, mine].sum(axis=(0, 2)) / season.plan.bed.area_m2)


def lifted(name: str) -> Floats:
    """Partial ratios of a mixture by all that is lifted (P,); by what counts as a harvest where a crop alone gives nothing."""
    grown, strips = mixture(name), len(spec_of(name)["crops"]) if "strips" in spec_of(name).get("layout", {}) else 1
    found = grown.kept.copy()
    for i in range(len(found)):
        crop_alone = weighed_kg_m2(alone(name, i), 0)
        if (crop_alone > 0.0).all():
            found[i] = strips * np.median(weighed_kg_m2(grown.season, i) / crop_alone)
    return found


def parts_off(mixtures: dict[str, Any] | None = None) -> list[float]:
    """Differences of partial ratios, grown less published, of the open mixtures or of others."""
    return [
        got - c["kept"]
        for name, spec in (figures()["mixtures"] if mixtures is None else mixtures).items()
        for c, got in zip(spec["crops"], mixture(name).kept, strict=True)
        if "kept" in c
    ]


def ratios(mixtures: dict[str, Any] | None = None) -> dict[str, tuple[float, float]]:
    """Published and grown land equivalent ratios of the mixtures, the open ones or others, of which one was published."""
    found = {}
    for name, spec in (figures()["mixtures"] if mixtures is None else mixtures).items():
        kept = [c.get("kept") for c in spec["crops"]]
        if "ratio" in spec:
            found[name] = (float(np.mean(spec["ratio"])), mixture(name).ratio)
        elif None not in kept:
            found[name] = (float(sum(kept)), mixture(name).ratio)
    return found


def use_of_light(name: str) -> tuple[float, float]:
    """Light use of a crop in a mixture and alone, over the days on which the mixture stands together [g/MJ]."""
    spec = figures()["use"][name]
    season = mixture(spec["mixture"]).season
    i = [c["crop"] for c in figures()["mixtures"][spec["mixture"]]["crops"]].index(spec["crop"])
    return light_use(season, i, together(season)), light_use(alone(spec["mixture"], i), 0, together(season))


def lines_of(mixtures: dict[str, Any]) -> list[str]:  # pragma: no cover -- for people
    """A line for each mixture: ratios and parts grown, and published in brackets."""
    lines, published = [], ratios(mixtures)
    for name, spec in mixtures.items():
        got, wanted = mixture(name), published.get(name)
        said = [f"{c['crop']} {k:.2f} ({c.get('kept', '-')})" for c, k in zip(spec["crops"], got.kept, strict=True)]
        lines.append(f"{name:28s} {got.ratio:.2f} ({f'{wanted[0]:.2f}' if wanted else '-'})  {', '.join(said)}")
    return lines


def report() -> str:  # pragma: no cover -- for people
    """All figures in lines, grown and published."""
    lines = lines_of(figures()["mixtures"])
    shade = {name: kept_in_shade(name) for name in figures()["shade"]}
    for name, kept in shade.items():
        lines.append(f"{name:28s} {kept:.2f} ({figures()['shade'][name]['kept']})")
    for name in figures()["use"]:
        lines.append("light use {}: {:.2f} in the mixture, {:.2f} alone".format(name, *use_of_light(name)))
    off = np.median([abs(kept - figures()["shade"][name]["kept"]) for name, kept in shade.items()])
    totals = np.nanmedian([abs(a - b) for a, b in ratios().values()])
    lines.append(f"median error: parts {np.median(np.abs(parts_off())):.3f}, ratio {totals:.3f}, shade {off:.3f}")
    for mixtures in (second(), third()):
        lines += ["", *lines_of(mixtures)]
        totals = np.median([abs(a - b) for a, b in ratios(mixtures).values()])
        lines.append(f"median error: parts {np.median(np.abs(parts_off(mixtures))):.3f}, ratio {totals:.3f}")
    return "\n".join(lines)


if __name__ == "__main__":
    print(report())
