"""What tells two places apart where minima and frost are concerned, so that what was computed once is found again."""

from __future__ import annotations

from mixcraft.place.model import Place


class ClimateKey:
    """A place that may be looked up: two are the same where their frost dates are."""

    def __init__(self, place: Place) -> None:
        n = place.normals
        series = (n.tmin_c, n.tmax_c, n.rain_mm, n.wet_days, n.tmin_sd_c)
        where = (place.latitude_deg, str(place.longitude_deg), place.elevation_m)
        stated = (place.last_spring_frost, place.first_autumn_frost)
        self.place, self.key = place, (where, stated, tuple(None if s is None else s.tobytes() for s in series))

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ClimateKey) and self.key == other.key
