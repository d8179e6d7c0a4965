"""Headings, keys and sentences of the card and the book, for the catalogue of each language."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mixcraft.recipe.plan import Plan

from .catalogue import ENGLISH, Catalogue
from .plain import N_

LABELS = {
    "jobs": N_("What to do, in order"), "notes": N_("Notes"), "harvest": N_("Harvest"), "cautions": N_("Cautions"),
    "ground": N_("in the ground"), "picking": N_("picking"), "cover": N_("under cover"), "indoors": N_("indoors"),
    "wanted": N_("wanted weeks"), "score": N_("Score"), "of100": N_("of 100"), "fails": N_("fails in most years"),
    "picked": N_("Picked each week"), "scan": N_("The recipe itself, packed: scan it"),
    "calendar": N_("Calendar of the plantings and weekly harvest"), "logo": N_("Logo"),
}  # fmt: skip
"""Short texts of the card by what they are."""
PART_NAMES = {
    "canopy": N_("canopy"), "continuity": N_("continuity"), "roots": N_("roots"), "families": N_("families"),
    "timing": N_("timing"), "yield": N_("yield"),
}  # fmt: skip


def labels(t: Catalogue = ENGLISH) -> Mapping[str, str]:
    """The short texts of the card."""
    return {key: t.gettext(text) for key, text in LABELS.items()}


def part_name(name: str, t: Catalogue = ENGLISH) -> str:
    """A part score by its name."""
    return t.gettext(PART_NAMES.get(name, name))


def card_title(recipe: str, bed: str, t: Catalogue = ENGLISH) -> str:
    """Title of the file."""
    return t.gettext("{recipe}: sowing card for {bed}").format(recipe=recipe, bed=bed)


def plants_words(count: int, shown: str, t: Catalogue = ENGLISH) -> str:
    """A number of plants, written as `shown`."""
    return t.ngettext("{number} plant", "{number} plants", count).format(number=shown)


def marks_words(per_mark: Sequence[int], t: Catalogue = ENGLISH) -> str:
    """What a mark of a sown planting stands for; nothing without such plantings."""
    if not per_mark:
        return ""
    many = sorted({n for n in per_mark if n > 1})
    if not many:
        return t.gettext("Sown plantings: one mark for each plant, scattered evenly.")
    numbers = t.gettext(" or ").join(str(n) for n in many)
    return t.gettext("Sown plantings: one mark for {number} plants.").format(number=numbers)


def circles_words(t: Catalogue = ENGLISH) -> str:
    """What a circle is."""
    return t.gettext("A circle is a plant when it is grown.")


def gap_sentence(weeks: int, spans: Sequence[tuple[str, str]], t: Catalogue = ENGLISH) -> str:
    """Weeks of the wanted window without a picking."""
    if not weeks:
        return t.gettext("Something to pick in every wanted week.")
    said = ", ".join(t.gettext("{first} to {last}").format(first=a, last=b) for a, b in spans)
    return t.ngettext(
        "Nothing to pick in {number} wanted week: {spans}.", "Nothing to pick in {number} wanted weeks: {spans}.", weeks
    ).format(number=weeks, spans=said)


def failing_sentence(names: str, count: int, t: Catalogue = ENGLISH) -> str:
    """The warning on the front of a card."""
    return t.ngettext(
        "{names} gives nothing in most years here: sow it at another time, or leave it out.",
        "{names} give nothing in most years here: sow them at another time, or leave them out.", count,
    ).format(names=names)  # fmt: skip


def water_sentence(months: Sequence[tuple[str, str, int]], begun: int, t: Catalogue = ENGLISH) -> str:
    """Water a week in dry weather by month, amount and calendar year, of a bed begun in a year; nothing for one that is not
    watered.  The first month of a later year says so."""
    if not months:
        return ""
    before = [begun, *(year for _, _, year in months)]
    each = [
        t.gettext("next year {month}").format(month=month) if month and year > last else month
        for (month, _, year), last in zip(months, before, strict=False)
    ]
    said = ", ".join(f"{month} {amount}" if month else amount for month, (_, amount, _) in zip(each, months, strict=True))
    return t.gettext("Water in a dry week: {amounts}.").format(amounts=said)


def botanical_sentence(plan: Plan, t: Catalogue = ENGLISH) -> str:
    """The botanical names of a plan's crops, each once, with what the recipe calls them."""
    found: dict[str, dict[str, str]] = {}
    for planned in plan.plantings:
        crop = planned.planting.crop
        found.setdefault(crop.botanical, {}).setdefault(crop.id, planned.name)
    said = ", ".join(f"{botanical} ({', '.join(names.values())})" for botanical, names in found.items())
    return t.gettext("Botanical names: {names}.").format(names=said)


def phase_words(day: str, t: Catalogue = ENGLISH) -> str:
    """A part of the year that has its own plan."""
    return t.gettext("from {day}").format(day=day)


def client_words(client: str, day: str, t: Catalogue = ENGLISH) -> str:
    """For whom and when a card was made."""
    said = t.gettext("for {client}").format(client=client) if client else ""
    return " · ".join(part for part in (said, day) if part)


def jobs_heading(year: int | None, t: Catalogue = ENGLISH) -> str:
    """Heading of the job list, with the year where it is known."""
    said = t.gettext(LABELS["jobs"])
    return f"{said}, {year}" if year is not None else said


def highest_words(amount: str, t: Catalogue = ENGLISH) -> str:
    """What the highest column of the harvest strip stands for."""
    return t.gettext("highest column {amount}").format(amount=amount)


def closing_words(t: Catalogue = ENGLISH) -> str:
    """The last word of the cautions."""
    return t.gettext(
        "The usual cautions, not advice on your case: local rules, a doctor, a pharmacist or a vet go before this card."
    )


def source_sentence(source: Mapping[str, str], attached: bool, t: Catalogue = ENGLISH) -> str:
    """Hashes, versions, author and licence in a line."""
    by = t.gettext(" by {author}").format(author=source["author"]) if source["author"] else ""
    licence = f", {source['licence']}" if source["licence"] else ""
    said = t.gettext("Recipe {recipe}{by} · crop data {crops} · mixcraft {engine}").format(
        recipe=source["recipe"], by=by + licence, crops=source["crops"], engine=source["engine"]
    )
    return said + (t.gettext(" · the recipe file is attached to the PDF") if attached else "")
