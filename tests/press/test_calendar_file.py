"""The iCalendar file beside RFC 5545, read back by the icalendar library, which is not ours."""

from __future__ import annotations

from datetime import UTC, date, datetime
from types import SimpleNamespace

import icalendar
import pytest

from mixcraft.press.calendar_file import calendar_bytes
from mixcraft.press.dates import real_date, season_year
from mixcraft.press.jobs import jobs

STAMP = datetime(2027, 1, 5, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def text(fixed: SimpleNamespace) -> bytes:
    return calendar_bytes([(fixed.season, fixed.score)], 2027, STAMP)


def test_every_job_is_an_event_of_its_day(fixed: SimpleNamespace, text: bytes) -> None:
    events = icalendar.Calendar.from_ical(text).walk("VEVENT")
    steps = jobs(fixed.season, fixed.score)
    assert len(events) == len(steps) > 10
    for event, step in zip(events, steps, strict=True):
        assert event.decoded("dtstart") == real_date(fixed.plan, step.day, 2027)
        assert str(event["summary"])


def test_the_form_is_that_of_rfc_5545(text: bytes) -> None:
    """3.1: lines end with CRLF and hold at most 75 octets; 3.6: PRODID and VERSION; 3.6.1: UID and DTSTAMP in every event."""
    lines = text.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    calendar = icalendar.Calendar.from_ical(text)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    events = calendar.walk("VEVENT")
    assert all(e.decoded("dtstamp") == STAMP for e in events)
    assert len({str(e["uid"]) for e in events}) == len(events)


def test_repeats_are_rules_that_end(text: bytes) -> None:
    rules = [e["rrule"] for e in icalendar.Calendar.from_ical(text).walk("VEVENT") if "rrule" in e]
    assert rules
    for rule in rules:
        assert rule["FREQ"] == ["DAILY"]
        assert isinstance(rule["UNTIL"][0], date)


def test_identifiers_stay_from_one_printing_to_the_next(fixed: SimpleNamespace, text: bytes) -> None:
    def uids(data: bytes) -> list[str]:
        return [str(e["uid"]) for e in icalendar.Calendar.from_ical(data).walk("VEVENT")]

    again = calendar_bytes([(fixed.season, fixed.score)], 2027, STAMP.replace(month=3))
    assert uids(again) == uids(text)
    later = calendar_bytes([(fixed.season, fixed.score)], 2028, STAMP)
    assert not set(uids(later)) & set(uids(text))


def test_the_year_of_a_season(fixed: SimpleNamespace) -> None:
    """The first sowing is on 10 April: in March it is this year's, in November next year's."""
    assert real_date(fixed.plan, 0, 2027) == date(2027, 4, 10)
    assert season_year(fixed.plan, date(2027, 3, 1)) == 2027
    assert season_year(fixed.plan, date(2027, 5, 20)) == 2027
    assert season_year(fixed.plan, date(2027, 11, 1)) == 2028
