"""What sowings and plantings of two dates give, one over the other, against published trials.

Bounds of each: the least that a kind gave from the one date over the most from the other, and the most over the least.
"""

from __future__ import annotations

import numpy as np
from alone import grow_alone

from mixcraft.crops import load_crop
from mixcraft.place.places import reference_place


def given(crop: str, place: str, how: str, dates: tuple[str, str]) -> tuple[float, float]:
    """Middle yields of nine years [kg/m2] from two dates."""
    grown = grow_alone(load_crop(crop), reference_place(place), how, dates, years=9)
    first, second = np.median(grown.yields, axis=0)
    return float(first), float(second)


def test_faba_beans_sown_into_the_heat_give_about_half() -> None:
    """Source: Kirra AK, Abdelmula AA, Gasim SM 2014, Effect of terminal heat stress on performance of five faba bean genotypes
    grown under semi-arid conditions of Sudan, http://khartoumspace.uofk.edu/handle/123456789/9174 (abstract read).

    Watered at Shambat, Khartoum: sown on 15 December 1199 to 2090 kg/ha by kind, on 15 November 2769 to 4054; 46 % less in all.
    Atbara, down the Nile, has 31 C by day in January and 37 C in March as well.
    """
    timely, late = given("broad-bean", "Atbara", "seed", ("11-15", "12-15"))
    assert timely > 0.5
    assert 1198.8 / 4053.5 <= late / timely <= 2090.0 / 2768.7


def test_faba_beans_of_autumn_give_double_those_of_spring_where_they_live() -> None:
    """Source: Optimizing faba bean cultivation: assessing varietal performance in spring and fall, Frontiers in Agronomy 2024,
    https://doi.org/10.3389/fagro.2024.1474528 (abstract read).

    Petersburg, Virginia, seven kinds: sown in late September, early and late October double the grain of late February, late
    March and mid April.  Richmond lies 32 km off; of our years those count whose winter all three autumn sowings outlived.
    """
    dates = ("09-25", "10-07", "10-27", "02-25", "03-25", "04-15")
    yields = grow_alone(load_crop("broad-bean"), reference_place("Richmond, VA"), "seed", dates, years=30).yields
    lived = (yields[:, :3] > 0.1).all(axis=1)
    assert lived.sum() >= 5
    assert 1.5 <= yields[lived, :3].mean() / yields[lived, 3:].mean() <= 2.5


def test_shallots_of_spring_give_as_much_as_those_of_autumn() -> None:
    """Source: theses of the University of Ljubljana, Period of planting of shallots, 2020 and 2022,
    https://repozitorij.uni-lj.si/IzpisGradiva.php?id=124493 and id=135940 (abstracts read).

    Planted on 25 October 12.5 to 32.6 t/ha by kind, on 12 March 27.7 to 42.7; round kinds gave more from spring over two years.
    Zagreb is the nearest reference place.
    """
    autumn, spring = given("shallot", "Zagreb", "set", ("10-25", "03-12"))
    assert spring > 0.5
    assert 12.5 / 42.7 <= autumn / spring <= 32.6 / 27.7


def test_garlic_planted_six_weeks_later_gives_less_by_as_much_as_at_seattle() -> None:
    """Source: Garlic.jl, data/CUH/HarvestData.csv, https://github.com/cropbox/Garlic.jl: dry bulbs of plants lifted at Seattle.

    Last lifting of each year, late planting over early: Spanish Roja 13.7 / 19.4 g (17 December over 30 October), 10.3 / 17.3 g
    (20 November over 3 October); Korean Mountain 11.7 / 14.1 g (17 December over 13 October), 9.5 / 10.8 g (20 November over 3
    October): 0.60 to 0.88, bounds of the mean of three such pairs.  Olympia is the nearest reference place.
    """
    shares = []
    for dates in (("10-03", "11-20"), ("10-30", "12-17"), ("10-13", "12-17")):
        early, late = given("garlic", "Olympia, WA", "clove", dates)
        assert early > 0.5
        shares.append(late / early)
    assert 10.3 / 17.3 <= np.mean(shares) <= 9.5 / 10.8
