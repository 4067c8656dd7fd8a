"""Dates as sites write them, read only where the caller knows that a date is meant.

Nothing here looks for dates in free text: a page states many years, and few are its own dates.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from email.utils import parsedate_to_datetime
from functools import cache
from typing import Any

from triage.readers.prices import level
from triage.readers.tables import table_of


@dataclass(frozen=True, slots=True)
class StatedDate:
    """A date in ISO 8601, with the time (and offset) if stated; `doubt` says what is unsure."""

    iso: str
    doubt: str | None = None

    @property
    def day(self) -> str:
        return self.iso[:10]


@cache
def _data() -> dict[str, Any]:
    return table_of("dates.toml")


@cache
def _months() -> dict[str, dict[str, int]]:
    """Language -> month word -> 1 to 12."""
    return {
        language: {word: n for n, words in enumerate(rows, 1) for word in words.split()}
        for language, rows in _data()["months"].items()
    }


def _month(word: str, language: str) -> int | None:
    """Read a month name, in the page's language first, then in any."""
    word = word.casefold().rstrip(".")
    own = _months().get(language.split("-")[0], {})
    return own.get(word) or next((m[word] for m in _months().values() if word in m), None)


_ISO = re.compile(
    r"(?<!\d)(\d{4})-(\d{2})-(\d{2})"
    r"(?:[T ](\d{2}):(\d{2})(?::(\d{2}))?(?:[.,]\d+)?\s?(Z|[+-]\d{2}:?\d{2})?)?(?![\d-])"
)
_EPOCH = re.compile(r"(1\d{9})(\d{3})?")
_COMPACT = re.compile(
    r"(20\d{2})(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])(?:T(\d{2})(\d{2})(\d{2})?Z?)?"
)
_LINK = r"(?:\s*(?:de|del|of|di)\s+|[\s.,-]+|(?<=\d)(?=[^\W\d_]))"
_ORDINAL = r"(?:st|nd|rd|th|er|ère|:[ae]|-(?:го|е)|º|ª|°|\.)?"
_DAY_NAME = re.compile(
    rf"(?<!\d)(\d{{1,2}}){_ORDINAL}{_LINK}([^\W\d_]{{3,12}})\.?{_LINK}(\d{{4}}|\d{{2}})(?!\d)"
)
_NAME_DAY = re.compile(
    r"([^\W\d_]{3,12})\.?[\s-]*(?:the\s)?(\d{1,2})(?:st|nd|rd|th)?[\s,-]+(\d{4}|\d{2})(?![\d:])"
)
_YEAR_NAME = re.compile(r"(?<!\d)(\d{4})(?:\.|\sm\.)?,?\s+([^\W\d_]{3,12})\.?\s+(\d{1,2})(?![\d:])")
_CJK = re.compile(r"(\d{4})\s?[年년]\s?(\d{1,2})\s?[月월]\s?(\d{1,2})\s?[日일号]")
_YEAR_FIRST = re.compile(r"(?<!\d)(\d{4})[./]\s?(\d{1,2})[./]\s?(\d{1,2})(?!\d)")
_ROMAN = re.compile(r"(?<!\d)(\d{1,2})[. ]\s?([IVX]{1,4})[. ]\s?(\d{4})(?!\d)")
_ROMANS = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
_FIGURES = re.compile(r"(?<![\d./-])(\d{1,2})([./-])\s?(\d{1,2})\2\s?(\d{4}|\d{2})(?!\d)")
_TIME = re.compile(
    r"(?<![\d.:])(\d{1,2})(?:\s?[:h時时点시]\s?|\s?Uhr\s)(\d{2})(?::(\d{2}))?(?![\d])\s?([ap]\.?\s?m\b\.?)?"
    r"|(?<![\d.:])(\d{1,2})\s?(?:([ap]\.?m\b\.?)|Uhr\b|h\b|[時时点시])"
    r"|(?<![\d.:,])([01]?\d|2[0-3])\.([0-5]\d)(?![\d.])\s?([ap]\.?m\b\.?)?",
    re.I,
)
_ZONE = re.compile(r"(?<![A-Za-z])([A-Z]{3,4})(?![A-Za-z])|(?:UTC|GMT)\s?([+-]\d{1,2}):?(\d{2})?")


def read_date(text: str, language: str = "") -> StatedDate | None:
    """Read the one date of a labelled value; None if there is none.

    >>> read_date("12. März 2026, 18:30 Uhr MEZ", "de").iso
    '2026-03-12T18:30:00+01:00'
    >>> read_date("Mar 3, 2026", "en").iso, read_date("03/04/2026", "en").doubt
    ('2026-03-03', 'day and month may be the other way round')
    """
    text = re.sub(r"\s+", " ", level(text)).strip()[:400]
    return (
        _iso(text)
        or _figures_only(text)
        or _mail_date(text)
        or _with_time(_named(text, language.casefold()), text)
        or _with_time(_of_figures(text, language.casefold()), text)
    )


def is_recent(text: str) -> bool:
    """Say whether a text holds a day on which a listing may have been saved or listed.

    >>> is_recent("3 November 2026"), is_recent("1950s"), is_recent("3 May 1961")
    (True, False, False)
    """
    stated = read_date(text) if any(c.isdigit() for c in text) else None
    return stated is not None and stated.day > "2000"


def day_after(text: str, language: str = "") -> tuple[int, str, StatedDate] | None:
    """Find the day that ends a phrase: where the words before it end, the word or mark between
    ("on", ",", or ""), and the day; None if no recent day is there.

    >>> day_after("Hedda Brun le 9 novembre 2026", "fr")[:2], day_after("Shop 24")
    ((10, 'le'), None)
    """
    for match in _before_day().finditer(text) if any(c.isdigit() for c in text) else ():
        rest = text[match.end() : match.end() + 40]
        if _DAY_START.match(rest) and is_recent(rest) and (stated := read_date(rest, language)):
            return match.start(), (match[1] or match[2] or "").casefold(), stated
    return None


_DAY_START = re.compile(r"\d{1,2}(?:st|nd|rd|th|er|º|ª|[./-])?[\s.]?\D|\d{4}\D")


@cache
def _before_day() -> re.Pattern[str]:
    words = {w for row in _data()["before_day"].values() for w in row}
    listed = "|".join(sorted(map(re.escape, words), key=lambda w: (-len(w), w)))
    return re.compile(rf"\s*(,)\s+(?=\d)|\s+(?:({listed})\s+)?(?=\d)", re.I)


def _iso(text: str) -> StatedDate | None:
    match = _ISO.search(text)
    if match is None or not _is_day(*map(int, match.group(1, 2, 3))):
        return None
    day = "-".join(match.group(1, 2, 3))
    if match[4] is None:
        return _with_time((StatedDate(day), match.start(), match.end()), text)
    if int(match[4]) > 23 or int(match[5]) > 59 or int(match[6] or 0) > 59:
        return StatedDate(day)
    zone = match[7] or _zone(text[match.end() :])
    zone = zone if len(zone) != 5 else f"{zone[:3]}:{zone[3:]}"
    return StatedDate(f"{day}T{match[4]}:{match[5]}:{match[6] or '00'}{zone}")


def _figures_only(text: str) -> StatedDate | None:
    """Seconds or milliseconds since 1970, or a date without marks, standing alone."""
    if (epoch := _EPOCH.fullmatch(text)) is not None:
        when = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=int(epoch[1]))
        return StatedDate(when.isoformat())
    if (match := _COMPACT.fullmatch(text)) is None or not _is_day(*map(int, match.group(1, 2, 3))):
        return None
    day = "-".join(match.group(1, 2, 3))
    return StatedDate(f"{day}T{match[4]}:{match[5]}:{match[6] or '00'}" if match[4] else day)


def _mail_date(text: str) -> StatedDate | None:
    """A date as in RFC 5322, 3.3: "Thu, 12 Mar 2026 18:30:00 +0100"."""
    if not re.match(r"[A-Z][a-z]{2}, \d{1,2} [A-Z][a-z]{2} \d{4} \d\d:\d\d", text):
        return None
    try:
        return StatedDate(parsedate_to_datetime(text).isoformat())
    except ValueError:
        return None


_Found = tuple[StatedDate, int, int]


def _named(text: str, language: str) -> _Found | None:
    for match in _DAY_NAME.finditer(text):
        if (month := _month(match[2], language)) is not None:
            return _found(match, match[3], month, match[1])
    for match in _NAME_DAY.finditer(text):
        if (month := _month(match[1], language)) is not None:
            return _found(match, match[3], month, match[2])
    for match in _YEAR_NAME.finditer(text):
        if (month := _month(match[2], language)) is not None:
            return _found(match, match[1], month, match[3])
    match_roman = _ROMAN.search(text)
    if match_roman is not None and match_roman[2] in _ROMANS:
        return _found(
            match_roman, match_roman[3], _ROMANS.index(match_roman[2]) + 1, match_roman[1]
        )
    return None


def _of_figures(text: str, language: str) -> _Found | None:
    if (match := _CJK.search(text) or _YEAR_FIRST.search(text)) is not None:
        return _found(match, match[1], int(match[2]), match[3])
    if (match := _FIGURES.search(text)) is None:
        return None
    first, second = int(match[1]), int(match[3])
    month_first = _puts_month_first(match[2], language)
    if first > 12 or second > 12:
        month_first = second > 12
        return _found(
            match, match[4], first if month_first else second, match[3 if month_first else 1]
        )
    doubt = None
    if first != second and match[2] != "." and language in _data()["order"]["unclear"]:
        doubt = "day and month may be the other way round"
    month, day = (first, match[3]) if month_first else (second, match[1])
    return _found(match, match[4], month, day, doubt)


def _puts_month_first(mark: str, language: str) -> bool:
    return mark != "." and language in _data()["order"]["month_first"]


def _found(
    match: re.Match[str], year: str, month: int, day: str, doubt: str | None = None
) -> _Found | None:
    full = int(year) if len(year) == 4 else 2000 + int(year) if int(year) < 70 else 1900 + int(year)
    if not _is_day(full, month, int(day)):
        return None
    return StatedDate(f"{full:04}-{month:02}-{int(day):02}", doubt), match.start(), match.end()


def _is_day(year: int, month: int, day: int) -> bool:
    try:
        date(year, month, day)
    except ValueError:
        return False
    return 1900 <= year <= 2100


def _with_time(found: _Found | None, text: str) -> StatedDate | None:
    """Add the time of day that stands after (or before) the date."""
    if found is None:
        return None
    stated, start, end = found
    rest = text[end:] + " | " + text[:start]
    match = _TIME.search(rest)
    if match is None:
        return stated
    hour, minute = int(match[1] or match[5] or match[7]), int(match[2] or match[8] or 0)
    half = (match[4] or match[6] or match[9] or "").replace(" ", "").casefold()
    if half:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    if hour > 23 or minute > 59 or int(match[3] or 0) > 59:
        return stated
    time = f"T{hour:02}:{minute:02}:{match[3] or '00'}"
    return StatedDate(stated.iso + time + _zone(rest[match.end() :]), stated.doubt)


def _zone(text: str) -> str:
    """Write the time zone named in a text as an offset; "" if none is."""
    for match in _ZONE.finditer(text):
        minutes = _data()["zones"].get(match[1]) if match[1] else None
        if match[2]:
            sign = -1 if match[2].startswith("-") else 1
            minutes = int(match[2]) * 60 + sign * int(match[3] or 0)
        if minutes is not None and abs(minutes) < 24 * 60:
            written = timezone(timedelta(minutes=minutes)).utcoffset(None)
            hours, rest = divmod(abs(int(written.total_seconds())) // 60, 60)
            return f"{'-' if minutes < 0 else '+'}{hours:02}:{rest:02}"
    return ""
