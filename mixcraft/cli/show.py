"""The score as text: what fits a screen, and with `--all` everything behind it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from mixcraft.place import frost_dates, ground_frost_dates
from mixcraft.press.cautions import card_cautions
from mixcraft.recipe.calendar import MONTHS
from mixcraft.recipe.model import Recipe
from mixcraft.scoring.basket import Basket, baskets, total
from mixcraft.scoring.model import Repair, Score, StripWeek
from mixcraft.scoring.repairs import text_edits
from mixcraft.scoring.telling import is_idle, risky, told_weeks, wandering
from mixcraft.season.nitrogen import nitrogen_need
from mixcraft.words import part_summary, reason_sentence, repair_sentence
from mixcraft.words.amounts import Units, band_words, weight_words
from mixcraft.words.climate import frost_words
from mixcraft.words.dates import ends_next_year
from mixcraft.words.notes import note_sentence
from mixcraft.words.plain import capital, counted, date_words, listed, under_words, weeks_words
from mixcraft.words.us import in_dates, in_units

from .screen import bar, wrap

NAMES_WIDTH = 44
TOP_REASONS = 5
SIX_DAYS = np.timedelta64(6, "D")
SMALL_KG = 0.05
"""Small harvest below this is not worth a line."""


def score_text(score: Score, *, every: bool = False, units: Units = "metric") -> str:
    """The score as text: a screen of it, or everything."""
    return in_dates(_score_text(score, every, units), units)


def _score_text(score: Score, every: bool, units: Units) -> str:
    lines = [*_head(score, units), "", *_reason_lines(score, every, units), ""]
    if every:
        lines += [*_week_lines(score, units), "", *_yield_lines(score, units), "", *_chance_lines(score)]
        lines += _ratio_lines(score, units)
        lines += [wrap(note_sentence(note, units), "  ", "- ") for note in score.notes]
        return "\n".join([*lines, *_caution_texts(score, units)])
    lines += [*_strip_lines(score), "", *_basket_lines(score, units)]
    lines += [*_chance_lines(score), *(wrap(note_sentence(note, units), "  ", "- ") for note in score.notes)]
    return "\n".join([*lines, *_caution_names(score)])


def day(date: np.datetime64 | None) -> str:
    """A day such as ``4 Mar``; a dash for none."""
    if date is None:
        return "-"
    text = str(date.astype("datetime64[D]"))
    return f"{int(text[8:10])} {MONTHS[int(text[5:7]) - 1][:3]}"


def _head(score: Score, units: Units) -> list[str]:
    season, plan = score.season, score.season.plan
    place = plan.place
    bed = in_units(f"{plan.bed.length_m:g} x {plan.bed.width_m:g} m", units)
    frost = frost_words(frost_dates(place), ground_frost_dates(place)).split(" On the ground")[0]
    lines = [
        f"{plan.recipe.name}  in  {plan.bed.name}, {plan.garden.name} ({place.name})",
        ", ".join(filter(None, (
            bed, under_words(plan.bed.under), f"first sowing {day(plan.start)}", counted(season.years, "weather year"),
        ))),
        wrap(in_dates(frost, units), ""), "",
        f"Overall {score.overall:5.0f}  {bar(score.overall)}  in eight years of ten {score.overall_band.low:.0f} to "
        f"{score.overall_band.high:.0f}",
    ]  # fmt: skip
    for part in score.parts:
        head = f"  {part.name:11s}{part.score:4.0f}  {bar(part.score)}  "
        lines.append(wrap(in_units(part_summary(part), units), " " * len(head), head))
    return lines


def _reason_lines(score: Score, every: bool, units: Units) -> list[str]:
    reasons = score.reasons if every else score.reasons[:TOP_REASONS]
    if not reasons:
        return ["No conflicts found."]
    lines = ["Conflicts, worst first"]
    for number, reason in enumerate(reasons, 1):
        said = f"{in_units(reason_sentence(reason), units)} [{reason.part} -{reason.points:.0f}]"
        lines.append(wrap(said, "    ", f"{number:2d}. "))
        if reason.repair is not None:
            repair = reason.repair
            said = f"Repair: {in_units(repair_sentence(repair), units)} Overall {repair.gain:+.1f}."
            lines += [wrap(said, "            ", "    "), *(_edit_lines(score.season.plan.recipe, repair) if every else [])]
    rest = len(score.reasons) - len(reasons)
    if rest > 0:
        lines.append(f"    and {rest} smaller; --all prints them, with the lines that a repair changes")
    return lines


def _edit_lines(recipe: Recipe, repair: Repair) -> list[str]:
    """The lines of the recipe file that a repair takes out and puts in, with their numbers."""
    lines = []
    for edit in text_edits(recipe, repair.recipe):
        lines += [f"{edit.line + n:8d} - {text}" for n, text in enumerate(edit.removed)]
        lines += [f"{edit.line + n:8d} + {text}" for n, text in enumerate(edit.added)]
    return lines


# The harvest, as a strip and by week ----------------------------------------------------------

STRIP = "_.-=#"
"""What a week gives: nothing, and up to a quarter, a half, three quarters and all of the best week."""


def _strip_lines(score: Score) -> list[str]:
    """The weeks as a line of signs below their months, and the gaps in words."""
    weeks = [week for run in told_weeks(score) for week in run]
    if not weeks:
        return ["Harvest by week: no week has a picking in most years.", *_wandering_lines(score)]
    most = max(week.kg.middle for week in weeks)
    head, signs, month = "", "", -1
    for week in weeks:
        now = int(str(week.start)[5:7]) - 1
        if now != month and len(head) <= len(signs):
            head = f"{head:{len(signs)}s}{MONTHS[now][:3]} "
            month = now
        signs += _sign(week, most)
    enough = [week for week in weeks if week.wanted]
    lines = [f"Harvest by week  {head.rstrip()}", f"                 {signs}"]
    if enough:
        served = sum(week.picked for week in enough)
        weeks_wanted = counted(len(enough), "wanted week")
        lines.append(f"  something to pick in {served} of {weeks_wanted} in most years; ! = wanted and nothing there")
    lines += [f"  nothing for {weeks_words(gap.weeks)}: {day(gap.start)} to {day(gap.end)}" for gap in score.gaps]
    return [*lines, *_wandering_lines(score)]


def _sign(week: StripWeek, most_kg: float) -> str:
    """One sign for a week."""
    if week.wanted and not week.picked:
        return "!"
    if is_idle(week.kg.middle):
        return STRIP[0]
    return STRIP[min(4, 1 + int(4.0 * week.kg.middle / most_kg))]


def _week_lines(score: Score, units: Units) -> list[str]:
    runs = told_weeks(score)
    if not runs:
        return ["Harvest by week: no week has a picking in most years.", *_wandering_lines(score)]
    lines = ["Harvest by week (middle of the years; chance of a picking)"]
    most = max(week.kg.middle for week in score.strip)
    for run in runs:
        if len(run) > 1:
            lines.append(f"  {day(run[0].start):>7s} to {day(run[-1].start + SIX_DAYS)}: nothing in most years")
        else:
            lines.append(_week_line(run[0], most, units))
    for gap in score.gaps:
        lines.append(f"  Gap of {weeks_words(gap.weeks)}: {day(gap.start)} to {day(gap.end)}")
    return [*lines, *_wandering_lines(score)]


def _week_line(week: StripWeek, most_kg: float, units: Units) -> str:
    """A week of the strip, with a bar as long as its share of the best week."""
    mark = "!" if week.wanted and not week.picked else " "
    idle = is_idle(week.kg.middle)
    line = "" if idle else "=" * max(1, round(week.kg.middle / most_kg * 24))
    names = ", ".join(week.plantings) or ("not the same every year" if week.picked and not idle else "")
    names = names if len(names) <= NAMES_WIDTH else names[: NAMES_WIDTH - 3] + "..."
    kg = in_units(f"{week.kg.middle:5.2f} kg", units)
    return f" {mark}{day(week.start):>7s} {line:24s} {kg:>8s} {100 * week.chance:4.0f} %  {names}".rstrip()


def _wandering_lines(score: Score) -> list[str]:
    """Harvests that most years give, but in no week of their own."""
    moving = [
        f"{item.planting} ({item.part}, {item.kg.middle:.2f} kg, {day(item.first_band[0])} to {day(item.last_band[1])})"
        for item in wandering(score) if item.first_band and item.last_band
    ]  # fmt: skip
    return [wrap(f"In a different week every year: {'; '.join(moving)}", "    ", "  ")] if moving else []


# Kilograms and portions -----------------------------------------------------------------------


def _basket_lines(score: Score, units: Units) -> list[str]:
    """What each planting gives: weight with its band, portions, picking weeks."""
    lines = [f"{'Picked in a season':51s}{'portions':>9s}  when"]
    found = baskets(score)
    for basket in found:
        item = basket.item
        kg = band_words(item.kg.low, item.kg.middle, item.kg.high, units).replace("\u00a0", " ")
        name = f"{item.planting}, {item.part}"
        portions = f"{basket.portions:.0f}" if basket.portions >= 0.5 else "-"
        lines.append(f"  {name[:25]:26s}{kg:23s}{portions:>9s}  {_when(basket)}")
    whole = total(score)
    kg = band_words(whole.low, whole.middle, whole.high, units).replace("\u00a0", " ")
    area = in_units(f"{whole.middle / score.season.plan.bed.area_m2:.1f} kg/m2", units)
    lines.append(f"  {'all':26s}{kg:23s}{sum(b.portions for b in found):9.0f}   {area}")
    return [*lines, *_small_lines(found, units)]


def _when(basket: Basket) -> str:
    """The weeks of picking in everyday words."""
    item = basket.item
    if item.first is None or item.last is None:
        return "never in most years"
    if is_idle(item.kg.high):
        return f"too little to weigh, {date_words(item.first)}"
    first, last = date_words(item.first), date_words(item.last)
    if ends_next_year(item.first, item.last):
        return f"{first} to {last} next year"
    return first if first == last else f"{first} to {last}"


def _small_lines(found: tuple[Basket, ...], units: Units) -> list[str]:
    """What stays too small to count as a harvest."""
    small = [
        f"{weight_words(b.small_kg, units)} of {b.item.planting} ({b.item.part})".replace("\u00a0", " ")
        for b in found if b.small_kg >= SMALL_KG
    ]  # fmt: skip
    return [wrap(f"Stays too small to sell or serve, and is not counted: {'; '.join(small)}.", "    ", "  ")] if small else []


def _yield_lines(score: Score, units: Units) -> list[str]:
    lines = [f"Expected harvest, {'lb' if units == 'us' else 'kg'} (80 % of years)"]
    factor = 1.0 if units == "metric" else POUNDS
    for item in score.yields:
        kg = f"{factor * item.kg.middle:6.2f}  ({factor * item.kg.low:.2f} to {factor * item.kg.high:.2f})"
        window = "never in most years"
        if item.first is not None and is_idle(item.kg.high):
            window = f"too little to weigh, about {day(item.first)}"
        elif item.first is not None and item.first_band is not None and item.last_band is not None:
            a, b = item.first_band, item.last_band
            window = f"{day(item.first)} ({day(a[0])} - {day(a[1])}) to {day(item.last)} ({day(b[0])} - {day(b[1])})"
        lines.append(f"  {item.planting[:18]:18s} {item.part[:14]:14s} {kg:24s} {window}")
    whole = sum(item.kg.middle for item in score.yields)
    area = in_units(f"{whole / score.season.plan.bed.area_m2:.1f} kg/m2", units)
    lines.append(f"  {'all':18s} {'':14s} {factor * whole:6.2f}  = {area}")
    return [*lines, *_small_lines(baskets(score), units)]


POUNDS = 1.0 / 0.45359237
"""Avoirdupois pounds in a kilogram, by definition."""


def _ratio_lines(score: Score, units: Units) -> list[str]:
    """The ratios of the field, each against the crops alone, and what the bed wants of compost."""
    said = (
        f"Against each crop alone at its best density the bed stands for {score.ler.middle:.2f} beds (land equivalent ratio, "
        f"{score.ler.low:.2f} to {score.ler.high:.2f}); with the time that each holds its ground, for {score.ater.middle:.2f} "
        "(area-time equivalence ratio)."
    )
    need = nitrogen_need(score.season)
    litres = need.compost_l_m2 * score.season.plan.bed.area_m2
    rest = f"{litres:.0f} litres of compost would make up the rest" if litres >= 1.0 else "it asks for no compost"
    wanted = f"its crops want {need.wanted:.0f} g/m2, of which legumes fix {need.fixed:.0f}"
    nitrogen = f"Nitrogen: {wanted} and the soil can give {need.soil:.0f}; {rest}."
    return [wrap(said, "  ", ""), wrap(in_units(nitrogen, units), "  ", "")]


def _chance_lines(score: Score) -> list[str]:
    """Plantings that frost or cold soil undoes in at least three years of a hundred."""
    found = []
    for name, causes in risky(score.chances):
        said = ", ".join(f"{cause} {100 * share:.0f} %" for cause, share in causes)
        found.append(f"{name} ({said})")
    said = "; ".join(found) or "none in more than 3 % of years"
    return [wrap(f"At risk from frost or cold soil: {said}", "  ", "")]


# Cautions ------------------------------------------------------------------------------------

SOIL = "soil-roots"
"""The caution that heeds the measured lead."""


def _caution_names(score: Score) -> list[str]:
    """Every caution by its title with the plants it concerns; the gravest in a sentence."""
    found, named = card_cautions(score.season.plan), _sown_names(score)
    grave = [wrap(f"{c.title} ({named(c.names)}): {c.short}", "    ", "  ! ") for c in found if c.rank == 1 and c.names]
    tested = score.season.plan.bed.soil_lead_mg_kg is not None
    grave += [wrap(c.short, "    ", "  ! ") for c in found if tested and c.code == SOIL]
    rest = [
        f"{c.title} ({named(c.names)})" if c.names else c.title
        for c in found if (c.rank != 1 or not c.names) and not (tested and c.code == SOIL)
    ]  # fmt: skip
    also = [wrap(f"{'; '.join(rest)}.", "    ", "  ")] if rest else []
    return ["", "Cautions (--all and the card have them in full; local rules and licensed practice come first)", *grave, *also]


def _sown_names(score: Score) -> Callable[[Sequence[str]], str]:
    """Names in words, the later sowings of a succession left to the first."""
    first = {p.name for p in score.season.plan.recipe.plantings}
    return lambda names: listed([name for name in names if name in first] or list(names))


def _caution_texts(score: Score, units: Units) -> list[str]:
    """Every caution in full, with the plants it concerns."""
    found, named = card_cautions(score.season.plan), _sown_names(score)
    texts = [wrap(in_units(f"{capital(named(c.names))}: {c.text}" if c.names else c.text, units), "  ", "- ") for c in found]
    return ["", "Cautions", *texts] if texts else []
