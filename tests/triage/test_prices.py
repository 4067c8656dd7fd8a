"""Prices by reference: what counts once, what is drawn, and how the CSV reads."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest

from models.records import Assessment
from tests.triage.made import ASSESSMENT, LISTING, RUN
from triage.prices import price_plots, price_points, prices_csv
from triage.report import make_report
from triage.review import add_week, past_of
from triage.run import Past, PricePoint
from triage.store import Store, open_store

PIECE = replace(LISTING, price=Decimal(90), price_kind="fixed", ended=False)


def _seen(listing_id: str) -> Assessment:
    return replace(ASSESSMENT, id=listing_id, reference="vennerby-halm")


def _three_weeks(store: Store) -> None:
    weeks = (
        ("one", "2026-10-02", PIECE),
        ("two", "2026-10-09", PIECE),
        ("four", "2026-10-23", replace(PIECE, price=Decimal(80), price_kind="sold", ended=True)),
    )
    for path, date, listing in weeks:
        folder = add_week(store, path, [replace(listing, date_saved=date)], {})
        store.add_assessments(folder, [_seen(listing.id)], "weights")
    other = replace(PIECE, id="other", url="https://market.example/item/9", photos=(), title="z")
    add_week(store, "three", [replace(other, date_saved="2026-10-16", seller_id="x")], {})


def test_a_price_that_stays_counts_once_and_a_sale_again() -> None:
    with open_store(None) as store:
        _three_weeks(store)
        found = [(p.date, str(p.price), p.kind, p.source) for p in price_points(store)]
    assert found == [
        ("2026-10-02", "90", "fixed", "one/week/one.html"),
        ("2026-10-23", "80", "sold", "four/week/one.html"),
    ]


def test_what_was_paid_is_a_price_until_it_is_taken_back() -> None:
    with open_store(None) as store:
        _three_weeks(store)
        body = {"result": "as described", "reason": "", "paid": "75.50", "date": "2026-10-24"}
        batch = store.record("outcome", [1], {**body, "points": {}})
        assert [(p.date, str(p.price)) for p in price_points(store) if p.kind == "paid"] == [
            ("2026-10-24", "75.50")
        ]
        store.undo(batch)
        assert not [p for p in price_points(store) if p.kind == "paid"]


def test_history_tells_each_week_and_those_in_which_the_piece_was_not_saved() -> None:
    with open_store(None) as store:
        _three_weeks(store)
        piece = store.snapshot(1).piece
        assert piece is not None
        past = past_of(store, piece, store.folders()[-1])
    assert [(one.folder.path, one.state) for one in past] == [
        ("one", "new"),
        ("two", "unchanged"),
        ("three", "not_seen"),
        ("four", "sold"),
    ]


def _point(date: str, price: str, currency: str = "EUR", kind: str | None = None) -> PricePoint:
    return PricePoint(date, "halm", Decimal(price), currency, kind, "=week/a.html")


def test_csv_has_one_row_a_price_and_no_formula() -> None:
    rows = list(csv.reader(io.StringIO(prices_csv([_point("2026-10-02", "84.50", kind="bid")]))))
    assert rows == [
        ["date", "reference", "price", "currency", "price_kind", "source"],
        ["2026-10-02", "halm", "84.50", "EUR", "bid", "'=week/a.html"],
    ]


@pytest.mark.parametrize("points", [[], [_point("2026-10-02", "80")], [_point("soon", "80")] * 3])
def test_too_few_prices_make_no_plot(points: list[PricePoint]) -> None:
    assert price_plots(points) == ()


def test_a_plot_runs_from_nothing_to_the_highest_price_and_from_day_to_day() -> None:
    points = [
        _point("2026-10-02", "100"),
        _point("2026-10-12", "50", kind="sold"),
        _point("2026-10-12", "70", "USD"),
    ]
    (plot,) = price_plots(points)
    assert (plot.top, plot.first, plot.last, plot.other) == ("100", "2026-10-02", "2026-10-12", 1)
    first, second = plot.marks
    assert first.x < second.x
    assert second.y - first.y == pytest.approx((112 - first.y) / 2)
    assert second.words == "2026-10-12: sold 50 EUR"


def test_the_report_folds_the_history_and_draws_the_prices() -> None:
    past = (Past("2026-10-02", "First seen", "EUR 90"), Past("2026-10-09", "Sold", "EUR 80"))
    prices = (_point("2026-10-02", "90"), _point("2026-10-09", "80", kind="sold"))
    html = make_report(replace(RUN, history={"L1": past}, prices=prices))
    assert "History: 2 weeks" in html
    assert html.count('<rect class="sold"') == 2  # in the plot and in its key
    assert "Prices by reference" not in make_report(RUN)


def test_the_first_price_asked_stands_at_the_day_of_listing() -> None:
    listed = replace(PIECE, date_listed="2026-09-28", date_saved="2026-10-02")
    cheaper = replace(listed, price=Decimal(70), date_saved="2026-10-09")
    with open_store(None) as store:
        for path, listing in (("one", listed), ("two", cheaper)):
            folder = add_week(store, path, [listing], {})
            store.add_assessments(folder, [_seen(listing.id)], "weights")
        found = [(p.date, str(p.price)) for p in price_points(store)]
    assert found == [("2026-09-28", "90"), ("2026-10-09", "70")]
