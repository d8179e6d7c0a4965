"""The command line: thin commands over the library; nothing is computed here."""

from .main import main

__all__ = ["main"]
