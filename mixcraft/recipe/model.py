"""Recipe and garden as they are written: frozen data classes, lengths in metres, temperatures in C, times in days.

The classes hold what the file says and nothing computed; `mixcraft.recipe.reading` makes them from checked files.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from mixcraft.crops.model import Crop
from mixcraft.files.load import Document
from mixcraft.place.model import Place

EDGES = ("north", "east", "south", "west")
EDGE_BEARING_DEG: Mapping[str, float] = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}


@dataclass(frozen=True, slots=True)
class Span:
    """A distance along a side: a length [m], or a share of the side when `share` is true."""

    value: float
    share: bool = False

    def metres(self, side_m: float) -> float:
        """The distance in metres on a side of `side_m`."""
        return self.value * side_m if self.share else self.value


@dataclass(frozen=True, slots=True)
class Where:
    """Where a planting stands.  `kind` is whole, strip, zone, row, points, edge or trellis; unused fields are empty."""

    kind: str
    x: tuple[Span, Span] | None = None
    y: tuple[Span, Span] | None = None
    along: str = "length"
    rows: tuple[Span, ...] = ()
    points: tuple[tuple[Span, Span], ...] = ()
    edge: str = "any"
    depth_m: float = 0.3


@dataclass(frozen=True, slots=True)
class Rule:
    """A start or end rule: `kind` with the fields that it uses."""

    kind: str
    at_least_c: float = 0.0
    weeks: float = 0.0
    month_day: str = ""
    hemisphere: str = ""
    planting: str = ""
    event: str = ""
    days: float = 0.0


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment in the life of a planting: an event and an offset [d], or a month-day."""

    event: str = "start"
    days: float = 0.0
    month_day: str = ""


@dataclass(frozen=True, slots=True)
class CoverUse:
    """A cover of some kind between two moments."""

    kind: str
    on: Moment
    off: Moment


@dataclass(frozen=True, slots=True)
class HarvestUse:
    """How one part is picked; None leaves the crop's own value."""

    part: str
    method: str | None = None
    every_days: float | None = None
    cuts: int | None = None
    start: Moment | None = None
    until: Moment | None = None


@dataclass(frozen=True, slots=True)
class Thinning:
    """Sown at `sown_per_m2` and thinned to the stated density at a moment."""

    sown_per_m2: float
    at: Moment


@dataclass(frozen=True)
class Planting:
    """One crop, sown or planted in one way at one time.  Exactly one of count, density and seed rate is given."""

    name: str
    crop: Crop
    establish: str
    where: Where
    start: Rule
    end: Rule
    cultivar: str = ""
    count: int | None = None
    density_per_m2: float | None = None
    seed_rate_g_m2: float | None = None
    thin: Thinning | None = None
    covers: tuple[CoverUse, ...] = ()
    support: str = ""
    support_height_m: float | None = None
    harvest: tuple[HarvestUse, ...] = ()
    depth_m: float | None = None
    note: str = ""
    path: tuple[str | int, ...] = field(default=(), compare=False)


@dataclass(frozen=True)
class Recipe:
    """A mixture for a bed of a reference size; knows no place."""

    name: str
    length_m: float
    width_m: float
    plantings: tuple[Planting, ...]
    author: str = ""
    licence: str = ""
    about: str = ""
    document: Document | None = field(default=None, compare=False, repr=False)

    @property
    def file(self) -> str:
        """Name of the file it was read from, or nothing."""
        return self.document.name if self.document else ""

    @property
    def source_text(self) -> str:
        """Text of the file it was read from, or nothing."""
        return self.document.text if self.document else ""

    def planting(self, name: str) -> Planting:
        """The planting called `name` (KeyError if there is none)."""
        for planting in self.plantings:
            if planting.name == name:
                return planting
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Trellis:
    """A trellis on the edge of a bed that faces `edge`; height [m]."""

    edge: str
    height_m: float


@dataclass(frozen=True, slots=True)
class Obstacle:
    """An opaque or half-open wall beside a bed: side, distance from the edge [m], height [m], opacity 0..1."""

    side: str
    distance_m: float
    height_m: float
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Watering:
    """How a bed is watered: watered, weekly (with mm per week) or rain."""

    kind: str = "watered"
    mm_per_week: float = 0.0


@dataclass(frozen=True, slots=True)
class Plate:
    """What the household wants from a bed: the window of the year and fresh kilograms a week."""

    start: str = ""
    until: str = ""
    weekly_kg: float = 0.0
    people: int = 0


@dataclass(frozen=True)
class Bed:
    """A bed of a garden; `heading_deg` is the bearing from its foot (x = 0) to its head."""

    name: str
    length_m: float
    width_m: float
    heading_deg: float = 0.0
    trellises: tuple[Trellis, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    soil: str = "loam"
    watering: Watering = Watering()
    soil_lead_mg_kg: float | None = None
    history: tuple[tuple[int, tuple[str, ...]], ...] = ()
    plate: Plate | None = None

    @property
    def area_m2(self) -> float:
        """Area [m2]."""
        return self.length_m * self.width_m


PARTS = ("canopy", "continuity", "roots", "families", "timing", "yield")
"""Part scores, which a garden may weigh."""


@dataclass(frozen=True)
class Garden:
    """A place, its beds, what the household wants and its own weights of the part scores."""

    name: str
    place: Place
    beds: tuple[Bed, ...]
    plate: Plate = Plate()
    weights: Mapping[str, float] = field(default_factory=dict)
    about: str = ""
    file: str = field(default="", compare=False)

    def bed(self, name: str) -> Bed:
        """The bed called `name`, case ignored (KeyError if there is none)."""
        for bed in self.beds:
            if bed.name.casefold() == name.casefold():
                return bed
        raise KeyError(name)
