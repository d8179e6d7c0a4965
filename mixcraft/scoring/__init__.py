"""The score of a season: part scores, reasons as facts, repairs."""

from .build import overall_of, score, weights_of
from .model import CropYield, Gap, PartScore, Reason, Repair, Score, StripWeek

__all__ = [
    "CropYield", "Gap", "PartScore", "Reason", "Repair", "Score", "StripWeek", "overall_of", "score", "weights_of",
]  # fmt: skip
