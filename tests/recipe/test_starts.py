"""Start and end rules in the normal year of a place."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, garden, place, planned, planting, recipe

from mixcraft.files import FileFaults
from mixcraft.place import soil_temperature
from mixcraft.recipe.calendar import almanac, bare_soil
from mixcraft.recipe.model import After, AtAge, AutumnFrost, OnDate, Planting, SpringFrost, Start, WarmSoil
from mixcraft.recipe.plan import Plan, plan


def date_of(found: Plan, index: int = 0) -> str:
    """Month and day on which a planting starts."""
    return str(found.date(found.plantings[index].start))[5:10]


def settled(*plantings: Planting, where: str = "Oxford") -> Plan:
    return planned(*plantings, where=where)


SOUTH = "Wellington"
FROSTLESS = "Nairobi"


def test_there_is_a_place_in_the_south() -> None:
    assert place(SOUTH).latitude_deg < 0.0 < place("Oxford").latitude_deg


def test_soil_rule_waits_for_a_warm_week() -> None:
    """On the start and the six days after it the soil at sowing depth is warm enough; the day before breaks the run."""
    found = settled(planting("radish", start=WarmSoil(9.0)))
    sky, one = found.almanac, found.plantings[0]
    soil = soil_temperature(bare_soil(sky.weather, sky.weather.tmean_c), one.depth_m)[0]
    day = one.start + int((found.start - sky.start).astype(int))
    assert (soil[day : day + 7] >= 9.0).all()
    assert soil[day - 1] < 9.0
    assert not any((soil[d : d + 7] >= 9.0).all() for d in range(day))


def test_warmer_soil_is_later() -> None:
    days = [
        int((p.start - p.almanac.start).astype(int))
        for c in (6.0, 9.0, 12.0, 14.0)
        for p in [settled(planting("radish", start=WarmSoil(c)))]
    ]
    assert days == sorted(days)
    assert len(set(days)) == 4


def test_soil_rule_not_before() -> None:
    early = settled(planting("radish", start=WarmSoil(7.0)))
    late = settled(planting("radish", start=WarmSoil(7.0, not_before="05-20")))
    assert date_of(early) < "05-20"
    assert date_of(late) == "05-20"


def test_soil_that_never_gets_warm_is_refused() -> None:
    with pytest.raises(FileFaults) as caught:
        settled(planting("radish", start=WarmSoil(18.0)), where="Lerwick")
    fault = caught.value.faults[0]
    assert fault.rule == "start.never"
    assert "never stays at 18 C at Lerwick" in fault.message
    assert "ask for at most" in fault.repair


def test_the_repair_for_cold_soil_works() -> None:
    """The temperature that the repair names is one that the place can give."""
    with pytest.raises(FileFaults) as caught:
        settled(planting("radish", start=WarmSoil(18.0)), where="Lerwick")
    named = float(caught.value.faults[0].repair.split("at most ")[1].split(" C")[0])
    assert settled(planting("radish", start=WarmSoil(named)), where="Lerwick").plantings


@pytest.mark.parametrize("weeks", [-4.0, 0.0, 3.0])
def test_frost_rule_counts_weeks(weeks: float) -> None:
    sky = almanac(place("Oxford"))
    assert sky.last_spring_frost is not None
    found = settled(planting("radish", start=SpringFrost(weeks)))
    assert int((found.start - sky.start).astype(int)) == sky.last_spring_frost + 7 * weeks


def test_autumn_frost_rule_counts_weeks() -> None:
    sky = almanac(place("Oxford"))
    assert sky.first_autumn_frost is not None
    found = settled(planting("corn-salad", start=AutumnFrost(-8.0)))
    assert int((found.start - sky.start).astype(int)) == sky.first_autumn_frost - 56


def test_frost_rule_without_frost_counts_from_the_coldest_month_and_says_so() -> None:
    assert almanac(place(FROSTLESS)).last_spring_frost is None
    found = settled(planting("radish", start=SpringFrost(2.0)), where=FROSTLESS)
    assert "no frost" in {note.kind for note in found.notes}


def test_plain_date() -> None:
    assert date_of(settled(planting("radish", start=OnDate("04-23")))) == "04-23"


def test_date_of_the_other_hemisphere_moves_by_six_months() -> None:
    rule = OnDate("04-15", hemisphere="north")
    there, here = settled(planting("radish", start=rule), where=SOUTH), settled(planting("radish", start=rule))
    assert date_of(here) == "04-15"
    assert date_of(there) == "10-15"
    moved = [note for note in there.notes if note.kind == "other hemisphere"]
    assert [note.names["day"][0][5:] for note in moved] == ["10-15"]
    assert not any(note.kind == "other hemisphere" for note in here.notes)
    plain = settled(planting("radish", start=OnDate("04-15")), where=SOUTH)
    assert date_of(plain) == "04-15"


def test_spring_in_the_south_comes_in_the_second_half_of_the_year() -> None:
    found = settled(planting("radish", start=WarmSoil(9.0)), where=SOUTH)
    assert "07-01" <= date_of(found) <= "11-30"


@pytest.mark.parametrize("event", ["start", "emergence", "first-harvest", "last-harvest", "end"])
def test_after_another_planting(event: str) -> None:
    """With and without a wait of ten days; the planting it waits for may stand later in the file."""
    first = planting("radish", name="radish")
    later, sooner = (
        planting("lettuce-cos", name="lettuce", establish="module", count=4,
                 start=After(planting="radish", event=event, wait_days=days))
        for days in (10.0, 0.0)
    )  # fmt: skip
    waits, follows = settled(later, first), settled(sooner, first)
    assert waits.plantings[0].start == follows.plantings[0].start + 10
    radish = follows.plantings[1]
    expected = {
        "start": radish.start, "emergence": int(radish.clock.emergence[0]), "first-harvest": radish.first_harvest,
    }  # fmt: skip
    if event in expected:
        assert follows.plantings[0].start == expected[event]
    else:
        assert follows.plantings[0].start >= radish.first_harvest


def test_a_chain_of_plantings() -> None:
    a = planting("radish", name="a")
    b = planting("radish", name="b", start=After(planting="a", event="start", wait_days=21.0))
    c = planting("radish", name="c", start=After(planting="b", event="start", wait_days=21.0))
    assert [p.start for p in settled(c, b, a).plantings] == [42, 21, 0]


def test_waiting_for_what_never_happens_is_refused() -> None:
    """Okra sown at Lerwick bears nothing, so nothing can follow its harvest."""
    okra = planting("okra", name="okra", start=OnDate("05-15"))
    after = planting("radish", name="radish", start=After(planting="okra", event="first-harvest"))
    with pytest.raises(FileFaults) as caught:
        settled(okra, after, where="Lerwick")
    fault = caught.value.faults[0]
    assert fault.rule == "start.never"
    assert "never happens here" in fault.message
    assert "wait for another event" in fault.repair


def test_end_after_an_age_and_on_a_date() -> None:
    aged = settled(planting("kale", end=AtAge(70.0)))
    dated = settled(planting("kale", end=OnDate("08-01")))
    frost = settled(planting("kale", end=AutumnFrost(2.0)))
    assert aged.plantings[0].end - aged.plantings[0].start == 70
    assert str(dated.date(dated.plantings[0].end))[5:10] == "08-01"
    sky = frost.almanac
    assert sky.first_autumn_frost is not None
    day = frost.plantings[0].end + int((frost.start - sky.start).astype(int))
    assert day == sky.first_autumn_frost + 14


def test_every_fault_of_a_plan_is_reported_at_once() -> None:
    cold = WarmSoil(30.0)
    with pytest.raises(FileFaults) as caught:
        settled(planting("radish", name="one", start=cold), planting("beetroot", name="two", start=cold))
    assert [fault.path for fault in caught.value.faults] == [f"plantings[{i}].start.at_least" for i in (0, 1)]


def test_an_unknown_bed_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        plan(recipe(planting("radish")), garden(bed()), "no such bed")


def test_day_zero_is_the_first_start() -> None:
    found = settled(planting("radish", start=OnDate("05-01")), planting("pea-dwarf"))
    assert min(p.start for p in found.plantings) == 0
    assert str(found.start)[5:10] == "04-15"
    assert found.plantings[0].start == 16
    assert isinstance(found.start, np.datetime64)


@pytest.mark.parametrize("where", ["Nairobi", "Cape Town"])
def test_frostless_places_count_from_a_winter_near_day_zero(where: str) -> None:
    """Without frost, weeks are counted from the coldest month of the first winter, in step with the soil rule."""
    assert abs(almanac(place(where)).coldest_day) <= 60


@pytest.mark.parametrize("where", ["Hyderabad", "Goiânia"])
@pytest.mark.parametrize("other", [WarmSoil(7.0), OnDate("01-20")], ids=["soil", "date"])
def test_frostless_places_whose_coldest_month_ends_the_year(where: str, other: Start) -> None:
    """A start three weeks after the middle of winter must not fall a year behind the other plantings of the recipe."""
    if place(where).latitude_deg < 0.0 and other.kind == "date":
        other = OnDate("07-20")
    found = settled(
        planting("radish", name="radish", start=other),
        planting("lettuce-cos", name="lettuce", establish="module", count=4, start=SpringFrost(3.0)), where=where,
    )  # fmt: skip
    assert abs(found.plantings[1].start - found.plantings[0].start) <= 120
