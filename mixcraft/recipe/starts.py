"""Start rules: when a planting begins in the normal year of a place."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from mixcraft.crops.clock import Clock
from mixcraft.crops.development import NEVER
from mixcraft.files.shelf import Same, Shelf

from .calendar import SEARCH_DAYS, Almanac
from .constants import constant
from .covering import Span
from .model import After, AutumnFrost, OnDate, Planting, SpringFrost, WarmSoil

STAY_DAYS = int(constant("soil_stays"))
"""The soil must stay warm enough for this long before a sowing counts as due.  Common practice, no source."""


class StartError(ValueError):
    """The start never comes; `where` is the field to mend, `repair` what to write."""

    def __init__(self, message: str, where: tuple[str | int, ...], repair: str) -> None:
        super().__init__(message)
        self.where, self.repair = where, repair


def start_day(
    planting: Planting,
    sky: Almanac,
    starts: Mapping[str, int],
    clocks: Mapping[str, Clock],
    windows: Mapping[str, tuple[int, int]],
    keep: Shelf | None = None,
    over: tuple[Span, ...] = (),
) -> int:
    """Day index of the almanac on which `planting` starts.

    `starts`, `clocks` and `windows` (first and last picking) hold the plantings already settled, `keep` soil
    temperatures of the almanac; `over` is the structure in which the bed stands.  Raises `StartError`.
    """
    match planting.start:
        case OnDate(month_day, hemisphere):
            return sky.month_day(month_day, hemisphere=hemisphere)
        case WarmSoil() as rule:
            return _soil_day(planting, rule, sky, Shelf() if keep is None else keep, over)
        case SpringFrost(weeks):
            base = sky.last_spring_frost if sky.last_spring_frost is not None else sky.coldest_day
            return _within_year(base + round(7 * weeks))
        case AutumnFrost(weeks):
            base = sky.first_autumn_frost if sky.first_autumn_frost is not None else sky.coldest_day + 365
            return _within_year(base + round(7 * weeks))
        case After(other, event, wait):
            day = _event_day(event, other, starts, clocks, windows)
            if day >= NEVER or day < 0:
                raise StartError(
                    f"{planting.name} waits for {other} to reach {event.replace('-', ' ')}, which never happens here",
                    ("event",), f"wait for another event of {other}, or give a start such as `kind: date, on: 06-01`",
                )  # fmt: skip
            return int(day + wait)


def _within_year(day: int) -> int:
    return day + 365 if day < 0 else day


def _event_day(
    event: str, name: str, starts: Mapping[str, int], clocks: Mapping[str, Clock], windows: Mapping[str, tuple[int, int]]
) -> int:
    if event == "start":
        return starts[name]
    if event == "emergence":
        return int(clocks[name].emergence[0])
    if event == "first-harvest":
        return windows[name][0]
    return windows[name][1]


def _soil_day(planting: Planting, rule: WarmSoil, sky: Almanac, keep: Shelf, over: tuple[Span, ...]) -> int:
    return int(keep(("warm", Same(planting), rule, over), lambda: _first_warm_day(planting, rule, sky, over)))


def _first_warm_day(planting: Planting, rule: WarmSoil, sky: Almanac, over: tuple[Span, ...]) -> int:
    soil = sky.soil_c(planting.set_m, over)[0]
    begin = sky.month_day(rule.not_before) if rule.not_before else max(0, sky.coldest_day)
    warm = soil[:SEARCH_DAYS] >= rule.at_least_c
    run = np.convolve(warm.astype(int), np.ones(STAY_DAYS, dtype=int), mode="valid") == STAY_DAYS
    days = np.nonzero(run[begin : begin + 365])[0]
    if days.size == 0:
        best = float(soil[begin : begin + 365].max())
        when = sky.words(begin + int(soil[begin : begin + 365].argmax()))
        raise StartError(
            f"{planting.name}: the soil never stays at {rule.at_least_c:g} C at {sky.place.name}; it comes to {best:.1f} C "
            f"about {when}", ("at_least",), f"ask for at most {np.floor(best - 0.5):g} C, or plant out modules by a frost rule",
        )  # fmt: skip
    return int(begin + days[0])
