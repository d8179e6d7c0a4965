"""What is printed: the sowing card."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score
    from mixcraft.season.result import Season

__all__ = ["press_card"]


def press_card(
    season: Season, score: Score | None = None, *, paper: str = "A4", units: str = "metric", attach: bool = True
) -> bytes:
    """The sowing card of a season as PDF/A-3a bytes; see `mixcraft.press.card.press_card`."""
    from .card import press_card as press

    return press(season, score, paper=paper, units=units, attach=attach)
