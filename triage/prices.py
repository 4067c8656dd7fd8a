"""Asked and sold prices by reference, from all the weeks in the memory: as CSV and as plots.

A price counts once for each piece as long as it stays the same: the first one asked at the day it
was listed, if that is told, any other at the day it was first seen.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from triage.run import PricePoint
from triage.stages import csv_cell
from triage.store import Store

WIDE, TALL = 300, 120  # a plot's own units
_LEFT, _RIGHT, _TOP, _BOTTOM = 8, 8, 10, 8
LEAST = 2  # points from which a plot tells anything
KINDS = {"fixed": "asked", "bid": "bid", "sold": "sold", "paid": "paid"}
_HEAD = ("date", "reference", "price", "currency", "price_kind", "source")


def price_points(store: Store) -> tuple[PricePoint, ...]:
    """Every price of a piece with a reference, oldest first; what was paid stands with them."""
    found: list[PricePoint] = []
    last: dict[int, tuple[str, ...]] = {}
    for piece, *values, listed in store.price_sightings():
        told = tuple(values[2:5])
        if piece not in last and values[4] not in ("sold", "bid"):
            values[0] = min(values[0], listed or values[0])
        if last.get(piece) != told and (point := _point(*values)):
            last[piece] = told
            found.append(point)
    found += [point for values in store.prices_paid() if (point := _point(*values))]
    return tuple(sorted(found, key=lambda p: (p.date, p.reference, p.source)))


def _point(
    date: str, reference: str, price: str, currency: str | None, kind: str | None, source: str
) -> PricePoint | None:
    try:
        amount = Decimal(price)
    except InvalidOperation:
        return None
    if not amount.is_finite() or amount <= 0:
        return None
    return PricePoint(date[:10], reference, amount, currency, kind, source)


def prices_csv(points: Iterable[PricePoint]) -> str:
    """The prices as CSV, one row each, money as decimal text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(_HEAD)
    for p in points:
        row = (p.date, p.reference, str(p.price), p.currency, p.kind, p.source)
        writer.writerow([csv_cell(value) for value in row])
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class Mark:
    """One price in a plot: its place, kind and words."""

    x: float
    y: float
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Plot:
    """The prices of one reference in one currency, from 0 to `top`, from one day to another."""

    reference: str
    currency: str
    top: str
    first: str
    last: str
    marks: tuple[Mark, ...]
    other: int  # prices in other currencies, which are not drawn


def price_plots(points: Sequence[PricePoint]) -> tuple[Plot, ...]:
    """A plot for each reference with prices enough, those with most first."""
    groups: dict[str, list[PricePoint]] = defaultdict(list)
    for point in points:
        if _day(point.date) is not None:
            groups[point.reference].append(point)
    ordered = sorted(groups.items(), key=lambda item: (-len(item[1]), item[0]))
    return tuple(_plots(ordered))


def _plots(groups: Iterable[tuple[str, list[PricePoint]]]) -> Iterator[Plot]:
    for reference, points in groups:
        currency = Counter(p.currency for p in points).most_common(1)[0][0]
        shown = [p for p in points if p.currency == currency]
        if len(shown) >= LEAST:
            yield _plot(reference, currency or "", shown, len(points) - len(shown))


def _plot(reference: str, currency: str, points: Sequence[PricePoint], other: int) -> Plot:
    days = [_day(p.date) or 0 for p in points]
    first, span = min(days), max(days) - min(days)
    top = max(p.price for p in points)
    marks = tuple(
        Mark(
            # all of one day stand in the middle
            round(_LEFT + (WIDE - _LEFT - _RIGHT) * ((day - first) / span if span else 0.5), 1),
            round(TALL - _BOTTOM - (TALL - _TOP - _BOTTOM) * float(p.price / top), 1),
            KINDS.get(p.kind or "", "asked"),
            f"{p.date}: {KINDS.get(p.kind or '', 'asked')} {p.price} {currency}".strip(),
        )
        for p, day in zip(points, days, strict=True)
    )
    dates = sorted(p.date for p in points)
    return Plot(reference, currency, f"{top:f}", dates[0], dates[-1], marks, other)


def _day(date: str) -> int | None:
    try:
        return datetime.date.fromisoformat(date).toordinal()
    except ValueError:
        return None
