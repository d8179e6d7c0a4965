"""Sample directions of beam and sky reproduce integrals over the day and the hemisphere."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from mixcraft.place.sky import clear_beam_on_flat, day_beam_samples, half_day_hours, sky_directions
from mixcraft.place.sun import sun_position

K_LAI = (0.3, 1.0, 2.5)  # leaf area index times extinction of a level canopy at the zenith
BEAM_SHARE = 0.02  # of the day's beam; five samples
SKY_SHARE = 0.02  # of the sky's light; three rings


def fine_day(latitude: float, day: int) -> tuple[np.ndarray, np.ndarray]:
    """Elevations and normalised energies of 2000 instants of a day, symmetrical about noon."""
    half = float(half_day_hours(latitude, day))
    hours = 12 + half * (2 * (np.arange(2000) + 0.5) / 2000 - 1)
    _, elevation = sun_position(latitude, day, hours)
    energy = clear_beam_on_flat(elevation)
    return elevation, energy / energy.sum()


@pytest.mark.parametrize("latitude", [0.0, 35.0, 52.0, 60.0, -35.0])
@pytest.mark.parametrize("day", [15, 105, 172, 265, 350])
def test_beam_through_a_level_canopy(latitude: float, day: int) -> None:
    azimuth, elevation, weight = day_beam_samples(latitude, day)
    fine_elevation, energy = fine_day(latitude, day)
    assert weight.sum() == pytest.approx(1)
    assert (elevation > 0).all()
    assert azimuth.shape == elevation.shape == weight.shape == (5,)
    for k_lai in K_LAI:
        exact = (energy * np.exp(-k_lai / np.sin(np.deg2rad(np.maximum(fine_elevation, 0.1))))).sum()
        ours = (weight * np.exp(-k_lai / np.sin(np.deg2rad(elevation)))).sum()
        assert ours == pytest.approx(exact, abs=BEAM_SHARE)


def test_beam_of_many_days_at_once_is_that_of_each() -> None:
    days = np.array([1, 100, 200])
    together = day_beam_samples(52.0, days, n=7)
    for row, day in enumerate(days):
        for all_days, one in zip(together, day_beam_samples(52.0, day, n=7), strict=True):
            assert all_days[row] == pytest.approx(one)


def test_noon_carries_most_and_morning_mirrors_afternoon() -> None:
    azimuth, elevation, weight = day_beam_samples(52.0, 172)
    assert weight.argmax() == 2
    assert weight == pytest.approx(weight[::-1])
    assert elevation == pytest.approx(elevation[::-1], abs=0.2)
    assert azimuth + azimuth[::-1] == pytest.approx(np.full(5, 360.0), abs=0.5)


def test_no_sun_no_weight_and_no_harm() -> None:
    _, elevation, weight = day_beam_samples(75.0, np.array([355, 172]))
    assert (weight[0] == 0).all()
    assert (elevation[0] > 0).all()
    assert weight[1].sum() == pytest.approx(1)


def test_one_sample_stands_at_noon() -> None:
    azimuth, _, weight = day_beam_samples(52.0, 172, n=1)
    assert azimuth == pytest.approx([180.0])
    assert weight == pytest.approx([1.0])


@pytest.mark.parametrize("sky", ["uniform", "overcast"])
def test_sky_through_a_level_canopy(sky: str) -> None:
    azimuth, elevation, weight = sky_directions(sky=sky)  # type: ignore[arg-type]
    assert weight.sum() == pytest.approx(1)
    assert azimuth.size == 18
    zenith = (np.arange(20000) + 0.5) / 20000 * np.pi / 2
    bright = np.ones_like(zenith) if sky == "uniform" else 1 + 2 * np.cos(zenith)
    energy = bright * np.cos(zenith) * np.sin(zenith)
    for k_lai in K_LAI:
        exact = (energy * np.exp(-k_lai / np.cos(zenith))).sum() / energy.sum()
        ours = (weight * np.exp(-k_lai / np.sin(np.deg2rad(elevation)))).sum()
        assert ours == pytest.approx(exact, abs=SKY_SHARE)


def test_overcast_sky_is_brighter_overhead() -> None:
    uniform, overcast = sky_directions(), sky_directions(sky="overcast")
    high = uniform[1] > 60
    assert overcast[2][high].sum() > uniform[2][high].sum()


def test_neighbouring_rings_do_not_share_an_azimuth() -> None:
    azimuth = sky_directions(2)[0]
    assert np.unique(azimuth.round(6)).size == azimuth.size


@pytest.mark.parametrize("around", [1, 4, 5, 6, 24])
def test_the_sky_is_the_same_on_either_side_of_the_meridian(around: int) -> None:
    azimuth, elevation, weight = sky_directions(3, around)
    assert azimuth.size == 3 * around
    east = sorted(zip(azimuth.round(6) % 360.0, elevation.round(6), weight.round(12), strict=True))
    west = sorted(zip((-azimuth).round(6) % 360.0, elevation.round(6), weight.round(12), strict=True))
    assert east == west


@pytest.mark.parametrize(("arguments", "message"), [((0, 6), "1 x 1"), ((3, 0), "1 x 1"), ((3, 6, "blue"), "'blue'")])
def test_bad_sky_is_refused(arguments: tuple[Any, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        sky_directions(*arguments)


def test_no_beam_samples_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1 beam sample"):
        day_beam_samples(52.0, 100, n=0)
