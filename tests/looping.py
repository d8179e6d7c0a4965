"""One test over many cases: crops, rows of tables, words.  Each case that fails is named, and all are tried."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest

SHOWN_LINES = 12
"""Lines of a failed assertion that are shown for each case."""
NOT_HELD = (Exception, pytest.fail.Exception)


def each(names: str | Sequence[str], cases: Iterable[Any], ids: Callable[..., str] | None = None) -> Callable[..., Any]:
    """As `pytest.mark.parametrize`, but one test that tries all cases and says which of them do not hold.

    `names` are the arguments that a case gives, one or several; the other arguments of the test are fixtures, shared by all
    its cases. A list without cases fails: it would assert nothing.
    """
    given = (names,) if isinstance(names, str) else tuple(names)
    listed = [case if len(given) > 1 else (case,) for case in cases]

    def decorate(test: Callable[..., None]) -> Callable[..., None]:
        @functools.wraps(test)
        def looped(**fixtures: Any) -> None:
            failed, first = [], None
            for case in listed:
                try:
                    test(**dict(zip(given, case, strict=True)), **fixtures)
                except NOT_HELD as error:
                    failed.append(f"{_named(case, ids)}: {_short(error)}")
                    first = first or error
            assert listed, "there is no case to try"
            if failed:
                raise AssertionError(f"{len(failed)} of {len(listed)} do not hold\n" + "\n".join(failed)) from first

        parameters = inspect.signature(test).parameters
        assert set(given) <= set(parameters), f"{test.__name__} does not take {given}"
        fixtures = [p.replace(kind=p.KEYWORD_ONLY) for name, p in parameters.items() if name not in given]
        looped.__signature__ = inspect.Signature(fixtures)  # type: ignore[attr-defined]
        looped.cases = len(listed)  # type: ignore[attr-defined]
        return looped

    return decorate


def _named(case: tuple[Any, ...], ids: Callable[..., str] | None) -> str:
    """The words for a case."""
    return ids(*case) if ids else ", ".join(str(getattr(value, "__name__", value)) for value in case)


def _short(error: BaseException) -> str:
    lines = (str(error) or type(error).__name__).splitlines()
    kind = "" if isinstance(error, AssertionError) else f"{type(error).__name__}: "
    return kind + "\n".join(lines[:SHOWN_LINES])
