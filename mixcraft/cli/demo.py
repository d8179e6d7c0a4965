"""The demonstration: check the demo files, score every demo recipe in its bed, write the cards."""

from __future__ import annotations

import argparse
from pathlib import Path

from mixcraft.files import UsageError, resource
from mixcraft.files.write import write_atomically

BEDS = {
    "salad-and-roots": "long bed",
    "trellis-summer": "trellis bed",
    "winter-greens": "winter bed",
    "what-not-to-do": "trellis bed",
}
"""Demo recipes and the beds of the demo garden they are meant for."""


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise UsageError(f"cannot make the folder {folder}: {reason}; name another with -o") from error


def run_demo(folder: Path) -> int:
    """Check, score and print the demonstration garden; cards go to `folder`."""
    from mixcraft.press import press_card
    from mixcraft.scoring import score as build

    from . import commands
    from .main import build_parser
    from .show import score_text

    garden = resource("recipes_demo", "kiln-lane.garden.yaml")
    recipes = {name: resource("recipes_demo", f"{name}.recipe.yaml") for name in BEDS}
    _make(folder)
    commands.check(argparse.Namespace(files=[str(garden), *(str(path) for path in recipes.values())]))
    for name, path in recipes.items():
        args = build_parser().parse_args(["score", str(path), "--garden", str(garden), "--bed", BEDS[name]])
        season = commands._season(args)
        result = build(season)
        print(f"\n{'-' * 100}\n{score_text(result)}")
        target = folder / f"{name}.pdf"
        write_atomically(target, press_card(season, result))
        print(f"\n{target}: sowing card")
    return 0
