"""The recipe and the garden that a card carries, taken out again byte for byte.

A PDF may come from anybody: it is read in a process of its own with bounds on time and memory, only the tree of embedded files is
walked, and what is unpacked is bounded before it is unpacked.
"""

from __future__ import annotations

import base64
import json
import subprocess
import sys
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from mixcraft.files import UsageError
from mixcraft.files.text import MAX_BYTES

MAX_PDF_BYTES = 50_000_000
MAX_SECONDS = 20
MAX_MEMORY = 1_500_000_000
MAX_FILES = 300
MAX_DEPTH = 8
SUFFIXES = (".yaml", ".yml")


APART = "import sys; sys.path[:0] = {path!r}; from {name} import main; main(sys.argv[1])"


def attached(path: str | Path) -> Mapping[str, bytes]:
    """Recipes and gardens in the PDF at `path`, by their names; raises `UsageError` for what is no card."""
    file = Path(path)
    try:
        size = file.stat().st_size if file.is_file() else -1
    except (OSError, ValueError):
        size = -1
    if size < 0:
        raise UsageError(f"{path}: there is no such file; name a card in PDF")
    if size > MAX_PDF_BYTES:
        raise UsageError(f"{path}: {size / 1e6:.0f} MB; a card has at most {MAX_PDF_BYTES / 1e6:.0f} MB")
    try:
        run = subprocess.run(
            [sys.executable, "-I", "-c", APART.format(path=sys.path, name=__name__), str(file.absolute())],
            capture_output=True, timeout=MAX_SECONDS, check=False,
        )  # fmt: skip
        found = json.loads(run.stdout) if run.returncode == 0 else None
    except (subprocess.TimeoutExpired, ValueError):
        found = None
    if found is None:
        raise UsageError(f"{path}: this is not a PDF that can be read within {MAX_SECONDS} s; nothing was written")
    if not found:
        raise UsageError(f"{path}: no recipe is attached to it; it is not a card, or was saved anew without its attachments")
    return {name: base64.b64decode(data) for name, data in found.items()}


def main(path: str) -> None:
    """Print the attachments of the PDF at `path` as JSON, base64 by name: what `attached` runs apart."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MAX_MEMORY, MAX_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MAX_SECONDS, MAX_SECONDS))
    except (ImportError, ValueError, OSError):
        pass  # a system without limits still has the time limit of the caller
    import pypdf

    root: Any = pypdf.PdfReader(path).trailer["/Root"].get_object()
    names = root.get("/Names", {}).get_object().get("/EmbeddedFiles")
    found: dict[str, str] = {}
    for specification in _leaves(names, 0) if names is not None else ():
        name, data = _file(specification.get_object())
        if name.casefold().endswith(SUFFIXES) and data is not None and len(found) < MAX_FILES:
            found[_free(name, found)] = base64.b64encode(data).decode("ascii")
    print(json.dumps(found))


def _leaves(node: Any, depth: int) -> Iterator[Any]:
    """File specifications of a name tree, at most `MAX_FILES` deep in at most `MAX_DEPTH` levels."""
    node = node.get_object()
    if depth > MAX_DEPTH:
        return
    yield from list(node.get("/Names", []))[1 : 2 * MAX_FILES : 2]
    for kid in list(node.get("/Kids", []))[:MAX_FILES]:
        yield from _leaves(kid, depth + 1)


def _file(specification: Any) -> tuple[str, bytes | None]:
    """Plain name and content of a file specification; no content for what is too large or packed in another way than ours."""
    name = str(specification.get("/UF") or specification.get("/F") or "")
    name = name.replace("\\", "/").rsplit("/", 1)[-1]
    name = "".join(c for c in name if c.isprintable() and c not in ':*?"<>|').lstrip(".")[:100]
    stream = specification["/EF"]["/F"].get_object()
    packed, way = stream._data, stream.get("/Filter")
    way = list(way) if isinstance(way, list) else [way] if way is not None else []
    if way == ["/FlateDecode"] and "/DecodeParms" not in stream:
        unpacker = zlib.decompressobj()
        data = unpacker.decompress(packed, MAX_BYTES + 1)
    elif not way:
        data = bytes(packed)
    else:
        return name, None
    return name, data if len(data) <= MAX_BYTES else None


def _free(name: str, taken: Mapping[str, str]) -> str:
    """The name, numbered where it is taken."""
    stem, dot, ending = name.partition(".")
    number, tried = 1, name
    while tried in taken:
        number += 1
        tried = f"{stem}-{number}{dot}{ending}"
    return tried


def is_garden(data: bytes) -> bool:
    """Whether a file says that it is a garden."""
    return any(line.strip().startswith(b"format:") and b"mixcraft-garden/" in line for line in data.splitlines())


__all__ = ["MAX_PDF_BYTES", "attached", "is_garden"]
