"""One wrong number in a crop file is caught: by schema, rules, common sense, a handbook table, or the trial alone.

Each of a cross-section of crops gets one slip at a time, in the value and in its range alike, as somebody makes who
misreads a unit or a column (a slip in the value alone falls out of the range beside it, which the last test shows).
The nets are tried from the cheapest: schema, rules, sense (``library_sense.py``), tables (``library_checks.py``), and
a trial at a place where the right file fits its published yield and days. Shares are printed by field; the floors
keep what was reached when the test was written.
"""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import pytest
from library_checks import table_complaints
from library_sense import sense_complaints
from strategies import place

from mixcraft.crops import Crop, all_crops, crop_from_mapping, load_crop
from mixcraft.crops.checking import crop_faults
from mixcraft.crops.library import DATA
from mixcraft.files import Document, check_schema, load_document
from mixcraft.season.trial import STARTS, judge, sole_trial, trial_places

SAMPLE = tuple(crop.id for crop in all_crops())[::9][:20]
"""Every ninth crop."""


@dataclass(frozen=True)
class Slip:
    """A wrong number: `paths` of the records in the file, the change, and whether a trial can feel it."""

    paths: tuple[str, ...]
    change: Callable[[float], float]
    felt: bool = True


def times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


def plus(amount: float) -> Callable[[float], float]:
    return lambda value: value + amount


SLIPS: Mapping[str, Slip] = {
    "light use x 2.5": Slip(("canopy.rue",), times(2.5)),
    "extinction / 3": Slip(("canopy.k",), times(1 / 3)),
    "leaf area index x 3": Slip(("canopy.lai_max",), times(3.0)),
    "leaf growth / 2": Slip(("canopy.rgr",), times(0.5)),
    "leaf area of a gram / 3": Slip(("canopy.sla",), times(1 / 3)),
    "height x 5": Slip(("canopy.height",), times(5.0), felt=False),
    "ripe twice as late": Slip(("development.ready",), times(2.0)),
    "ripe twice as late and dead": Slip(("development.ready", "development.end"), times(2.0)),
    "base temperature + 6": Slip(("development.t_base",), plus(6.0)),
    "days to harvest x 2.5": Slip(("development.days_to_harvest",), times(2.5)),
    "killed 15 C earlier": Slip(("frost.grown", "frost.seedling"), plus(15.0)),
    "dry matter x 3": Slip(("main.dry_matter",), times(3.0)),
    "harvest index / 3": Slip(("harvest.harvest_index",), times(1 / 3)),
    "yield x 4": Slip(("harvest.yield_sole",), times(4.0)),
    "density x 5": Slip(("spacing.density",), times(5.0)),
    "roots x 4": Slip(("root.depth",), times(4.0), felt=False),
    "seeds per gram x 10": Slip(("seed.per_gram",), times(10.0), felt=False),
    "sowing depth x 5": Slip(("seed.depth",), times(5.0), felt=False),
    "germination / 3": Slip(("seed.germination",), times(1 / 3), felt=False),
    "coldest soil + 12": Slip(("emergence.t_min",), plus(12.0), felt=False),
}


@lru_cache(maxsize=64)
def document(crop_id: str) -> Document:
    return load_document(str(DATA / f"{crop_id}.yaml"))


def record(data: dict[str, Any], path: str) -> dict[str, Any] | None:
    """The record at ``section.name``, or of the main part at ``main.name``; None if the crop has none."""
    section, name = path.split(".")
    table = next(p for p in data["harvest"]["parts"] if p["role"] == "main") if section == "main" else data[section]
    found: dict[str, Any] | None = table.get(name)
    return found


def with_slip(crop_id: str, slip: Slip, ranges: bool = True) -> dict[str, Any] | None:
    """The crop's data with the slip in it, in its ranges too if asked; None if the crop has no such number."""
    data = copy.deepcopy(document(crop_id).data)
    found = [record(data, path) for path in slip.paths]
    for one in found:
        if one is None:
            return None
        one["value"] = slip.change(one["value"])
        if ranges and "range" in one:
            one["range"] = [slip.change(value) for value in one["range"]]
    return dict(data)


@lru_cache(maxsize=64)
def good_place(crop_id: str) -> str | None:
    """The first trial place at which the right file fits its published yield and days."""
    crop = load_crop(crop_id)
    return next((where for where in trial_places(crop) if fits(crop, where)), None)


def fits(crop: Crop, where: str) -> bool:
    found = judge(crop, sole_trial(crop, place(where), starts=STARTS[::2]))
    return found.yield_fits and found.days_fit


def cheap_net(crop_id: str, data: dict[str, Any]) -> str:
    """The first of schema, rules, sense and tables that catches the slip, or nothing."""
    if check_schema(document(crop_id), "crop", data=data):
        return "schema"
    if crop_faults(document(crop_id), data):
        return "rules"
    right, wrong = load_crop(crop_id), crop_from_mapping(data)
    for net, complaints in (("sense", sense_complaints), ("tables", table_complaints)):
        if set(complaints(wrong)) - set(complaints(right)):
            return net
    return ""


def caught_by(crop_id: str, slip: Slip, data: dict[str, Any]) -> str:
    """The net that catches the slip, or "nothing"."""
    net = cheap_net(crop_id, data)
    if net:
        return net
    where = good_place(crop_id)
    if slip.felt and where is not None and not fits(crop_from_mapping(data), where):
        return "trial"
    return "nothing"


@lru_cache(maxsize=32)
def catches(name: str) -> Counter[str]:
    """Nets that caught the slip in the crops of the sample that have such a number."""
    found: Counter[str] = Counter()
    missed = []
    for crop_id in SAMPLE:
        data = with_slip(crop_id, SLIPS[name])
        if data is not None:
            net = caught_by(crop_id, SLIPS[name], data)
            found[net] += 1
            if net == "nothing":
                missed.append(crop_id)
    print(f"{name}: {1 - found['nothing'] / found.total():.0%} of {found.total()} ({dict(found)}), missed: {', '.join(missed)}")
    return found


def test_the_right_files_are_let_through() -> None:
    """No net complains of the files as they are (what the tables still have against one is not counted as a catch)."""
    assert len(SAMPLE) == 20
    for crop_id in SAMPLE:
        assert cheap_net(crop_id, dict(document(crop_id).data)) == ""


CAUGHT = {
    "light use x 2.5": 1.0, "extinction / 3": 1.0, "leaf area index x 3": 0.8, "leaf growth / 2": 0.8,
    "leaf area of a gram / 3": 0.95,
    "height x 5": 0.85, "ripe twice as late": 0.85, "ripe twice as late and dead": 0.95, "base temperature + 6": 0.95,
    "days to harvest x 2.5": 0.95, "killed 15 C earlier": 1.0, "dry matter x 3": 0.95, "harvest index / 3": 1.0,
    "yield x 4": 0.95,
    "density x 5": 1.0, "roots x 4": 0.8, "seeds per gram x 10": 0.75, "sowing depth x 5": 0.85, "germination / 3": 1.0,
    "coldest soil + 12": 0.9,
}  # fmt: skip
"""Shares caught when the test was written; two crops of twenty fewer are let pass, since the sample moves with the library."""
LESS = {
    "leaf area of a gram / 3": "about 75 % are caught: leaves saturate and ranges are wider",
    "ripe twice as late and dead": "80 % are caught: greens are picked half-grown before they shoot",
}
TWO_CROPS, ALL_FIELDS = 0.1, 0.84  # of all slips 91 % were caught when this was written, 84 % are since ranges are wider


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=pytest.mark.xfail(strict=True, reason=LESS[n]) if n in LESS else ()) for n in SLIPS]
)
def test_a_slip_is_caught(name: str) -> None:
    found = catches(name)
    assert found.total() >= 8
    assert 1.0 - found["nothing"] / found.total() >= CAUGHT[name] - TWO_CROPS - 1e-9


@pytest.mark.slow
def test_most_slips_of_all_fields_are_caught() -> None:
    assert set(CAUGHT) == set(SLIPS)
    found = sum((catches(name) for name in SLIPS), Counter[str]())
    print(f"{1.0 - found['nothing'] / found.total():.1%} of {found.total()}: {dict(found)}")
    assert 1.0 - found["nothing"] / found.total() >= ALL_FIELDS


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_in_the_value_alone_falls_out_of_its_range(name: str) -> None:
    """Wherever the number has a range beside it, without any table or trial."""
    slip = SLIPS[name]
    ranged = [c for c in SAMPLE if all("range" in (record(document(c).data, path) or {}) for path in slip.paths)]
    missed = []
    for crop_id in ranged:
        data = with_slip(crop_id, slip, ranges=False)
        assert data is not None
        if not (check_schema(document(crop_id), "crop", data=data) or crop_faults(document(crop_id), data)):
            missed.append(crop_id)
    print(name, len(ranged), "with ranges, missed", missed)
    assert len(missed) <= 0.25 * len(ranged)
