"""A calendar file (RFC 5545) of what is due or ends, for the buyer's own calendar."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

import icalendar


@dataclass(frozen=True, slots=True)
class Appointment:
    """Something on a day: `key` makes its UID, so a file made again replaces it."""

    key: str
    day: str  # ISO 8601 date or date and time
    title: str
    note: str = ""


def calendar(appointments: Iterable[Appointment], made_at: datetime.datetime) -> bytes:
    """Write a calendar; days without a time become all-day events. Lines end in CR LF.

    A time without a zone is the reader's own ("floating"). Appointments whose `day` is no ISO 8601
    date are left out; where none is left a zone stands alone, as a calendar may not be empty.
    """
    book = icalendar.Calendar()
    book.add("prodid", "-//frame-triage//weekly review//EN")
    book.add("version", "2.0")
    for one in appointments:
        when = _when(one.day)
        if when is not None:
            book.add_component(_event(one, when, made_at))
    if not book.subcomponents:
        book.add_component(_zone())
    return bytes(book.to_ical())


def _zone() -> icalendar.Timezone:
    zone, standard = icalendar.Timezone(), icalendar.TimezoneStandard()
    zone.add("tzid", "Etc/UTC")
    standard.add("dtstart", datetime.datetime(1970, 1, 1))
    for name in ("tzoffsetfrom", "tzoffsetto"):
        standard.add(name, datetime.timedelta(0))
    zone.add_component(standard)
    return zone


def _event(
    one: Appointment, when: datetime.date | datetime.datetime, made_at: datetime.datetime
) -> icalendar.Event:
    event = icalendar.Event()
    uid = hashlib.sha256(one.key.encode()).hexdigest()[:24]
    event.add("uid", f"{uid}@frame-triage.invalid")
    event.add("dtstamp", made_at)
    event.add("dtstart", when)
    event.add("summary", one.title)
    if one.note:
        event.add("description", one.note)
    return event


def _when(day: str) -> datetime.date | datetime.datetime | None:
    try:
        if len(day) <= 10:
            return datetime.date.fromisoformat(day)
        moment = datetime.datetime.fromisoformat(day)
    except ValueError:
        return None
    return moment.astimezone(datetime.UTC) if moment.tzinfo else moment
