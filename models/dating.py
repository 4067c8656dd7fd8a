"""What a mark says about the year: the mark table and the US patent number tables.

Sources stand in the rows of models/data/marks_dates.csv, us_patent_first_numbers.csv and
us_patent_points.csv. A mark gives the earliest year (and sometimes the latest), never a year of
making; a patent number in a gap of the table gives a range.
"""

from __future__ import annotations

import csv
import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Literal

Kind = Literal["hard", "soft", "clue", "calc"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """The years a mark admits: not before, not after, and those in which it is usual."""

    earliest: int | None = None
    latest: int | None = None
    usual_from: int | None = None
    usual_to: int | None = None


@dataclass(frozen=True, eq=False)
class MarkRow:
    """One kind of mark: the years it admits, how firm they are, and the source."""

    id: str
    label: str
    pattern: re.Pattern[str]
    years: Bounds
    kind: Kind
    source: str
    status: str
    note: str
    alone: str  # looked for in running text too: "yes", "no", "written" (beside a way of marking)


@dataclass(frozen=True, slots=True)
class MarkDate:
    """A mark found in a text, with the years it admits; `start`, `end` are offsets in the text."""

    row: str
    label: str
    text: str
    years: Bounds
    kind: Kind
    source: str
    start: int
    end: int


def _rows(name: str) -> list[dict[str, str]]:
    with resources.files("models").joinpath(f"data/{name}").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


_YEAR_COLUMNS = ("earliest_year", "latest_year", "typical_from", "typical_to")


def _year(text: str) -> int | None:
    return int(text) if text else None


@cache
def mark_rows() -> tuple[MarkRow, ...]:
    """The mark table."""
    return tuple(
        MarkRow(
            id=row["id"],
            label=row["label"],
            pattern=re.compile(row["pattern"], 0 if row["letter_case"] == "exact" else re.I),
            years=Bounds(*(_year(row[column]) for column in _YEAR_COLUMNS)),
            kind=row["kind"],  # type: ignore[arg-type]
            source=row["source"],
            status=row["status"],
            note=row["note"],
            alone=row["text_alone"],
        )
        for row in _rows("marks_dates.csv")
    )


def date_marks(
    text: str, running_text: bool = False, written: bool = False
) -> tuple[MarkDate, ...]:
    """Every dated mark in a text; `running_text` leaves out what also stands in addresses, prices.

    `written`: the running text names a way of marking, so that an address may be on the frame.

    >>> [(d.row, d.years.earliest) for d in date_marks("EN 1836:2005")]
    [('en1836_2005', 2005)]
    """
    kinds = {"yes", "written"} if written else {"yes"}
    rows = [row for row in mark_rows() if row.alone in kinds or not running_text]
    found = [d for row in rows for d in _matches(row, text)]
    return tuple(d for d in found if not _is_covered(d, found))


def _matches(row: MarkRow, text: str) -> Iterator[MarkDate]:
    for match in row.pattern.finditer(text):
        years, kind = row.years, row.kind
        if row.id == "patdate_us":
            years = replace(years, earliest=int(match.group(1)))
        if row.kind == "calc":
            granted = patent_years(match.groups()[-1] or "", design=row.id == "despat_us")
            if granted is None:
                continue
            # the number gives the earliest year only: goods stay marked for years (F114)
            years, kind = replace(years, earliest=granted[0]), "hard"
        yield MarkDate(
            row.id, row.label, match.group().strip(), years, kind, row.source,
            match.start(), match.end(),
        )  # fmt: skip


def _is_covered(date: MarkDate, found: list[MarkDate]) -> bool:
    """A longer mark at the same place says more: "EN 1836:2005" over "EN 1836"."""
    return any(
        o.start <= date.start and date.end <= o.end and (o.end - o.start) > (date.end - date.start)
        and (o.years.earliest or 0) >= (date.years.earliest or 0)
        for o in found
        if o is not date
    )  # fmt: skip


# --- patents ---------------------------------------------------------------------------------


@cache
def _anchors(design: bool) -> tuple[tuple[int, int, int], ...]:
    """(number, first year it may be, last year it may be) known for sure, by number."""
    column = "first_design_number" if design else "first_utility_number"
    anchors: dict[int, tuple[int, int]] = {}
    for row in _rows("us_patent_first_numbers.csv"):
        if row[column]:
            anchors[int(row[column])] = (int(row["year"]), int(row["year"]))
    for row in _rows("us_patent_points.csv"):
        if (row["series"] == "design") == design:
            year = int(row["date"][:4])
            anchors.setdefault(int(row["number"]), (year, year))
    if design:
        anchors[1] = (1842, 1843)  # dated 9 Nov 1842, the year table starts in 1843 (F113)
    return tuple(sorted((n, low, high) for n, (low, high) in anchors.items()))


@cache
def _starts(design: bool) -> dict[int, int]:
    column = "first_design_number" if design else "first_utility_number"
    return {
        int(r["year"]): int(r[column]) for r in _rows("us_patent_first_numbers.csv") if r[column]
    }


def patent_years(number: str | int, design: bool = False) -> tuple[int, int] | None:
    """First and last year in which a US patent of this number can have been granted.

    Equal where the tables settle it; a range where the number falls in a gap; None for what is no
    number. Beyond the table the range stays open to the year 2100.

    >>> patent_years("2,000,000"), patent_years(2153321)
    ((1935, 1935), (1936, 1950))
    """
    digits = re.sub(r"\D", "", str(number))
    if not digits or int(digits) < 1:
        return None
    value, anchors = int(digits), _anchors(design)
    at = bisect_right([a[0] for a in anchors], value) - 1
    low_number, low_first, low_last = anchors[max(at, 0)]
    if value == low_number:
        return low_first, low_last
    if at + 1 >= len(anchors):
        return low_last, 2100
    next_number, _, next_last = anchors[at + 1]
    # the first number of a year: everything below it is of an earlier year
    starts = _starts(design)
    last = next_last - 1 if starts.get(next_last) == next_number else next_last
    return low_first if low_first == low_last else low_last, max(last, low_last)


# --- against a claimed era -------------------------------------------------------------------

Verdict = Literal["agrees", "hard", "soft", "clue"]


def hold_against(
    date: MarkDate, from_year: int | None, to_year: int | None, slack: int = 0
) -> Verdict:
    """Whether a mark fits years of making; hard, soft and clue say how firmly it does not.

    `slack` widens approximate years on both sides.

    >>> hold_against(date_marks("CE")[0], 1970, 1979)
    'hard'
    """
    years = date.years
    if to_year is not None:
        if years.earliest is not None and to_year + slack < years.earliest:
            return _firmness(date.kind)
        if years.usual_from is not None and to_year + slack < years.usual_from:
            return "clue" if years.earliest is not None and date.kind == "hard" else "soft"
    if from_year is not None:
        if years.latest is not None and from_year - slack > years.latest:
            return _firmness(date.kind)
        if years.usual_to is not None and from_year - slack > years.usual_to:
            return "soft"
    return "agrees"


def _firmness(kind: Kind) -> Verdict:
    return "hard" if kind in ("hard", "calc") else "soft" if kind == "soft" else "clue"
