"""The whole library against handbook tables: every crop, wherever a table lists it.

The checks stand in ``library_checks.py``, the rows with their sources in ``data/library_*.csv``.  Rows of confidence A and B
pass or fail within tolerances that are named there; what is only a bound is checked as a bound.  Crops covered (floors are
asserted below, so that the cover cannot shrink unseen):

======================================================  =========  ==================================================
table                                                   crops      checked
======================================================  =========  ==================================================
FAO-56 Table 12 (Kc mid, end), Table 22 (p)             68         within 0.1 and 0.05
FAO-56 Table 22 rooting depth                           69         inside the printed range
FAO-56 Table 12 height                                  68         factor two; crops on supports from below
Harrington & Minges, UF/IFAS soil temperatures          55         between the lists, 5 F wider
7 CFR 201.31 germination                                95         equal
7 CFR 201.46 seeds per gram                             99         factor two
Knott, days to maturity                                 64         ranges meet, a quarter wider
ECOCROP growing cycle                                   101        first harvest before its end
University of Maine chart, spacing and depth            35, 24     half again
Kansas State and Maine, yield per metre of row          48         ranges meet within a factor of two
UC compilation and Knott, rooting class                 86         inside the class or the next shallower
SWAT and Daisy, deepest roots                           59         not deeper than half again
MSU 2014 frost classes                                  64         side of -2.2 C
USDA Agriculture Handbook 66, freezing points           55         no death before tissue can freeze
Texas A&M, Canada: survival in frost                    42         survives or dies as printed
ECOCROP killing temperatures                            56         as hardy as printed, 2.8 C for cold canopies
Universities' hardiness zones of rootstocks             25         between the coldest zone listed and two milder
ECOCROP temperatures of growth                          104        three quarters of the range, optimum within 4 C
SWAT, SIMPLE, NCSU and extension base temperatures      62         between them, 4 C wider
SWAT, SIMPLE, Kiniry light use                          56         half the lowest to a quarter over the highest
SWAT leaf area index; k with Daisy; heights FAO lacks   56, 59, 5  factor two; half again; factor two
SWAT and SIMPLE harvest index                           56         at most a quarter over; half for roots and grain
USDA dry matter                                         43         within 1 point or a tenth
Connecticut rotation table, plant families              62         family
======================================================  =========  ==================================================
"""

from __future__ import annotations

import numpy as np
import pytest
from library_checks import FOUR_C, TABLES, Table
from library_tables import CROPS_IN_LIBRARY, Row, by_crop, covers, crop, of, rows
from looping import each
from strategies import grown, planting

from mixcraft.crops import all_crops
from mixcraft.recipe.model import OnDate
from mixcraft.season.result import Season

KNOWN = {"ECOCROP, growing range": {"leek", "salsify", "strawberry", "strawberry-everbearing"}}
"""Crops that another table speaks for: Knott's has leek and salsify grow well to a month of 29 C, 6 C below where growth ends at
least; CROPGRO's strawberry (SRGRO048.SPE, fitted in Florida) develops up to 40 C, ECOCROP's would not in a day of 28 C."""


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_crops_agree_with_the_table(table: Table) -> None:
    assert table.crops
    found = {name for name in table.crops if table.complaints(crop(name))}
    assert found == KNOWN.get(table.name, set()), {name: table.complaints(crop(name)) for name in found}


@each("table", TABLES, ids=lambda table: table.name)
def test_tables_cover_what_they_did(table: Table) -> None:
    """The number of crops checked, without those put aside, stays above its floor; exceptions name crops of the table."""
    assert len(table.crops) >= table.at_least
    listed = {name for row in table.found for name in row.crops}
    assert set(table.aside) <= listed
    assert len(table.aside) <= 0.1 * len(listed) + 1
    covers(table.found, table.at_least)


def test_most_crops_stand_in_some_table() -> None:
    """Crops that no table lists are herbs, flowers, green manures and rarities; three crops of five are listed thrice or more."""
    crops = all_crops()
    assert len(crops) >= CROPS_IN_LIBRARY
    counts = {c.id: sum(c.id in table.crops for table in TABLES) for c in crops}
    assert sum(n >= 1 for n in counts.values()) >= 0.7 * len(crops)
    assert sum(n >= 3 for n in counts.values()) >= 0.6 * len(crops)


def test_rows_name_their_source_and_how_they_were_read() -> None:
    files = ("fao56", "germination_temperatures", "days", "spacing", "row_yields", "roots", "frost", "temperatures", "canopies")
    for name in (*files, "hardiness", "dry_matter", "seed", "rotation", "safety"):
        for row in rows(name):
            assert row.source
            assert row.confidence in {"A", "B", "C"}, row


def test_the_tolerance_of_base_temperatures_is_that_of_the_handbooks() -> None:
    """SWAT and ECOCROP print base temperatures of the same crops; three of four pairs lie within 4 C of one another."""
    swat = by_crop(of("temperatures", "base temperature for growth", source="SWAT"))
    ecocrop = by_crop(of("temperatures", "absolute min temperature for growth", source="ECOCROP"))
    apart = [abs(swat[c][0].low - ecocrop[c][0].low) for c in swat if c in ecocrop]
    assert len(apart) >= 40
    assert np.quantile(apart, 0.75) == pytest.approx(FOUR_C)


def mean_depth(name: str) -> float:
    depths = [crop(c)["root.depth"] for r in of("roots", "rooting depth class") if r.text == name for c in r.crops]
    return float(np.mean(depths))


def test_classes_of_roots_are_in_order() -> None:
    assert mean_depth("shallow") < mean_depth("moderate") < mean_depth("deep")


def mean_kill(beginning: str) -> float:
    found = [r for r in of("frost", "frost tolerance class (MSU)") if r.text.startswith(beginning)]
    return float(np.mean([crop(c)["frost.grown"] for r in found for c in r.crops]))


def test_classes_of_frost_are_in_order() -> None:
    """MSU prints lettuce and potato among the hardiest, against most other lists, so the two hardy classes are one here."""
    assert max(mean_kill("hard frost hardy"), mean_kill("light frost hardy")) < mean_kill("light frost susceptible") - 4.0


def test_plants_of_colder_zones_have_hardier_rootstocks() -> None:
    """Mean coldest zone of the lists beside the temperature that kills the rootstock: crops two zones apart are in order."""
    listed = by_crop(r for r in rows("hardiness") if r.quantity == "coldest hardiness zone")
    zone = {name: float(np.mean([r.high for r in found])) for name, found in listed.items()}
    apart = [(a, b) for a in zone for b in zone if zone[a] < zone[b] - 11.0]
    assert len(apart) >= 15
    assert [(a, b) for a, b in apart if crop(a)["frost.crown"] > crop(b)["frost.crown"]] == []


def test_extinction_is_that_of_crop_communities() -> None:
    """Plants in Action: k of crop communities from 0.2 to 1.8."""
    (row,) = of("canopies", "extinction coefficient range")
    for one in all_crops():
        assert row.low <= one["canopy.k"] <= row.high, one.id


def lettuce(where: str) -> Season:
    """Crisphead lettuce from 1 May."""
    return grown(planting("lettuce-crisphead", start=OnDate("05-01")), where=where)


def best_week(season: Season) -> float:
    """Highest mean growth of seven days in any year [g dry m-2 d-1]."""
    daily = season.growth_g[:, :, 0] / season.plan.bed.area_m2
    return max(float(np.convolve(year, np.full(7, 1.0 / 7.0), "valid").max()) for year in daily.T)


ROOM = "Frantz et al. 2004: 19 g dry and 380 g fresh lettuce per m2 and day at 57.6 mol/m2/d in air rich in CO2"
TOO_HIGH = "growth is reckoned without what pests and unevenness take, which counts at the picking: 24 g/m2/d in Oxford"


@pytest.mark.xfail(strict=True, reason=TOO_HIGH)
@pytest.mark.parametrize("where", ["Oxford", "Rome"])
def test_lettuce_outdoors_stays_below_the_growth_room(where: str) -> None:
    (row,) = of("canopies", "upper bound productivity")
    assert 5.0 < best_week(lettuce(where)) < row.low, ROOM


def test_lettuce_outdoors_is_not_as_heavy_as_that_of_the_growth_room() -> None:
    (row,) = of("canopies", "upper bound fresh productivity")
    season = lettuce("Rome")
    kg = season.picked_kg.sum(axis=(0, 2)) / season.plan.bed.area_m2
    days = (season.growth_g[:, :, 0] > 0).sum(axis=0)
    assert (1000.0 * kg / days > 0.05 * row.low).all(), ROOM
    assert (1000.0 * kg / days < row.low).all(), ROOM


DISEASES = {
    ("bean", "anthracnose"): "bean anthracnose", ("bean", "bacterial blight"): "bacterial blight (bean)",
    ("beet", "Cercospora leaf spot"): "cercospora leaf spot", ("brassicas", "clubroot"): "clubroot",
    ("brassicas", "blackleg"): "blackleg (brassica)", ("brassicas", "black rot"): "black rot (brassica)",
    ("sweet corn", "yellow leaf blight"): "yellow leaf blight (corn)",
    ("cucumber", "scab and leaf spot"): "scab and leaf spot (cucumber)",
    ("eggplant", "Verticillium wilt"): "verticillium wilt", ("eggplant", "fruit rots"): "phomopsis fruit rot (eggplant)",
    ("lettuce", "bottom rot and drop"): "lettuce drop", ("muskmelon", "leaf spots"): "leaf spot (melon)",
    ("muskmelon", "scab"): "scab and leaf spot (cucumber)",
}  # fmt: skip
"""Rows of the Connecticut table that print years, and the library's names."""
YEARS_PRINTED = [r for r in rows("rotation") if r.quantity.startswith("years without") and r.low == r.low]
OPEN_ENDED = 10.0  # "two plus years", and the white rot's "more than 20": no upper end printed


def test_every_printed_interval_is_asked_for() -> None:
    assert {(r.item, r.quantity.split(": ")[1]) for r in YEARS_PRINTED} == set(DISEASES)
    assert len({c for r in YEARS_PRINTED for c in r.crops}) >= 30


@each("row", YEARS_PRINTED, ids=lambda row: f"{row.item}: {row.quantity.split(': ')[1]}")
def test_years_without_a_host(row: Row) -> None:
    """Where a crop of the row hosts the disease, its interval is the printed one; some crop of the row hosts it."""
    name = DISEASES[row.item, row.quantity.split(": ")[1]]
    hosts = [d for c in row.crops for d in crop(c).diseases if d.name == name]
    assert hosts
    high = row.high if row.item != "muskmelon" else OPEN_ENDED
    assert {d.years for d in hosts if not (d.years and row.low <= d.years <= high)} == set()


def test_white_rot_and_asparagus_wilt_outlast_gardens() -> None:
    """UC IPM: sclerotia of white rot live more than 20 years; Connecticut: asparagus after fusarium wilt never again."""
    white_rot = [(c.id, d.years) for c in all_crops() for d in c.diseases if d.name == "allium white rot"]
    assert len(white_rot) >= 5
    assert all(years is not None and years >= 20 for _, years in white_rot)
    wilt = next(d for d in crop("asparagus").diseases if d.name == "fusarium wilt (asparagus)")
    assert wilt.years is not None
    assert wilt.years >= 10


def test_every_brassica_that_swells_or_heads_hosts_clubroot() -> None:
    """Clubroot takes the whole cabbage family, turnip and radish included (Connecticut table, "avoid turnip and radish")."""
    listed = next(r for r in rows("rotation") if r.item.startswith("cabbage family"))
    for name in listed.crops:
        assert any(d.name == "clubroot" for d in crop(name).diseases), name
