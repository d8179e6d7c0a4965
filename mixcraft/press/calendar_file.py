"""The job list of a bed as an iCalendar file (RFC 5545), for any calendar that reads one.

Every job is an event of a whole day; what is done again and again has a recurrence rule.  A job keeps its identifier from one
printing to the next, whatever its day, so that a calendar that imports a file again moves events and does not double them.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import mixcraft
from mixcraft.files import UsageError
from mixcraft.recipe.plan import Plan
from mixcraft.recipe.steps import Step
from mixcraft.season.result import Season
from mixcraft.words import step_amount, step_sentence
from mixcraft.words.amounts import Units
from mixcraft.words.card import botanical_sentence
from mixcraft.words.catalogue import ENGLISH, Catalogue

from .dates import real_date
from .jobs import jobs

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

Bed = tuple[Season, "Score | None"]


def library() -> Any:
    """The icalendar library; raises `UsageError` that says how to get it."""
    try:
        import icalendar
    except ImportError as error:
        raise UsageError("calendars are written by the library icalendar; install it: pip install icalendar") from error
    return icalendar


def calendar_bytes(
    beds: Sequence[Bed], year: int, stamp: datetime, units: Units = "metric", t: Catalogue = ENGLISH, language: str = "en"
) -> bytes:
    """The jobs of several beds of a garden as iCalendar text; day 0 of each plan lies in `year`, `stamp` is the time of it."""
    made = library().Calendar()
    made.add("prodid", f"-//mixcraft//{mixcraft.__version__}//{language.upper()}")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    plan = beds[0][0].plan
    made.add("x-wr-calname", plan.garden.name if len(beds) > 1 else f"{plan.garden.name}, {plan.bed.name}")
    made.add("description", "\n".join(dict.fromkeys(botanical_sentence(season.plan, t) for season, _ in beds)))
    for season, score in beds:
        for event in events_of(season, score, year, stamp, units, t):
            made.add_component(event)
    return bytes(made.to_ical())


def events_of(season: Season, score: Score | None, year: int, stamp: datetime, units: Units, t: Catalogue) -> list[Any]:
    """An event for every job of a bed."""
    seen: Counter[str] = Counter()
    events = []
    for step in jobs(season, score):
        key = _key(season.plan, step, year)
        seen[key] += 1
        events.append(_event(season.plan, step, f"{key}-{seen[key]}@mixcraft", year, stamp, units, t))
    return events


def _key(plan: Plan, step: Step, year: int) -> str:
    """What a job is, whatever its day: garden, bed, recipe, year, kind and plantings."""
    names = [plan.plantings[n - 1].name for n in step.numbers]
    place = plan.garden.name, plan.bed.name, plan.recipe.name
    said = "\0".join([*place, str(year), step.kind, *names, *step.names.get("part", ())])
    return hashlib.sha256(said.encode("utf-8")).hexdigest()[:24]


def _event(plan: Plan, step: Step, uid: str, year: int, stamp: datetime, units: Units, t: Catalogue) -> Any:
    day = real_date(plan, step.day, year)
    event = library().Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", step_sentence(step, plan, units, t, dated=True))
    event.add("location", f"{plan.garden.name}, {plan.bed.name}")
    event.add("categories", [step.kind])
    event.add("transp", "TRANSPARENT")
    more = ". ".join(part for part in (step_amount(step, plan, t, units), step.note) if part)
    if more:
        event.add("description", more.replace("\u00a0", " "))
    rule = _recurrence(plan, step, day, year)
    if rule:
        event.add("rrule", rule)
    return event


def _recurrence(plan: Plan, step: Step, day: date, year: int) -> dict[str, Any]:
    every = round(step.amounts.get("every_days", 0.0))
    until = real_date(plan, int(step.amounts["until"]), year) if every else day
    if not every or until < day + timedelta(days=every):
        return {}
    return {"freq": "daily", "interval": every, "until": until}
