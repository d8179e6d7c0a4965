"""The cautions that belong on a card: of the crops, of the parts picked, of supports and of the soil."""

from __future__ import annotations

from dataclasses import dataclass

from mixcraft.crops.cautions import cautions
from mixcraft.recipe.cautions import caution_codes
from mixcraft.recipe.plan import Plan

LEAD_SCREEN_MG_KG = 200.0
LEAD_SCREEN_SEVERAL_MG_KG = 100.0
"""Screening levels of lead in residential soil, 200 ppm, and 100 ppm with several sources of lead: US EPA, FAQs on the
updated residential soil lead guidance of 17 January 2024, Q1."""


@dataclass(frozen=True)
class Caution:
    """A caution with the plantings it concerns (names); no names when it concerns the whole bed."""

    code: str
    title: str
    text: str
    short: str
    rank: int
    names: tuple[str, ...]


def card_cautions(plan: Plan) -> tuple[Caution, ...]:
    """The cautions of a plan, the gravest first.  A code without a text is printed as it is, so that nothing is lost."""
    found = [_caution(code, names, plan) for code, names in caution_codes(plan).items()]
    merged: dict[str, Caution] = {}
    for caution in found:
        old = merged.get(caution.text)
        names = tuple(dict.fromkeys((*(old.names if old else ()), *caution.names)))
        merged[caution.text] = Caution(
            caution.code, caution.title, caution.text, caution.short, caution.rank, names
        )
    return tuple(sorted(merged.values(), key=lambda c: (c.rank, c.code)))


def _caution(code: str, names: tuple[str, ...], plan: Plan) -> Caution:
    record = cautions().get(code)
    if record is None:
        plain = code.replace("-", " ")
        return Caution(code, plain.capitalize(), f"Caution: {plain}.", f"Caution: {plain}.", 1, names)
    text = " ".join(str(record["text"]).split())
    short = " ".join(str(record.get("short", text)).split())
    if code == "soil-roots" and plan.bed.soil_lead_mg_kg is not None:
        text, short = _lead_words(plan.bed.soil_lead_mg_kg, text)
    return Caution(code, str(record.get("title", "")), text, short, int(record.get("rank", 2)), names)


def _lead_words(lead: float, text: str) -> tuple[str, str]:
    """What a tested soil means; the levels are for screening, local guidance goes first."""
    measured = f"This soil was tested at {lead:g} mg/kg lead."
    if lead >= LEAD_SCREEN_MG_KG:
        said = (
            f"{measured} That is above the level at which the US EPA looks closer ({LEAD_SCREEN_MG_KG:g}): grow no food in "
            "it before the local health office has advised; use clean soil in a raised bed."
        )
        return said, said
    if lead >= LEAD_SCREEN_SEVERAL_MG_KG:
        said = (
            f"{measured} The US EPA looks closer from {LEAD_SCREEN_SEVERAL_MG_KG:g} where there are several sources of lead: "
            "follow local guidance, prefer fruiting crops, wash and peel roots, keep soil off small children's hands."
        )
        return said, said
    said = f"{measured} Below the US EPA's screening level; local guidance may differ. Wash and peel roots."
    return said, said
