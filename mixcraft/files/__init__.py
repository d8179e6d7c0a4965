"""Read and check the user's YAML files, and write them back without loss."""

from __future__ import annotations

from mixcraft.files.constants import Constant, load_constants, load_numbers
from mixcraft.files.faults import Fault, FileFaults, UsageError, render_fault, render_faults
from mixcraft.files.load import Document, load_document, parse_document
from mixcraft.files.near import did_you_mean
from mixcraft.files.quantity import Quantity, QuantityError, format_quantity, parse_quantity
from mixcraft.files.schema import check_schema, kind_of, load_schema, resource, schema_text
from mixcraft.files.units import convert
from mixcraft.files.write import REMOVE, check_output, edit_document, write_atomically

__all__ = [
    "REMOVE",
    "Constant",
    "Document",
    "Fault",
    "FileFaults",
    "Quantity",
    "QuantityError",
    "UsageError",
    "check_output",
    "check_schema",
    "convert",
    "did_you_mean",
    "edit_document",
    "format_quantity",
    "kind_of",
    "load_constants",
    "load_document",
    "load_numbers",
    "load_schema",
    "parse_document",
    "parse_quantity",
    "render_fault",
    "render_faults",
    "resource",
    "schema_text",
    "write_atomically",
]
