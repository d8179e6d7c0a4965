"""The interaction graph: each kind of edge where it should be and nowhere else, and its files."""

from __future__ import annotations

import io
import json
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from strategies import bed, grown, mixtures, planting, trellis_bed

from mixcraft.crops import load_crop
from mixcraft.crops.layers import height_layer, root_class
from mixcraft.graph import EVIDENCE, KINDS, Edge, edges, graphml, interactions, link_data
from mixcraft.graph.traits import ground_cover, growing, root_profile, root_shares
from mixcraft.recipe.model import AtEvent, AtTrellis, CoverUse, OnDate, Planting, Span, Strip, Where
from mixcraft.season.result import Season, weekly

YEARS = 2


def pairs(season: Season, kind: str) -> set[tuple[str, str]]:
    """Names of plantings joined by edges of one kind."""
    names = [p.name for p in season.plan.plantings]
    return {(names[e.source], names[e.target]) for e in edges(season) if e.kind == kind}


def edge(season: Season, kind: str, source: str, target: str) -> Edge:
    names = [p.name for p in season.plan.plantings]
    (found,) = [
        e for e in edges(season) if (e.kind, names[e.source], names[e.target]) == (kind, source, target)
    ]  # fmt: skip
    return found


def half(low: float) -> Where:
    return Strip(x=(Span(low, True), Span(low + 0.5, True)))


def test_the_tall_take_light_from_the_low() -> None:
    corn = planting("sweet-corn", name="corn", establish="stations", density_per_m2=6.0, start=OnDate("05-05"))
    lettuce = planting("lettuce-cos", name="lettuce", establish="module", count=16, start=OnDate("06-15"))
    season = grown(corn, lettuce, years=YEARS)
    assert ("corn", "lettuce") in pairs(season, "takes light")
    found = edge(season, "takes light", "corn", "lettuce")
    assert found.evidence == "computed"
    assert 0.03 <= found.strength <= 1.0
    assert found.strength <= found.peak <= 1.0
    start = season.plan.plantings[1].start
    assert start - 7 <= found.days[0] <= found.days[1] < season.days
    back = [e.strength for e in edges(season) if e.kind == "takes light" and (e.source, e.target) == (1, 0)]
    assert not back or back[0] < found.strength


def test_ground_of_its_own_has_no_edges_of_light_or_roots() -> None:
    season = grown(
        planting("spinach", name="a", where=half(0.0)), planting("carrot-maincrop", name="b", where=half(0.5)), years=YEARS
    )
    assert pairs(season, "takes light") == set()
    assert pairs(season, "shares root space") == set()
    assert pairs(season, "covers ground for") == set()


def test_families() -> None:
    season = grown(
        planting("radish", name="radish"), planting("rocket", name="rocket"), planting("carrot-maincrop", name="carrot"),
        years=YEARS,
    )  # fmt: skip
    assert pairs(season, "shares family") == {("radish", "rocket"), ("rocket", "radish")}
    found = edge(season, "shares family", "radish", "rocket")
    assert found.names["family"] == ("Brassicaceae",)
    assert found.evidence == "common practice"


def test_a_mesh_keeps_pests_from_passing_but_not_diseases() -> None:
    """The same two under mesh from sowing to the end: their pests are left out, their diseases stay, the edge is weaker."""
    mesh = CoverUse("mesh", AtEvent("start"), AtEvent("start", 200.0))
    bare, shut = (
        grown(planting("radish", name="radish", covers=covers), planting("rocket", name="rocket", covers=covers), years=YEARS)
        for covers in ((), (mesh,))
    )
    a, b = load_crop("radish"), load_crop("rocket")
    pests, ills = set(a.pests) & set(b.pests), {d.name for d in a.diseases} & {d.name for d in b.diseases}
    assert pests
    assert ills
    was, now = (edge(season, "shares family", "radish", "rocket") for season in (bare, shut))
    assert (set(was.names["pests"]), set(was.names["diseases"])) == (pests, ills)
    assert (set(now.names["pests"]), set(now.names["diseases"])) == (set(), ills)
    assert now.strength < was.strength


def test_the_same_family_at_other_times_does_not_meet() -> None:
    season = grown(
        planting("radish", name="early", start=OnDate("03-20")),
        planting("rocket", name="late", start=OnDate("08-20")), years=YEARS,
    )  # fmt: skip
    assert pairs(season, "shares family") == set()


def test_roots_that_share_their_soil() -> None:
    """Onion and lettuce root in the same shallow layers; both directions are told."""
    season = grown(planting("onion-salad", name="onion"), planting("lettuce-loose-leaf", name="lettuce"), years=YEARS)
    assert pairs(season, "shares root space") == {("onion", "lettuce"), ("lettuce", "onion")}
    found = edge(season, "shares root space", "onion", "lettuce")
    assert found.strength <= found.numbers["overlap"] <= found.peak <= 1.0
    assert 0.15 <= found.strength <= 1.0


def test_a_relay() -> None:
    """Radishes are out long before parsnips need the room."""
    season = grown(planting("radish", name="radish"), planting("parsnip", name="parsnip"), years=YEARS)
    assert ("radish", "parsnip") in pairs(season, "leaves room in time")
    assert ("parsnip", "radish") not in pairs(season, "leaves room in time")
    found = edge(season, "leaves room in time", "radish", "parsnip")
    assert found.days[0] > season.plan.plantings[0].first_harvest - 30


def test_stems_to_climb_on() -> None:
    """Beans climb corn when nothing else holds them, and not when they have a trellis."""
    corn = planting("sweet-corn", name="corn", establish="stations", density_per_m2=5.0, start=OnDate("05-05"))
    start = OnDate("06-01")
    free = planting("bean-climbing", name="beans", establish="stations", density_per_m2=4.0, start=start)
    held = planting("bean-climbing", name="beans", establish="stations", count=6, where=AtTrellis(), start=start)
    assert pairs(grown(corn, free, years=YEARS), "supports") == {("corn", "beans")}
    assert pairs(grown(corn, held, years=YEARS, one=trellis_bed()), "supports") == set()


def test_nitrogen() -> None:
    peas = planting("pea-dwarf", name="peas")
    cabbage = planting("cabbage-summer", name="cabbage", establish="module", count=6)
    season = grown(peas, cabbage, years=YEARS)
    assert pairs(season, "fixes nitrogen for") == {("peas", "cabbage")}
    found = edge(season, "fixes nitrogen for", "peas", "cabbage")
    assert found.strength <= 0.3  # little is handed over in the same season
    assert found.evidence == "published trial"
    both = grown(peas, planting("broad-bean", name="beans"), years=YEARS)
    assert pairs(both, "fixes nitrogen for") == set()


def test_pollinators() -> None:
    borage = planting("borage", name="borage", establish="drills", density_per_m2=6.0)
    courgette = planting("courgette", name="courgette", establish="module", count=2, start=OnDate("05-20"))
    season = grown(borage, courgette, planting("carrot-maincrop", name="carrot"), years=YEARS)
    found = pairs(season, "attracts pollinators for")
    assert ("borage", "courgette") in found
    assert "carrot" not in {target for _, target in found}


def test_pollinators_only_for_what_sets_fruit() -> None:
    borage = planting("borage", name="borage", establish="drills", density_per_m2=6.0)
    start = OnDate("05-20")
    season = grown(borage, planting("courgette", name="courgette", establish="module", count=2, start=start), years=YEARS)
    assert pairs(season, "attracts pollinators for") == {("borage", "courgette")}


def test_ground_cover_under_the_tall() -> None:
    corn = planting("sweet-corn", name="corn", establish="stations", density_per_m2=5.0, start=OnDate("05-05"))
    squash = planting("courgette", name="squash", establish="module", count=3, start=OnDate("05-20"))
    assert ("squash", "corn") in pairs(grown(corn, squash, years=YEARS), "covers ground for")


@given(mixtures(least=1, most=4))
@settings(max_examples=8)
def test_edges_of_any_mixture(mixture: tuple[Planting, ...]) -> None:
    season = grown(*mixture)
    found = edges(season)
    order = [(KINDS.index(e.kind), -e.strength) for e in found]
    assert all(a <= b for a, b in pairwise(order))
    for e in found:
        assert e.kind in KINDS
        assert e.evidence in EVIDENCE
        assert e.source != e.target
        assert 0.0 < e.strength <= 1.0 + 1e-9
        assert 0 <= e.days[0] <= e.days[1] < season.days
        assert all(np.isfinite(value) for value in e.numbers.values())
    keys = [(e.source, e.target, e.kind) for e in found]
    assert len(keys) == len(set(keys))


def test_folk_pairings_are_no_edges() -> None:
    """Nothing joins basil to tomatoes but what is computed or on record."""
    tomato = planting("tomato-cordon", name="tomato", establish="module", count=4, start=OnDate("05-25"))
    basil = planting("basil", name="basil", establish="module", count=8, start=OnDate("06-05"))
    season = grown(tomato, basil, years=YEARS)
    assert {e.kind for e in edges(season) if e.evidence == "common practice"} <= {"shares family", "supports"}


SEASON = (
    planting("spinach", name="spinach"),
    planting("radish", name="radish"),
    planting("pea-dwarf", name="peas", where=half(0.0)),
)


def test_graph_nodes_and_edges() -> None:
    season = grown(*SEASON, years=YEARS)
    graph = interactions(season)
    assert isinstance(graph, nx.MultiDiGraph)
    assert list(graph.nodes) == ["spinach", "radish", "peas"]
    assert graph.number_of_edges() == len(edges(season))
    node = graph.nodes["radish"]
    assert node["crop"] == "radish"
    assert node["family"] == "Brassicaceae"
    assert node["start"] == str(season.plan.start)
    assert node["first_picking"] <= node["last_picking"]
    assert node["height_m"] == pytest.approx(float(np.median(season.height_m[:, :, 1].max(axis=0))), abs=0.006)
    for _, _, data in graph.edges(data=True):
        assert data["first"] <= data["last"]
        assert data["weeks"] >= 1


def test_json_and_graphml_hold_the_same_graph() -> None:
    graph = interactions(grown(*SEASON, years=YEARS))
    again = nx.node_link_graph(json.loads(json.dumps(link_data(graph))), edges="edges")
    read = nx.read_graphml(io.BytesIO(graphml(graph).encode()), force_multigraph=True)
    for other in (again, read):
        assert set(other.nodes) == set(graph.nodes)
        wanted = sorted((a, b, d["kind"], d["strength"]) for a, b, d in graph.edges(data=True))
        assert sorted((a, b, d["kind"], d["strength"]) for a, b, d in other.edges(data=True)) == wanted


def test_a_planting_that_never_comes_up_has_a_node_without_dates() -> None:
    cold = planting("okra", name="okra", establish="drills", start=OnDate("02-01"), density_per_m2=3.0)
    graph = interactions(grown(cold, planting("radish", name="radish"), years=YEARS))
    assert graph.nodes["okra"]["first_picking"] is None
    assert graphml(graph)


# traits


def test_layers_and_classes_are_ordered() -> None:
    layers = [height_layer(h) for h in (0.1, 0.2, 0.4, 0.9, 1.5, 2.5)]
    assert layers == ["ground", "ground", "low", "middle", "tall", "very tall"]
    assert [root_class(d) for d in (0.3, 0.45, 0.7, 1.2)] == ["shallow", "shallow", "medium", "deep"]


def test_weekly_sums() -> None:
    values = np.arange(16.0)
    assert weekly(values).tolist() == [21.0, 70.0, 29.0]
    assert weekly(np.ones((14, 2, 3))).shape == (2, 2, 3)
    assert weekly(values).sum() == values.sum()


def test_root_profiles_fall_from_the_surface_and_sum_to_one() -> None:
    season = grown(planting("carrot-maincrop"), planting("lettuce-loose-leaf"), years=YEARS)
    bounds = np.linspace(0.1, 2.0, 20)
    for planned in season.plan.plantings:
        for share in (0.0, 0.3, 1.0):
            profile = root_profile(planned, share, bounds)
            assert profile.sum() == pytest.approx(1.0)
            assert (np.diff(profile) <= 1e-12).all()
    profiles = root_shares(season)
    sums = profiles.sum(axis=2)
    assert np.allclose(sums[growing(season)], 1.0)
    assert (sums[~growing(season)] == 0.0).all()


def test_ground_cover_is_a_share() -> None:
    season = grown(planting("spinach"), one=bed(), years=YEARS)
    cover = ground_cover(season, 0)
    assert cover.min() == 0.0
    assert 0.3 < cover.max() < 1.0
