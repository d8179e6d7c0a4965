"""Reading values of a checked document while collecting faults, for recipes and gardens alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from mixcraft.files import Document, Fault, FileFaults, check_schema, kind_of, parse_quantity
from mixcraft.files.schema import plain_document

from .model import Moment, OnDay, Span
from .moments import MomentError, check_month_day, parse_moment

PathTuple = tuple[str | int, ...]


class Reader:
    """Collects faults while values are read; every `get`-like method returns a usable value even after a fault."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.faults: list[Fault] = []

    def fault(self, path: PathTuple, message: str, rule: str, *, found: str = "", allowed: str = "", repair: str = "") -> None:
        """Note a fault at `path`."""
        self.faults.append(self.document.fault(path, message, rule=rule, found=found, allowed=allowed, repair=repair))

    def quantity(self, data: Mapping[str, Any], key: str, dimension: str, default: float | None = None) -> Any:
        """The quantity under `key` in base units, or `default`."""
        return default if key not in data else parse_quantity(data[key], dimension)

    def span(self, text: str, path: PathTuple) -> Span:
        """A length or a share of a side."""
        try:
            if str(text).strip().endswith("%"):
                return Span(parse_quantity(text, "fraction"), share=True)
            return Span(parse_quantity(text, "length"))
        except ValueError as error:
            self.fault(
                path, str(error), "span.unreadable", found=str(text), allowed="a length or a share",
                repair='write a length such as "30 cm" or a share such as "25 %"',
            )  # fmt: skip
            return Span(0.0)

    def moment(self, text: str, path: PathTuple) -> Moment:
        """A moment in the life of a planting."""
        try:
            return parse_moment(text)
        except MomentError as error:
            self.fault(path, str(error), "moment.unreadable", found=text, repair='for example "emergence + 3 weeks"')
            return OnDay("01-01")

    def month_day(self, text: str, path: PathTuple) -> str:
        """A month-day that every year has."""
        try:
            check_month_day(text)
        except MomentError as error:
            self.fault(path, str(error), "date.unreadable", found=text, repair='for example "04-15"')
            return "01-01"
        return text


def checked(document: Document, kind: str, more: Callable[[Document], list[Fault]] | None = None) -> Document:
    """`document`, its data in plain form, if it is a `kind` and passes its schema; else `FileFaults`, also with those that `more`
    finds."""
    found, _ = kind_of(document)
    if found != kind:
        fault = document.fault(
            ("format",), f"this is a {found} file, a {kind} is needed here", rule="format.other", found=found,
            allowed=kind, repair=f"give a file whose format is mixcraft-{kind}/1",
        )  # fmt: skip
        raise FileFaults([fault])
    faults = check_schema(document, kind)
    if faults:
        raise FileFaults([*faults, *(more(document) if more is not None else ())])
    return plain_document(document, kind)
