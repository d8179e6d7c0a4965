"""What was picked beside what was expected, as a table for people."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from mixcraft.season.logbook import Beside

from .amounts import Units, band_words, weight_words
from .catalogue import ENGLISH, Catalogue
from .parts_of_crops import part_words


def beside_text(
    rows: Sequence[Beside], until: date, strange: Sequence[str] = (), units: Units = "metric", t: Catalogue = ENGLISH
) -> str:
    """A line for every harvest: picked so far, expected by then with its band, expected in all."""
    lines = [t.gettext("Picked by {day}, and what was expected").format(day=until.isoformat())]
    lines.append(f"{'':30s} {t.gettext('picked'):>12s}  {t.gettext('expected by then'):28s}  {t.gettext('in all')}")
    for row in rows:
        name = f"{row.planting}, {part_words(row.part, t)}"
        band = row.expected_kg
        expected = band_words(band.low, band.middle, band.high, units, t) if band.high > 0.0 else "–"
        picked = weight_words(row.picked_kg, units, t) if row.picked_kg else "–"
        lines.append(f"{name:30s} {picked:>12s}  {expected:28s}  {weight_words(row.season_kg.middle, units, t)}")
    total = sum(row.picked_kg for row in rows), sum(row.expected_kg.middle for row in rows)
    in_all = sum(row.season_kg.middle for row in rows)
    words = [weight_words(kg, units, t) for kg in (*total, in_all)]
    lines.append(f"{t.gettext('together'):30s} {words[0]:>12s}  {words[1]:28s}  {words[2]}")
    if strange:
        lines.append(t.gettext("Not in the recipe of this bed: {names}").format(names=", ".join(strange)))
    return "\n".join(lines)
