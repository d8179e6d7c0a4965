"""Many recipes at many places: a row for each pair, in files that tables are made of."""

from .model import Named, Setting, Spot
from .places import read_spots
from .run import Progress, Swept, sweep

__all__ = ["Named", "Progress", "Setting", "Spot", "Swept", "read_spots", "sweep"]
