"""Interactions of plantings as sentences, with the heading that each kind stands under."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from .catalogue import ENGLISH, Catalogue
from .plain import N_, listed, percent, span_words

HEADINGS: Mapping[str, str] = {
    "takes light": N_("Light"), "shares root space": N_("Roots in the same soil"),
    "shares family": N_("Pests and diseases in common"), "leaves room in time": N_("One after the other"),
    "supports": N_("Something to climb on"), "fixes nitrogen for": N_("Nitrogen"), "covers ground for": N_("Ground kept covered"),
    "attracts pollinators for": N_("Pollinators"),
}  # fmt: skip
"""A heading for each kind of interaction, in the order in which they are told."""


def interaction_sentence(a: str, b: str, data: Mapping[str, Any], t: Catalogue = ENGLISH) -> str:
    """An interaction from `a` to `b` with the attributes `data` that it has in the graph, as a sentence."""
    when = span_words(np.datetime64(data["first"]), np.datetime64(data["last"]), t)
    kind, strength = data["kind"], float(data["strength"])
    if kind == "shares family":
        return _family(a, b, data, when, t)
    sentences = {
        "takes light": t.gettext("Of the light of {b}, {share} goes to {a} {when}."),
        "shares root space": t.gettext("{a} and {b} share {overlap} of their root room {when} (niche overlap)."),
        "leaves room in time": t.gettext("The room of {a} is free for {b} {when}."),
        "supports": t.gettext("The stems of {a} can carry {b} {when}."),
        "fixes nitrogen for": t.gettext("Soil nitrogen is spared by {a} for {b} {when}; little is handed over in one season."),
        "covers ground for": t.gettext("The ground under {b} is kept covered by {a} {when}."),
        "attracts pollinators for": t.gettext("Pollinators of {b} come to the flowers of {a} {when}."),
    }
    overlap = percent(float(data.get("overlap", strength)), t)
    return sentences[kind].format(a=a, b=b, when=when, share=percent(strength, t), overlap=overlap)


def _family(a: str, b: str, data: Mapping[str, Any], when: str, t: Catalogue) -> str:
    shared = [*data.get("pests", ()), *data.get("diseases", ())]
    said = t.gettext("{a} and {b} are both {family} and stand together {when}").format(a=a, b=b, family=data["family"], when=when)
    if not shared:
        return t.gettext("{said}; no shared pest is on record.").format(said=said)
    return t.gettext("{said}; both get {names}.").format(said=said, names=listed(shared, t))
