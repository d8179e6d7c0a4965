"""Part scores in a few words, and the kinds of interaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from mixcraft.scoring.model import PartScore

from .catalogue import ENGLISH, Catalogue
from .plain import N_, percent, weeks_words


def part_summary(part: PartScore, t: Catalogue = ENGLISH) -> str:
    """What a part score rests on, in a few words; nothing for a part that has none."""
    return SUMMARIES[part.name](part, t) if part.name in SUMMARIES else ""


def _canopy(part: PartScore, t: Catalogue) -> str:
    return t.gettext("growth kept: {middle} in the middle, least {planting} {least}").format(
        middle=percent(part.numbers["middle"], t), planting=part.names["least"][0], least=percent(part.numbers["least"], t)
    )


def _continuity(part: PartScore, t: Catalogue) -> str:
    n = part.numbers
    if not n["wanted"]:
        return t.gettext("no week is wanted")
    enough = int(n["enough"])
    said = t.gettext(
        "{enough} of {wanted} wanted weeks served ({portions} portions{people}), {kinds} kinds a week, longest gap {weeks}"
    )
    return said.format(
        enough=enough, wanted=int(n["wanted"]), portions=f"{n['portions']:.0f}", kinds=f"{n['kinds']:.1f}",
        people=t.gettext(" for {people}").format(people=int(n["people"])) if n["people"] else "",
        weeks=weeks_words(int(n["longest"]), t),
    )  # fmt: skip


def _roots(part: PartScore, t: Catalogue) -> str:
    said = t.gettext("roots share {share} of their soil and time with others (root overlap)").format(
        share=percent(part.numbers["overlap"], t)
    )
    if "drought" not in part.numbers:
        return said
    return said + t.gettext("; drought costs {share} of growth").format(share=percent(part.numbers["drought"], t))


def _families(part: PartScore, t: Catalogue) -> str:
    number = int(part.numbers["families"])
    return t.ngettext("{number} family", "{number} families, as mixed as {effective} in equal parts", number).format(
        number=number, effective=f"{part.numbers['effective']:.1f}"
    )


SAFE_FROM = 95.0
"""Points of the planting most at risk above which nobody is named.  Common practice, no source."""


def _timing(part: PartScore, t: Catalogue) -> str:
    if part.numbers["least"] > SAFE_FROM:
        return t.gettext("no planting at risk")
    return t.gettext("most at risk: {planting}").format(planting=part.names["worst"][0])


def _yield(part: PartScore, t: Catalogue) -> str:
    n = part.numbers
    said = t.gettext("use of the ground {middle} ({low} to {high}) of what these crops give alone by good practice").format(
        middle=percent(n["land_use"], t), low=percent(n["low"], t), high=percent(n["high"], t)
    )
    if n["least"] >= 1.0:
        return said
    return said + t.gettext("; least from {planting}").format(planting=part.names["worst"][0])


SUMMARIES: dict[str, Callable[[PartScore, Catalogue], str]] = {
    "canopy": _canopy, "continuity": _continuity, "roots": _roots, "families": _families, "timing": _timing, "yield": _yield,
}  # fmt: skip

INTERACTIONS = {
    "takes light": N_("{a} takes light from {b}"), "shares root space": N_("{a} shares root space with {b}"),
    "shares family": N_("{a} shares family with {b}"), "leaves room in time": N_("{a} leaves room in time for {b}"),
    "supports": N_("{a} supports {b}"), "fixes nitrogen for": N_("{a} fixes nitrogen for {b}"),
    "covers ground for": N_("{a} covers ground for {b}"), "attracts pollinators for": N_("{a} attracts pollinators for {b}"),
}  # fmt: skip


def edge_words_of(a: str, b: str, data: Mapping[str, Any], t: Catalogue = ENGLISH) -> str:
    """An interaction from `a` to `b` with the attributes `data` that it has in the graph, and what is known of it in brackets."""
    said = t.gettext(INTERACTIONS[data["kind"]]).format(a=a, b=b)
    span = t.gettext("{said}, {first} to {last}").format(said=said, first=data["first"][5:], last=data["last"][5:])
    detail = edge_detail(data, t)
    return f"{span}  ({detail})" if detail else span


def edge_detail(data: Mapping[str, Any], t: Catalogue = ENGLISH) -> str:
    """What is known of an interaction beside its strength and days; nothing for most."""
    if "overlap" in data:
        return t.gettext("{share} of soil and time shared (niche overlap)").format(share=percent(data["overlap"], t))
    if "family" in data:
        shared = ", ".join((*data["pests"], *data["diseases"])) or t.gettext("no shared pest on record")
        return f"{data['family']}: {shared}"
    if data["kind"] == "supports":
        return t.gettext("stems to climb on")
    if data["kind"] == "fixes nitrogen for":
        return t.gettext("mostly spares soil nitrogen; little is handed over in the same season")
    return ""
