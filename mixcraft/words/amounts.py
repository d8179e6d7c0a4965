"""Amounts and dates as people say them: lengths, seed, weights and days, in metric or US customary units."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from .catalogue import ENGLISH, Catalogue

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


class Amount(NamedTuple):
    """A figure and its unit; no unit where the figure has its own, such as ``3 ft 2 in``."""

    figure: str
    unit: str

    @property
    def words(self) -> str:
        """Figure and unit together."""
        return f"{self.figure}{NBSP}{self.unit}" if self.unit else self.figure


def length_amount(metres: float, units: Units) -> Amount:
    """A length: centimetres below a metre, then metres; or inches to a quarter below two feet, then feet and inches."""
    if units == "metric":
        if metres < 0.995:
            cm = 100 * metres
            return Amount(plain_number(cm, 1 if cm < 9.95 else 0), "cm")
        return Amount(plain_number(metres, 2), "m")
    inches = metres / INCH_M
    if inches < 23.75:
        return Amount(_quarters(inches), "in")
    feet, rest = divmod(round(inches), 12)
    return Amount(f"{feet}{NBSP}ft{NBSP}{rest}{NBSP}in", "") if rest else Amount(f"{feet}", "ft")


def length_words(metres: float, units: Units) -> str:
    """A length as `length_amount`, such as ``30 cm``."""
    return length_amount(metres, units).words


def short_list(amounts: Sequence[Amount]) -> list[str]:
    """Amounts in words, the unit only at the last where all have the same."""
    shared = amounts[-1].unit and all(amount.unit == amounts[-1].unit for amount in amounts)
    return [a.figure if shared and i < len(amounts) - 1 else a.words for i, a in enumerate(amounts)]


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


def area_density(per_m2: float, units: Units, t: Catalogue = ENGLISH) -> str:
    """Plants to the area, such as `25 per m²`."""
    number, area = (per_m2, "m²") if units == "metric" else (per_m2 * (12 * INCH_M) ** 2, f"sq{NBSP}ft")
    figure = plain_number(number, 0 if number >= 9.5 else 1)
    return t.gettext("{number}\u00a0per\u00a0{area}").format(number=figure, area=area)


def area_words(square_metres: float, units: Units) -> str:
    """An area, such as `2.5 m²` or `27 sq ft`."""
    number, area = (square_metres, "m²") if units == "metric" else (square_metres / (12 * INCH_M) ** 2, f"sq{NBSP}ft")
    return f"{plain_number(number, 0 if number >= 9.5 else 1)}{NBSP}{area}"


OUNCE_G = 1000.0 * POUND_KG / 16.0
"""Avoirdupois ounce [g], by definition."""
WEIGHED_G, WEIGHED_US_G = 0.25, 2.8
"""Less seed than this is counted, since scales that show a tenth of a gram, or of an ounce, do not weigh it.  Common practice,
no source."""


def grams_words(grams: float, t: Catalogue = ENGLISH, units: Units = "metric") -> str:
    """A weight of seed: tenths of a gram below ten grams, then whole grams, kilograms from one up; or ounces and pounds."""
    if units == "us":
        ounces = grams / OUNCE_G
        if ounces < 0.05:
            return t.gettext("under\u00a0{amount}").format(amount=f"0.1{NBSP}oz")
        return f"{ounces:.{1 if ounces < 9.95 else 0}f}{NBSP}oz" if ounces < 16 else f"{ounces / 16:.1f}{NBSP}lb"
    if grams < 0.05:
        return t.gettext("under\u00a0{amount}").format(amount=f"0.1{NBSP}g")
    if grams >= 950:
        return f"{grams / 1000:.1f}{NBSP}kg"
    return f"{grams:.{1 if grams < 9.95 else 0}f}{NBSP}g"


def rounded_up(count: float) -> int:
    """A number of seeds to count out: up to 20 as it is, then up to the next five, ten or hundred."""
    whole = math.ceil(count - 1e-9)
    step = 1 if whole <= 20 else 5 if whole <= 100 else 10 if whole <= 1000 else 100
    return -(-whole // step) * step


def seeds_words(seeds: float, grams: float, t: Catalogue = ENGLISH, units: Units = "metric") -> str:
    """Seed to have ready: grams and about how many seeds; only their number where scales do not help."""
    count = rounded_up(seeds)
    many = t.ngettext("{number}\u00a0seed", "{number}\u00a0seeds", count).format(number=thousands(count))
    many = t.gettext("about {number}").format(number=many) if count > 20 else many
    if not is_weighed(grams, units):
        return many
    return f"{grams_words(grams, t, units)}, {many}"


def is_weighed(grams: float, units: Units = "metric") -> bool:
    """Whether a gardener's scales weigh so much seed."""
    return grams >= (WEIGHED_G if units == "metric" else WEIGHED_US_G)


GALLON_L = 3.785411784
"""US liquid gallon [l], by definition."""


def litres_words(litres: float, units: Units, t: Catalogue = ENGLISH) -> str:
    """Water to two figures, from a litre up: ``65 l``; or US gallons."""
    amount, unit = (litres, "l") if units == "metric" else (litres / GALLON_L, "gal")
    whole = max(1.0, float(f"{amount:.2g}"))
    return f"{whole:.0f}{NBSP}{unit}"


def thousands(count: int) -> str:
    """A whole number with a thin gap at the thousands."""
    return f"{count:,}".replace(",", NBSP) if count >= 10000 else str(count)


def weight_amount(kg: float, units: Units) -> Amount:
    """A harvest: grams to fifty below a kilogram, then kilograms; or ounces, then pounds."""
    if units == "us":
        pounds = kg / POUND_KG
        if pounds < 0.95:
            return Amount(f"{max(1, round(16 * pounds))}", "oz")
        return Amount(plain_number(pounds, 1 if pounds < 9.95 else 0), "lb")
    if kg < 0.0975:
        return Amount(f"{10 * round(100 * kg)}", "g")
    if kg < 0.975:
        return Amount(f"{50 * round(20 * kg)}", "g")
    return Amount(plain_number(kg, 1 if kg < 9.95 else 0), "kg")


LEAST_WEIGHED_KG = 0.0075
"""A harvest below this is too little for kitchen scales: it is given as under ten grams.  Common practice, no source."""


def weight_words(kg: float, units: Units, t: Catalogue = ENGLISH) -> str:
    """A harvest as `weight_amount`, such as ``350 g``; ``under 10 g`` for what scales do not show."""
    if units == "metric" and kg < LEAST_WEIGHED_KG:
        return t.gettext("under\u00a0{amount}").format(amount=f"10{NBSP}g")
    return weight_amount(kg, units).words


def band_words(low: float, middle: float, high: float, units: Units, t: Catalogue = ENGLISH) -> str:
    """A middle with its 80 % band: ``2.2 kg (1.8 to 2.6)``."""
    centre = weight_words(middle, units, t)
    if not (np.isfinite(low) and np.isfinite(high)) or weight_words(low, units, t) == weight_words(high, units, t):
        return centre
    low = max(low, 0.0)
    first, last = weight_words(low, units, t), weight_words(high, units, t)
    if low < 1e-4:
        first = "0"
    elif units == "us" or low >= LEAST_WEIGHED_KG:
        first = short_list((weight_amount(low, units), weight_amount(high, units)))[0]
    return t.gettext("{middle} ({low} to {high})").format(middle=centre, low=first, high=last)


def days_words(days: float, t: Catalogue = ENGLISH) -> str:
    """A stretch of days, as it follows `every`: whole weeks where it is some, else days, and weeks again from two months on."""
    whole = round(days)
    if whole == 1:
        return t.gettext("day")
    if whole < 60 and whole % 7:
        return t.gettext("{number} days").format(number=whole)
    weeks = round(days / 7.0)
    return t.gettext("week") if weeks == 1 else t.gettext("{number} weeks").format(number=weeks)
