"""A plan of six beds over three years: how long it takes, that no rotation rule is broken, and what the household eats.

`python tests/bench/test_years_speed.py --time 120` prints the table.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace

import numpy as np
import pytest

from mixcraft.design.years import GardenYear, broken_rotations, garden_years
from mixcraft.files import resource
from mixcraft.recipe.model import Bed, Garden, Plate, Trellis
from mixcraft.recipe.reading import load_garden
from mixcraft.words.years import years_lines

MOST_S = 300.0


def six_beds() -> Garden:
    """The demonstration's place with six beds and a household of four."""
    base = load_garden(resource("recipes_demo", "kiln-lane.garden.yaml"))
    trellis = (Trellis("north", 1.8),)
    beds = (
        Bed("one", 3.0, 1.2, 90.0), Bed("two", 4.0, 1.2, 0.0, trellis), Bed("three", 2.4, 1.0, 90.0), Bed("four", 4.0, 1.2, 0.0),
        Bed("five", 3.0, 1.2, 90.0, history=((1, ("potato-maincrop",)),)), Bed("six", 2.0, 1.0, 0.0, history=((1, ("kale",)),)),
    )  # fmt: skip
    return replace(base, beds=beds, plate=Plate("05-15", "10-31", portions=28.0, people=4, kinds=5))


def planned(seconds: float) -> tuple[tuple[GardenYear, ...], float, float]:
    """The plan, and the seconds of the clock and of the processor that it took."""
    clock, processor = time.monotonic(), time.process_time()
    made = garden_years(six_beds(), 3, seconds=seconds)
    return made, time.monotonic() - clock, time.process_time() - processor


@pytest.mark.bench
def test_six_beds_over_three_years_take_less_than_five_minutes() -> None:
    made, clock, processor = planned(120.0)
    print("\n".join([*years_lines(made), f"{clock:.0f} s of the clock, {processor:.0f} s of a processor"]))
    assert broken_rotations(made) == []
    assert all(one.recipe is not None for year in made for one in year.beds)
    assert processor < 2.0 * MOST_S
    for year in made:
        assert np.mean(year.served) > 0.6


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--time", type=float, default=120.0)
    found, clock_s, processor_s = planned(parser.parse_args().time)
    print("\n".join([*years_lines(found), f"{clock_s:.0f} s of the clock, {processor_s:.0f} s of a processor"]))
    print("broken rotations:", broken_rotations(found))
