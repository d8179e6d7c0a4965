"""The command line: thin commands over the library; nothing is computed here."""

import gc
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # matrices here are small: starting threads costs more than they save

_collects = gc.isenabled()
gc.disable()  # looking for cycles while modules are made takes a tenth as long as making them
from .main import entry, main  # noqa: E402 - after that, since it imports numpy

if _collects:
    gc.enable()

__all__ = ["entry", "main"]
