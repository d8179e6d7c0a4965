"""The bed drawn to scale: lengths, directions, circles inside the outline, and marks that differ without colour."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFilter
from strategies import bed, planned, planting

from mixcraft.press.marks import MARKS, Mark, swatch
from mixcraft.press.plan_drawing import draw_plan
from mixcraft.press.plan_frame import METRE_PT, frame_of, north_bearing
from mixcraft.press.scatter import plants_per_mark
from mixcraft.press.type import text_width
from mixcraft.recipe.model import Obstacle, Points, Trellis
from mixcraft.season.result import Season
from mixcraft.words.amounts import Units

HEIGHT, WIDTH = 280.0, 539.0


def test_a_metre_is_a_metre_over_the_scale(mixture: Callable[[int], Season]) -> None:
    """72 points to the inch of 25.4 mm: at 1:25 a metre of the bed is 40 mm on paper."""
    frame = draw_plan(mixture(12).plan, WIDTH, HEIGHT).frame
    assert frame.scale == 25
    assert math.dist(frame.at(0.0, 0.5), frame.at(1.0, 0.5)) / 72.0 * 25.4 == pytest.approx(1000.0 / 25)
    assert pytest.approx(2834.6457, abs=1e-3) == METRE_PT
    assert frame.size == pytest.approx((4.0 * frame.points_per_metre, 1.2 * frame.points_per_metre))


@pytest.mark.parametrize("count", [1, 6, 12, 20])
def test_circles_lie_where_the_plants_stand_and_numbers_in_the_bed(count: int, mixture: Callable[[int], Season]) -> None:
    plan = mixture(count).plan
    drawn = draw_plan(plan, WIDTH, HEIGHT)
    frame = drawn.frame
    for _, x, y, r in drawn.numbers:
        assert frame.left - 1e-6 <= x - r
        assert x + r <= frame.left + frame.size[0] + 1e-6
        assert frame.top - 1e-6 <= y - r
        assert y + r <= frame.top + frame.size[1] + 1e-6
    for p in plan.plantings:
        own = np.array([(x, y) for i, x, y, _ in drawn.circles if i == p.index])
        if drawn.kinds[p.index] == "plants":
            assert p.stand.positions is not None
            places = np.array([frame.at(float(x), float(y)) for x, y in p.stand.positions])
            assert len(own) == len(places)
            assert np.abs(own - places).max() <= 1e-6


def test_every_planting_is_on_the_plan(mixture: Callable[[int], Season]) -> None:
    plan = mixture(20).plan
    drawn = draw_plan(plan, WIDTH, HEIGHT)
    labels = set(re.findall(r">(\d+)</text>", drawn.svg))
    for p in plan.plantings:
        whole = p.planting.where.kind == "whole"
        assert whole or str(p.index + 1) in labels


@given(
    length=st.floats(0.6, 12.0), width=st.floats(0.4, 3.0), heading=st.floats(0.0, 359.0),
    paper=st.sampled_from([(539.0, 280.0), (363.0, 120.0)]),
)  # fmt: skip
def test_any_bed_fits_its_room(length: float, width: float, heading: float, paper: tuple[float, float]) -> None:
    one = bed(length, width, heading_deg=heading, trellises=(Trellis("north", 2.0),), obstacles=(Obstacle("west", 1.0, 2.0),))
    plan = planned(planting("radish", count=3), one=one)
    drawn = draw_plan(plan, *paper)
    assert drawn.width <= paper[0] + 1e-6
    assert drawn.height <= paper[1] + 1e-6
    bearing = north_bearing(drawn.frame.x_points, heading)
    assert 0.0 <= bearing < 360.0


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize(("length", "width"), [(10.0, 1.2), (10.0, 0.5), (4.0, 1.2), (1.2, 1.2)])
def test_names_beside_the_bed_are_not_cut_off(length: float, width: float, units: Units) -> None:
    """On a long narrow bed the name of a trellis at its end once ran off the top of the drawing."""
    ends = Trellis("north", 2.0), Trellis("south", 2.0)
    one = bed(length, width, trellises=ends, obstacles=(Obstacle("north", 1.25, 1.8, 0.5),))
    drawn = draw_plan(planned(planting("radish", count=3), one=one), WIDTH, HEIGHT, units)
    turned = re.findall(r'<text [^>]*y="([\d.]+)"[^>]*font-size="([\d.]+)"[^>]*rotate\(-90[^>]*>([^<]+)<', drawn.svg)
    assert len(turned) == (3 if drawn.frame.x_points in ("left", "right") else 0)
    for y, size, text in turned:
        reach = text_width(text, float(size)) / 2.0
        assert float(y) - reach >= 0.0, text
        assert float(y) + reach <= drawn.height, text
        heights = ("2 m", "1.8 m") if units == "metric" else ("6 ft 7 in", "5 ft 11 in")
        assert any(height in text.replace("\u00a0", " ") for height in heights), text


@pytest.mark.parametrize(
    ("x_points", "heading", "north"),
    [("up", 0.0, 0.0), ("right", 90.0, 0.0), ("right", 0.0, 90.0), ("left", 270.0, 0.0), ("down", 180.0, 0.0),
     ("right", 45.0, 45.0)],
)  # fmt: skip
def test_north(x_points: str, heading: float, north: float) -> None:
    """A bed that heads east, drawn with its head to the right, has north at the top of the page."""
    assert north_bearing(x_points, heading) == pytest.approx(north)


@pytest.mark.parametrize("heading", [0.0, 90.0, 180.0, 270.0])
def test_sides_lie_where_the_compass_says(heading: float) -> None:
    """The middle of the north edge lies north of the middle of the bed on the drawing."""
    plan = planned(planting("radish", count=3), one=bed(2.0, 1.0, heading_deg=heading, trellises=(Trellis("north", 2.0),)))
    frame, _ = frame_of(plan, WIDTH, HEIGHT)
    middle = frame.at(1.0, 0.5)
    turn = math.radians(north_bearing(frame.x_points, heading))
    north = math.sin(turn), -math.cos(turn)
    edges = {"head": (2.0, 0.5), "foot": (0.0, 0.5), "left": (1.0, 1.0), "right": (1.0, 0.0)}
    from mixcraft.recipe.layout import side_of_edge

    edge = frame.at(*edges[side_of_edge("north", heading)])
    along = (edge[0] - middle[0]) * north[0] + (edge[1] - middle[1]) * north[1]
    assert along == pytest.approx(math.dist(edge, middle))
    out = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}[frame.side(side_of_edge("north", heading))]
    assert out == pytest.approx(north, abs=1e-9)


def test_sown_marks_are_one_for_each_plant() -> None:
    plan = planned(planting("radish", count=60), planting("carrot-maincrop", count=40))
    drawn = draw_plan(plan, WIDTH, HEIGHT)
    assert drawn.kinds == ("sown", "sown")
    assert drawn.per_mark == (1, 1)
    paths = re.findall(r'<path d="([^"]+)"', drawn.svg)
    dots, rings = (p.count("M") for p in paths[:2])
    assert (dots, rings) == (60, 40)


def test_a_crowd_is_thinned_evenly() -> None:
    plan = planned(planting("radish", count=400), planting("lettuce-baby-leaf", count=200))
    drawn = draw_plan(plan, 363.0, 120.0)
    assert drawn.per_mark[0] == drawn.per_mark[1] > 1


@given(st.floats(1.0, 1e5), st.floats(1.0, 500.0))
def test_marks_never_exceed_the_room(plants: float, room: float) -> None:
    step = plants_per_mark(plants, room)
    assert plants / step <= room
    assert str(step).rstrip("0") in ("1", "2", "5")


def test_points_stay_where_they_are_drawn() -> None:
    """A plant far from rim and neighbours is drawn exactly at its place."""
    from mixcraft.recipe.model import Span

    where = Points(at=((Span(0.5), Span(0.5)), (Span(1.5), Span(0.4))))
    drawn = draw_plan(planned(planting("beetroot", where=where, establish="stations")), WIDTH, HEIGHT)
    for (_, x, y, _), place in zip(drawn.circles, ((0.5, 0.5), (1.5, 0.4)), strict=True):
        assert (x, y) == pytest.approx(drawn.frame.at(*place))


def grey(mark: Mark) -> np.ndarray:  # type: ignore[type-arg]
    """A mark as a printer and the eye at arm's length see it: grey, a little blurred; 48 x 48 dots of 0 to 1."""
    size, scale = 192, 60.0
    picture = Image.new("L", (size, size), 255)
    pen = ImageDraw.Draw(picture)

    def at(x: float, y: float) -> tuple[float, float]:
        return size / 2 + scale * x, size / 2 + scale * y

    for line in mark.lines:
        points = [at(*p) for p in line]
        if mark.closed:
            pen.polygon(points, fill=0 if mark.black else 255, outline=0, width=22)
        else:
            pen.line(points, fill=0, width=22, joint="curve")
    for x, y, r in mark.circles:
        (a, b), (c, d) = at(x - r, y - r), at(x + r, y + r)
        pen.ellipse((a, b, c, d), fill=0 if mark.black else 255, outline=0, width=22)
    blurred = picture.filter(ImageFilter.GaussianBlur(9)).resize((48, 48))
    return 1.0 - np.asarray(blurred).astype(float) / 255.0


def test_marks_differ_in_grey() -> None:
    """Any two of the twenty marks differ in at least an eighth of their ink, blurred."""
    pictures = {mark.name: grey(mark) for mark in MARKS}
    assert len(pictures) == 20
    for (a, first), (b, second) in itertools.combinations(pictures.items(), 2):
        ink = max(first.sum(), second.sum())
        assert np.abs(first - second).sum() / ink > 0.125, (a, b)


def test_drawings_use_no_colour(mixture: Callable[[int], Season]) -> None:
    svg = draw_plan(mixture(20).plan, WIDTH, HEIGHT).svg + "".join(
        swatch(i, kind).svg() for i in range(20) for kind in ("plants", "lines", "sown")
    )
    colours = set(re.findall(r"#[0-9a-f]{3,6}\b", svg))
    assert colours <= {"#000", "#fff", "#767676", "#c4c4c4"}


def test_samples_of_one_kind_all_differ() -> None:
    for kind in ("plants", "lines", "sown"):
        assert len({swatch(i, kind).svg() for i in range(20)}) == 20
