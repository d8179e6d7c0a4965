"""From facts to sentences: the only place where reasons, repairs, edges and sowing steps are put into words, a catalogue a
language."""

from .catalogue import ENGLISH, Catalogue, catalogue
from .parts import edge_detail, edge_words_of, part_summary
from .reasons import reason_sentence
from .repairs import repair_sentence
from .steps import step_amount, step_sentence

__all__ = [
    "ENGLISH", "Catalogue", "catalogue", "edge_detail", "edge_words_of", "part_summary", "reason_sentence", "repair_sentence",
    "step_amount", "step_sentence",
]  # fmt: skip
