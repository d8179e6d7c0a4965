"""The command line: thin commands over the library; nothing is computed here."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # matrices here are small: starting threads costs more than they save

from .main import entry, main  # after that, since it imports numpy

__all__ = ["entry", "main"]
