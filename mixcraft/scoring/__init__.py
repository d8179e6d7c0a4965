"""The score of a season: part scores, explanations, repairs."""

from .build import score, weights_of
from .model import PARTS, CropYield, Gap, PartScore, Reason, Repair, Score, StripWeek

__all__ = [
    "PARTS", "CropYield", "Gap", "PartScore", "Reason", "Repair", "Score", "StripWeek", "score", "weights_of",
]  # fmt: skip
