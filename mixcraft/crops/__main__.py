"""Rebuild the index of the crop library: ``python -m mixcraft.crops``."""

from __future__ import annotations

import json

from .library import DATA, INDEX, build_index


def main() -> None:
    """Write ``data/index.json`` from the crop files."""
    entries = build_index(DATA.glob("*.yaml"))
    INDEX.write_text(json.dumps(entries, ensure_ascii=False, indent=0, sort_keys=True) + "\n", "utf-8")
    print(f"{len(entries)} crops indexed")


if __name__ == "__main__":
    main()
