"""The calendar year of a plan: its days count on a year without leap days, a card is for a year with a number."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from mixcraft.recipe.plan import Plan

PAST_DAYS = 60
"""A season that began so long ago is still this year's; one that began earlier is next year's.  Common practice, no source."""


def season_year(plan: Plan, today: date) -> int:
    """Year with the first sowing of `plan` for somebody who asks on the day `today`."""
    return today.year if real_date(plan, 0, today.year) >= today - timedelta(days=PAST_DAYS) else today.year + 1


def real_date(plan: Plan, day: int, year: int) -> date:
    """Day index `day` of `plan` as a date, where day 0 lies in `year`."""
    return in_year(plan, plan.date(day), year)


def in_year(plan: Plan, when: np.datetime64, year: int) -> date:
    """A date of the plan's own count in the year that it has in print."""
    whole = str(when.astype("datetime64[D]"))
    first = int(str(plan.start.astype("datetime64[Y]")))
    return date(year + int(whole[:4]) - first, int(whole[5:7]), int(whole[8:10]))
