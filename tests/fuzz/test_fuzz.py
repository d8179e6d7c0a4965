"""Random inputs end in a season or in a clear refusal; ``MIXCRAFT_FUZZ=100000 pytest tests/fuzz/test_fuzz.py -s`` tries more, and
100,000 are on record (`record.csv`)."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from fuzzing import USES, made, tried

INPUTS = int(os.environ.get("MIXCRAFT_FUZZ", "300"))
PARTS = 6 if INPUTS <= 300 else 50
FIRST = int(os.environ.get("MIXCRAFT_FUZZ_FIRST", "0"))


@pytest.mark.parametrize("part", [pytest.param(n, marks=pytest.mark.slow if n else ()) for n in range(PARTS)])
def test_random_inputs_are_used_or_refused(part: int, tmp_path: Path) -> None:
    size = INPUTS // PARTS
    tally = tried(range(FIRST + part * size, FIRST + (part + 1) * size), tmp_path)
    print(dict(sorted(tally.counts.items())))
    assert tally.wrong == {}
    assert sum(tally.counts[kind] for kind in USES) == size
    assert tally.counts["grown"] >= size // 50, "changes so coarse that nothing is accepted try the reader alone"
    assert sum(n for what, n in tally.counts.items() if what.endswith("refused")) >= size // 4


def test_an_input_is_made_again_from_its_number() -> None:
    assert made(17) == made(17)
    assert len({made(number)[1] for number in range(50)}) >= 40
