"""The interaction graph of a season."""

from .build import graphml, interactions, link_data
from .edges import EVIDENCE, KINDS, Edge, edges, edges_of
from .traits import schoener_overlap

__all__ = ["EVIDENCE", "KINDS", "Edge", "edges", "edges_of", "graphml", "interactions", "link_data", "schoener_overlap"]
