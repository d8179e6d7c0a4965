"""Recipe and garden as they are written: frozen data classes, lengths in metres, temperatures in C, times in days.

The classes hold what the file says and nothing computed; `mixcraft.recipe.reading` makes them from checked files.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from mixcraft.crops.clock import PIECES, ROOTED, STANDING
from mixcraft.crops.model import Crop, Part
from mixcraft.crops.resting import rests_in_winter
from mixcraft.files.frozen import FrozenMap
from mixcraft.files.load import Document
from mixcraft.place.model import Place

from .constants import constant

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


# Where -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WholeBed:
    """Mixed over the whole bed."""

    kind: ClassVar[str] = "whole"


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip across the bed, from one place along its length to another."""

    kind: ClassVar[str] = "strip"
    x: tuple[Span, Span]


@dataclass(frozen=True, slots=True)
class Zone:
    """A rectangle: from and to along the length and across the width."""

    kind: ClassVar[str] = "zone"
    x: tuple[Span, Span]
    y: tuple[Span, Span]


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows that run along the length or the width of the bed, each `at` a distance across the rows, from one end to another
    (`ends`, measured along them; None = the whole side)."""

    kind: ClassVar[str] = "row"
    along: str
    at: tuple[Span, ...]
    ends: tuple[Span, Span] | None = None


@dataclass(frozen=True, slots=True)
class Points:
    """Drawn points, x and y of each plant."""

    kind: ClassVar[str] = "points"
    at: tuple[tuple[Span, Span], ...]


@dataclass(frozen=True, slots=True)
class Border:
    """A border along the edge of the bed that faces `edge`; it reaches `depth_m` into the bed."""

    kind: ClassVar[str] = "edge"
    edge: str
    depth_m: float = constant("border_depth")


@dataclass(frozen=True, slots=True)
class AtTrellis:
    """At the foot of the trellis on an edge of the bed; any = the first trellis the bed has."""

    kind: ClassVar[str] = "trellis"
    edge: str = "any"


Where = WholeBed | Strip | Zone | Rows | Points | Border | AtTrellis
"""Where a planting stands."""


# When ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class OnDate:
    """A month-day, MM-DD; moved by six months where it is meant for the other `hemisphere` (north, south; empty = here)."""

    kind: ClassVar[str] = "date"
    month_day: str
    hemisphere: str = ""


@dataclass(frozen=True, slots=True)
class WarmSoil:
    """The first time that the soil at sowing depth has `at_least_c` and keeps it a week, not before a month-day if given."""

    kind: ClassVar[str] = "soil"
    at_least_c: float
    not_before: str = ""


@dataclass(frozen=True, slots=True)
class SpringFrost:
    """Weeks from the last frost of spring; negative = before it."""

    kind: ClassVar[str] = "frost"
    weeks: float = 0.0


@dataclass(frozen=True, slots=True)
class AutumnFrost:
    """Weeks from the first frost of autumn; negative = before it."""

    kind: ClassVar[str] = "autumn-frost"
    weeks: float = 0.0


@dataclass(frozen=True, slots=True)
class After:
    """So many days after something has happened to another planting (start, emergence, first-harvest, last-harvest, end)."""

    kind: ClassVar[str] = "after"
    planting: str
    event: str
    wait_days: float = 0.0


@dataclass(frozen=True, slots=True)
class Harvested:
    """Cleared after its last harvest."""

    kind: ClassVar[str] = "harvested"


@dataclass(frozen=True, slots=True)
class AtAge:
    """Cleared so many days after its start."""

    kind: ClassVar[str] = "age"
    days: float


Start = OnDate | WarmSoil | SpringFrost | AutumnFrost | After
"""When a planting is sown or planted."""
End = Harvested | OnDate | AtAge | AutumnFrost
"""When a planting is cleared."""


@dataclass(frozen=True, slots=True)
class Times:
    """So many sowings in all, the first one counted."""

    kind: ClassVar[str] = "times"
    sowings: int


Until = OnDate | AutumnFrost | Times
"""How long a planting is sown again: no sowing comes after that day, or so many in all."""


@dataclass(frozen=True, slots=True)
class Again:
    """Sown or planted again every so many days, each time the same amount in the same place."""

    every_days: float
    until: Until


@dataclass(frozen=True, slots=True)
class AtEvent:
    """An event in the life of a planting (start, emergence, first harvest, flower, last harvest, end), so many days off."""

    event: str = "start"
    days: float = 0.0


@dataclass(frozen=True, slots=True)
class OnDay:
    """The next such month-day, MM-DD, in the life of a planting."""

    month_day: str


Moment = AtEvent | OnDay
"""A moment in the life of a planting."""


# How many --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Count:
    """A number of plants on the reference bed."""

    plants: int


@dataclass(frozen=True, slots=True)
class Density:
    """Plants standing per square metre of the planting's own place."""

    per_m2: float


@dataclass(frozen=True, slots=True)
class SeedRate:
    """Grams of seed per square metre of the planting's own place."""

    g_per_m2: float


@dataclass(frozen=True, slots=True)
class Usual:
    """Nothing said: a plant at each drawn point, else the crop's usual density for its way of establishing."""


Amount = Count | Density | SeedRate | Usual
"""How many plants."""


# The recipe ------------------------------------------------------------------------------------


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
    cut_height_m: float | None = None


@dataclass(frozen=True, slots=True)
class Thinning:
    """Sown at `sown_per_m2` and thinned to the stated density at a moment; without one as the seedlings come to be eaten, in
    weekly rounds, where thinnings are picked, and else when they are a few weeks old."""

    sown_per_m2: float
    at: Moment | None = None


@dataclass(frozen=True, slots=True)
class Planting:
    """One crop, sown or planted in one way at one time.  `path` says where in the file it was read from it stands."""

    name: str
    crop: Crop
    establish: str
    where: Where
    start: Start
    end: End = Harvested()
    amount: Amount = Usual()
    again: Again | None = None
    cultivar: str = ""
    thin: Thinning | None = None
    covers: tuple[CoverUse, ...] = ()
    support: str = ""
    support_height_m: float | None = None
    harvest: tuple[HarvestUse, ...] = ()
    depth_m: float | None = None
    years: int | None = None
    note: str = ""
    path: tuple[str | int, ...] = field(default=(), compare=False)

    @property
    def stands(self) -> bool:
        """Whether a perennial stands in the bed already, planted in a year before; one of no known age is to be planted."""
        return self.years is not None and self.years > 0

    @property
    def comes(self) -> str:
        """How it comes into the season: established as the recipe says, or of what was set out in a year before in leaf or as a
        piece that sprouts.  Clumps of chives, mint or artichokes show leaf as soon as it is warm enough, however they were set
        out; rootstocks that rest, and what is dug, sprout."""
        if not self.stands:
            return self.establish
        clump = self.establish in ("crown", "division") and not self.crop.in_soil
        return ROOTED if self.establish in PIECES and (rests_in_winter(self.crop) or not clump) else STANDING

    @property
    def set_m(self) -> float:
        """Depth at which it is sown or set [m]: as the recipe says, or as is usual."""
        return self.depth_m if self.depth_m is not None else self.crop["seed.depth"] / 100.0

    def too_young(self, part: Part) -> bool:
        """Whether a perennial has not stood long enough for its main part to be picked; one of no known age has."""
        return self.years is not None and part.role == "main" and self.years < self.crop.number("harvest.establishing", 0.0)


@dataclass(frozen=True, slots=True)
class Serves:
    """The part of the year for which a recipe is there: first and last month-day, MM-DD, on which it is meant to be picked."""

    start: str
    until: str


@dataclass(frozen=True, slots=True)
class Recipe:
    """A mixture for a bed of a reference size; knows no place.  One that is there for part of the year says which (`serves`)."""

    name: str
    length_m: float
    width_m: float
    plantings: tuple[Planting, ...]
    author: str = ""
    licence: str = ""
    about: str = ""
    serves: Serves | None = None
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
class Slope:
    """How the surface of a bed lies: it falls towards `falls`, a point of the compass, at an angle to the level [deg]."""

    falls: str
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Beside:
    """What lies beside a bed on one side: path, grass, bed, fence or wall, and how wide it is [m]."""

    side: str
    kind: str
    width_m: float

    @property
    def run_over(self) -> float:
        """How far vines may run over it [m]."""
        return self.width_m if self.kind in ("path", "grass") else 0.0


@dataclass(frozen=True, slots=True)
class Obstacle:
    """An opaque or half-open wall or shrub beside a bed: side, distance from the edge [m], height [m], opacity 0..1, where along
    the side it begins and ends [m], counted from the west or south corner of the bed (long if not given), and its depth [m]."""

    side: str
    distance_m: float
    height_m: float
    opacity: float = 1.0
    first_m: float | None = None
    last_m: float | None = None
    depth_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Watering:
    """How a bed is watered: watered, weekly (with mm per week) or rain."""

    kind: str = "watered"
    mm_per_week: float = 0.0


@dataclass(frozen=True, slots=True)
class Feeding:
    """How a bed is fed: usual (as vegetable beds are), compost (with litres to the square metre a year) or none."""

    kind: str = "usual"
    litres_m2: float = 0.0


@dataclass(frozen=True, slots=True)
class Plate:
    """What the household wants from a bed: the window of the year, fresh kilograms or portions a week, and how many different
    things (`kinds`) a week; 0 leaves it to what is usual."""

    start: str = ""
    until: str = ""
    weekly_kg: float = 0.0
    people: int = 0
    portions: float = 0.0
    kinds: int = 0


@dataclass(frozen=True, slots=True)
class Bed:
    """A bed of a garden; `heading_deg` is the bearing from its foot (x = 0) to its head."""

    name: str
    length_m: float
    width_m: float
    heading_deg: float = 0.0
    trellises: tuple[Trellis, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    beside: tuple[Beside, ...] = ()
    slope: Slope | None = None
    soil: str = "loam"
    watering: Watering = Watering()
    feeding: Feeding = Feeding()
    soil_lead_mg_kg: float | None = None
    history: tuple[tuple[int, tuple[str, ...]], ...] = ()
    plate: Plate | None = None
    recipe: str = ""
    """File of the recipe that grows in it, as the garden file names it."""
    under: str = ""
    """Kind of cover that stands over all of it all year, "" under the open sky."""

    @property
    def area_m2(self) -> float:
        """Area [m2]."""
        return self.length_m * self.width_m


PARTS = ("canopy", "continuity", "roots", "families", "timing", "yield")
"""Part scores, which a garden may weigh."""


@dataclass(frozen=True, slots=True)
class Garden:
    """A place, its beds, what the household wants and its own weights of the part scores."""

    name: str
    place: Place
    beds: tuple[Bed, ...]
    plate: Plate = Plate()
    weights: Mapping[str, float] = FrozenMap()
    about: str = ""
    file: str = field(default="", compare=False)
    document: Document | None = field(default=None, compare=False, repr=False)

    def bed(self, name: str) -> Bed:
        """The bed called `name`, case ignored (KeyError if there is none)."""
        for bed in self.beds:
            if bed.name.casefold() == name.casefold():
                return bed
        raise KeyError(name)
