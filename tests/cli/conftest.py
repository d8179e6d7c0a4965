"""Running the command line inside the test process."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from mixcraft.cli import main

TRACEBACK = "Traceback (most recent call last)"


@dataclass(frozen=True)
class Ran:
    """What a command did."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run `mixcraft` with these arguments; argparse's own exit counts as the exit code."""

    def ran(*args: object) -> Ran:
        capsys.readouterr()
        try:
            code = main([str(a) for a in args])
        except SystemExit as stop:
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        assert TRACEBACK not in out + err
        return Ran(code, out, err)

    return ran


@pytest.fixture
def garden(demo: Path) -> Path:
    """The demonstration garden."""
    return demo / "kiln-lane.garden.yaml"
