"""Reasons for lost points as sentences, by part and cause."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from mixcraft.scoring.model import Reason

from .catalogue import ENGLISH, Catalogue
from .plain import N_, capital, cover_words, date_words, edge_words, listed, percent, span_words, two_figures, weeks_words

Sentence = Callable[[Reason, Catalogue], str]


def reason_sentence(reason: Reason, t: Catalogue = ENGLISH) -> str:
    """A reason in one plain sentence; KeyError for a cause that has no words."""
    return SENTENCES[reason.part, reason.cause](reason, t)


def _span(reason: Reason, t: Catalogue) -> str:
    return span_words(*reason.weeks, t) if reason.weeks else ""


def _start(reason: Reason, t: Catalogue) -> str:
    return date_words(reason.weeks[0], t) if reason.weeks else ""


def _one(reason: Reason, name: str) -> str:
    """The single name that a fact holds."""
    return reason.names[name][0]


def _share(reason: Reason, t: Catalogue, name: str = "share") -> str:
    return percent(reason.numbers[name], t)


def _crowding(r: Reason, t: Catalogue) -> str:
    """What a planting keeps of its growth, and what takes the rest: parts in whole per cent that sum to the loss."""
    said = t.gettext("{planting}: {share} of the growth it would make without its neighbours")
    if "picked" in r.numbers:
        said = t.gettext(
            "{planting}: {share} of the growth and {picked} of the picking that it would make without its neighbours"
        )
    picked = percent(r.numbers.get("picked", 1.0), t)
    kept = said.format(planting=r.plantings[0], share=_share(r, t, "kept"), picked=picked)
    parts = _whole(100 - round(100.0 * r.numbers["kept"]), [r.numbers[cause] for cause in LOSSES])
    told = [t.gettext(LOSSES[cause]).format(share=percent(part / 100.0, t)) + _takers(r, cause, part, t)
            for cause, part in zip(LOSSES, parts, strict=True) if part]  # fmt: skip
    return kept + (t.gettext("; it loses {parts}").format(parts=listed(told, t)) if told else "") + "."


LOSSES = {
    "light": N_("{share} to shade"), "water": N_("{share} to dry soil"), "nutrients": N_("{share} to want of nitrogen"),
    "room": N_("{share} to want of room"),
}  # fmt: skip


def _whole(total: int, parts: Sequence[float]) -> list[int]:
    """Parts as whole numbers that sum to a total, by the largest remainders."""
    whole = sum(parts)
    exact = [total * part / whole if whole > 0.0 else 0.0 for part in parts]
    found = [int(part) for part in exact]
    rest = sorted(range(len(parts)), key=lambda i: found[i] - exact[i])
    for i in rest[: (total if whole > 0.0 else 0) - sum(found)]:
        found[i] += 1
    return found


def _takers(r: Reason, cause: str, part: int, t: Catalogue) -> str:
    """Who takes a part, in brackets, each with its share of the growth."""
    names = r.names.get(f"{cause}_takers", ())
    if not names:
        return ""
    shares = [r.numbers[f"{cause}_taker_{n}"] for n in range(len(names))]
    if len(names) == 1:
        return f" ({_standing(r, names[0], t)})"
    others = max(r.numbers[cause] - sum(shares), 0.0)
    told = [
        f"{_standing(r, name, t)} {percent(number / 100.0, t)}"
        for name, number in zip(names, _whole(part, [*shares, others]), strict=False) if number
    ]  # fmt: skip
    return f" ({', '.join(told)})"


def _light(r: Reason, t: Catalogue) -> str:
    return _crowding(r, t).removesuffix(".") + t.gettext("; most of the shade falls {span}.").format(span=_span(r, t))


def _standing(r: Reason, name: str, t: Catalogue) -> str:
    """Who takes the light, with the side of the bed if it stands along one."""
    if "edge" not in r.names or name != r.plantings[1]:
        return name
    place = (
        t.gettext("{planting} on the {edge} trellis")
        if _one(r, "stand") == "trellis"
        else t.gettext("{planting} on the {edge} edge")
    )
    return place.format(planting=name, edge=edge_words(_one(r, "edge"), t))


def _gap(r: Reason, t: Catalogue) -> str:
    weeks = weeks_words(int(r.numbers["weeks"]), t)
    return t.gettext("Nothing can be picked for {weeks}, {span}.").format(weeks=weeks, span=_span(r, t))


def _short_weeks(r: Reason, t: Catalogue) -> str:
    number = int(r.numbers["weeks"])
    return t.ngettext(
        "{number} week gives less than the {wanted} portions wanted; least is {least} {span}.",
        "{number} weeks give less than the {wanted} portions wanted; least is {least} {span}.", number,
    ).format(
        number=number, wanted=f"{r.numbers['portions']:.0f}", least=f"{r.numbers['least']:.1f}", span=_span(r, t)
    )  # fmt: skip


def _few_kinds(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{kinds} different things a week are on the plate and {season} over the season; {wanted} and {season_wanted} are wanted."
    ).format(
        kinds=f"{r.numbers['kinds']:.1f}", wanted=f"{r.numbers['wanted']:.0f}", season=f"{r.numbers['season']:.0f}",
        season_wanted=f"{r.numbers['season_wanted']:.0f}",
    )  # fmt: skip


def _glut(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{plantings}: {kg} kg come in the week of {when}, {portions} portions more than are eaten while they keep or given away; "
        "{remedy}."
    ).format(
        plantings=capital(listed(r.plantings, t)), kg=f"{r.numbers['kg']:.1f}", when=_start(r, t),
        portions=f"{r.numbers['portions']:.0f}", remedy=_fewer(r, t),
    )  # fmt: skip


def _fewer(r: Reason, t: Catalogue) -> str:
    """What a grower does against too much at once, by the way of picking."""
    if set(r.names["methods"]) <= {"leaf", "pick"}:
        return t.gettext("fewer plants would do")
    return t.gettext("sow in two or three goes, or pick earlier and by the leaf")


def _surplus(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{share} of all portions are more than the household eats while they keep, most of them of {plantings}: they can be "
        "given away, and count half; {remedy}."
    ).format(share=_share(r, t), plantings=listed(r.plantings, t), remedy=_fewer(r, t))


def _shared_soil(r: Reason, t: Catalogue) -> str:
    return t.gettext("{a} and {b} root in the same soil {span} (niche overlap {overlap}).").format(
        a=r.plantings[0], b=r.plantings[1], span=_span(r, t), overlap=f"{r.numbers['overlap']:.2f}"
    )


def _drought(r: Reason, t: Catalogue) -> str:
    wants = t.gettext("more water") if _one(r, "watering") == "weekly" else t.gettext("watering")
    return t.gettext("{planting}: dry soil {span} costs {share} of the growth; it wants {wants}.").format(
        planting=r.plantings[0], span=_span(r, t), share=_share(r, t), wants=wants
    )


def _few_families(r: Reason, t: Catalogue) -> str:
    return t.gettext("The mixture counts as {number} families by growth; {share} of it is {family}.").format(
        number=f"{r.numbers['effective']:.1f}", share=_share(r, t), family=_one(r, "family")
    )


def _shared_pests(r: Reason, t: Catalogue) -> str:
    names = ", ".join((*r.names["pests"], *r.names["diseases"]))
    return t.gettext("{a} and {b} feed the same pests and diseases {span}: {names}.").format(
        a=r.plantings[0], b=r.plantings[1], span=_span(r, t), names=names
    )


def _ago(r: Reason, t: Catalogue) -> str:
    years = int(r.numbers["ago"])
    return (
        t.gettext("last year")
        if years == 1
        else t.ngettext("{number} year ago", "{number} years ago", years).format(number=years)
    )


def _rotation(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting}: {earlier} grew here {ago}; {disease} asks for {years} years without a host.").format(
        planting=r.plantings[0], earlier=_one(r, "earlier"), ago=_ago(r, t), disease=_one(r, "disease"),
        years=f"{r.numbers['years']:g}",
    )  # fmt: skip


def _family_again(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting}: {earlier}, of the same family, grew here {ago}.").format(
        planting=r.plantings[0], earlier=_one(r, "earlier"), ago=_ago(r, t)
    )


def _at_risk(said: str, r: Reason, t: Catalogue, **more: str) -> str:
    """A sentence about a planting at risk, with when and in which share (of the years, of its days) it is."""
    return said.format(planting=r.plantings[0], when=_start(r, t), share=_share(r, t), **more)


def _frost_begin(r: Reason, t: Catalogue) -> str:
    said = t.gettext("{planting}: frost kills before the harvest in {share} of years, most often about {when}")
    return _at_risk(said, r, t)


def _frost(r: Reason, t: Catalogue) -> str:
    return _frost_begin(r, t) + t.gettext(" (a young plant dies at {limit} C).").format(limit=f"{r.numbers['limit_c']:g}")


def _late_frost(r: Reason, t: Catalogue) -> str:
    return _frost_begin(r, t) + t.gettext(", when {part_is} not ready yet or only just (it dies at {limit} C).").format(
        part_is=_part_is(r, t), limit=f"{r.numbers['limit_c']:g}"
    )


def _heat(r: Reason, t: Catalogue) -> str:
    said = t.gettext("{planting}: heat ends it before the harvest in {share} of years, most often about {when}.")
    return _at_risk(said, r, t)


def _chill(r: Reason, t: Catalogue) -> str:
    said = t.gettext(
        "{planting}: chill ends it before the harvest in {share} of years, most often about {when}, when {part_is} not ready yet "
        "or only just (it suffers below {limit} C)."
    )
    return _at_risk(said, r, t, part_is=_part_is(r, t), limit=f"{r.numbers['limit_c']:g}")


def _part_is(r: Reason, t: Catalogue) -> str:
    """The part and its verb: parts have their plural names in the library where one picks many."""
    part = _one(r, "part")
    return t.ngettext("the {part} is", "the {part} are", 2 if part.endswith("s") else 1).format(part=part)


def _cold_soil(r: Reason, t: Catalogue) -> str:
    if "days" not in r.numbers:
        return _at_risk(t.gettext("{planting}: set out in {when}; in {share} of years the ground is frozen then."), r, t)
    said = t.gettext(
        "{planting}: started in {when} into soil too cold; in {share} of years nothing is up within {days} days (it takes "
        "{least} C at least)."
    )
    return _at_risk(said, r, t, days=f"{r.numbers['days']:.0f}", least=f"{r.numbers['least_c']:g}")


def _not_dormant(r: Reason, t: Catalogue) -> str:
    said = t.gettext("{planting}: set out in {when}, when no rootstock is dormant; it comes up in the next spring.")
    return _at_risk(said, r, t)


def _short_season(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{planting}: too few warm days left; in {share} of years {part_is} not ready before the ground is cleared or the season "
        "ends."
    ).format(planting=r.plantings[0], share=_share(r, t), part_is=_part_is(r, t))


def _cut_off(r: Reason, t: Catalogue) -> str:
    said = t.gettext(
        "{planting}: what is reckoned stops in {when}, {days} days after the first start; in {share} of years {part_is} not "
        "ready by then. Give {planting} a recipe of its own."
    )
    return _at_risk(said, r, t, days=f"{r.numbers['days']:.0f}", part_is=_part_is(r, t))


def _bolting(r: Reason, t: Catalogue) -> str:
    said = t.gettext("{planting}: runs to seed about {when}, before there is anything to pick, in {share} of years.")
    return _at_risk(said, r, t)


def _short_days(r: Reason, t: Catalogue) -> str:
    said = t.gettext(
        "{planting}: started in {when} into the cold, short days; for {share} of its first {days} days there are less than "
        "{hours} hours of light, so that it stands still, rots or is eaten."
    )
    return _at_risk(said, r, t, days=f"{r.numbers['days']:.0f}", hours=f"{r.numbers['hours']:.0f}")


def _bitter(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{planting}: on {share} of the days of its picking it has stood for two weeks in more heat than it bears (a mean of "
        "{limit} C): bitter, tough or running to seed."
    ).format(planting=r.plantings[0], share=_share(r, t), limit=f"{r.numbers['limit_c']:.0f}")


def _out_of_season(r: Reason, t: Catalogue) -> str:
    said = t.gettext(
        "{planting}: started in {when}, out of its season here: from then it gives {share} of what it gives from its best start."
    )
    return _at_risk(said, r, t)


def _no_roots(r: Reason, t: Catalogue) -> str:
    said = t.gettext(
        "{planting}: set in {when} into ground too cold for roots; for {share} of its first {days} days the air stays below "
        "{least} C, and in frozen ground it rots or is heaved out."
    )
    return _at_risk(said, r, t, days=f"{r.numbers['days']:.0f}", least=f"{r.numbers['least_c']:g}")


def _pollinators_out(r: Reason, t: Catalogue) -> str:
    owner, cover = _one(r, "owner"), cover_words(_one(r, "cover"), t)
    if owner != r.plantings[0]:
        cover = t.gettext("{cover} of {planting}").format(cover=cover, planting=owner)
    return t.gettext("{planting}: the {cover} keeps pollinating insects off the flowers {span}.").format(
        planting=r.plantings[0], cover=cover, span=_span(r, t)
    )


def _low_cover(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting}: grows to {height} m, but the {cover} leaves {room} m {span}.").format(
        planting=r.plantings[0], height=f"{r.numbers['height_m']:.1f}", cover=cover_words(_one(r, "cover"), t),
        room=f"{r.numbers['room_m']:.1f}", span=_span(r, t),
    )  # fmt: skip


def _too_thick(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{planting}: {density} plants to the square metre stand on their own ground, {usual} are usual at most; each has "
        "about {size} of its room."
    ).format(
        planting=r.plantings[0], density=f"{r.numbers['density']:.0f}", usual=f"{r.numbers['usual']:.0f}",
        size=_share(r, t, "size"),
    )  # fmt: skip


def _too_thin(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{planting}: {density} plants to the square metre are hardly a planting; {usual} are the fewest that are usual."
    ).format(planting=r.plantings[0], density=two_figures(r.numbers["density"]), usual=two_figures(r.numbers["usual"]))


def _no_support(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting}: climbs, and nothing holds it; what lies in a heap rots or is not found.").format(
        planting=r.plantings[0]
    )


def _sunny_side(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "{tall} on the sunny side of {low}: at noon the shadow lies on {share} of the ground of {low}, taken over all its days, "
        "{span}; the tall belong at the end away from the sun."
    ).format(tall=r.plantings[1], low=r.plantings[0], share=_share(r, t), span=_span(r, t))


def _one_spot(r: Reason, t: Catalogue) -> str:
    number = int(r.numbers["plants"])
    return t.ngettext(
        "{second}: {number} plant stands on the spot of {first} {span} (at {x} m along, {y} m across).",
        "{second}: {number} plants stand on the spots of {first} {span} (the first at {x} m along, {y} m across).", number,
    ).format(
        second=r.plantings[0], first=r.plantings[1], number=number, span=_span(r, t), x=f"{r.numbers['x_m']:.2f}",
        y=f"{r.numbers['y_m']:.2f}",
    )  # fmt: skip


LEAST_TOLD = 0.05
"""Share of what is lacking from which a cause is told."""
LACKS = {
    **LOSSES, "cold": N_("{share} to cold"), "heat": N_("{share} to heat and running to seed"),
    "season": N_("{share} to a season too short"),
    "lifting": N_("{share} to the fork of neighbours"), "glut": N_("{share} to gluts that nobody eats"),
    "stand": N_("{share} to a thin stand"), "start": N_("{share} to the date of start"),
    "young": N_("{share} because it is too young to be picked"),
    "picking": N_("{share} to how it is raised, covered or picked"),
    "growing": N_("{share} unexplained"),
}  # fmt: skip
"""What a planting lacks of what good practice gives on its ground, by cause."""


def _little(r: Reason, t: Catalogue) -> str:
    reached = min(r.numbers["share"] / max(r.numbers["ground"], 1e-9), 1.0)
    return t.gettext("{planting}: gives {share} of what good practice gives on its ground; it loses {parts}.").format(
        planting=r.plantings[0], share=percent(reached, t), parts=_lacks(r, 100 - round(100.0 * reached), t)
    )


def _lacks(r: Reason, total: int, t: Catalogue) -> str:
    """What is lacking by cause, in whole per cent that sum to a total; several small causes are told as one."""
    parts = dict(zip(LACKS, _whole(total, [r.numbers[cause] for cause in LACKS]), strict=True))
    small = [cause for cause, part in parts.items() if 0 < part < round(100.0 * LEAST_TOLD)]
    told = {cause: part for cause, part in parts.items() if part and (cause not in small or len(small) == 1)}
    shares = {cause: t.gettext(LACKS[cause]).format(share=percent(part / 100.0, t)) for cause, part in told.items()}
    said = [text + _takers(r, cause, told[cause], t) for cause, text in shares.items()]
    if len(small) > 1:
        said.append(t.gettext("{share} to lesser causes").format(share=percent(sum(parts[c] for c in small) / 100.0, t)))
    return listed(said, t)


def _nothing(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting}: no harvest in most years; of all that it could give it loses {parts}.").format(
        planting=r.plantings[0], parts=_lacks(r, 100, t)
    )


def _lifting(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting}: when {by} are lifted among them, about {share} of them are disturbed and lost.").format(
        planting=r.plantings[0], by=r.plantings[1], share=_share(r, t)
    )


def _no_food(r: Reason, t: Catalogue) -> str:
    return t.gettext("{planting} is no food; it takes {ground} of the ground.").format(
        planting=r.plantings[0], ground=_share(r, t, "ground")
    )


def _ground_half_used(r: Reason, t: Catalogue) -> str:
    return t.gettext(
        "The ground gives {share} of what the same crops give by good practice over the time that it is in use; of what is "
        "missing they lose {causes}."
    ).format(share=_share(r, t, "land_use"), causes=_most_lacking(r, t))


def _most_lacking(r: Reason, t: Catalogue) -> str:
    """The two causes that take most, with their shares of what is lacking."""
    total = sum(r.numbers[cause] for cause in LACKS)
    worst = sorted(LACKS, key=lambda cause: -r.numbers[cause])[:2]
    told = [t.gettext(LACKS[cause]).format(share=percent(r.numbers[cause] / max(total, 1e-9), t)) for cause in worst]
    return listed([text for text, cause in zip(told, worst, strict=True) if r.numbers[cause] >= LEAST_TOLD * total], t)


def _open_ground(r: Reason, t: Catalogue) -> str:
    return t.gettext("In the wanted weeks crops hold {share} of the bed; the rest lies open to weeds.").format(
        share=_share(r, t, "covered")
    )


SENTENCES: dict[tuple[str, str], Sentence] = {
    ("canopy", "light"): _light, ("canopy", "crowding"): _crowding, ("canopy", "too thick"): _too_thick,
    ("canopy", "too thin"): _too_thin, ("canopy", "no support"): _no_support,
    ("canopy", "sunny side"): _sunny_side,
    ("canopy", "one spot"): _one_spot, ("canopy", "lifting"): _lifting,
    ("continuity", "gap"): _gap, ("continuity", "short weeks"): _short_weeks, ("continuity", "few kinds"): _few_kinds,
    ("continuity", "glut"): _glut, ("continuity", "surplus"): _surplus,
    ("roots", "shared soil"): _shared_soil, ("roots", "drought"): _drought,
    ("families", "few families"): _few_families, ("families", "shared pests"): _shared_pests,
    ("families", "rotation"): _rotation, ("families", "family again"): _family_again,
    ("timing", "frost"): _frost, ("timing", "late frost"): _late_frost, ("timing", "heat"): _heat,
    ("timing", "chill"): _chill,
    ("timing", "cold soil"): _cold_soil,
    ("timing", "not dormant"): _not_dormant,
    ("timing", "short season"): _short_season, ("timing", "cut off"): _cut_off, ("timing", "bolting"): _bolting,
    ("timing", "bitter"): _bitter,
    ("timing", "short days"): _short_days, ("timing", "no roots"): _no_roots,
    ("timing", "out of season"): _out_of_season,
    ("timing", "pollinators out"): _pollinators_out, ("timing", "low cover"): _low_cover,
    ("yield", "little"): _little, ("yield", "nothing"): _nothing, ("yield", "no food"): _no_food,
    ("yield", "ground half used"): _ground_half_used, ("yield", "open ground"): _open_ground,
}  # fmt: skip
