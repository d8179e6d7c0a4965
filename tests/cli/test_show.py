"""The screen of a score: weeks of picking in words."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from mixcraft.cli.show import _when
from mixcraft.cli.show_design import _left_out
from mixcraft.crops import load_crop
from mixcraft.words.answers import _filler_words
from mixcraft.words.catalogue import ENGLISH


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("2027-06-03", "2027-06-12", "early June to mid-June"),
        ("2027-09-04", "2028-06-14", "early September to mid-June"),
        ("2027-06-04", "2028-07-25", "early June to late July next year"),
        ("2027-06-04", "2027-06-04", "early June"),
    ],
)
def test_the_year_is_told_where_the_months_leave_it_open(first: str, last: str, said: str) -> None:
    item = SimpleNamespace(first=np.datetime64(first), last=np.datetime64(last), kg=SimpleNamespace(high=1.0))
    assert _when(SimpleNamespace(item=item)) == said  # type: ignore[arg-type]


def test_a_wish_that_is_not_in_the_design_is_told() -> None:
    """One that gives nothing at the place is told of by the line on those."""
    tomato, kale, chard = (load_crop(name) for name in ("tomato-cordon", "kale", "chard"))
    design = SimpleNamespace(recipe=SimpleNamespace(plantings=(SimpleNamespace(crop=chard),)), unsuited=(tomato.name,))
    told = [
        _left_out(design, SimpleNamespace(wishes=wishes))  # type: ignore[arg-type]
        for wishes in ((), (chard, tomato), (chard, kale))
    ]
    assert told == [[], [], ["Wished for and not in the best: kale. What has to be in it goes under `musts`."]]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("2027-05-21", "2028-05-27", "pick from 21 May to 27 May next year; 20 portions (18 to 22), 12"),
        ("2027-05-21", "2028-01-10", "pick from 21 May to 10 January; 20"),
        ("2027-05-21", "2027-05-21", "pick on 21 May; 20"),
    ],
)
def test_what_can_go_in_says_when_its_picking_runs_over_a_year(first: str, last: str, said: str) -> None:
    grown = SimpleNamespace(crop=load_crop("kale"), establish="module", first=np.datetime64(first), last=np.datetime64(last))
    filler = SimpleNamespace(grown=grown, portions=20.0, band=(18.0, 22.0), useful=12.0, gain=None)
    assert said in _filler_words(filler, ENGLISH)  # type: ignore[arg-type]
