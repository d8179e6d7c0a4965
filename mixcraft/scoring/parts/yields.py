"""Yield: what the bed gives beside the same crops grown alone, each at its best density on the same bed and dates."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts
from mixcraft.scoring.constants import constants
from mixcraft.scoring.evidence import Evidence
from mixcraft.scoring.model import Reason
from mixcraft.scoring.registry import Judged, Part

Floats = NDArray[np.float64]


def yield_points(ler: Floats | float) -> Floats:
    """Points for land equivalent ratios, of the same shape."""
    c = constants()
    return np.asarray(100.0 * np.clip((ler - c["ler_none"]) / (c["ler_full"] - c["ler_none"]), 0.0, 1.0))


def yields(evidence: Evidence) -> Judged:
    """Points for the land equivalent ratio of the middle year; plantings that give little or nothing are named."""
    c, ler, partial = constants(), evidence.ler, evidence.partial_ler
    middle = 0.0 if np.isnan(ler.middle) else ler.middle
    score = float(yield_points(middle))
    idle = [name for name, value in partial.items() if not np.isnan(value) and value < c["idle_share"]]
    reasons = [Reason("yield", "idle", (100.0 - score) / (len(idle) + 1), (n,), None, Facts(share=partial[n])) for n in idle]
    nothing = [name for name, value in partial.items() if np.isnan(value)]
    reasons += [Reason("yield", "nothing", 100.0 / len(partial), (name,)) for name in nothing]
    if middle < 1.0:
        points = max(c["below_apart_least"], (100.0 - score) * c["below_apart_loss"])
        reasons.append(Reason("yield", "less than apart", points, (), None, Facts(ler=middle)))
    return Judged(score, Facts(ler=middle, low=ler.low, high=ler.high), Facts(), tuple(reasons))


def _by_year(evidence: Evidence) -> Floats:
    return yield_points(evidence.ler_by_year)


PART = Part("yield", yields, _by_year)
