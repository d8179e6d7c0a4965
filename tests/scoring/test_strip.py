"""Which weeks are judged: those of the household, whether the recipe starts in time or not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, planned, planting

from mixcraft.recipe.model import OnDate, Plate, Serves
from mixcraft.recipe.plan import Plan
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.strip import Weeks, judged_weeks, strip_gaps, wanted_windows
from mixcraft.season.grow import grow


def month_days(settled: Plan, window: tuple[int, int]) -> tuple[str, str]:
    """A window as its first and last month and day."""
    first, last = (str(settled.date(day))[5:10] for day in window)
    return first, last


@pytest.mark.parametrize("sown", ["04-15", "08-01"])
def test_a_plate_is_wanted_whole_wherever_the_recipe_starts(sown: str) -> None:
    """From 1 May until 31 October, 184 days, for a bed sown in April and for one first sown in August."""
    settled = planned(planting("radish", start=OnDate(sown)), one=bed(plate=Plate("05-01", "10-31")))
    this = next(w for w in wanted_windows(settled) if w[0] <= 200 and w[1] >= 0)
    assert month_days(settled, this) == ("05-01", "10-31")
    assert this[1] - this[0] == 183
    assert (this[0] < 0) == (sown == "08-01")


def test_the_beds_plate_goes_before_the_gardens_and_both_before_the_frosts() -> None:
    settled = planned(planting("kale"))
    (usual, *_) = [w for w in wanted_windows(settled) if w[1] > 0]
    sky = settled.almanac
    offset = int((settled.start - sky.start).astype(int))
    assert usual[0] == sky.last_spring_frost + 7 * constants()["window_after_weeks"] - offset
    ours = replace(settled, garden=replace(settled.garden, plate=Plate("06-01", "09-30")))
    assert month_days(ours, next(w for w in wanted_windows(ours) if w[1] > 0)) == ("06-01", "09-30")
    own = replace(ours, bed=replace(ours.bed, plate=Plate("06-15", "09-30")))
    assert month_days(own, next(w for w in wanted_windows(own) if w[1] > 0)) == ("06-15", "09-30")


def test_a_recipe_for_part_of_the_year_is_judged_on_that() -> None:
    """A spring bed that serves from 1 May until 15 June, in a garden that wants to eat until October."""
    settled = planned(planting("radish"), one=bed(plate=Plate("05-01", "10-31", portions=4.0)))
    spring = replace(settled, recipe=replace(settled.recipe, serves=Serves("05-01", "06-15")))
    assert month_days(spring, next(w for w in wanted_windows(spring) if w[1] > 0)) == ("05-01", "06-15")
    whole, part = (Evidence(grow(p, 2, 11, voxels=False)) for p in (settled, spring))
    assert (whole.weeks.wanted.sum(), part.weeks.wanted.sum()) == (27, 7)
    assert part.wanted.portions == whole.wanted.portions == 4.0
    assert score(part.season).part("continuity").score > score(whole.season).part("continuity").score


def test_a_plate_over_new_year() -> None:
    """From November until March is five months, not minus seven."""
    settled = planned(planting("kale", start=OnDate("06-01")), one=bed(plate=Plate("11-01", "03-31")))
    for window in wanted_windows(settled):
        assert window[1] - window[0] == 150
        assert month_days(settled, window) == ("11-01", "03-31")


def test_judged_weeks_by_hand() -> None:
    """A week is wanted if its fourth day lies in the window.  Of eight weeks and days 10 to 30 those that begin on day 7,
    14 and 21; of days -9 to 3 the week before the first and the first, with two weeks put before; of days 40 to 69 those from
    day 42 (its fourth day is 45) until that of day 63, after the season's end; the last begins on day 63."""
    weeks = judged_weeks(8, (10, 30))
    assert (weeks.before, weeks.total, np.nonzero(weeks.wanted)[0].tolist()) == (0, 8, [1, 2, 3])
    weeks = judged_weeks(8, (-9, 3))
    assert (weeks.before, weeks.total, np.nonzero(weeks.wanted)[0].tolist()) == (2, 10, [1, 2])
    weeks = judged_weeks(8, (40, 69))
    assert (weeks.before, weeks.total, np.nonzero(weeks.wanted)[0].tolist()) == (0, 10, [6, 7, 8, 9])
    spread = judged_weeks(2, (-7, 20)).spread(np.array([5.0, 6.0]))
    assert spread.tolist() == [0.0, 5.0, 6.0, 0.0]


def test_gaps_by_hand() -> None:
    """A bed first sown on 1 April, two weeks put before, of eight weeks the second to the seventh wanted: empty are weeks
    0 (not wanted), 1 and 2, and 6.  Weeks 1 and 2 run from a week before the first sowing until its seventh day, 25 March to
    7 April; week 6, four weeks after it, from 29 April to 5 May."""
    settled = planned(planting("radish", start=OnDate("04-01")))
    weeks = Weeks(2, 8, np.array([False, *[True] * 6, False]))
    empty = np.array([True, True, True, False, False, False, True, True])
    found = [(str(gap.start)[5:], str(gap.end)[5:], gap.weeks) for gap in strip_gaps(settled, weeks, empty)]
    assert found == [("03-25", "04-07", 2), ("04-29", "05-05", 1)]
