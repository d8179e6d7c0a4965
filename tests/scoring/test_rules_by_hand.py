"""Rules of the parts, each by hand: who crowds whom for how long, what counts as a yield, whose flowers are shut in, who is named
for the soil that is shared, and which years' weeks are wanted."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, grown, planned, planting

from mixcraft.crops import load_crop
from mixcraft.recipe.model import AtEvent, CoverUse, OnDate, Plate
from mixcraft.scoring import score
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.measures import LEAST_KG, area_time_equivalence_ratio, land_equivalent_ratio
from mixcraft.scoring.parts.families import _few as few_families
from mixcraft.scoring.parts.roots import roots
from mixcraft.scoring.registry import registry
from mixcraft.scoring.strip import wanted_windows
from mixcraft.season.setting import needs_pollinators

FLEECE = CoverUse("fleece", AtEvent("start"), AtEvent("end"))


def test_two_sowings_of_a_crop_are_one_stand_for_the_days_that_they_share() -> None:
    season = grown(planting("radish", "first"), planting("radish", "second", start=OnDate("05-01")))
    first, second = season.plan.plantings
    together = first.end - second.start
    assert 0 < together < min(first.end - first.start, second.end - second.start)
    evidence = Evidence(season)
    shared = evidence.overlaps[0, 1]
    assert evidence.density.tolist() == pytest.approx([
        first.density_per_m2 + shared * second.density_per_m2 * together / (first.end - first.start),
        second.density_per_m2 + evidence.overlaps[1, 0] * first.density_per_m2 * together / (second.end - second.start),
    ])  # fmt: skip


def test_two_crops_are_two_stands_however_thick() -> None:
    evidence = Evidence(grown(planting("radish"), planting("spinach")))
    assert evidence.density.tolist() == [p.density_per_m2 for p in evidence.season.plan.plantings]


def test_a_milligram_alone_is_no_yield() -> None:
    """Ratios by hand: half of a sole yield of 2 kg over half of the days; a crop that alone gives a milligram does not count."""
    mixture, days = np.array([[1.0, 1.0]]), np.array([[50.0, 50.0]])
    nothing, little = (np.array([[2.0, sole]]) for sole in (LEAST_KG, 1.5 * LEAST_KG))
    assert land_equivalent_ratio(mixture, nothing).tolist() == [0.5]
    assert area_time_equivalence_ratio(mixture, nothing, days, np.array([100.0])).tolist() == [0.25]
    assert land_equivalent_ratio(mixture, little) == pytest.approx([0.5 + 1.0 / (1.5 * LEAST_KG)])
    assert area_time_equivalence_ratio(mixture, little, days, np.array([100.0])) == pytest.approx([0.25 + 0.5 / 1.5 / LEAST_KG])


def causes(*plantings: object) -> list[str]:
    """Causes for which timing loses points."""
    return [reason.cause for reason in score(grown(*plantings)).part("timing").reasons]  # type: ignore[arg-type]


def test_a_fleece_shuts_out_the_pollinators_of_those_alone_that_need_them() -> None:
    """Courgettes need bees; peas flower under a fleece and pollinate themselves; an open courgette has nothing over it."""
    courgette, pea = load_crop("courgette"), load_crop("pea-dwarf")
    assert needs_pollinators(courgette)
    assert not needs_pollinators(pea)
    assert "development.flower" in pea.records
    late = {"start": OnDate("05-25"), "establish": "module", "density_per_m2": 1.0}
    assert "pollinators out" in causes(planting("courgette", covers=(FLEECE,), **late))  # type: ignore[arg-type]
    assert "pollinators out" not in causes(planting("courgette", **late))  # type: ignore[arg-type]
    assert "pollinators out" not in causes(planting("pea-dwarf", covers=(FLEECE,)))


def test_who_shares_soil_is_told_once_with_its_part_of_the_loss() -> None:
    """Three crops whose roots lie in the same soil: each pair once, and together they answer for all that is lost.  What one
    radish among them shares is too little to be named."""
    three, least = [planting(crop) for crop in ("carrot-maincrop", "beetroot", "spinach")], constants()["roots_named_loss"]
    for more in ([], [planting("radish", "one", count=1)]):
        judged = roots(Evidence(grown(*three, *more)))
        pairs = [frozenset(reason.plantings) for reason in judged.reasons]
        assert len(pairs) == len(set(pairs)) == 3
        assert not any("one" in pair for pair in pairs)
        assert min(reason.points for reason in judged.reasons) >= least
        untold = 100.0 - judged.score - sum(reason.points for reason in judged.reasons)
        assert (0.0 < untold < least) if more else untold == pytest.approx(0.0, abs=1e-9)


def test_the_years_whose_weeks_are_wanted_are_those_of_the_season() -> None:
    """A month of radish sees one summer's plate; leeks that stand over winter those of two years."""
    plate = bed(plate=Plate("05-01", "10-31"))
    short = planned(planting("radish"), one=plate)
    assert short.days < 120
    assert [short.date(a).astype(str) for a, _ in wanted_windows(short)] == ["2001-05-01"]
    long = planned(planting("leek", establish="module", density_per_m2=16.0, start=OnDate("05-01")), one=plate)
    assert long.days > 365
    assert [str(long.date(a)) for a, _ in wanted_windows(long)] == ["2001-05-01", "2002-05-01"]
    before = planned(planting("radish"), one=bed(plate=Plate("02-01", "04-15")))
    assert [str(before.date(b)) for _, b in wanted_windows(before)] == ["2001-04-15"]


@pytest.mark.parametrize(
    "crops", [("radish",), ("radish", "pea-dwarf", "carrot-maincrop"), ("sweet-corn", "lettuce-cos", "radish")]
)
def test_points_alone_are_those_of_the_judgement(crops: tuple[str, ...]) -> None:
    """What is scored without reasons is what is scored with them."""
    season = grown(*(planting(crop, start=OnDate("05-05")) for crop in crops))
    for part in registry():
        assert part.points(Evidence(season)) == part.judge(Evidence(season)).score, part.name


def test_few_families_by_hand() -> None:
    """One family of four that are enough: the shares of ln 2 and ln 5; as many as are enough lose nothing."""
    plan, c = planned(planting("radish"), planting("rocket")), constants()
    (one,) = few_families(plan, {"Brassicaceae": 2.0}, 1.0)
    assert one.points == pytest.approx(c["families_few_loss"] * (1.0 - np.log(2.0) / np.log(1.0 + c["families_full"])))
    assert one.plantings == ("radish", "rocket")
    (two,) = few_families(plan, {"Brassicaceae": 2.0, "Apiaceae": 2.0}, 2.0)
    assert two.points == pytest.approx(c["families_few_loss"] * (1.0 - np.log(3.0) / np.log(1.0 + c["families_full"])))
    assert two.numbers["share"] == 0.5
    assert few_families(plan, {"Brassicaceae": 2.0}, c["families_full"]) == []
    assert few_families(plan, {"Brassicaceae": 2.0}, 2.0 * c["families_full"]) == []
