"""A crop as one page on the screen."""

from __future__ import annotations

from mixcraft.crops.model import Crop
from mixcraft.words.amounts import Units
from mixcraft.words.crop_page import page

from .screen import wrap

HEAD = 13


def crop_page(crop: Crop, asked: str = "", units: Units = "metric") -> str:
    """The page: a line for each heading, and where the sources are."""
    (title, _), *rest = page(crop, asked, units)
    lines = [title]
    for head, text in rest:
        lines.append(wrap(text, " " * (HEAD + 2), f"  {head:{HEAD - 1}s} "))
    return "\n".join([*lines, f"  mixcraft crops {crop.id} --sources shows every number with its source"])
