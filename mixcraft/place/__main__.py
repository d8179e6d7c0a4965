"""Rebuild the index of the reference places: ``python -m mixcraft.place``."""

from __future__ import annotations

from .library import INDEX, RECORDS, build_index, file_sizes, read_files


def main() -> None:
    """Write ``data/places/index.json`` and ``records.jsonl`` from the YAML files."""
    records = read_files()
    index, lines = build_index(records, file_sizes())
    RECORDS.write_text(lines, "utf-8")
    INDEX.write_text(index, "utf-8")
    print(f"{len(records)} places indexed")


if __name__ == "__main__":
    main()
