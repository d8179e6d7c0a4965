"""The registry of part scores: a part is a module of `mixcraft.scoring.parts` with a `PART` and a weight among the constants."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mixcraft.files.facts import Facts, Names, Numbers

from . import parts as package
from .constants import weighted_parts
from .evidence import Evidence
from .model import Reason


class Judged(NamedTuple):
    """What a part says of a season: points 0-100, the facts of its summary, the reasons for lost points in any order."""

    score: float
    numbers: Numbers = Facts()
    names: Names = Facts()
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class Part:
    """A part score: its name, how it judges, if single years differ, its points by year (Y,) for the spread, its points alone
    where finding the reasons takes longer, and points that it cannot exceed where they are found sooner than its points."""

    name: str
    judge: Callable[[Evidence], Judged]
    by_year: Callable[[Evidence], NDArray[np.float64]] | None = None
    alone: Callable[[Evidence], float] | None = None
    most: Callable[[Evidence], float] | None = None

    def points(self, evidence: Evidence) -> float:
        """The points that the part gives, without reasons."""
        return self.judge(evidence).score if self.alone is None else self.alone(evidence)

    def at_most(self, evidence: Evidence) -> float:
        """Points that the part does not exceed."""
        return self.points(evidence) if self.most is None else self.most(evidence)


@lru_cache(maxsize=1)
def registry() -> tuple[Part, ...]:
    """The part scores in the order of their weights; LookupError for a part without a weight or a weight without a part."""
    modules = [importlib.import_module(f"{package.__name__}.{m.name}") for m in pkgutil.iter_modules(package.__path__)]
    found = {module.PART.name: module.PART for module in modules}
    names = weighted_parts()
    if set(found) != set(names):
        raise LookupError(f"part scores without a weight or a module: {sorted(set(found) ^ set(names))}")
    return tuple(found[name] for name in names)
