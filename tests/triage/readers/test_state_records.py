"""A page's data in many languages and shapes, in pieces, calls and attributes."""
# ruff: noqa: E501 (samples of data are easier to read on one line)

from __future__ import annotations

import html
import json
from decimal import Decimal
from typing import Any

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import one, picture, read

NAME = "Gantreux 404 frame"
TEXT = "Found in a drawer.\nLens width 48 mm."
ITEM: dict[str, Any] = {
    "id": 5550021,
    "title": NAME,
    "description": TEXT,
    "price": {"amount": "45.50", "currency": "GBP"},
}
ROWS = (("Maker", "Gantreux"), ("Eye size", "48 mm"))


def page(body: str, heading: str = f"<h1>{NAME}</h1>") -> Listing:
    head = f"<head><title>{NAME} | Old Row</title></head>"
    return one(
        f"<html lang=en>{head}<body>{heading}<img src='a.jpg'>{body}</body></html>",
        {"a.jpg": picture(1)},
    )


def state(**changes: Any) -> Listing:
    item = {k: v for k, v in {**ITEM, **changes}.items() if v is not None}
    return page(f"<script>window.__S__={json.dumps({'item': item})}</script>")


@pytest.mark.parametrize(
    "changes",
    [
        {"price": None, "money": {"cents": 4550, "currency": "GBP"}},
        {"price": {"minor_units": 4550, "currency": "GBP"}},
        {"price": {"units": 45, "nanos": 500000000, "currencyCode": "GBP"}},
        {"price": {"value": 4550, "exponent": 2, "currency": "GBP"}},
        {"price": None, "priceLabel": "£45.50"},
    ],
)
def test_amounts_are_read_in_coins_parts_and_words(changes: dict[str, Any]) -> None:
    listing = state(**changes)
    assert (listing.price, listing.currency) == (Decimal("45.50"), "GBP")


@pytest.mark.parametrize(
    ("changes", "cost"),
    [
        ({"shipping": {"cents": 395, "currency": "GBP"}}, "3.95"),
        ({"delivery": {"cents": 395, "currency": "GBP"}}, "3.95"),
        (
            {
                "shippingOptions": [
                    {"name": "Express", "price": {"value": 9.95}},
                    {"name": "Post", "price": {"value": 3.95}},
                ]
            },
            "3.95",
        ),
        (
            {
                "shipping": {
                    "options": [{"name": "Post", "cost": {"value": 3.95, "currencyCode": "GBP"}}]
                }
            },
            "3.95",
        ),
        ({"freeShipping": True}, "0"),
    ],
)
def test_the_cost_of_sending_is_read_in_coins_and_from_options(
    changes: dict[str, Any], cost: str
) -> None:
    assert state(**changes).shipping == Decimal(cost)


@pytest.mark.parametrize(
    "changes",
    [
        {"specs": [{"k": k, "v": v} for k, v in ROWS]}, {"attributes": [list(row) for row in ROWS]}, {"merkmale": dict(ROWS)},
        {"itemSpecifics": [{"group": "Frame", "items": [{"name": k, "value": v} for k, v in ROWS]}]},
        {"attributes": [{"label": k, "value": {"text": v}} for k, v in ROWS]},
    ],
)  # fmt: skip
def test_rows_are_read_in_the_shapes_of_exports(changes: dict[str, Any]) -> None:
    listing = state(viewCount=12, **changes)
    assert listing.specifics == ROWS


@pytest.mark.parametrize(
    ("data", "seller"),
    [
        ({"item": {**ITEM, "ownerId": "77"}, "users": {"77": {"nick": "rosa"}}}, ("77", "rosa")),
        (
            {
                "item": {**ITEM, "seller": "77"},
                "users": {"77": {"id": "77", "displayName": "Rosa"}},
            },
            ("77", "Rosa"),
        ),
        (
            {"item": {**ITEM, "sellerId": 77}, "sellers": [{"id": 77, "shopName": "Rosa"}]},
            ("77", "Rosa"),
        ),
        (
            {
                "Listing:1": {**ITEM, "seller": {"__ref": "User:77"}},
                "User:77": {"id": "77", "username": "rosa"},
            },
            ("77", "rosa"),
        ),
    ],
)
def test_a_seller_kept_apart_is_found_by_reference(
    data: dict[str, Any], seller: tuple[str, str]
) -> None:
    listing = page(f"<script>window.__S__={json.dumps(data)}</script>")
    assert (listing.seller_id, listing.seller_name) == seller


FOREIGN = {
    "de": {"titel": NAME, "beschreibung": TEXT, "preis": {"betrag": 45.5, "waehrung": "EUR"}, "versandkosten": 5.5,
           "verkaeufer": {"id": "77", "name": "Rosa"}, "eingestelltAm": "2026-11-03"},
    "fr": {"titre": NAME, "description": TEXT, "prix": "45,50 €", "fraisDePort": "5,50 €",
           "vendeur": {"pseudo": "Rosa", "id": 77}, "datePublication": "2026-11-03"},
}  # fmt: skip


@pytest.mark.parametrize("language", FOREIGN)
def test_names_in_other_languages_are_read(language: str) -> None:
    listing = page(f"<script>window.__S__={json.dumps({'item': FOREIGN[language]})}</script>")
    assert (listing.price, listing.shipping, listing.seller_name) == (
        Decimal("45.5"),
        Decimal("5.5"),
        "Rosa",
    )
    assert (listing.description, (listing.date_listed or "")[:10]) == (TEXT, "2026-11-03")


def pushed(*pieces: str) -> str:
    return "<script>(self.__q=self.__q||[]).push([0])</script>" + "".join(
        f"<script>self.__q.push([1,{json.dumps(piece)}])</script>" for piece in pieces
    )


@pytest.mark.parametrize("heading", [f"<h1>{NAME}</h1>", ""])
def test_data_pushed_in_pieces_is_put_together(heading: str) -> None:
    row = "7:" + json.dumps(["$", "$L4", None, {"item": ITEM}]) + "\n"
    half = len(row) // 2
    for pieces in (
        (row,),
        (row[:half], row[half:]),
        ('0:["x"]\n' + row[:50], row[50:90], row[90:]),
    ):
        listing = page(pushed(*pieces), heading)
        assert (listing.price, listing.description, listing.listing_id) == (
            Decimal("45.50"),
            TEXT,
            "5550021",
        )


def test_a_text_kept_in_a_row_of_its_own_is_put_where_it_belongs() -> None:
    text = "Geschliffene Gläser – 48 mm.\nNasensteg 21 mm."
    rows = f"1a:T{len(text.encode()):x},{text}7:{json.dumps({'item': {**ITEM, 'description': '$1a'}})}\n"
    assert page(pushed(rows)).description == text


@pytest.mark.parametrize(
    "body",
    [
        f"<script>window.q=window.q||[];q.push({json.dumps({'item': ITEM})})</script>",
        f"<script>start(document.body, {json.dumps({'item': ITEM})})</script>",
        f'<div data-page="{html.escape(json.dumps({"props": {"item": ITEM}}))}"></div>',
        f'<x-page :listing="{html.escape(json.dumps(ITEM))}"></x-page>',
        f"<div data-props='{json.dumps({'item': ITEM})}'></div>",
    ],
)
def test_data_handed_to_a_function_or_held_by_an_attribute_is_read(body: str) -> None:
    listing = page(body)
    assert (listing.price, listing.description) == (Decimal("45.50"), TEXT)


def test_data_of_other_things_makes_no_listing() -> None:
    other = {**ITEM, "title": "Brown round case with lining"}
    assert (
        read(
            f"<html><title>Help centre</title><body><h1>Help centre</h1><div data-page='{json.dumps(other)}'></div></body></html>"
        ).listings
        == ()
    )
