"""Reference places: published monthly normals from all climates and both hemispheres."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy.typing as npt

from mixcraft.place._data import read_data
from mixcraft.place.model import Normals, Place

_FILE = "places.yaml"


class UnknownPlace(ValueError):  # noqa: N818 -- reads as what happened
    """There is no reference place of that name; the message names the nearest."""


def reference_places() -> tuple[str, ...]:
    """Names of the reference places, in the order of the data file."""
    return tuple(str(record["name"]) for record in read_data(_FILE).values())


def _build(record: Mapping[str, Any]) -> Place:
    series: Mapping[str, Mapping[str, Any]] = record["series"]
    sources = tuple(
        f"{name}: {entry['source']}, {entry['at']}, {entry['period']}, {entry['quality']}" for name, entry in series.items()
    )
    return Place(
        name=str(record["name"]),
        latitude_deg=float(record["latitude_deg"]),
        longitude_deg=float(record["longitude_deg"]),
        elevation_m=float(record["elevation_m"]),
        normals=Normals(**{name: entry["values"] for name, entry in series.items()}, sources=sources),
        climate=str(record["climate"]),
        notes=tuple(record.get("notes", ())),
        coastal=bool(record.get("coastal", False)),
    )


@lru_cache(maxsize=64)
def _place(key: str) -> Place:
    return _build(read_data(_FILE)[key])


def _names() -> dict[str, str]:
    names: dict[str, str] = {}
    for key, record in read_data(_FILE).items():
        for name in (key, record["name"], f"{record['name']}, {record['country']}", *record.get("also", ())):
            names[str(name).casefold()] = key
    return names


def reference_place(name: str) -> Place:
    """The reference place of a name, upper or lower case. Raises :class:`UnknownPlace` naming the nearest."""
    names = _names()
    wanted = " ".join(name.split()).casefold()
    if wanted not in names:
        near = difflib.get_close_matches(wanted, names, n=3, cutoff=0.6)
        titles = list(dict.fromkeys(str(read_data(_FILE)[names[n]]["name"]) for n in near))
        hint = f"did you mean {' or '.join(titles)}?" if titles else f"known are {', '.join(reference_places())}"
        raise UnknownPlace(f"no reference place is called {name!r}; {hint}")
    return _place(names[wanted])


def place_from_normals(
    name: str,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    *,
    tmax_c: npt.ArrayLike,
    tmin_c: npt.ArrayLike,
    rain_mm: npt.ArrayLike,
    climate: str = "",
    notes: tuple[str, ...] = (),
    coastal: bool = False,
    **further: Any,
) -> Place:
    """A place from twelve monthly values per series (see :class:`~mixcraft.place.model.Normals`).

    ``further`` takes the optional series by name, such as ``sunshine_h_per_day`` or ``wet_days``, and
    ``sources``. Raises ``ValueError`` naming the series, month and allowed range, ``TypeError`` for an
    unknown series.
    """
    normals = Normals(tmax_c=tmax_c, tmin_c=tmin_c, rain_mm=rain_mm, **further)  # type: ignore[arg-type]
    return Place(name, latitude_deg, longitude_deg, elevation_m, normals, climate, tuple(notes), coastal)
