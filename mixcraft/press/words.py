"""Amounts and dates as people say them: lengths, seed, weights and days, in metric or US customary units."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from mixcraft.recipe.calendar import MONTHS
from mixcraft.scoring.words import capital as capital
from mixcraft.scoring.words import listed as listed

Units = Literal["metric", "us"]

INCH_M = 0.0254
"""International inch [m], by definition."""
POUND_KG = 0.45359237
"""Avoirdupois pound [kg], by definition."""
NBSP = "\u00a0"


def plain_number(value: float, digits: int = 2) -> str:
    """A number with at most `digits` decimals and no idle zeros."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def length_words(metres: float, units: Units) -> str:
    """A length: centimetres below a metre, then metres; or inches to a quarter below two feet, then feet and inches."""
    if units == "metric":
        if metres < 0.995:
            cm = 100 * metres
            return f"{plain_number(cm, 1 if cm < 9.95 else 0)}{NBSP}cm"
        return f"{plain_number(metres, 2)}{NBSP}m"
    inches = metres / INCH_M
    if inches < 23.75:
        return f"{_quarters(inches)}{NBSP}in"
    feet, rest = divmod(round(inches), 12)
    return f"{feet}{NBSP}ft" + (f"{NBSP}{rest}{NBSP}in" if rest else "")


def depth_words(metres: float, units: Units) -> str:
    """A depth as a finger finds it: to half a centimetre, above five to a whole one; or to a quarter of an inch."""
    if units == "us":
        return length_words(metres, units)
    cm = 100 * metres
    return f"{plain_number(max(0.5, round(2 * cm) / 2 if cm < 5 else float(round(cm))), 1)}{NBSP}cm"


def _quarters(inches: float) -> str:
    quarters = max(1, round(4 * inches)) if inches < 6 else 4 * round(inches)
    whole, part = divmod(quarters, 4)
    fraction = ("", "¼", "½", "¾")[part]
    return f"{whole or ''}{fraction}" if whole or part else "0"


def area_density(per_m2: float, units: Units) -> str:
    """Plants to the area, such as `25 per m²`."""
    if units == "metric":
        return f"{plain_number(per_m2, 0 if per_m2 >= 9.5 else 1)}{NBSP}per{NBSP}m²"
    per_ft2 = per_m2 * (12 * INCH_M) ** 2
    return f"{plain_number(per_ft2, 0 if per_ft2 >= 9.5 else 1)}{NBSP}per{NBSP}sq{NBSP}ft"


def grams_words(grams: float) -> str:
    """A weight of seed: tenths of a gram below ten grams, then whole grams."""
    if grams < 0.05:
        return f"under{NBSP}0.1{NBSP}g"
    if grams < 9.95:
        return f"{grams:.1f}{NBSP}g"
    return f"{grams:.0f}{NBSP}g"


def rounded_up(count: float) -> int:
    """A number of seeds to count out: up to 20 as it is, then up to the next five, ten or hundred."""
    whole = math.ceil(count - 1e-9)
    step = 1 if whole <= 20 else 5 if whole <= 100 else 10 if whole <= 1000 else 100
    return -(-whole // step) * step


def seeds_words(seeds: float, grams: float) -> str:
    """Seed to weigh out: grams and about how many seeds; a pinch where scales do not help."""
    count = rounded_up(seeds)
    many = f"{'about ' if count > 20 else ''}{thousands(count)}{NBSP}seed{'' if count == 1 else 's'}"
    return f"{'a pinch' if grams < 0.05 else grams_words(grams)}, {many}"


def thousands(count: int) -> str:
    """A whole number with a thin gap at the thousands."""
    return f"{count:,}".replace(",", NBSP) if count >= 10000 else str(count)


def weight_words(kg: float, units: Units) -> str:
    """A harvest: grams to fifty below a kilogram, then kilograms; or ounces, then pounds."""
    if units == "us":
        pounds = kg / POUND_KG
        if pounds < 0.95:
            return f"{max(1, round(16 * pounds))}{NBSP}oz"
        return f"{plain_number(pounds, 1 if pounds < 9.95 else 0)}{NBSP}lb"
    if kg < 0.0075:
        return f"under{NBSP}10{NBSP}g"
    if kg < 0.0975:
        return f"{10 * round(100 * kg)}{NBSP}g"
    if kg < 0.975:
        return f"{50 * round(20 * kg)}{NBSP}g"
    return f"{plain_number(kg, 1 if kg < 9.95 else 0)}{NBSP}kg"


def band_words(low: float, middle: float, high: float, units: Units) -> str:
    """A middle with its 80 % band: ``2.2 kg (1.8 to 2.6)``."""
    centre = weight_words(middle, units)
    if not (np.isfinite(low) and np.isfinite(high)) or weight_words(low, units) == weight_words(high, units):
        return centre
    low_text, high_text = weight_words(max(low, 0.0), units), weight_words(high, units)
    unit = high_text.split(NBSP)[-1]
    if low < 1e-4:
        low_text = "0"
    elif low_text.split(NBSP)[-1] == unit and not low_text.startswith("under"):
        low_text = low_text.split(NBSP)[0]
    return f"{centre} ({low_text} to {high_text})"


def short_day(date: np.datetime64) -> str:
    """A calendar day with a short month, such as ``14 Apr``."""
    text = str(date.astype("datetime64[D]"))
    month = MONTHS[int(text[5:7]) - 1]
    return f"{int(text[8:10])}{NBSP}{month[:3]}"


def days_words(days: float) -> str:
    """A stretch of days: days below two weeks, else weeks."""
    whole = round(days)
    if whole == 1:
        return "day"
    if whole < 14 and whole != 7:
        return f"{whole} days"
    weeks = days / 7.0
    return "week" if round(weeks, 1) == 1 else f"{plain_number(weeks, 1)} weeks"
