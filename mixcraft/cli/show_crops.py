"""Crops as text: records with sources, tables, coverage, trials."""

from __future__ import annotations

import math
from collections.abc import Mapping

from mixcraft.crops.coverage import Coverage, coverage
from mixcraft.crops.model import Crop
from mixcraft.crops.records import Record
from mixcraft.files.constants import QUALITIES
from mixcraft.words.plain import counted

from .screen import wrap


def _record(name: str, record: Record) -> str:
    span = f" ({record.low:g} to {record.high:g})" if record.low is not None and record.high is not None else ""
    unit = "" if record.unit == "1" else f" {record.unit}"
    at = f", {record.at}" if record.at not in ("", "-") else ""
    return f"  {name:36s} {record.value:g}{unit}{span}  [{record.quality}: {record.source}{at}]"


def crop_records(crop: Crop) -> str:
    """A crop with all its numbers and their sources."""
    names = "; ".join(f"{lang}: {', '.join(words)}" for lang, words in crop.names.items())
    lines = [
        f"{crop.name} ({crop.botanical}, {crop.family})" + (f", {crop.group}" if crop.group else ""),
        wrap(crop.about, "  ", "  "), wrap(names, "  ", "  "),
        f"  {crop.life}, {crop.form}; grown for {', '.join(crop.kinds)}; established as {', '.join(crop.establish)}",
        f"  shade: {crop.shade}; nitrogen: {crop.nitrogen}; roots: {crop.root_form}; pollination: {crop.pollination}; "
        f"runs to seed: {crop.bolting.replace('_', ' ')}", "",
    ]  # fmt: skip
    table = crop.emergence_table
    if table is not None:
        pairs = ", ".join(
            f"{t:g} C {'none' if math.isnan(d) else f'{d:g} d'}" for t, d in zip(table.temperatures_c, table.days, strict=True)
        )
        lines.append(wrap(f"days to emergence: {pairs}  [{table.quality}: {table.source}]", "    ", "  "))
    lines += [_record(name, record) for name, record in crop.records.items()]
    for part in crop.parts:
        lines.append(f"  part: {part.name} ({part.role}; {', '.join(part.methods)}; from {part.opens} until {part.closes})")
        lines += [_record(f"    {name}", record) for name, record in part.records.items()]
    ills = [d.name + (f" ({d.years:g} years)" if d.years else "") for d in crop.diseases]
    pests = ", ".join(crop.pests) or "none on record"
    lines.append(wrap(f"pests: {pests}; diseases: {', '.join(ills) or 'none'}", "    ", "  "))
    from mixcraft.crops.cautions import caution_texts

    codes = list(dict.fromkeys([*crop.cautions, *(c for part in crop.parts for c in part.cautions)]))
    lines += [wrap(text, "    ", "  caution: ") for text in caution_texts(codes)]
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
    return wrap(f"{said}; from memory: {', '.join(recalled) or 'none'}", "    ", "  ")


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
    "hurried": ": ripe in {share} fewer days than where the published grew", "set": ": in the heat {share} of its flowers fall",
    "chill": ": chill takes {share} of its life", "frost": ": frost takes {share} of its life",
    "hot": ": heat takes {share} of its life", "long": ": picked for {weeks} weeks on end",
    "bright": ": {share} more light than in the trials that are published",
    "never": ": what is eaten does not form in {share} of the years",
    "late": ": picked {share} later after its start than the published",
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
