"""What is bought for a garden: seed in grams and packets, plants and pieces by number."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mixcraft.crops.clock import PLANTED, SOWN
from mixcraft.crops.model import Crop
from mixcraft.recipe.plan import Plan
from mixcraft.words.amounts import grams_words, rounded_up, seeds_words
from mixcraft.words.book import packets_words, sold_words
from mixcraft.words.crop_names import crop_name

from .constants import constant
from .options import Options


@dataclass(frozen=True)
class Order:
    """What one planting of a bed needs: `kind` seed, or the way it is sold; seeds or pieces, and their weight [g]."""

    crop: Crop
    cultivar: str
    kind: str
    number: float
    grams: float
    bed: str


@dataclass(frozen=True)
class OrderLine:
    """A line of the order: crop, cultivar, how much, packets, beds."""

    crop: str
    botanical: str
    cultivar: str
    amount: str
    packets: str
    beds: str


def orders_of(plan: Plan) -> tuple[Order, ...]:
    """What the plantings of a bed need; plants raised indoors are bought as seed."""
    return tuple(
        Order(
            p.planting.crop, p.planting.cultivar, "seed" if p.planting.establish in (*SOWN, "module") else p.planting.establish,
            p.seeds, p.seed_g, plan.bed.name,
        )
        for p in plan.plantings if not p.planting.stands
    )  # fmt: skip


def seeds_in_packet(crop: Crop) -> float:
    """Seeds in a usual packet of a crop: few of large seeds, many of small ones."""
    per_gram = crop.number("seed.per_gram", 0.0)
    if per_gram < constant("packet_large_below"):
        return constant("packet_large")
    return constant("packet_middle") if per_gram < constant("packet_middle_below") else constant("packet_small")


def merged(orders: Sequence[Order], options: Options) -> list[OrderLine]:
    """Orders of all beds by crop and cultivar, in the order of their names."""
    groups: dict[tuple[str, str, str, str], list[Order]] = {}
    for order in orders:
        key = (crop_name(order.crop, options.t), order.cultivar, order.kind, order.crop.id)
        groups.setdefault(key, []).append(order)
    return [_line(groups[key], options) for key in sorted(groups)]


def _line(group: Sequence[Order], options: Options) -> OrderLine:
    first, t = group[0], options.t
    number, grams = sum(o.number for o in group), sum(o.grams for o in group)
    if first.kind == "seed":
        amount = seeds_words(number, grams, t, options.units)
        packets = packets_words(math.ceil(number / seeds_in_packet(first.crop) - 1e-9), t)
    else:
        amount = sold_words(first.kind, rounded_up(number) if first.kind in PLANTED else round(number), t)
        packets = grams_words(grams, t, options.units) if grams >= 1.0 else ""
    beds = ", ".join(dict.fromkeys(o.bed for o in group))
    if options.comma:
        from .svg import DECIMAL

        amount, packets = DECIMAL.sub(",", amount), DECIMAL.sub(",", packets)
    return OrderLine(crop_name(first.crop, t), first.crop.botanical, first.cultivar, amount, packets, beds)
