"""Labelled dates in the languages and orders of saved pages."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.readers.dates import read_date

ROWS = [
    ("12 March 2026", "en", "2026-03-12"),
    ("March 12, 2026", "en", "2026-03-12"),
    ("12. März 2026", "de", "2026-03-12"),
    ("1er mars 2026", "fr", "2026-03-01"),
    ("12 mars 2026 à 18h30", "fr", "2026-03-12T18:30:00"),
    ("12 de marzo de 2026", "es", "2026-03-12"),
    ("12 gennaio 2026", "it", "2026-01-12"),
    ("12.03.2026", "de", "2026-03-12"),
    ("03/12/2026", "en-us", "2026-03-12"),
    ("03/12/2026", "en-gb", "2026-12-03"),
    ("13/02/2026", "en-us", "2026-02-13"),  # only one order is possible
    ("Thu, 12 Mar 2026 18:30:00 +0100", "", "2026-03-12T18:30:00+01:00"),  # RFC 5322, 3.3
    ("2026-03-12T18:30:00Z", "", "2026-03-12T18:30:00Z"),
    ("12. März 2026, 18:30 Uhr MEZ", "de", "2026-03-12T18:30:00+01:00"),
    ("8 mar 2026, 6:30 pm GMT", "en", "2026-03-08T18:30:00+00:00"),
    ("Mar-12-26 18:30:00 PDT", "en", "2026-03-12T18:30:00-07:00"),
    ("2026年3月12日", "ja", "2026-03-12"),
    ("２０２６/０３/１２", "ja", "2026-03-12"),
]


@pytest.mark.parametrize(("text", "language", "iso"), ROWS)
def test_stated_dates_are_read(text: str, language: str, iso: str) -> None:
    stated = read_date(text, language)
    assert stated is not None
    assert (stated.iso, stated.doubt) == (iso, None)


def test_order_that_the_language_leaves_open_is_said() -> None:
    stated = read_date("03/04/2026", "en")
    assert stated is not None
    assert stated.doubt == "day and month may be the other way round"


@pytest.mark.parametrize("text", ["14k", "1920s", "March 2026", "31.02.2026", "48-20", "", "soon"])
def test_what_is_no_date_is_none(text: str) -> None:
    assert read_date(text, "en") is None


days = st.dates(date(1970, 1, 1), date(2069, 12, 31))


@given(days, st.sampled_from(["de", "fr", "it", "es", "en-gb"]))
def test_day_first_figures_read_back(day: date, language: str) -> None:
    stated = read_date(f"{day.day:02}.{day.month:02}.{day.year}", language)
    assert stated is not None
    assert stated.iso == day.isoformat()


@given(days)
def test_month_first_and_iso_agree(day: date) -> None:
    american = read_date(f"{day.month:02}/{day.day:02}/{day.year}", "en-us")
    assert american == read_date(day.isoformat(), "de")


@given(st.text(max_size=60), st.sampled_from(["en", "de", ""]))
def test_any_text_is_survived(text: str, language: str) -> None:
    read_date(text, language)
