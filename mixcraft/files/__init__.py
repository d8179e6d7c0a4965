"""Read and check the user's YAML files, and write them back without loss."""

from __future__ import annotations

from mixcraft.files.faults import Fault, FileFaults, UsageError, render_fault, render_faults
from mixcraft.files.load import Document, load_document, parse_document
from mixcraft.files.near import did_you_mean

__all__ = [
    "Document",
    "Fault",
    "FileFaults",
    "UsageError",
    "did_you_mean",
    "load_document",
    "parse_document",
    "render_fault",
    "render_faults",
]
