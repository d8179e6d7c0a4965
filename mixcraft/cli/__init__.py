"""The command line: thin commands over the library; nothing is computed here."""

from .main import entry, main

__all__ = ["entry", "main"]
