"""Cautions by code: what may hurt someone, in plain words with its source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

FILE = Path(__file__).with_name("cautions.yaml")
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@lru_cache(maxsize=1)
def cautions() -> Mapping[str, Mapping[str, Any]]:
    """All cautions: code to a mapping with at least `text`."""
    data: dict[str, dict[str, Any]] = yaml.load(FILE.read_bytes(), Loader=_Loader) if FILE.exists() else {}
    return data


def caution_texts(codes: Sequence[str]) -> tuple[str, ...]:
    """Texts of the codes, in order, each once; a code without a text stands for itself, so that nothing is silently lost."""
    known = cautions()
    texts = [str(known[code]["text"]).strip() if code in known else code.replace("-", " ") for code in codes]
    return tuple(dict.fromkeys(texts))
