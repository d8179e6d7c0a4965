"""Soil temperature against the damped wave, published examples, heat conduction, and Rothamsted's thermometers."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from mixcraft.place import reference_place, soil
from mixcraft.place.monthly import daily_curve, monthly_means
from mixcraft.place.weather import weather_years

DAY_S = 86400.0
YEAR_D = 365.25
DIFFUSIVITY = 0.5e-6

ONE_MILLIMETRE = 0.001
TWENTIETH_OF_A_DEGREE = 0.05
TENTH_OF_A_DEGREE = 0.1
# soil taken from air temperature alone: textbooks name 1-2 C (Campbell & Norman 1998, recalled); the sun warms
# bare soil in June by the upper end of it, and the thermometers are read at 09 h, not as a mean of the day
AIR_TO_SOIL_C = 2.0
AIR_TO_SOIL_RMS_C = 1.0
SOWING_MONTHS = slice(2, 5)  # March to May, where the model decides when to sow
SOWING_C = 1.5


def table(name: str) -> list[dict[str, str]]:
    """Rows of a file of tests/outside/data; each row names its source and where in it."""
    with (Path(__file__).parent / "data" / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def example(item: str, quantity: str) -> float:
    return next(float(r["value"]) for r in table("place_soil_wave.csv") if r["item"] == item and r["quantity"] == quantity)


def rothamsted(quantity: str) -> np.ndarray:
    return np.array([float(r["value"]) for r in table("place_rothamsted.csv") if r["quantity"].startswith(quantity)])


def test_published_daily_wave() -> None:
    # Ochsner 2019, Fig. 13-6: 0.5e-6 m2/s, 7 C at the surface
    depth = soil.damping_depth(example("daily wave", "thermal diffusivity alpha"), DAY_S)
    assert depth * 100 == pytest.approx(example("daily wave", "damping depth d"), abs=0.05)
    hours = np.linspace(0, 1, 2400, endpoint=False)
    wave = soil.damped_wave(hours, 0.10, 0.0, example("daily wave", "surface amplitude"), 1.0, DIFFUSIVITY)
    assert wave.max() == pytest.approx(example("daily wave", "amplitude at 10 cm"), abs=0.05)
    lag = 24 * (hours[wave.argmax()] - 0.25)
    assert lag == pytest.approx(example("daily wave", "phase lag at 10 cm, d=11.7 cm"), abs=0.02)


def test_published_annual_wave() -> None:
    daily, annual = soil.damping_depth(DIFFUSIVITY, DAY_S), soil.damping_depth(DIFFUSIVITY, 365 * DAY_S)
    assert annual / daily == pytest.approx(example("annual vs daily", "ratio of damping depths"), abs=0.05)
    assert annual == pytest.approx(example("annual wave", "damping depth d at alpha=0.50e-6"), abs=0.005)
    days = np.arange(0, 365, 0.1)
    wave = soil.damped_wave(days, float(annual), 0.0, 1.0, 365.0, DIFFUSIVITY)
    assert 100 * wave.max() == pytest.approx(example("any", "amplitude at depth d relative to surface"), abs=0.5)
    metre = soil.damped_wave(days, 1.0, 0.0, 1.0, 365.0, DIFFUSIVITY)
    assert days[metre.argmax()] - 365 / 4 == pytest.approx(example("annual wave", "phase lag at 1 m, d=2.24 m"), abs=0.1)


def test_published_exercise_depth_of_five_percent() -> None:
    kappa = example("annual wave exercise", "input thermal diffusivity")
    assert soil.damping_depth(kappa, 365 * DAY_S) == pytest.approx(
        example("annual wave exercise", "damping depth d"), abs=ONE_MILLIMETRE
    )
    depth = example("annual wave exercise", "depth with 5 % amplitude")
    wave = soil.damped_wave(np.arange(0, 365, 0.1), depth, 0.0, 1.0, 365.0, kappa)
    assert wave.max() == pytest.approx(0.05, abs=0.0005)


@pytest.mark.parametrize("depth_m", [0.02, 0.05, 0.10, 0.30])
def test_series_of_an_annual_wave_is_the_analytic_wave(depth_m: float) -> None:
    days = np.arange(1.0, 731.0)
    surface = soil.damped_wave(days, 0.0, 10.0, 8.0, YEAR_D)
    assert soil.soil_temperature(surface[np.newaxis], depth_m)[0] == pytest.approx(
        soil.damped_wave(days, depth_m, 10.0, 8.0, YEAR_D), abs=0.005
    )


@pytest.mark.parametrize("period_d", [6.0, 12.0, 30.0])
@pytest.mark.parametrize("depth_m", [0.05, 0.10, 0.20])
def test_warm_and_cold_spells_are_damped_like_waves_of_their_length(period_d: float, depth_m: float) -> None:
    # van Wijk & de Vries 1963: a wave of any period falls by exp(-z/d) and lags by z/d
    days = np.arange(0.5, 800.0)
    spell = soil.damped_wave(days, 0.0, 0.0, 4.0, period_d)
    ours = soil.soil_temperature(spell[np.newaxis], depth_m)[0][400:]
    expected = soil.damped_wave(days, depth_m, 0.0, 4.0, period_d)[400:]
    # the surface is constant within a day, which blunts a wave of six days by 0.18 C of its 4
    assert ours == pytest.approx(expected, abs=0.35 if period_d < 10 else TENTH_OF_A_DEGREE)


def conducted(surface: np.ndarray, start: np.ndarray, dz: float, steps: int, depths: list[float]) -> np.ndarray:
    """Daily mean temperature at depths by Crank-Nicolson conduction, surface constant within a day."""
    n = start.size
    r = DIFFUSIVITY * DAY_S / steps / dz**2 / 2
    laplace = np.diag(np.full(n, -2.0)) + np.diag(np.ones(n - 1), 1) + np.diag(np.ones(n - 1), -1)
    laplace[-1, -1] = -1.0  # no flow through the bottom
    forward = np.linalg.solve(np.eye(n) - r * laplace, np.column_stack([np.eye(n) + r * laplace, 2 * r * np.eye(n)[:, 0]]))
    state, nodes = start.copy(), [round(depth / dz) - 1 for depth in depths]
    out = np.empty((len(depths), surface.size))
    for day, top in enumerate(surface):
        mean = 0.0
        for _ in range(steps):
            before = state
            state = forward[:, :n] @ state + forward[:, n] * top
            mean = mean + (before[nodes] + state[nodes]) / 2 / steps
        out[:, day] = mean
    return out


def test_against_numerical_heat_conduction() -> None:
    place = reference_place("Champion")  # continental: the hardest spells
    weather = weather_years(place, "2023-01-01", 365, years=1, seed=3)
    wave = soil.annual_wave(place)
    dz, depths = 0.02, [0.04, 0.10, 0.20]
    grid = dz * np.arange(1, 301)  # 6 m
    period = soil.damping_depth(DIFFUSIVITY, YEAR_D * DAY_S)
    start = np.array([float(wave.at(0.5, z, DIFFUSIVITY)) for z in grid])
    assert period == pytest.approx(2.24, abs=0.01)
    numeric = conducted(weather.tmean_c[0], start, dz, 24, depths)
    for row, depth in enumerate(depths):
        ours = soil.soil_temperature(weather.tmean_c, depth, dates=weather.dates, annual=wave)[0]
        assert np.abs(ours - numeric[row])[5:].max() < 0.2, depth
        assert np.sqrt(np.mean((ours - numeric[row])[5:] ** 2)) < TWENTIETH_OF_A_DEGREE


@pytest.mark.parametrize(
    ("quantity", "depth_m"),
    [("soil temperature 10 cm", 0.10), ("soil temperature 20 cm", 0.20)],
)
def test_monthly_means_against_rothamsted_thermometers(quantity: str, depth_m: float) -> None:
    air = daily_curve(rothamsted("mean air temperature"))
    ours = monthly_means(soil.soil_temperature(air[np.newaxis], depth_m)[0])
    measured = rothamsted(quantity)
    assert np.abs(ours - measured).max() < AIR_TO_SOIL_C
    assert np.sqrt(np.mean((ours - measured) ** 2)) < AIR_TO_SOIL_RMS_C
    assert np.abs(ours - measured)[SOWING_MONTHS].max() < SOWING_C
