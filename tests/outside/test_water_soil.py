"""Soil water against FAO-56: its worked examples, its tables, a public run of its method, and the method by the book.

Source: Allen RG, Pereira LS, Raes D, Smith M (1998) Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, chapters
7 and 8: eqs. 69 to 88, Tables 17, 19 and 22, Examples 35 to 37; values in data/water_fao56.csv with their marks (read in
public transcriptions, from memory, or by hand from the equations).  Example 35 in its corrected form is data/
water_example_35.csv; the run of pyfao56 (Thorp, USDA-ARS, CC0) over a dry cotton field is data/water_cotton_2013.csv.

Tolerances, set before the runs: FAO prints Ks, Kr and Ke to 0.01 and water to 0.1 or 1 mm, and Example 35 carries on numbers
that it prints rounded, so that its coefficients are asked within two printed digits; pyfao56 prints three decimals.  For
transpiration of the layered soil against one bucket by the book a tenth is asked while soil dries down, for the dual method
itself is said to lie within some 10 to 15 % of lysimeters (from memory); a fifth over a season with rain, for the bucket
hides light rain on dry soil that the layers let roots take at once.
"""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from looping import each
from numpy.typing import NDArray
from season.oracle.water import (
    SOILS,
    BedWater,
    available_water_m3_m3,
    depletion_share,
    evaporation_coefficient,
    evaporation_reduction,
    fallow_states,
    greatest_coefficient,
    root_layers,
    stress,
    texture,
)
from strategies import bed, grown, place, planned, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.model import OnDate, Watering
from mixcraft.season.constants import constant
from mixcraft.season.result import Season
from mixcraft.season.setting import season_weather, settle

Floats = NDArray[np.float64]

DATA = Path(__file__).parent / "data"
ONE_TENTH_MM = 0.051
ONE_MM = 0.51
ONE_HUNDREDTH = 0.0051
TWO_HUNDREDTHS = 0.0201
THIRD_DECIMAL = 0.0016
HALF_A_STEP = 0.0251
ONE_TENTH, ONE_FIFTH = 0.1, 0.2
YEARS = 4
RAIN, WEEKLY, WATERED = Watering("rain"), Watering("weekly", 25.0), Watering("watered")


def table(name: str) -> list[dict[str, str]]:
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def rows(quantity: str) -> list[dict[str, str]]:
    found = [row for row in table("water_fao56") if row["quantity"].startswith(quantity)]
    assert found, quantity
    return found


def within(row: dict[str, str], value: float) -> bool:
    return float(row["value"]) <= value <= float(row["value_max"])


def named(row: dict[str, str]) -> str:
    return row["item"]


@each("row", rows("available water"), ids=named)
def test_available_water_lies_in_the_range_of_table_19(row: dict[str, str]) -> None:
    assert within(row, available_water_m3_m3()[row["item"]])


@each("row", rows("wilting point"), ids=named)
def test_wilting_point_lies_in_the_range_of_table_19(row: dict[str, str]) -> None:
    assert within(row, texture(row["item"]).wilting)


@each("row", rows("readily evaporable water"), ids=named)
def test_readily_evaporable_water_lies_in_the_range_of_table_19(row: dict[str, str]) -> None:
    assert within(row, texture(row["item"]).readily)


@each("row", rows("evaporable water in all"), ids=named)
def test_evaporable_water_by_eq_73_lies_in_the_range_of_table_19(row: dict[str, str]) -> None:
    assert within(row, texture(row["item"]).evaporable)


def test_every_soil_is_checked() -> None:
    for quantity in ("available water", "wilting point", "readily evaporable water", "evaporable water in all"):
        assert {row["item"] for row in rows(quantity)} == set(SOILS)


@each("row", rows("basal coefficient"), ids=named)
def test_basal_coefficients_are_those_of_table_17(row: dict[str, str]) -> None:
    """Kc mid of the library (Table 12) less what evaporates: within half a step of the table, which goes by 0.05."""
    kcb = load_crop(row["item"])["root.kc_mid"] - constant("basal_less")
    assert kcb == pytest.approx(float(row["value"]), abs=HALF_A_STEP)


def test_ten_days_of_evaporation() -> None:
    """Example 35: a sandy loam of 18 mm evaporable and 8 mm readily evaporable water, watered on day 1, rain on day 6.

    The example's own Kc max is 1.21 (wind 1.6 m/s, humidity 35 %, crop 0.3 m).
    """
    surface, kc_max = np.array(18.0), np.array(1.21)
    for row in table("water_example_35"):
        day = {name: float(value) for name, value in row.items() if name not in ("source", "mark", "address")}
        surface = np.maximum(surface - day["rain_mm"] - day["irrigation_over_fw_mm"], 0.0)
        assert float(surface) == pytest.approx(day["surface_start_mm"], abs=ONE_MM)
        kr = evaporation_reduction(surface, 18.0, 8.0)
        ke = evaporation_coefficient(kr, np.array(day["kcb"]), np.array(day["few"]), kc_max)
        evaporation = float(ke) * day["et0_mm"]
        assert float(kr) == pytest.approx(day["kr"], abs=TWO_HUNDREDTHS)
        assert float(ke) == pytest.approx(day["ke"], abs=TWO_HUNDREDTHS)
        assert evaporation == pytest.approx(day["evaporation_mm"], abs=2.0 * ONE_TENTH_MM)
        assert evaporation + day["kcb"] * day["et0_mm"] == pytest.approx(day["etc_mm"], abs=2.0 * ONE_TENTH_MM)
        surface = surface + evaporation / day["few"]
        assert float(surface) == pytest.approx(day["surface_end_mm"], abs=ONE_MM)


@each("row", table("water_cotton_2013"), ids=lambda row: f"day {row['day_of_year']}")
def test_a_dry_cotton_field_of_another_program(row: dict[str, str]) -> None:
    """Kr, Ke, p, Ks and transpiration of a day from the depletions of the day before, as pyfao56 prints them."""
    day = {name: np.array(float(value)) for name, value in row.items() if name not in ("source", "mark", "address")}
    kr = evaporation_reduction(day["surface_before_mm"], 20.003, 9.0)
    ke = evaporation_coefficient(day["kr"], day["kcb"], day["few"], day["kc_max"])
    p = depletion_share(np.array(0.65), day["etc_mm"])
    ks = stress(day["depletion_before_mm"], day["taw_mm"], p)
    assert float(kr) == pytest.approx(float(day["kr"]), abs=THIRD_DECIMAL)
    assert float(ke) == pytest.approx(float(day["ke"]), abs=THIRD_DECIMAL)
    assert float(p) == pytest.approx(float(day["p"]), abs=THIRD_DECIMAL)
    assert float(ks) == pytest.approx(float(day["ks"]), abs=THIRD_DECIMAL)
    assert float(ks * day["kcb"] * day["et_ref_mm"]) == pytest.approx(float(day["transpiration_mm"]), abs=10.0 * THIRD_DECIMAL)


def test_greatest_coefficient_of_the_standard_climate() -> None:
    """Eq. 72 at 45 % and 2 m/s: 1.2 whatever the height, or 0.05 above a greater basal coefficient."""
    assert greatest_coefficient(np.array([0.15, 1.1, 1.25])) == pytest.approx([1.2, 1.2, 1.3])


@each("row", rows("readily available water"), ids=lambda row: f"{row['item']} {row['condition'][:10]}")
def test_stress_begins_when_the_readily_available_water_is_used(row: dict[str, str]) -> None:
    """Example 36: total and readily available water; at the latter the stress coefficient leaves 1, at the former it is 0."""
    high, low, depth, p = (float(v) for v in re.findall(r"\d+\.\d+", row["condition"]))
    total = 1000.0 * (high - low) * depth
    twin = next(r for r in rows("total available") if (r["item"], r["condition"]) == (row["item"], row["condition"]))
    assert total == pytest.approx(float(twin["value"]), abs=ONE_TENTH_MM)
    ready = float(row["value"])
    ks = stress(np.array([ready - ONE_MM, ready + 2.0 * ONE_MM, total]), np.array(total), np.array(p))
    assert ks[0] == 1.0
    assert 0.95 < ks[1] < 1.0
    assert ks[2] == pytest.approx(0.0, abs=1e-12)


def test_ten_dry_days_of_a_tomato() -> None:
    """Example 37: depletion at the end of each day, and Ks in the note."""
    depletion, total, p, etc = 55.0, np.array(160.0), np.array(0.40), 6.0
    printed = {int(re.findall(r"\d+", r["quantity"])[0]): r for r in rows("depletion at the end")}
    for day in range(1, 11):
        ks = float(stress(np.array(depletion), total, p))
        depletion += ks * etc
        if day in printed:
            assert depletion == pytest.approx(float(printed[day]["value"]), abs=ONE_TENTH_MM)
            assert ks == pytest.approx(float(printed[day]["note"].split()[1]), abs=ONE_HUNDREDTH)


def test_roots_thin_out_in_a_straight_line() -> None:
    """Triangular root profile: half the depth holds three quarters of the roots; all of them lie above the depth."""
    shares = root_layers(np.array([1.0, 0.4]), np.linspace(0.1, 1.5, 15))
    assert shares.sum(axis=1) == pytest.approx([1.0, 1.0])
    assert shares[0, :5].sum() == pytest.approx(0.75)
    assert shares[1, 4:].sum() == pytest.approx(0.0, abs=1e-12)


class Recorder(BedWater):
    """The bed's water, started full, that keeps what it was asked; of one planting."""

    def run(self, leaf_area_index: Floats) -> None:
        """A season of given leaf area indices (D,)."""
        self.profile.depletion[:], self.profile.surface[:] = 0.0, 0.0
        self.lai = leaf_area_index
        for day, lai in enumerate(leaf_area_index):
            self(day, np.full((YEARS, 1), lai) * self.area)


@lru_cache(maxsize=32)
def courgettes(soil: str, watering: Watering, drops: bool = True, leaves: bool = True) -> Recorder:
    """Courgettes in Rome from May, whose leaf area is prescribed: a logistic curve to 3.5 m2/m2 in 60 days, or none; with
    the rain of the weather years, or none."""
    settled = planned(
        planting("courgette", establish="module", start=OnDate("05-10")),
        one=bed(2.0, 1.0, soil=soil, watering=watering), where="Rome",
    )  # fmt: skip
    water = Recorder(settle(settled, season_weather(settled, YEARS, 5)))
    water.water *= float(drops)
    days = np.arange(settled.days)
    water.run(float(leaves) * 3.5 / (1.0 + np.exp(-(days - 40.0) / 8.0)))
    return water


def by_the_book(water: Recorder, soil: str) -> tuple[Floats, Floats, Floats]:
    """FAO-56's dual crop coefficient with one root zone and one surface layer (eqs. 69 to 88), written out by hand.

    Own numbers where the paper gives them; rain early in the day; the basal coefficient is the crop's times the ground that its
    leaves cover.  Transpiration, what it could have been, and evaporation [mm], each (Y,).
    """
    held, years = texture(soil), water.et0.shape[1]
    tew = 1000.0 * 0.1 * (held.available + 0.5 * held.wilting)
    root, surface, used, asked, evaporated = np.zeros((5, years))
    for day, lai in enumerate(water.lai):
        et0, rain = water.et0[day], water.water[day]
        cover = (1.0 - np.exp(-water.k[0] * lai)) * water.area[0] / water.bed_m2
        kcb, few = water.kcb[0] * cover, 1.0 - cover
        surface, root = np.maximum(surface - rain, 0.0), np.maximum(root - rain, 0.0)
        kr = np.clip((tew - surface) / (tew - held.readily), 0.0, 1.0)
        ke = np.minimum(kr * (1.2 - kcb), few * 1.2)
        taw = 1000.0 * held.available * water.depth[day][:, 0]
        p = np.clip(water.p[0] + 0.04 * (5.0 - (kcb + ke) * et0), 0.1, 0.8)
        ks = np.clip((taw - root) / ((1.0 - p) * taw), 0.0, 1.0)
        surface = np.minimum(surface + ke * et0 / few, tew)
        root = np.minimum(root + (ke + ks * kcb) * et0, taw)
        used, asked, evaporated = used + ks * kcb * et0, asked + kcb * et0, evaporated + ke * et0
    return used, asked, evaporated


@pytest.mark.parametrize("watering", [RAIN, WEEKLY], ids=["rain", "weekly"])
@pytest.mark.parametrize("soil", ["sand", "loam", "clay"])
def test_layers_transpire_as_the_book_says(soil: str, watering: Watering) -> None:
    """A dry and a half-watered season in Rome: transpiration within a fifth of FAO-56's single root zone, year by year, and no
    more than a tenth below it."""
    water = courgettes(soil, watering)
    used, asked, _ = by_the_book(water, soil)
    assert (used < (0.6 if watering is RAIN else 1.001) * asked).all()
    assert water.transpired == pytest.approx(used, rel=ONE_FIFTH)
    assert (water.transpired > (1.0 - ONE_TENTH) * used).all()


@pytest.mark.parametrize("soil", SOILS)
def test_layers_dry_down_as_the_book_says(soil: str) -> None:
    """No drop from the first day: transpiration and evaporation within a tenth of the book's, or 3 mm.

    What the surface loses below wilting point (eq. 73) the book takes from the root zone's available water, the layers do not:
    so much more may be transpired.
    """
    water = courgettes(soil, RAIN, drops=False)
    used, asked, evaporated = by_the_book(water, soil)
    below_wilting = 1000.0 * 0.1 * 0.5 * texture(soil).wilting
    assert (used < 0.5 * asked).all()
    assert (water.transpired > (1.0 - ONE_TENTH) * used).all()
    assert (water.transpired < (1.0 + ONE_TENTH) * used + below_wilting).all()
    assert water.evaporated == pytest.approx(evaporated, rel=ONE_TENTH, abs=3.0)


@pytest.mark.parametrize("soil", SOILS)
def test_bare_soil_evaporates_as_the_book_says(soil: str) -> None:
    """Without leaves: within a tenth of the book, or 2 mm, year by year."""
    water = courgettes(soil, RAIN, leaves=False)
    used, _, evaporated = by_the_book(water, soil)
    assert (used == 0.0).all()
    assert (water.transpired == 0.0).all()
    assert (evaporated > 30.0).all()
    assert water.evaporated == pytest.approx(evaporated, rel=ONE_TENTH, abs=2.0)


@pytest.mark.parametrize("watering", [RAIN, WEEKLY], ids=["rain", "weekly"])
@pytest.mark.parametrize("soil", ["sand", "loam", "clay"])
def test_roots_leave_less_to_evaporate(soil: str, watering: Watering) -> None:
    """Under leaves: no more than the book, which lets roots take nothing from the surface layer (Tew = 0 in eq. 77)."""
    water = courgettes(soil, watering)
    assert (water.evaporated <= by_the_book(water, soil)[2] + 1.0).all()


@pytest.mark.parametrize(("where", "least", "most"), [("Oxford", 60.0, 150.0), ("Rothamsted", 50.0, 150.0)])
def test_fields_of_southern_england_return_to_field_capacity(where: str, least: float, most: float) -> None:
    """Southern English soils are at field capacity from December to March in most years and lack 60 to 150 mm under grass
    at the end of summer (from memory, after the agricultural climate handbooks of MAFF).  Half-covered ground may lack a third
    less than grass."""
    depletion, _ = fallow_states(place(where), "loam")
    lacking = np.median(depletion.sum(axis=2), axis=1)
    assert lacking[31:59].mean() < 10.0
    assert least * 2.0 / 3.0 <= lacking[212:258].max() <= most


def test_soils_of_a_dry_summer_and_of_dry_winters_start_dry() -> None:
    """What the top 40 cm lack of their available water: Rome in August, Hyderabad before the monsoon, Tillaberi (Sahel) in
    March; against Oxford in March, and Hyderabad at the end of the monsoon (climates: any atlas)."""

    def lacking(where: str, day: int) -> float:
        depletion, _ = fallow_states(place(where), "loam")
        return float(depletion[day, :, :4].sum(axis=1).mean() / (0.4 * 1000.0 * available_water_m3_m3()["loam"]))

    assert lacking("Oxford", 73) < 0.25
    assert lacking("Hyderabad", 258) < 0.4
    for where, day in (("Rome", 226), ("Hyderabad", 140), ("Tillaberi", 73)):
        assert lacking(where, day) > 0.75


def july(season: Season) -> NDArray[np.bool_]:
    return np.asarray(season.dates().astype("datetime64[M]").astype(int) % 12 == 6)


@lru_cache(maxsize=8)
def in_rome(crop: str, watering: Watering, soil: str = "loam") -> Season:
    """A crop alone in Rome from the tenth of May."""
    way = "drills" if crop == "bean-bush" else "module"
    return grown(
        planting(crop, establish=way, start=OnDate("05-10")), one=bed(2.0, 1.0, watering=watering, soil=soil),
        where="Rome", years=YEARS,
    )  # fmt: skip


@pytest.mark.parametrize("crop", ["courgette", "tomato-bush", "bean-bush"])
def test_a_dry_bed_in_rome_loses_growth_in_july(crop: str) -> None:
    """Rome has some 20 mm of rain in July and evaporates over 150 mm: rain alone cannot carry a summer crop (FAO-56 ch. 8)."""
    wet, weekly, dry = (in_rome(crop, w) for w in (WATERED, WEEKLY, RAIN))
    when = july(wet)
    growth = [s.growth_g[july(s)].sum(axis=0).mean() for s in (wet, weekly, dry)]
    assert (wet.water == 1.0).all()
    assert dry.water[july(dry)].mean() < 0.75
    assert growth[2] < 0.7 * growth[0]
    assert growth[2] < growth[1] <= growth[0]
    assert np.median(dry.planting_kg()) < np.median(weekly.planting_kg()) <= np.median(wet.planting_kg())
    assert when.any()


def test_twenty_five_millimetres_a_week_are_most_of_what_a_bed_needs() -> None:
    """An inch a week, the advice of extension services (common practice): at least four fifths of a watered bed's harvest."""
    assert in_rome("courgette", WEEKLY).planting_kg().mean() > 0.8 * in_rome("courgette", WATERED).planting_kg().mean()


def test_sand_holds_less_than_loam() -> None:
    sand, loam = (in_rome("bean-bush", RAIN, soil).planting_kg().mean() for soil in ("sand", "loam"))
    assert sand < loam


def test_a_dry_summer_costs_more_in_rome_than_in_oxford() -> None:
    """Climatic water balance: Oxford's summer rain is about half of its evapotranspiration, Rome's about an eighth."""
    kept = []
    for where in ("Oxford", "Rome"):
        pair = [
            grown(
                planting("courgette", establish="module", start=OnDate("05-20")),
                one=bed(2.0, 1.0, watering=watering), where=where, years=YEARS,
            ).growth_g.sum()
            for watering in (RAIN, WATERED)
        ]  # fmt: skip
        kept.append(pair[0] / pair[1])
    assert place("Oxford").normals.rain_mm[6] > place("Rome").normals.rain_mm[6]
    assert kept[0] > kept[1] + 0.1
