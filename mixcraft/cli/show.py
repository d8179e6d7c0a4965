"""Results as text and JSON."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from mixcraft import __version__
from mixcraft.crops.coverage import Coverage, coverage
from mixcraft.crops.model import Crop
from mixcraft.crops.records import Record
from mixcraft.files import REMOVE
from mixcraft.files.constants import QUALITIES
from mixcraft.recipe.calendar import MONTHS
from mixcraft.recipe.edits import changes_between
from mixcraft.recipe.model import Recipe
from mixcraft.scoring.model import Reason, Repair, Score, StripWeek
from mixcraft.scoring.repairs import text_edits
from mixcraft.scoring.telling import is_idle, risky, told_weeks, wandering
from mixcraft.season.daylight import MonthLight
from mixcraft.season.nitrogen import nitrogen_need
from mixcraft.season.result import Season
from mixcraft.words import edge_words_of, part_summary, reason_sentence, repair_sentence
from mixcraft.words.plain import counted, weeks_words

if TYPE_CHECKING:
    import networkx as nx

WIDTH = 100
NAMES_WIDTH = 44
TOP_REASONS = 10


def _day(date: np.datetime64 | None) -> str:
    if date is None:
        return "-"
    text = str(date.astype("datetime64[D]"))
    return f"{int(text[8:10])} {MONTHS[int(text[5:7]) - 1][:3]}"


def _wrap(text: str, indent: str, first: str | None = None) -> str:
    return textwrap.fill(text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent)


def _bar(score: float, width: int = 20) -> str:
    filled = round(score / 100.0 * width)
    return "#" * filled + "." * (width - filled)


def score_text(score: Score, *, every: bool = False) -> str:
    """The score as text for a terminal."""
    season, plan = score.season, score.season.plan
    lines = [
        f"{plan.recipe.name}  in  {plan.bed.name}, {plan.garden.name} ({plan.place.name})",
        f"{plan.bed.length_m:g} x {plan.bed.width_m:g} m, from {_day(plan.start)}, "
        f"{counted(season.years, 'weather year')}, light by {season.light_model}",
        "",
        f"Overall {score.overall:5.0f}  {_bar(score.overall)}  in eight years of ten {score.overall_band.low:.0f} to "
        f"{score.overall_band.high:.0f}",
    ]
    for part in score.parts:
        lines.append(f"  {part.name:11s}{part.score:4.0f}  {_bar(part.score)}  {part_summary(part)}")
    lines += ["", *_reason_lines(score, every), "", *_strip_lines(score), "", *_yield_lines(score)]
    lines.append("")
    lines.append(
        f"Land equivalent ratio {score.ler.middle:.2f} ({score.ler.low:.2f} to {score.ler.high:.2f}), area-time equivalence "
        f"ratio {score.ater.middle:.2f}, against each crop alone at its best density"
    )
    lines.append(_nitrogen_line(score.season))
    lines += [_wrap(note, "  ", "- ") for note in score.notes]
    lines += _caution_lines(score)
    return "\n".join(lines)


def _nitrogen_line(season: Season) -> str:
    """What the bed wants of nitrogen, and of compost."""
    need = nitrogen_need(season)
    litres = need.compost_l_m2 * season.plan.bed.area_m2
    rest = f"{litres:.0f} litres of compost would make up the rest" if litres >= 1.0 else "it asks for no compost"
    wanted = f"its crops want {need.wanted:.0f} g/m2, of which legumes fix {need.fixed:.0f}"
    return f"Nitrogen: {wanted} and the soil can give {need.soil:.0f}; {rest}"


def _reason_lines(score: Score, every: bool) -> list[str]:
    reasons = score.reasons if every else score.reasons[:TOP_REASONS]
    if not reasons:
        return ["No conflicts found."]
    lines = ["Conflicts, worst first"]
    for number, reason in enumerate(reasons, 1):
        lines.append(_wrap(f"{reason_sentence(reason)} [{reason.part} -{reason.points:.0f}]", "    ", f"{number:2d}. "))
        if reason.repair is not None:
            repair = reason.repair
            said = f"Repair: {repair_sentence(repair)} Overall {repair.gain:+.1f}."
            lines += [_wrap(said, "            ", "    "), *_edit_lines(score.season.plan.recipe, repair)]
    rest = len(score.reasons) - len(reasons)
    if rest > 0:
        lines.append(f"    and {rest} smaller; --all prints them")
    return lines


def _edit_lines(recipe: Recipe, repair: Repair) -> list[str]:
    """The lines of the recipe file that a repair takes out and puts in, with their numbers."""
    lines = []
    for edit in text_edits(recipe, repair.recipe):
        lines += [f"{edit.line + n:8d} - {text}" for n, text in enumerate(edit.removed)]
        lines += [f"{edit.line + n:8d} + {text}" for n, text in enumerate(edit.added)]
    return lines


def _strip_lines(score: Score) -> list[str]:
    runs = told_weeks(score)
    if not runs:
        return ["Harvest by week: no week has a picking in most years.", *_wandering_lines(score)]
    lines = ["Harvest by week (middle of the years; chance of a picking)"]
    most = max(week.kg.middle for week in score.strip)
    for run in runs:
        if len(run) > 1:
            lines.append(f"  {_day(run[0].start):>7s} to {_day(run[-1].start + SIX_DAYS)}: nothing in most years")
        else:
            lines.append(_week_line(run[0], most))
    for gap in score.gaps:
        lines.append(f"  Gap of {weeks_words(gap.weeks)}: {_day(gap.start)} to {_day(gap.end)}")
    return [*lines, *_wandering_lines(score)]


SIX_DAYS = np.timedelta64(6, "D")


def _week_line(week: StripWeek, most_kg: float) -> str:
    """A week of the strip, with a bar as long as its share of the best week."""
    mark = "!" if week.wanted and not week.picked else " "
    idle = is_idle(week.kg.middle)
    bar = "" if idle else "=" * max(1, round(week.kg.middle / most_kg * 24))
    names = ", ".join(week.plantings) or ("not the same every year" if week.picked and not idle else "")
    names = names if len(names) <= NAMES_WIDTH else names[: NAMES_WIDTH - 3] + "..."
    return f" {mark}{_day(week.start):>7s} {bar:24s} {week.kg.middle:5.2f} kg {100 * week.chance:4.0f} %  {names}".rstrip()


def _wandering_lines(score: Score) -> list[str]:
    """Harvests that most years give, but in no week of their own."""
    moving = [
        f"{item.planting} ({item.part}, {item.kg.middle:.2f} kg, {_day(item.first_band[0])} to {_day(item.last_band[1])})"
        for item in wandering(score) if item.first_band and item.last_band
    ]  # fmt: skip
    return [_wrap(f"In a different week every year: {'; '.join(moving)}", "    ", "  ")] if moving else []


def _yield_lines(score: Score) -> list[str]:
    lines = ["Expected harvest, kg (80 % of years)"]
    for item in score.yields:
        kg = f"{item.kg.middle:6.2f}  ({item.kg.low:.2f} to {item.kg.high:.2f})"
        window = "never in most years"
        if item.first is not None and is_idle(item.kg.high):
            window = f"too little to weigh, about {_day(item.first)}"
        elif item.first is not None and item.first_band is not None and item.last_band is not None:
            a, b = item.first_band, item.last_band
            window = f"{_day(item.first)} ({_day(a[0])} - {_day(a[1])}) to {_day(item.last)} ({_day(b[0])} - {_day(b[1])})"
        lines.append(f"  {item.planting[:18]:18s} {item.part[:14]:14s} {kg:24s} {window}")
    total = sum(item.kg.middle for item in score.yields)
    area = score.season.plan.bed.area_m2
    lines.append(f"  {'all':18s} {'':14s} {total:6.2f}  = {total / area:.1f} kg/m2")
    return [*lines, *_chance_lines(score)]


def _chance_lines(score: Score) -> list[str]:
    """Plantings that frost or cold soil undoes in at least three years of a hundred."""
    found = []
    for name, causes in risky(score.chances):
        said = ", ".join(f"{cause} {100 * share:.0f} %" for cause, share in causes)
        found.append(f"{name} ({said})")
    said = "; ".join(found) or "none in more than 3 % of years"
    return ["", _wrap(f"Undone by frost or cold soil: {said}", "  ", "")]


def _caution_lines(score: Score) -> list[str]:
    from mixcraft.crops.cautions import caution_texts

    texts = caution_texts(score.cautions)
    return ["", "Cautions", *(_wrap(text, "  ", "- ") for text in texts)] if texts else []


def light_text(season: Season, months: tuple[MonthLight, ...]) -> str:
    """Light by month and planting as a table: share of the open sky, and mol of PAR."""
    names = [p.name for p in season.plan.plantings]
    head = " " * 26 + "".join(f"{MONTHS[int(str(m.month)[5:7]) - 1][:3]:>7s}" for m in months)
    lines = [f"{season.plan.recipe.name}  in  {season.plan.bed.name}", "", "Light on the leaves, share of the open sky (%)", head]
    for i, name in enumerate(names):
        cells = ("" if math.isnan(m.share[i]) else f"{100 * m.share[i]:.0f}" for m in months)
        lines.append(f"  {name[:24]:24s}" + "".join(f"{c:>7s}" for c in cells))
    cells = ("" if m.ground is None else f"{100 * m.ground.mean():.0f}" for m in months)
    lines.append(f"  {'soil of the bed':24s}" + "".join(f"{c:>7s}" for c in cells))
    lines += ["", "Light on the leaves (mol PAR m-2 d-1)", head]
    for i, name in enumerate(names):
        cells = ("" if math.isnan(m.mol[i]) else f"{m.mol[i]:.1f}" for m in months)
        need = season.plan.plantings[i].planting.crop["canopy.light_need"]
        lines.append(f"  {name[:24]:24s}" + "".join(f"{c:>7s}" for c in cells) + f"   wants {need:g}")
    lines.append(f"  {'open sky':24s}" + "".join(f"{m.open_mol:7.1f}" for m in months))
    lines += ["", "Direct sun on the bare bed on a clear day (h)", head]
    where = "behind walls" if season.plan.bed.obstacles else "open"
    lines.append(f"  {where:24s}" + "".join(f"{m.sun_hours:7.1f}" for m in months))
    return "\n".join(lines)


def graph_text(made: nx.MultiDiGraph[str]) -> str:
    """The interactions as a list, one a line, with their strength (0 to 1), month-days and detail."""
    lines = [f"{data['strength']:5.2f}  {edge_words_of(a, b, data)}" for a, b, data in made.edges(data=True)]
    return "\n".join(lines) or "no interactions"


def _number(value: float) -> float | None:
    return None if value is None or math.isnan(value) else round(float(value), 4)


def _facts_json(facts: Reason | Repair) -> dict[str, Any]:
    """Numbers and names of a reason or a repair."""
    return {
        "numbers": {name: _number(value) for name, value in facts.numbers.items()},
        "names": {name: list(values) for name, values in facts.names.items()},
    }


def _reason_json(reason: Reason, recipe: Recipe) -> dict[str, Any]:
    repair = reason.repair
    return {
        "part": reason.part, "cause": reason.cause, "points": round(reason.points, 2), "sentence": reason_sentence(reason),
        "plantings": list(reason.plantings), **_facts_json(reason),
        "weeks": None if reason.weeks is None else [str(d) for d in reason.weeks],
        "edge": None if reason.edge is None else dict(zip(("from", "to", "kind"), reason.edge, strict=True)),
        "repair": None if repair is None else {
            "kind": repair.kind, "sentence": repair_sentence(repair), "plantings": list(repair.plantings),
            **_facts_json(repair), "overall_before": round(repair.overall_before, 1),
            "overall_after": round(repair.overall_after, 1),
            "changes": [
                {"path": list(path), "value": None if value is REMOVE else value}
                for path, value in changes_between(recipe, repair.recipe)
            ],
            "lines": [
                {"line": e.line, "removed": list(e.removed), "added": list(e.added)} for e in text_edits(recipe, repair.recipe)
            ],
        },
    }  # fmt: skip


def _dates(middle: np.datetime64 | None, band: tuple[np.datetime64, np.datetime64] | None) -> dict[str, str] | None:
    if middle is None or band is None:
        return None
    return {"low": str(band[0]), "middle": str(middle), "high": str(band[1])}


def score_json(score: Score) -> dict[str, Any]:
    """The score as JSON data; `schemas/score.schema.json` documents it."""
    plan = score.season.plan

    def band(b: Any) -> dict[str, float | None]:
        return {"low": _number(b.low), "middle": _number(b.middle), "high": _number(b.high)}

    return {
        "format": "mixcraft-score/1", "engine": __version__, "recipe": plan.recipe.name, "garden": plan.garden.name,
        "bed": plan.bed.name, "place": plan.place.name, "years": score.season.years, "light": score.season.light_model,
        "start": str(plan.start), "overall": round(score.overall, 2),
        "overall_band": band(score.overall_band),
        "parts": [
            {"name": p.name, "score": round(p.score, 2), "weight": p.weight, "summary": part_summary(p)} for p in score.parts
        ],
        "reasons": [_reason_json(r, plan.recipe) for r in score.reasons],
        "weeks": [
            {"start": str(w.start), "kg": band(w.kg), "chance": round(w.chance, 3), "plantings": list(w.plantings),
             "wanted": bool(w.wanted)}
            for w in score.strip
        ],
        "gaps": [{"start": str(g.start), "end": str(g.end), "weeks": g.weeks} for g in score.gaps],
        "harvest": [
            {"planting": y.planting, "part": y.part, "method": y.method, "kg": band(y.kg),
             "first": _dates(y.first, y.first_band), "last": _dates(y.last, y.last_band)}
            for y in score.yields
        ],
        "land_equivalent_ratio": band(score.ler), "area_time_equivalence_ratio": band(score.ater),
        "partial_land_equivalent_ratio": {k: _number(v) for k, v in score.partial_ler.items()},
        "growth_kept": {k: _number(v) for k, v in score.kept.items()},
        "chances": [
            {"planting": c.planting, "frost": round(c.frost, 3), "cold_soil": round(c.cold_soil, 3)} for c in score.chances
        ],
        "cautions": list(score.cautions), "notes": list(score.notes),
    }  # fmt: skip


def _record(name: str, record: Record) -> str:
    span = f" ({record.low:g} to {record.high:g})" if record.low is not None and record.high is not None else ""
    unit = "" if record.unit == "1" else f" {record.unit}"
    at = f", {record.at}" if record.at not in ("", "-") else ""
    return f"  {name:36s} {record.value:g}{unit}{span}  [{record.quality}: {record.source}{at}]"


def crop_text(crop: Crop) -> str:
    """A crop with all its numbers and their sources."""
    names = "; ".join(f"{lang}: {', '.join(words)}" for lang, words in crop.names.items())
    lines = [
        f"{crop.name} ({crop.botanical}, {crop.family})" + (f", {crop.group}" if crop.group else ""),
        _wrap(crop.about, "  ", "  "), _wrap(names, "  ", "  "),
        f"  {crop.life}, {crop.form}; grown for {', '.join(crop.kinds)}; established as {', '.join(crop.establish)}",
        f"  shade: {crop.shade}; nitrogen: {crop.nitrogen}; roots: {crop.root_form}; pollination: {crop.pollination}; "
        f"runs to seed: {crop.bolting.replace('_', ' ')}", "",
    ]  # fmt: skip
    table = crop.emergence_table
    if table is not None:
        pairs = ", ".join(
            f"{t:g} C {'none' if math.isnan(d) else f'{d:g} d'}" for t, d in zip(table.temperatures_c, table.days, strict=True)
        )
        lines.append(_wrap(f"days to emergence: {pairs}  [{table.quality}: {table.source}]", "    ", "  "))
    lines += [_record(name, record) for name, record in crop.records.items()]
    for part in crop.parts:
        lines.append(f"  part: {part.name} ({part.role}; {', '.join(part.methods)}; from {part.opens} until {part.closes})")
        lines += [_record(f"    {name}", record) for name, record in part.records.items()]
    ills = [d.name + (f" ({d.years:g} years)" if d.years else "") for d in crop.diseases]
    pests = ", ".join(crop.pests) or "none on record"
    lines.append(_wrap(f"pests: {pests}; diseases: {', '.join(ills) or 'none'}", "    ", "  "))
    from mixcraft.crops.cautions import caution_texts

    codes = list(dict.fromkeys([*crop.cautions, *(c for part in crop.parts for c in part.cautions)]))
    lines += [_wrap(text, "    ", "  caution: ") for text in caution_texts(codes)]
    return "\n".join(lines)


def coverage_text(found: Coverage) -> str:
    """Coverage by field and quality, by what the numbers decide, and by the class of the works cited."""
    head = "".join(f"{quality:>17s}" for quality in QUALITIES)
    lines = [f"{'field':38s}{head}"]
    lines += [_quality_line(name, counts) for name, counts in found.fields.items()]
    lines += [_quality_line(f"all, {counted(found.crops, 'crop')}", found.totals), _share_line("share", found.totals)]
    lines += ["", f"{'what it decides, share':38s}{head}"]
    lines += [_share_line(f"{what}, {sum(counts.values())}", counts) for what, counts in found.decided.items()]
    lines += [_share_line("all that must be published", found.weighty)]
    lines += ["", "class of the work cited"]
    return "\n".join([*lines, *(f"{name:38s}{count:17d}" for name, count in found.classes.items())])


def _quality_line(name: str, counts: Mapping[str, int]) -> str:
    return f"{name:38s}" + "".join(f"{counts.get(quality, 0):17d}" for quality in QUALITIES)


def _share_line(name: str, counts: Mapping[str, int]) -> str:
    whole = max(1, sum(counts.values()))
    return f"{name:38s}" + "".join(f"{100 * counts.get(quality, 0) / whole:15.0f} %" for quality in QUALITIES)


def crop_table(crops: tuple[Crop, ...]) -> str:
    """Crops side by side."""
    lines = [
        f"{'crop':24s}{'family':16s}{'height':>8s}{'roots':>8s}{'days':>6s}{'plants/m2':>11s}{'kg/m2':>8s}{'frost':>8s}"
        f"{'light':>7s}  {'shade':9s}{'nitrogen':9s} picked"
    ]
    for crop in crops:
        lines.append(
            f"{crop.id:24s}{crop.family:16s}{crop['canopy.height']:7.2f}m{crop['root.depth']:7.2f}m"
            f"{crop['development.days_to_harvest']:6.0f}{crop['spacing.density']:11.4g}{crop['harvest.yield_sole']:8.2g}"
            f"{crop['frost.grown']:7.1f}C{crop['canopy.light_need']:7.0f}  {crop.shade:9s}{crop.nitrogen:9s} "
            f"{crop.main_part.name} ({crop.main_part.methods[0]})"
        )
    lines.append(counted(len(crops), "crop"))
    return "\n".join(lines)


def quality_text(crop: Crop) -> str:
    """How a crop's numbers are sourced, naming those that are only recalled."""
    found = coverage([crop])
    totals = found.totals
    recalled = [name for name, counts in found.fields.items() if counts.get("memory")]
    said = ", ".join(f"{count} {quality}" for quality, count in totals.items())
    return _wrap(f"{said}; from memory: {', '.join(recalled) or 'none'}", "    ", "  ")


def trial_text(crop: Crop, most: int = 9) -> str:
    """A sole-crop trial at up to `most` places, beside the published ranges."""
    from mixcraft.season.trial import trials

    lines = [f"{crop.name}, alone at its best density, best and quickest of all starts of the year"]
    for verdict in trials(crop, most):
        trial, name = verdict.trial, verdict.trial.place
        if not verdict.grows:
            lines.append(f"  {name:14s} gives nothing from any start")
            continue
        yields, days = verdict.yield_range, verdict.days_range
        lines.append(
            f"  {name:14s} start {trial.start}: {trial.yield_kg_m2:5.2f} kg/m2, published {yields[0]:.2g} to {yields[1]:.2g} "
            f"({'inside' if verdict.yield_fits else 'OUTSIDE'}); start {trial.days_start}: {trial.days:.0f} d to the first "
            f"picking, {days[0]:.0f} to {days[1]:.0f} ({'inside' if verdict.days_fit else 'OUTSIDE'})"
        )
    return "\n".join(lines)


WHY = {
    "": "", "cold": ": cold costs {share} of its growth", "heat": ": heat costs {share} of its growth",
    "dull": ": {share} less light than in the trials that are published",
    "hurried": ": ripe in {share} fewer days than where the published grew",
    "never": ": what is eaten does not form in {share} of the years",
    "late": ": picked {share} later after its start than the published",
    "set": ": in the heat {share} of its flowers fall", "chill": ": chill takes {share} of its life",
    "frost": ": frost takes {share} of its life", "hot": ": heat takes {share} of its life",
    "long": ": picked for {weeks} weeks on end", "bright": ": {share} more light than in the trials that are published",
}  # fmt: skip
"""Why a crop gives less or more than is published (`season.climates.Why`)."""


def climates_text(crop: Crop) -> str:
    """A crop alone in six climates, a line each: its best start, pickings, weeks and yield beside the published range."""
    from mixcraft.season.climates import in_six_climates

    lines = [f"{crop.name}"]
    for line in in_six_climates(crop):
        verdict = line.verdict
        low, high = verdict.yield_range
        why = WHY[line.why.cause].format(share=f"{100.0 * line.why.share:.0f} %", weeks=f"{line.why.share:.0f}")
        if not verdict.grows:
            lines.append(f"  {line.climate:18s} {verdict.trial.place:12s} gives nothing from any start{why}")
            continue
        lines.append(
            f"  {line.climate:18s} {verdict.trial.place:12s} start {verdict.trial.start}  picked {line.first} to {line.last}, "
            f"{line.weeks:4.0f} weeks  {verdict.trial.yield_kg_m2:6.2f} kg/m2, published {low:.2g} to {high:.2g} "
            f"({'inside' if verdict.yield_fits else 'OUTSIDE'}{why})"
        )
    return "\n".join(lines)


__all__ = ["crop_text", "score_json", "score_text"]
