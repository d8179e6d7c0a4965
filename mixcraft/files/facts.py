"""Facts as data: numbers and names by what they are, of which sentences are made later."""

from __future__ import annotations

from .frozen import FrozenMap

Facts = FrozenMap
"""``Facts(share=0.3)``: facts by name, which cannot be changed, can be hashed and pickled."""
Numbers = FrozenMap[str, float]
"""Quantities by name, with the unit in the name where they have one."""
Names = FrozenMap[str, tuple[str, ...]]
"""Names by what they are: plantings, crops, pests, covers."""
