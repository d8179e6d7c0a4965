"""Speed of the light model: one state of a bed, and the season that asks for it.  Run alone: ``pytest -m bench tests/bench -s``.

The design asks for 0.1 s for ten plantings in one warm season with voxels of 10 cm and 3 s for thirty weather years; the
bounds here leave room for a machine that is shared and slower, and are tighter where much less time is taken. Only processor
time of this process counts. Three ways to do the same march are printed side by side: the compiled rays, the arrays of NumPy,
and the bare exponentials that a march must take at least, one for each step of each ray in leaves, on one core.
"""

from __future__ import annotations

import os
from functools import lru_cache, partial

import numpy as np
import pytest
from measuring import own_seconds
from strategies import SOWN, bed, planned, planting

from mixcraft.recipe.layout import grid_of
from mixcraft.recipe.model import Bed, OnDate, WholeBed
from mixcraft.recipe.plan import Plan
from mixcraft.season.directions import Directions, day_directions
from mixcraft.season.grow import grow, scout
from mixcraft.season.light_voxels import LAYER_M, voxel_alone, voxel_light
from mixcraft.season.march import COMPILED, march, march_numpy

pytestmark = pytest.mark.bench

TEN_PLANTINGS_S, THIRTY_YEARS_S = 0.1, 1.0
SHARED = 2.0 if os.environ.get("CI") else 1.25
"""So much longer a season may take on a machine that is shared, as it is taken to be on continuous integration."""
ARRAYS_OVER_BARE, COMPILED_OVER_BARE = 300.0, 20.0
LEAST_GAIN = 5.0
"""The compiled march is so much faster than the arrays of NumPy at least, both on one core."""
SLACK = 1.5
"""A linear growth of the time may come out so much steeper on a busy machine."""
TALL = ("runner-bean", "tomato-cordon", "sweet-corn")


timed = partial(own_seconds, times=3)


@lru_cache(maxsize=8)
def mixture(count: int, length_m: float = 3.0) -> Plan:
    """So many plantings over a bed 1.2 m wide, tall ones among them: a design's usual bed."""
    crops = [*TALL, *SOWN]
    way = {"tomato-cordon": "module", "runner-bean": "stations", "sweet-corn": "stations"}
    stands = []
    for n in range(count):
        crop = crops[n % len(crops)]
        stands.append(
            planting(
                crop, f"planting {n}", WholeBed(), OnDate("05-15"), establish=way.get(crop, "drills"),
                density_per_m2=2.0 if crop in TALL else 20.0,
            )
        )  # fmt: skip
    return planned(*stands, one=bed(length_m, 1.2))


def state(count: int, length_m: float = 3.0) -> tuple[tuple[object, ...], Directions]:
    """One state of a bed full of `count` plantings of 0.2 to 2 m, for `voxel_light`, and the light of a midsummer day."""
    grid = grid_of(length_m, 1.2)
    shares = np.full((count, grid.nx * grid.ny), 1.0 / (grid.nx * grid.ny))
    area = length_m * 1.2
    scene = (grid, shares, np.full(count, 3.0 * area / count), np.linspace(0.2, 2.0, count), np.full(count, 0.6))
    return scene, day_directions(51.75, 172.0, 0.5, Bed("bed", length_m, 1.2))


def exponentials(scene: tuple[object, ...], directions: Directions) -> int:
    """Least number of exponentials of a march: steps of rays in leaves."""
    grid, _, _, height, _ = scene
    steps = np.maximum(1, np.ceil(LAYER_M / directions.tan / min(grid.dx_m, grid.dy_m)))  # type: ignore[attr-defined]
    layers = int(np.ceil(np.max(height) / LAYER_M - 1e-9))  # type: ignore[call-overload]
    return int(steps.sum() * layers * grid.nx * grid.ny)  # type: ignore[attr-defined]


def test_one_state_against_arrays_and_bare_exponentials() -> None:
    """Ten plantings on 3 x 1.2 m, one day's directions: printed side by side; and each planting by itself, which is less work."""
    scene, directions = state(10)
    count = exponentials(scene, directions)
    thin, room = np.random.default_rng(1).uniform(-0.5, 0.0, count), np.empty(count)
    bare = timed(lambda: np.exp(thin, out=room))
    arrays, alone = (timed(partial(f, *scene, directions, kernel=march_numpy)) for f in (voxel_light, voxel_alone))  # type: ignore[arg-type, operator]
    print(f"\none state, {len(directions.ux)} directions, {count} exponentials: bare {1e3 * bare:.1f} ms")
    print(f"arrays {1e3 * arrays:.1f} ms: arrays / bare {arrays / bare:.1f}; each by itself {1e3 * alone:.1f} ms")
    assert arrays < ARRAYS_OVER_BARE * bare
    assert alone < arrays
    if COMPILED:
        rays, alone = (timed(partial(f, *scene, directions, kernel=march), times=9) for f in (voxel_light, voxel_alone))  # type: ignore[arg-type, operator]
        print(f"compiled {1e3 * rays:.1f} ms: arrays / compiled {arrays / rays:.1f}, compiled / bare {rays / bare:.1f}")
        print(f"each by itself {1e3 * alone:.1f} ms")
        assert rays < COMPILED_OVER_BARE * bare
        assert LEAST_GAIN * rays < arrays
        assert alone < rays


def test_ten_plantings_in_one_season() -> None:
    """The season of one year with voxels of 10 cm, weather and all, warm on one core."""
    plan = mixture(10)
    scouting, season = timed(lambda: scout(plan)), timed(lambda: grow(plan, 1), times=7)
    print(f"\nten plantings, {plan.days} days: one year {season:.3f} s; scouting for many years {scouting:.3f} s")
    if COMPILED:
        assert season < TEN_PLANTINGS_S * SHARED
    assert season < 1.0


def test_thirty_weather_years() -> None:
    plan = mixture(10)
    found = timed(lambda: grow(plan, 30), times=2)
    print(f"\nten plantings, thirty years, voxels: {found:.3f} s")
    assert found < THIRTY_YEARS_S


def test_the_light_of_a_bed_grows_with_its_area() -> None:
    """Four times the bed takes four times as long, no worse than linear with slack."""
    few, many = (timed(partial(voxel_light, *scene, directions), times=5) for scene, directions in (state(6, 2.0), state(6, 8.0)))  # type: ignore[arg-type]
    print(f"\n2 m of bed {1e3 * few:.1f} ms, 8 m {1e3 * many:.1f} ms")
    assert many < SLACK * 4.0 * few


def test_the_light_of_a_bed_grows_with_its_plantings() -> None:
    """Who takes whose light is a table of plantings by plantings; up to a dozen it must stay near linear."""
    few, many = (timed(partial(voxel_light, *scene, directions), times=5) for scene, directions in (state(3), state(12)))  # type: ignore[arg-type]
    print(f"\n3 plantings {1e3 * few:.1f} ms, 12 plantings {1e3 * many:.1f} ms")
    assert many < SLACK * 4.0 * few


def test_a_season_grows_with_its_bed() -> None:
    few, many = (timed(partial(grow, mixture(5, length), 1)) for length in (2.0, 8.0))
    print(f"\nfive plantings on 2 m {few:.3f} s, on 8 m {many:.3f} s")
    assert many < SLACK * 4.0 * few


def test_a_season_grows_with_its_years() -> None:
    few, many = (timed(partial(grow, mixture(5), years)) for years in (5, 40))
    print(f"\nfive plantings, 5 years {few:.3f} s, 40 years {many:.3f} s")
    assert many < SLACK * 8.0 * few
