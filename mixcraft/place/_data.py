"""Reading this package's own data files."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml


@lru_cache(maxsize=4)
def read_data(name: str) -> Mapping[str, Any]:
    """Top-level mapping of ``data/<name>``; the same object every time, not to be changed."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    path = Path(__file__).parent / "data" / name
    content: Mapping[str, Any] = yaml.load(path.read_text(encoding="utf-8"), Loader=loader)
    return content
