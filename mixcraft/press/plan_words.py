"""Words on a plan in the language of the card."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixcraft.words.catalogue import ENGLISH, Catalogue
from mixcraft.words.plain import edge_words

WALL_FROM = 0.94
"""From this share of light kept out a screen is called a wall."""


@dataclass(frozen=True)
class Words:
    """What a plan says: `t` the catalogue, `comma` whether decimals are written with a comma."""

    t: Catalogue = field(default=ENGLISH, compare=False)
    comma: bool = False

    def plan_label(self, scale: int, caption: str) -> str:
        """What a drawing is, for those who cannot see it."""
        said = self.t.gettext("Plan of the bed, scale 1:{scale}").format(scale=scale)
        return f"{said}, {caption}" if caption else said

    def scale(self, scale: int) -> str:
        """The written scale."""
        return self.t.gettext("scale 1:{scale}").format(scale=scale)

    def trellis(self, edge: str, high: str) -> tuple[str, ...]:
        """A trellis with its height, from the longest to the shortest."""
        said = self.t.gettext("{edge} trellis, {height} high").format(edge=edge_words(edge, self.t), height=high)
        return said, self.t.gettext("trellis, {height} high").format(height=high), high

    def wall(self, opacity: float, high: str, off: str, side: str) -> tuple[str, ...]:
        """A wall or screen beside the bed, from the longest to the shortest."""
        t, dense = self.t, f"{100 * opacity:.0f}"
        whole = (
            t.gettext("wall {height} high, {distance} from the {edge} side") if opacity > WALL_FROM
            else t.gettext("screen, {dense} % dense, {height} high, {distance} from the {edge} side")
        ).format(height=high, distance=off, edge=edge_words(side, t), dense=dense)  # fmt: skip
        short = t.gettext("wall {height} high") if opacity > WALL_FROM else t.gettext("screen {height} high")
        return whole, short.format(height=high), high


ENGLISH_WORDS = Words()
