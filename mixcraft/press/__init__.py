"""What is printed: the sowing card, the book of a garden, calendars and tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score
    from mixcraft.season.result import Season

    from .options import Options

__all__ = ["press_card"]


def press_card(season: Season, score: Score | None = None, options: Options | None = None, **said: Any) -> bytes:
    """The sowing card of a season as PDF/A-3a bytes; see `mixcraft.press.card.press_card`."""
    from .card import press_card as press

    return press(season, score, options, **said)
