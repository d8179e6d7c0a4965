"""Repairs as sentences: what to change, and what to write where it is short."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from mixcraft.scoring.model import Repair

from .catalogue import ENGLISH, Catalogue
from .plain import cover_words, date_words, edge_words, percent, weeks_words


def repair_sentence(repair: Repair, t: Catalogue = ENGLISH) -> str:
    """A repair in one plain sentence; KeyError for a kind that has no words."""
    return SENTENCES[repair.kind](repair, t)


def _date(repair: Repair, t: Catalogue) -> str:
    return date_words(np.datetime64(repair.names["date"][0]), t)


def _thin(r: Repair, t: Catalogue) -> str:
    return t.gettext("sow {planting} thinner, {density} (`density: {density}`).").format(
        planting=r.plantings[0], density=r.names["text"][0]
    )


def _fewer(r: Repair, t: Catalogue) -> str:
    return t.gettext("plant {count} of {planting} instead of {was} (`count: {count}`).").format(
        count=int(r.numbers["count"]), planting=r.plantings[0], was=int(r.numbers["was"])
    )


def _trellis(r: Repair, t: Catalogue) -> str:
    return t.gettext("put {planting} on the {edge} trellis (`edge: {key}`).").format(
        planting=r.plantings[0], edge=edge_words(r.names["edge"][0], t), key=r.names["edge"][0]
    )


def _shift(r: Repair, t: Catalogue) -> str:
    weeks = int(r.numbers["weeks"])
    said = (
        t.gettext("start {planting} {weeks} earlier, {when}.")
        if weeks < 0
        else t.gettext("start {planting} {weeks} later, {when}.")
    )
    return said.format(planting=r.plantings[0], weeks=weeks_words(abs(weeks), t), when=_date(r, t))


def _uncover(r: Repair, t: Catalogue) -> str:
    said = (
        t.gettext("take the {cover} off {planting} by {when} (`off: {off}`).") if "date" in r.names
        else t.gettext("take the {cover} off {planting} as it comes into flower (`off: {off}`).")
    )  # fmt: skip
    when = _date(r, t) if "date" in r.names else ""
    return said.format(cover=cover_words(r.names["cover"][0], t), planting=r.plantings[0], off=r.names["off"][0], when=when)


def _cover(r: Repair, t: Catalogue) -> str:
    kind = r.names["cover"][0]
    cover = t.gettext("a cloche") if kind == "cloche" else cover_words(kind, t)
    return t.gettext("cover {planting} with {cover} for its first {weeks}.").format(
        planting=r.plantings[0], cover=cover, weeks=weeks_words(int(r.numbers["weeks"]), t)
    )


def _winter(r: Repair, t: Catalogue) -> str:
    return t.gettext("cover {planting} with a low tunnel through the winter (`on: {on}, off: {off}`).").format(
        planting=r.plantings[0], on=r.names["on"][0], off=r.names["off"][0]
    )


def _sow(r: Repair, t: Catalogue) -> str:
    return t.gettext("sow {crop} about {when}, {density}, over the whole bed.").format(
        crop=r.names["crop"][0], when=_date(r, t), density=r.names["text"][0]
    )


def _pull(r: Repair, t: Catalogue) -> str:
    return t.gettext("pull {planting} week by week instead of all at once (`method: pull`).").format(planting=r.plantings[0])


def _drop(r: Repair, t: Catalogue) -> str:
    return t.gettext("leave {planting} out.").format(planting=r.plantings[0])


def _mirror(r: Repair, t: Catalogue) -> str:
    return t.gettext("put {planting} at the opposite end or side of the bed.").format(planting=r.plantings[0])


def _exchange(r: Repair, t: Catalogue) -> str:
    return t.gettext("put {planting} and {other} at each other's end or side of the bed.").format(
        planting=r.plantings[0], other=r.plantings[1]
    )


def _spread(r: Repair, t: Catalogue) -> str:
    return t.gettext("let {planting} stand where there is room, over the whole bed (`kind: whole`).").format(
        planting=r.plantings[0]
    )


def _split(r: Repair, t: Catalogue) -> str:
    return t.gettext("sow {planting} in {sowings} goes, {days} days apart, a part of it each time.").format(
        planting=r.plantings[0], sowings=int(r.numbers["sowings"]), days=int(r.numbers["days"])
    )


def _method(r: Repair, t: Catalogue) -> str:
    ways = {
        "leaf": t.gettext("pick {planting} leaf by leaf (`method: leaf`)."),
        "pull": t.gettext("pull {planting} week by week (`method: pull`)."),
        "cut": t.gettext("cut {planting} and let it come again (`method: cut`)."),
    }
    return ways[r.names["method"][0]].format(planting=r.plantings[0])


def _swap(r: Repair, t: Catalogue) -> str:
    return t.gettext("grow {crop} in the place of {planting}.").format(planting=r.plantings[0], crop=r.names["crop"][0])


def _follow(r: Repair, t: Catalogue) -> str:
    return t.gettext("grow {crop} from {when} where ground is free, from {low} to {high} of the bed's length.").format(
        crop=r.names["crop"][0], when=_date(r, t), low=percent(r.numbers["low"], t), high=percent(r.numbers["high"], t)
    )


def _share(r: Repair, t: Catalogue) -> str:
    return t.gettext("give half of the ground of {planting} to {crop}.").format(planting=r.plantings[0], crop=r.names["crop"][0])


def _water(r: Repair, t: Catalogue) -> str:
    return t.gettext("water {bed} whenever it is dry (in the garden file, for this bed: `watering: watered`).").format(
        bed=r.names["bed"][0]
    )


def _feed(r: Repair, t: Catalogue) -> str:
    return t.gettext("feed {bed} as vegetable beds usually are (in the garden file, for this bed: `feeding: usual`).").format(
        bed=r.names["bed"][0]
    )


SENTENCES: dict[str, Callable[[Repair, Catalogue], str]] = {
    "thin": _thin, "fewer": _fewer, "trellis": _trellis, "shift": _shift, "uncover": _uncover, "cover": _cover, "sow": _sow,
    "winter": _winter,
    "pull": _pull, "drop": _drop, "mirror": _mirror, "exchange": _exchange, "spread": _spread, "split": _split,
    "method": _method, "swap": _swap, "follow": _follow, "share": _share, "water": _water, "feed": _feed,
}  # fmt: skip
