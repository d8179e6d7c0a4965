"""The folder of a sweep: Parquet files, ``place=<key>/<digest>.parquet``, each written whole by the process that hands out work.

What a killed sweep has written stands, and the next one goes on from there: `Store.done` are the pairs of recipe and place that
are there already.  `sweep.json` beside them says how they were grown.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mixcraft.files import UsageError
from mixcraft.files.write import write_atomically
from mixcraft.recipe.model import PARTS

from .model import FORMAT, Setting, digest
from .versions import data_version, engine_version

if TYPE_CHECKING:
    import pyarrow as pa

Pair = tuple[str, str, str]
"""File and key of a recipe, and key of a place."""
ABOUT = "sweep.json"
SCORES = ("overall", "overall_low", "overall_high", *(f"part_{name}" for name in PARTS), "kg_low", "kg", "kg_high")
COUNTS = ("weeks_wanted", "weeks_picked", "longest_gap_weeks")
MOST_ABOUT = 1_000_000


def schema() -> pa.Schema:
    """Columns of a row: what was grown where, whether it was, and its measures (null where it was not)."""
    import pyarrow as pa

    words, number, count, day = pa.string(), pa.float64(), pa.int32(), pa.date32()
    columns: list[tuple[str, Any]] = [(name, words) for name in ("file", "recipe", "recipe_key", "place", "place_key")]
    columns += [(name, number) for name in ("latitude", "longitude", "height_m")]
    columns += [("station", words), ("status", words), ("said", words)]
    columns += [(name, number) for name in SCORES]
    columns += [("kg_by_year", pa.list_(number)), ("area_m2", number)]
    columns += [(name, count) for name in COUNTS]
    columns += [(name, day) for name in ("first_sowing", "first_picking", "last_picking")]
    columns += [(name, number) for name in ("land_equivalent_ratio", "worst_loss", "worst_points")]
    columns += [("worst_part", words), ("worst_cause", words), ("worst_plantings", pa.list_(words))]
    columns += [("years", count), ("engine", words), ("data", words)]
    return pa.schema(columns)


class Store:
    """The folder of one sweep.  Raises UsageError if it holds one of another setting, or is not to be used."""

    def __init__(self, folder: str, setting: Setting) -> None:
        try:
            import pyarrow.parquet  # noqa: F401 - looked for before anything is done
        except ImportError:
            raise UsageError("a sweep writes Parquet files, which needs a library: pip install 'mixcraft[sweep]'") from None
        self.folder, self.years = Path(folder), setting.years
        self._about: dict[str, Any] = {
            "format": FORMAT, "engine": engine_version(), "data": data_version(), "setting": _short(setting.described()),
        }  # fmt: skip
        self._open()

    def _open(self) -> None:
        try:
            self.folder.mkdir(exist_ok=True)
        except FileNotFoundError:
            raise UsageError(f"cannot write {self.folder}: there is no folder {self.folder.parent}; make it first") from None
        except FileExistsError:
            raise UsageError(f"cannot write {self.folder}: it is a file; name a folder") from None
        about = self.folder / ABOUT
        if about.exists():
            self._same(about)
        elif any(self.folder.glob("place=*/*.parquet")):
            raise UsageError(f"{self.folder} holds results, but {ABOUT} is missing; name another folder")
        else:
            write_atomically(about, json.dumps(self._about, indent=1) + "\n")

    def _same(self, about: Path) -> None:
        """Refuse a folder whose results were grown in another way."""
        try:
            found = json.loads(about.read_text("utf-8")) if about.stat().st_size < MOST_ABOUT else None
        except ValueError:
            found = None
        if not isinstance(found, dict) or found.get("format") != FORMAT:
            raise UsageError(f"{about} is not that of a sweep which this mixcraft writes; name another folder with -o")
        for key in ("engine", "data"):
            if found.get(key) != self._about[key]:
                raise UsageError(
                    f"{self.folder} holds results of another version of the {key} "
                    f"({found.get(key)}, this is {self._about[key]}); name another folder with -o"
                )
        if found.get("setting") != self._about["setting"]:
            old, new = found.get("setting") or {}, self._about["setting"]
            changed = [name for name in new | old if old.get(name) != new.get(name)]
            raise UsageError(
                f"{self.folder} holds a sweep with other settings ({', '.join(sorted(changed))}); name another folder with -o"
            )

    def done(self, files: Mapping[str, str]) -> set[Pair]:
        """Pairs that are there: file and key of the recipe, key of the place.

        `files` has the key of each recipe by its file: rows of the same file with another key are of an older text, and are
        taken out.
        """
        import pyarrow.parquet as pq

        found: set[Pair] = set()
        for part in sorted(self.folder.glob("place=*/*.parquet")):
            try:
                table = pq.read_table(part, partitioning=None)
            except (OSError, ValueError):
                raise UsageError(f"{part} is damaged; delete it and run the sweep again") from None
            rows = list(zip(*(table.column(name).to_pylist() for name in ("file", "recipe_key", "place_key")), strict=True))
            stands = [files.get(file, key) == key for file, key, _ in rows]
            if not all(stands):
                self._rewrite(part, table.filter(stands))
            found |= {row for row, stays in zip(rows, stands, strict=True) if stays}
        return found

    def _rewrite(self, part: Path, table: pa.Table) -> None:
        if table.num_rows:
            write_atomically(part, _bytes(table))
        else:
            part.unlink()

    def add(self, rows: Iterable[Mapping[str, Any]]) -> Path:
        """Write the rows of one place; the same rows always come into the same file, byte for byte."""
        import pyarrow as pa

        given = [{**row, "years": self.years, "engine": self._about["engine"], "data": self._about["data"]} for row in rows]
        folder = self.folder / f"place={given[0]['place_key']}"
        folder.mkdir(exist_ok=True)
        part = folder / f"{digest(repr([(row['file'], row['recipe_key']) for row in given]))}.parquet"
        form = schema().with_metadata({"mixcraft": json.dumps(self._about)})
        write_atomically(part, _bytes(pa.Table.from_pylist(given, schema=form)))
        return part


def _short(described: Mapping[str, Any]) -> dict[str, Any]:
    """Long descriptions by their digest."""
    return {key: digest(value) if isinstance(value, str) and len(value) > 40 else value for key, value in described.items()}


def _bytes(table: pa.Table) -> bytes:
    import pyarrow.parquet as pq

    stream = BytesIO()
    pq.write_table(table, stream, compression="zstd")
    return stream.getvalue()
