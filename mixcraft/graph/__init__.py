"""The interaction graph of a season."""

from .build import KINDS, Edge, edges, graphml, interactions, link_data
from .traits import schoener_overlap

__all__ = ["KINDS", "Edge", "edges", "graphml", "interactions", "link_data", "schoener_overlap"]
