"""The cautions that belong on a card: of the crops, of the parts picked, of supports and of the soil."""

from __future__ import annotations

from dataclasses import dataclass

from mixcraft.crops.cautions import cautions
from mixcraft.recipe.cautions import caution_codes
from mixcraft.recipe.plan import Plan
from mixcraft.words.catalogue import ENGLISH, Catalogue

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


def card_cautions(plan: Plan, t: Catalogue = ENGLISH) -> tuple[Caution, ...]:
    """The cautions of a plan, the gravest first.  A code without a text is printed as it is, so that nothing is lost."""
    found = [_caution(code, names, plan, t) for code, names in caution_codes(plan).items()]
    merged: dict[str, Caution] = {}
    for caution in found:
        old = merged.get(caution.text)
        names = tuple(dict.fromkeys((*(old.names if old else ()), *caution.names)))
        merged[caution.text] = Caution(caution.code, caution.title, caution.text, caution.short, caution.rank, names)
    return tuple(sorted(merged.values(), key=lambda c: (c.rank, c.code)))


def _caution(code: str, names: tuple[str, ...], plan: Plan, t: Catalogue) -> Caution:
    record = cautions().get(code)
    if record is None:
        plain = code.replace("-", " ")
        return Caution(code, plain.capitalize(), f"Caution: {plain}.", f"Caution: {plain}.", 1, names)
    english = " ".join(str(record["text"]).split())
    short = " ".join(str(record.get("short", english)).split())
    text = short_text = t.gettext(short)
    if text == short:  # English, or not translated: the whole text rather than less
        text, short_text = english, short
    if code == "soil-roots" and plan.bed.soil_lead_mg_kg is not None:
        text, short_text = _lead_words(plan.bed.soil_lead_mg_kg, t)
    title = t.gettext(str(record["title"])) if record.get("title") else ""
    return Caution(code, title, text, short_text, int(record.get("rank", 2)), names)


def _lead_words(lead: float, t: Catalogue) -> tuple[str, str]:
    """What a tested soil means; the levels are for screening, local guidance goes first."""
    measured = t.gettext("This soil was tested at {lead} mg/kg lead.").format(lead=f"{lead:g}")
    if lead >= LEAD_SCREEN_MG_KG:
        more = t.gettext(
            "That is above the level at which the US EPA looks closer ({level}): grow no food in it before the local health "
            "office has advised; use clean soil in a raised bed."
        ).format(level=f"{LEAD_SCREEN_MG_KG:g}")
    elif lead >= LEAD_SCREEN_SEVERAL_MG_KG:
        more = t.gettext(
            "The US EPA looks closer from {level} where there are several sources of lead: follow local guidance, prefer "
            "fruiting crops, wash and peel roots, keep soil off small children's hands."
        ).format(level=f"{LEAD_SCREEN_SEVERAL_MG_KG:g}")
    else:
        more = t.gettext("Below the US EPA's screening level; local guidance may differ. Wash and peel roots.")
    said = f"{measured} {more}"
    return said, said
