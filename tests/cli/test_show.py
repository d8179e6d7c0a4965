"""The screen of a score: weeks of picking in words."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from mixcraft.cli.show import _when


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
