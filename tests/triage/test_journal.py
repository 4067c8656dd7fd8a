"""What the buyer enters, and the calendar file."""

from __future__ import annotations

import datetime

import icalendar
import pytest

from extractors.errors import UserError
from triage.diary import Appointment, calendar
from triage.journal import Standing, count_disputes, dispute_body, outcome_body, step_body, sum_up
from triage.store import Entry


def _entry(kind: str, undone: bool = False, **body: object) -> Entry:
    return Entry(1, "2026-11-01", "b", kind, 1, body, None, "2026-11-02" if undone else None)


def test_entries_add_up_in_order() -> None:
    standing = sum_up(
        [
            _entry("step", **step_body("write", "2026-11-30", "hinge photo")),
            _entry("asked", text="Could you show the hinge?"),
            _entry("answered", text="seven barrels"),
            _entry("step", undone=True, **step_body("pass")),
            _entry("dispute", **dispute_body("points", "rivet_shape", "misread")),
        ]
    )
    assert standing == Standing(
        watched=True,
        step="write",
        due="2026-11-30",
        notes=("hinge photo",),
        asked=("Could you show the hinge?",),
        answers=("seven barrels",),
        disputed=(("points", "rivet_shape"),),
    )


def test_an_outcome_ends_what_was_to_be_done_until_a_step_is_entered_anew() -> None:
    entries = [
        _entry("step", **step_body("write", "2026-11-30")),
        _entry("outcome", **outcome_body("as described", paid="120,50")),
    ]
    bought = sum_up(entries)
    assert (bought.step, bought.due, bought.is_settled) == (None, None, True)
    assert bought.outcome is not None
    assert bought.outcome["paid"] == "120.50"
    again = sum_up([*entries, _entry("step", **step_body("write", "2026-12-30"))])
    assert (again.step, again.due) == ("write", "2026-12-30")
    undone = sum_up([entries[0], _entry("outcome", undone=True, **outcome_body("not bought"))])
    assert (undone.step, undone.is_settled) == ("write", False)
    assert not sum_up([_entry("outcome", **outcome_body("not bought"))]).is_settled


def test_disputes_are_counted_per_check_and_reason() -> None:
    entry = _entry("dispute", **dispute_body("points", "rivet_shape", "sheet wrong"))
    assert count_disputes([entry, entry, _entry("note", text="x")]) == {
        ("points", "sheet wrong"): 2
    }


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: step_body("burn"),
        lambda: step_body("wait", "next week"),
        lambda: outcome_body("returned"),
        lambda: outcome_body("as described", chance=0.0),
        lambda: outcome_body("as described", chance=float("nan")),
        lambda: outcome_body("as described", paid="NaN"),
        lambda: outcome_body("as described", paid="cheap"),
        lambda: outcome_body("as described", paid="1e9999999"),
        lambda: outcome_body("as described", paid="-5"),
        lambda: dispute_body("points", "badge", "no idea"),
    ],
)
def test_a_wrong_word_is_said_with_what_is_allowed(wrong) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(UserError) as caught:
        wrong()
    assert caught.value.hint


def test_calendar_follows_rfc_5545() -> None:
    """RFC 5545 3.1 (CR LF, folding at 75 octets), 3.3.4 (DATE), 3.6.1 (UID and DTSTAMP)."""
    long = "Orlenza Merrin, " * 12
    data = calendar(
        [
            Appointment("a", "2026-12-01", long, "write; then, wait\nsee note"),
            Appointment("b", "2026-12-02T18:30:00+01:00", "ends"),
            Appointment("c", "soon", "left out"),
        ],
        datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC),
    )
    assert b"DTSTART;VALUE=DATE:20261201\r\n" in data
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert b"\n" not in data.replace(b"\r\n", b"")
    events = icalendar.Calendar.from_ical(data).walk("VEVENT")
    assert [str(e["summary"]) for e in events] == [long, "ends"]
    assert len({str(e["uid"]) for e in events}) == 2


def test_a_time_without_a_zone_is_the_readers_own() -> None:
    """RFC 5545 3.3.5: form 1 is floating, form 2 UTC."""
    made_at = datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC)
    days = ("2026-12-02T18:30:00", "2026-12-02T18:30:00+01:00")
    data = calendar([Appointment(day, day, "ends") for day in days], made_at)
    assert b"DTSTART:20261202T183000\r\n" in data
    assert b"DTSTART:20261202T173000Z\r\n" in data


def test_a_calendar_without_appointments_is_one() -> None:
    """RFC 5545 3.6: a calendar holds at least one component."""
    data = calendar([], datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC))
    (zone,) = icalendar.Calendar.from_ical(data).subcomponents
    assert (zone.name, str(zone["tzid"])) == ("VTIMEZONE", "Etc/UTC")
