"""Reference places: published monthly normals from all climates and both hemispheres, by name or by where a spot lies."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from mixcraft.files.near import did_you_mean
from mixcraft.place._constants import constant
from mixcraft.place.library import Entry, entries, record
from mixcraft.place.model import Normals, Place, TakenFrom
from mixcraft.place.near import nearest_places
from mixcraft.place.spread import about_the_season

_SERIES_OF_SPREAD = {"tmax_sd_c": "tmax_c", "tmin_sd_c": "tmin_c"}


class UnknownPlace(ValueError):  # noqa: N818 -- reads as what happened
    """There is no reference place of that name, or more than one; `suggestions` are names that would do."""

    def __init__(self, message: str, suggestions: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.suggestions = suggestions


def reference_places() -> tuple[str, ...]:
    """Names of the reference places, by continent and name."""
    return tuple(entry.names[0] for entry in entries().values())


def _values(series: Mapping[str, Mapping[str, Any]]) -> dict[str, npt.ArrayLike]:
    """Values by series; a spread within months is brought to one about the season."""
    values: dict[str, npt.ArrayLike] = {name: entry["values"] for name, entry in series.items()}
    for name, mean in _SERIES_OF_SPREAD.items():
        if name in series and series[name].get("within") == "month":
            values[name] = about_the_season(np.array(values[name]), np.array(values[mean]))
    return values


def _build(found: Mapping[str, Any]) -> Place:
    series: Mapping[str, Mapping[str, Any]] = found["series"]
    sources = tuple(
        f"{name}: {entry['source']}, {entry['at']}, {entry['period']}, {entry['quality']}" for name, entry in series.items()
    )
    return Place(
        name=str(found["name"]),
        latitude_deg=float(found["latitude_deg"]),
        longitude_deg=float(found["longitude_deg"]),
        elevation_m=float(found["elevation_m"]),
        normals=Normals(**_values(series), sources=sources),  # type: ignore[arg-type]
        climate=str(found["climate"]),
        notes=tuple(found.get("notes", ())),
        coastal=bool(found.get("coastal", False)),
    )


@lru_cache(maxsize=64)
def _place(key: str) -> Place:
    return _build(record(key))


def _folded(name: str) -> str:
    """A name as look-up sees it: lower case, no accents, single blanks."""
    if name.isascii():
        return " ".join(name.casefold().split())
    letters = unicodedata.normalize("NFKD", name.casefold().replace("ø", "o").replace("ł", "l"))
    return " ".join("".join(c for c in letters if not unicodedata.combining(c)).split())


@lru_cache(maxsize=1)
def _names() -> Mapping[str, tuple[str, ...]]:
    """Keys by every name, alone and with the country behind."""
    names: dict[str, tuple[str, ...]] = {}
    for key, entry in entries().items():
        bare = () if "," in entry.names[0] and "-" not in key else (key,)  # Guadalajara, Spain, is not the only one
        for name in (*bare, *entry.names, *(f"{n}, {entry.country}" for n in entry.names)):
            folded = _folded(name)
            if key not in names.get(folded, ()):
                names[folded] = (*names.get(folded, ()), key)
    return names


def place_title(entry: Entry) -> str:
    """Name and country, such as ``La Paz, Bolivia``."""
    name = entry.names[0]
    return name if name.endswith(f", {entry.country}") else f"{name}, {entry.country}"


def _suggestions(wanted: str) -> tuple[str, ...]:
    """Titles of the places whose name begins like ``wanted``, else of those that are spelt nearly so."""
    names = _names()
    begin = [keys[0] for name, keys in names.items() if name.startswith((f"{wanted},", f"{wanted} ("))]
    keys = begin or [names[name][0] for name in did_you_mean(wanted, list(names), names=True)]
    return tuple(dict.fromkeys(place_title(entries()[key]) for key in keys))


def reference_key(name: str) -> str:
    """The key of the reference place of a name, upper or lower case, with or without accents and country.

    Raises :class:`UnknownPlace` where there is none, naming the nearest, or more than one, naming them all.
    """
    wanted = _folded(name)
    keys = _names().get(wanted, ())
    if len(keys) == 1:
        return keys[0]
    if keys:
        choices = tuple(place_title(entries()[key]) for key in keys)
        raise UnknownPlace(f"{len(keys)} reference places are called {name!r}; write {' or '.join(choices)}", choices)
    near = _suggestions(wanted)
    hint = f"did you mean {' or '.join(near)}?" if near else "`mixcraft places` lists them, `mixcraft places --near` the nearest"
    raise UnknownPlace(f"no reference place is called {name!r}; {hint}", near)


def reference_place(name: str) -> Place:
    """The reference place of a name; see :func:`reference_key`. Raises :class:`UnknownPlace`."""
    return _place(reference_key(name))


def place_at(latitude_deg: float, longitude_deg: float, elevation_m: float | None = None, name: str = "") -> Place:
    """A spot with the normals of the nearest reference place, its temperatures brought to the spot's height.

    ``elevation_m`` None takes the height of that place; ``taken_from`` of the result says which it is and how far. Raises
    ``ValueError`` for coordinates that are none.
    """
    checked_position(latitude_deg, longitude_deg)
    near = nearest_places(latitude_deg, longitude_deg, elevation_m, count=1)[0]
    base = _place(near.key)
    cooler = constant("temperature_lapse") * near.rise_m
    normals = replace(
        base.normals,
        tmax_c=base.normals.tmax_c - cooler,
        tmin_c=base.normals.tmin_c - cooler,
        tmin_sd_c=None,
        sources=tuple(line for line in base.normals.sources if not line.startswith("tmin_sd_c")),
    )
    return replace(
        base,
        name=name or f"{latitude_deg:.2f}, {longitude_deg:.2f}",
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=base.elevation_m if elevation_m is None else elevation_m,
        normals=normals,
        taken_from=TakenFrom(near.name, near.country, near.distance_km, near.rise_m, cooler),
    )


def checked_position(latitude_deg: float, longitude_deg: float) -> None:
    """Raise ``ValueError`` unless these are degrees of latitude and longitude."""
    for label, value, most in (("latitude", latitude_deg, 90.0), ("longitude", longitude_deg, 180.0)):
        if not -most <= value <= most:
            raise ValueError(f"a {label} lies between -{most:g} and {most:g}, found {value:g}")


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
