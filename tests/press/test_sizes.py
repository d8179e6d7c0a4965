"""Cards of 1 to 30 plantings on beds of three sizes, three papers and in five languages, measured in the PDF by pdfplumber, which
is not ours: nothing is smaller than the least type, nothing leaves the page or its column, no number covers another."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from card_beds import COUNTS, SIZES, plan_of

from mixcraft.press import press_card
from mixcraft.press.options import LEAST, PAPERS, Options
from mixcraft.press.plan_view import READABLE, phases
from mixcraft.press.sides import content_of
from mixcraft.scoring.model import Score
from mixcraft.season.result import Season
from mixcraft.words.catalogue import catalogue, languages
from mixcraft.words.crop_names import in_language

MANY = {16: SIZES[1], 30: SIZES[2]}
"""Counts of plantings that are tried on one bed alone in slow runs, and the bed."""
A_HAIR = 0.05
"""Sizes and places in a PDF are rounded [pt]."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, quiet: Callable[..., Season]) -> Callable[[int, float, float], Season]:
    folder, kept = tmp_path_factory.mktemp("beds"), dict[Any, Season]()

    def season(count: int, length_m: float, width_m: float) -> Season:
        key = count, length_m
        if key not in kept:
            kept[key] = quiet(plan_of(Path(folder), count, length_m, width_m))
        return kept[key]

    return season


def cases() -> list[Any]:
    """Every count on every bed, paper and language: all 180 when benches are asked for, every count on every bed in slow runs
    (of many plantings one bed alone, of the most the long one, on which they take most room), one plant in every language on the
    least paper, and in quick ones one of each language, with every paper, once of as many plantings as most beds have."""
    papers, spoken = list(PAPERS), list(languages())
    every = [(n, *size, paper, language) for n in COUNTS for size in SIZES for paper in papers for language in spoken]
    slow = {
        (n, *size, papers[(i + j) % 3], spoken[(2 * i + j) % 5])
        for i, n in enumerate(COUNTS) for j, size in enumerate(SIZES) if size == MANY.get(n, size)
    }  # fmt: skip
    slow |= {(1, *SIZES[1], "A5", language) for language in spoken}
    slow.add((8, *SIZES[0], "A4", "fr"))
    few = (1, 1, 8, 1, 1)
    quick = {(few[i], *SIZES[i % len(SIZES)], papers[i % len(papers)], it) for i, it in enumerate(spoken)}
    return [
        pytest.param(*case, marks=() if case in quick else pytest.mark.slow if case in slow else pytest.mark.bench)
        for case in every
    ]


@pytest.mark.parametrize(("count", "length_m", "width_m", "paper", "language"), cases())
def test_type_and_overflow(
    count: int, length_m: float, width_m: float, paper: str, language: str, made: Callable[..., Season],
    by_hand: Callable[[Season], Score],
) -> None:  # fmt: skip
    season = made(count, length_m, width_m)
    pdf = press_card(season, by_hand(season), paper=paper, year=2027, language=language)
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) >= 2
        said = ""
        for page in document.pages:
            sizes = [c["size"] if c["upright"] else c["x1"] - c["x0"] for c in page.chars]
            assert min(sizes) >= LEAST[paper] - A_HAIR, min(sizes)
            for char in page.chars:
                if char["text"].strip():
                    assert char["x0"] >= 20.0
                    assert char["x1"] <= page.width - 20.0
                    assert char["top"] >= 15.0
                    assert char["bottom"] <= page.height - 6.0
            assert overlapping(page) == []
            said += page.extract_text()
    for planned in in_language(season, catalogue(language)).plan.plantings:
        assert "".join(planned.name[1:].split()) in "".join(said.split())


def overlapping(page: Any) -> list[tuple[str, str]]:
    """Pairs of words set over one another: boxes that share more than a fifth of the smaller, upright text only."""
    words = [w for w in page.extract_words(use_text_flow=True, keep_blank_chars=False) if w["upright"]]
    found = []
    for i, a in enumerate(words):
        for b in words[i + 1 :]:
            wide = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
            high = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"])
            if wide > 0.0 and high > 0.0:
                least = min((w["x1"] - w["x0"]) * (w["bottom"] - w["top"]) for w in (a, b))
                if wide * high > 0.2 * least:
                    found.append((a["text"], b["text"]))
    return found


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize(("length_m", "width_m"), SIZES)
def test_numbers_circles_and_scale(
    count: int, length_m: float, width_m: float, made: Callable[..., Season], by_hand: Callable[[Season], Score]
) -> None:
    """Circles are as wide as the plants when grown, numbers lie clear of one another, each planting has one, and the scale is one
    that can be read."""
    season = made(count, length_m, width_m)
    content = content_of(season, by_hand(season), Options())
    seen = set()
    for drawn in content.drawn:
        assert drawn.frame.scale <= READABLE["A4"]
        for index, _, _, radius in drawn.circles:
            grown = season.plan.plantings[index].planting.crop["canopy.spread"]
            assert 2 * radius / drawn.frame.points_per_metre == pytest.approx(grown)
        for i, (_, x, y, r) in enumerate(drawn.numbers):
            assert all(math.dist((x, y), other[1:3]) >= r + other[3] for other in drawn.numbers[i + 1 :])
        seen |= {i for i, kind in enumerate(drawn.kinds) if kind}
        assert {c[0] for c in drawn.numbers} == {i for i, kind in enumerate(drawn.kinds) if kind == "plants"}
    assert seen == set(range(count))


def test_places_used_twice_have_plans_of_their_own(made: Callable[..., Season]) -> None:
    """Sixteen plantings on eight strips: the second eight follow the first, on plans of their own."""
    season = made(16, 3.0, 1.2)
    parts = phases(season, None)
    assert len(parts) >= 2
    assert set(range(8)) <= set(parts[0].plantings)
    assert set(range(8, 16)) <= {i for part in parts[1:] for i in part.plantings}
    assert len(phases(made(8, 3.0, 1.2), None)) == 1
