"""JSON exports in whatever shape programs give values and lists: one piece, always read alike.

The shapes are made up after what data formats do: money with minor units (ISO 4217), JSON:API 1.1,
connections of query services, documents of databases, tables by row or by column.
"""

# ruff: noqa: C408

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.readers import exports
from triage.readers.json_listings import find_listings
from triage.readers.json_shapes import plain_object
from triage.readers.source import ReadResult, Source, Unreadable

ID = "271828182"
URL = f"https://stallrow.example/a/{ID}"
N = "Vennerby 12 round frame"
D = "First line of it.\nLens 48 mm, bridge 21 mm."
SP = {"Brand": "Vennerby", "Bridge": "21 mm"}
PIECE: dict[str, Any] = {
    "itemId": ID,
    "title": N,
    "description": D,
    "price": 45.0,
    "currency": "EUR",
    "shippingCost": "4.90",
    "seller": {"username": "old_panes", "id": 8812},
    "listedAt": "2026-11-03T10:00:00Z",
    "images": ["img/a.jpg", "img/b.jpg"],
    "itemSpecifics": [{"name": k, "value": v} for k, v in SP.items()],
    "itemWebUrl": URL,
}
TRUTH: dict[str, Any] = {
    "title": N,
    "description": D,
    "price": Decimal(45),
    "currency": "EUR",
    "price_kind": "fixed",
    "shipping": Decimal("4.90"),
    "listing_id": ID,
    "url": URL,
    "seller_name": "old_panes",
    "seller_id": "8812",
    "date_listed": "2026-11-03",
    "missing_photos": ("img/a.jpg", "img/b.jpg"),
    "specifics": SP,
}


def read(value: object) -> ReadResult:
    text = json.dumps(value, ensure_ascii=False).encode()
    return sum(exports.read_json(Source(Path("/x"), "a.json", content=text)), ReadResult())


def piece(without: str | tuple[str, ...], **stated: Any) -> dict[str, Any]:
    gone = (without,) if isinstance(without, str) else without
    return {**{k: v for k, v in PIECE.items() if k not in gone}, **stated}


def check(value: object, count: int = 1, **other: Any) -> None:
    listings = read(value).listings
    assert len(listings) == count
    got = {field: getattr(listings[0], field) for field in {**TRUTH, **other}}
    got["specifics"], got["date_listed"] = dict(got["specifics"]), str(got["date_listed"])[:10]
    wanted = {**TRUTH, **other}
    assert {k: v for k, v in got.items() if wanted[k] is not ...} == {
        k: v for k, v in wanted.items() if v is not ...
    }


def table(cases: Mapping[str, Any]) -> Any:
    return pytest.mark.parametrize("stated", cases.values(), ids=cases)


MONEY = {
    "value/currency": dict(price={"value": 45.0, "currency": "EUR"}),
    "amount/currencyCode": dict(price={"amount": "45.00", "currencyCode": "EUR"}),
    "text": dict(price="€ 45,00"),
    "text2": dict(price="45,00 €"),
    "text3": dict(price="EUR 45.00"),
    "symbol": dict(price="45.00", currencySymbol="€"),
    "formatted": dict(price={"formatted": "€45.00"}),
    "display/raw": dict(price={"display": "45,00 €", "raw": 45}),
    "precision": dict(price={"amount": 4500, "currency": "EUR", "precision": 2}),
    "exponent": dict(price={"amount": 4500, "currency": "EUR", "exponent": 2}),
    "exp-2": dict(price={"amount": 4500, "currency": "EUR", "exponent": -2}),
    "scale": dict(price={"value": 4500, "currency": "EUR", "scale": 2}),
    "decimals": dict(price={"value": 4500, "currency": "EUR", "decimals": 2}),
    "unit": dict(price={"amount": 4500, "unit": "cents", "currency": "EUR"}),
    "unit2": dict(price={"value": 4500, "unit": "cent", "currency": "EUR"}),
    "eenheid": dict(prijs={"bedrag": 4500, "eenheid": "cent", "valuta": "EUR"}),
    "amountMinor": dict(price={"amountMinor": 4500, "currency": "EUR"}),
    "amountInCents": dict(price={"amountInCents": 4500, "currency": "EUR"}),
    "cents": dict(price={"cents": 4500, "currency_iso": "EUR"}),
    "centAmount": dict(
        price={
            "type": "centPrecision",
            "centAmount": 4500,
            "currencyCode": "EUR",
            "fractionDigits": 2,
        }
    ),
    "priceInCents": dict(priceInCents=4500, currency="EUR"),
    "price_cents": dict(price_cents=4500, currency="EUR"),
    "price_minor": dict(price_minor=4500, currency="EUR"),
    "priceMinorUnits": dict(priceMinorUnits="4500", currency="EUR"),
    "cents key eur": dict(price_eur_cents=4500),
    "minor_units": dict(minor_unit_price=4500, currency_code="EUR"),
    "micros": dict(priceMicros=45000000, currency="EUR"),
    "nanos": dict(price={"currencyCode": "EUR", "units": "45", "nanos": 0}),
    "amount+precision top": dict(amount=4500, precision=2, currency="EUR"),
    "price_eur": dict(price_eur=45),
    "priceEUR": dict(priceEUR="45.00"),
    "pricing.current": dict(
        pricing={
            "current": {"amount": 45, "currency": "EUR"},
            "original": {"amount": 60, "currency": "EUR"},
        }
    ),
    "price.current/original": dict(price={"original": 60, "current": 45, "currency": "EUR"}),
    "priceInfo": dict(
        priceInfo={"was": {"value": 60, "currency": "EUR"}, "now": {"value": 45, "currency": "EUR"}}
    ),
    "orig/sale": dict(originalPrice=60, salePrice=45, currency="EUR"),
    "list/sale": dict(listPrice=60, price=45, currency="EUR"),
    "rrp": dict(rrp=60, price=45, currency="EUR"),
    "sellingStatus": dict(sellingStatus={"currentPrice": {"value": "45.0", "currencyId": "EUR"}}),
    "list of one": dict(price=[{"amount": 45, "currency": "EUR"}]),
    "prices dict": dict(prices={"EUR": 45}),
    "askingPrice": dict(askingPrice=45, currency="EUR"),
    "price object w/ negotiable": dict(price={"amount": 45, "currency": "EUR", "negotiable": True}),
    "float artefact": dict(price=45.00000001, currency="EUR"),
    "currency obj": dict(price=45, currency={"code": "EUR", "symbol": "€"}),
    "price.value.amount": dict(price={"value": {"amount": 45, "currency": "EUR"}}),
    "money attr": dict(price={"@currency": "EUR", "#text": "45.00"}),
}

AMOUNTS = [
    dict(price={"minor": 4500, "iso": "EUR"}),
    dict(price={"amount": {"value": 45, "cur": "EUR"}}),
    dict(price={"num": 4500, "den": 100, "cur": "EUR"}),
    dict(priceNum=45, priceCur="EUR"),
    dict(cost={"units": 45, "nanos": 0, "currency_code": "EUR"}),
    dict(price={"major": 45, "minor": 0, "currency": "EUR"}),
    dict(amount_minor=4500, minor_digits=2, currency="EUR"),
    dict(price_value=45, price_ccy="EUR"),
    dict(price=45, ccy="EUR"),
    dict(priceAmount=45, priceCurrencyIso="EUR"),
    dict(price=[45, "EUR"]),
    dict(price={"EUR": 45, "USD": 50}),
    dict(asking={"sum": 45, "ccy": "EUR"}),
    dict(price=45, cur="EUR"),
    dict(price=45, curr="EUR"),
    dict(ask=45, ccy="EUR"),
    dict(askPrice=45, iso4217="EUR"),
    dict(price="EUR45.00"),
    dict(price={"amount": "45.00", "currency": 978}),
    dict(price="45.00 EUR"),
    dict(price={"v": 45, "c": "EUR"}),
    dict(prijs="€ 45,-"),
    dict(bedrag=45, munteenheid="EUR"),
    dict(vraagprijs=45, muntsoort="EUR"),
    dict(price={"gross": 45, "net": 37.5, "currency": "EUR"}),
    dict(preis={"brutto": 45, "waehrung": "EUR"}),
    dict(price={"amount": 4500, "factor": 100, "currency": "EUR"}),
    dict(price={"amount": 4500, "divisor": 100, "currency": "EUR"}),
    dict(price={"value": 4500, "multiplier": 100, "currency": "EUR"}),
    dict(price={"unscaledValue": 4500, "scale": 2, "currency": "EUR"}),
    dict(price={"unscaled": 4500, "scale": 2, "ccy": "EUR"}),
    dict(price={"mantissa": 4500, "exponent": -2, "currency": "EUR"}),
    dict(price={"base": 4500, "exp": 2, "currency": "EUR"}),
    dict(price={"amount": 4500, "minor": True, "currency": "EUR"}),
    dict(price={"amount": 4500, "isMinor": True, "currency": "EUR"}),
    dict(price=4500, price_scale=2, currency="EUR"),
    dict(price=4500, priceDecimals=2, currency="EUR"),
    dict(price={"amount": 4500, "currency": {"code": "EUR", "decimals": 2}}),
    dict(price={"amount": 4500, "currency": {"code": "EUR", "exponent": 2}}),
    dict(price={"amount": 4500, "currency": "EUR", "minor_unit": 2}),
    dict(price={"amount": 4500, "currency": "EUR", "minorUnit": 2}),
    dict(price={"amount": 4500, "currency": "EUR", "minorUnits": 2}),
    dict(price={"amount": 4500, "currency": "EUR", "in": "cents"}),
    dict(price={"amount": 4500, "currency": "EUR", "subunit": 100}),
    dict(ask_minor=4500, minor_exp=2, ccy="EUR"),
    dict(price={"amount_micros": "45000000", "currency_code": "EUR"}),
    dict(price={"display": {"text": "€45.00"}}),
    dict(sale={"price": {"amount": 45, "currency": "EUR"}, "type": "fixed"}),
    dict(sale={"kind": "fixed", "amount": 4500, "precision": 2, "currency": "EUR"}),
    dict(sale={"mode": "fixed", "ask": 45, "currency": "EUR"}),
    dict(offer={"amount": 45, "currency": "EUR"}),
    dict(offers=[{"price": "45.00", "priceCurrency": "EUR"}]),
    dict(terms={"asking": {"amount": 45, "currency": "EUR"}}),
    dict(commercial={"ask": {"amount": 45, "ccy": "EUR"}}),
]

AMOUNTS += [
    dict(prijs=4500, eenheid="cent", valuta="EUR"),
    dict(prijs={"bedrag": 4500, "eenheid": "cent"}, valuta="EUR"),
    dict(prijs={"bedrag": 4500, "eenheid": "eurocent"}),
    dict(vraagprijs={"waarde": 4500, "eenheid": "cent", "munt": "EUR"}),
    dict(prijs={"inCenten": 4500, "munteenheid": "EUR"}),
    dict(prijsInCent=4500, munt="EUR"),
    dict(bedragInCenten=4500, valuta="EUR"),
    dict(prijs_centen=4500, valuta="EUR"),
    dict(prijs_ct=4500, valuta="EUR"),
    dict(prijs={"bedrag": 4500, "eenheid": "EUR cent"}),
    dict(prijs={"bedrag": 4500, "munt": "EUR", "eenheid": "centen"}),
    dict(prijs={"type": "vast", "bedrag": 4500, "eenheid": "cent", "valuta": "EUR"}),
    dict(prijs={"soort": "vraagprijs", "centen": 4500, "valuta": "EUR"}),
    dict(prijs={"bedrag": 45, "eenheid": "EUR"}),
    dict(prijs={"bedrag": "45,00", "eenheid": "euro"}),
    dict(prijs=[{"bedrag": 4500, "eenheid": "cent", "valuta": "EUR"}]),
    dict(prijsinfo={"bedrag": 4500, "eenheid": "cent", "valuta": "EUR"}),
    dict(
        prijs={"bedrag": "4500", "eenheid": "cent", "valuta": "EUR"},
        verzending={"bedrag": 495, "eenheid": "cent"},
    ),
    dict(preis={"betrag": 4500, "einheit": "ct", "waehrung": "EUR"}),
    dict(price=4500, price_unit="cents", currency="EUR"),
    dict(price={"amount": 4500, "unit": "minor"}, currency="EUR"),
    dict(prijs={"bod": 4500, "eenheid": "cent", "valuta": "EUR"}),
    dict(price_unit="cent", price=4500, currency="EUR", shipping=490),
]


@table(MONEY)
def test_price_of_any_shape(stated: dict[str, Any]) -> None:
    check(piece(("price", "currency"), **stated))


@pytest.mark.parametrize("stated", AMOUNTS, ids=str)
def test_amount_of_any_shape(stated: dict[str, Any]) -> None:
    check(piece(("price", "currency"), **stated), price_kind=..., specifics=..., shipping=...)


BIDS = {
    "bidding": (
        dict(
            bidding={
                "currentBid": {"amount": 45, "currency": "EUR"},
                "minimumBid": {"amount": 47, "currency": "EUR"},
                "bidCount": 3,
                "buyItNow": {"amount": 98, "currency": "EUR"},
                "endTime": "2026-12-11T20:24:00Z",
            }
        ),
        dict(buy_now=Decimal(98), ends_at="2026-12-11T20:24:00Z"),
    ),
    "auction": (
        dict(
            auction={
                "currentPrice": 45,
                "startPrice": 10,
                "bids": 3,
                "endsAt": "2026-12-11T20:24:00Z",
            },
            currency="EUR",
        ),
        dict(ends_at="2026-12-11T20:24:00Z"),
    ),
    "flat": (
        dict(currentBid=45, minimumBid=47, bidCount=3, buyNowPrice=98, currency="EUR"),
        dict(buy_now=Decimal(98)),
    ),
    "format": (dict(price=45, currency="EUR", saleFormat="AUCTION", bidCount=2), {}),
    "list of bids": (
        dict(
            bids=[{"amount": 40, "bidder": "x"}, {"amount": 45, "bidder": "y"}],
            currency="EUR",
            startingBid=10,
        ),
        {},
    ),
    "is_auction": (dict(price=45, currency="EUR", is_auction=True, bids=3), {}),
    "start only": (dict(startingBid={"amount": 45, "currency": "EUR"}, bids=0), {}),
    "price.type": (dict(price={"type": "auction", "current": 45, "currency": "EUR"}), {}),
    "current_bid_cents": (
        dict(current_bid_cents=4500, currency="EUR", end_time_ms=1797020640000),
        dict(ends_at="2026-12-11T20:24:00+00:00"),
    ),
    "Gebote": (
        dict(
            gebote={"aktuellesGebot": 45, "anzahl": 3, "waehrung": "EUR"},
            auktionsende="2026-12-11T20:24:00Z",
        ),
        dict(ends_at="2026-12-11T20:24:00Z"),
    ),
    "enchere": (
        dict(
            enchere={
                "enchereActuelle": {"montant": 45, "devise": "EUR"},
                "nombreEncheres": 3,
                "fin": "2026-12-11T20:24:00Z",
            }
        ),
        dict(ends_at="2026-12-11T20:24:00Z"),
    ),
}


@table(BIDS)
def test_bids_of_any_shape(stated: tuple[dict[str, Any], dict[str, Any]]) -> None:
    check(piece(("price", "currency"), **stated[0]), price_kind="bid", **stated[1])


STANDS = {"amount": 45, "currency": "EUR"}
STANDING = [
    dict(bids={"count": 3, "highest": STANDS}),
    dict(bids={"count": 3, "top": STANDS}),
    dict(bids={"total": 3, "leading": STANDS}),
    dict(bids={"n": 3, "current": 45, "currency": "EUR"}),
    dict(bids={"count": 3, "max": 45, "currency": "EUR"}),
    dict(bids={"count": 3, "high": "EUR 45.00"}),
    dict(highestBid={"amountMinor": 4500, "currencyCode": "EUR"}, numberOfBids=3),
    dict(topBid=STANDS, bidCount=3),
    dict(leadingBid=STANDS),
    dict(lastBid=STANDS),
    dict(latestBid=STANDS, bidCount=1),
    dict(highBid=45, currency="EUR"),
    dict(standingBid=STANDS),
    dict(current_price=45, currency="EUR", bid_count=2),
    dict(currentPrice=STANDS, bidCount=2),
    dict(
        auction={
            "highestBid": {"value": 45, "currency": "EUR"},
            "bidCount": 3,
            "startingBid": {"value": 10, "currency": "EUR"},
        }
    ),
    dict(auction={"current": STANDS, "bids": 3}),
    dict(auction={"currentBidAmount": 45, "currencyCode": "EUR", "bidCount": 2}),
    dict(currentBidAmount=45, bidCurrency="EUR", bidsCount=2),
    dict(currentBidCents=4500, currency="EUR", bids=2),
    dict(current_bid_amount=4500, current_bid_exponent=2, currency="EUR"),
    dict(biedingen={"aantal": 3, "hoogste": {"bedrag": 45, "valuta": "EUR"}}),
    dict(huidigBod={"bedrag": 45, "valuta": "EUR"}, aantalBiedingen=3),
    dict(huidig_bod="€ 45,00", aantal_biedingen=3),
    dict(hoogsteBod=45, valuta="EUR"),
    dict(bod={"huidig": 45, "valuta": "EUR", "aantal": 3}),
    dict(veiling={"huidigBod": 45, "valuta": "EUR", "eindigt": "2026-12-11"}),
    dict(gebote={"hoechstes": STANDS, "anzahl": 3}),
    dict(hoechstgebot={"betrag": 45, "waehrung": "EUR"}, anzahlGebote=3),
    dict(aktuellesGebot=45, waehrung="EUR", gebote=3),
    dict(gebot={"aktuell": 45, "waehrung": "EUR"}),
    dict(auktion={"aktuellerPreis": 45, "waehrung": "EUR", "gebote": 3}),
    dict(enchere={"actuelle": 45, "devise": "EUR", "nombre": 3}),
    dict(encheres={"meilleure": {"montant": 45, "devise": "EUR"}, "nombre": 3}),
    dict(asta={"offertaAttuale": 45, "valuta": "EUR", "numeroOfferte": 3}),
    dict(offerte={"attuale": {"importo": 45, "valuta": "EUR"}, "numero": 3}),
    dict(subasta={"pujaActual": 45, "moneda": "EUR", "numeroPujas": 3}),
    dict(puja={"actual": 45, "moneda": "EUR"}),
    dict(lance_atual=45, moeda="EUR", numero_lances=3),
    dict(licytacja={"aktualnaCena": 45, "waluta": "EUR", "liczbaOfert": 3}),
    dict(bud={"högsta": 45, "valuta": "EUR", "antal": 3}),
    dict(ledandeBud=45, valuta="EUR", antalBud=3),
    dict(aktuelltBud=45, valuta="EUR"),
    dict(sale={"type": "auction", "currentBid": STANDS, "bids": 3}),
    dict(saleInfo={"mode": "AUCTION", "highestBid": STANDS}),
    dict(price={"currentBid": 45, "currency": "EUR", "bids": 3}),
    dict(pricing={"format": "auction", "currentBid": STANDS, "bidCount": 3}),
    dict(bidding={"leader": {"amount": 45, "currency": "EUR"}, "count": 3}),
    dict(bidding={"high": {"minor": 4500, "ccy": "EUR"}, "n": 3}),
    dict(bidding={"price": 45, "ccy": "EUR", "count": 3}),
    dict(bid_history=[{"amount": STANDS}, {"amount": {"amount": 40, "currency": "EUR"}}]),
    dict(
        bidHistory=[{"amount": 40, "currency": "EUR"}, {"amount": 45, "currency": "EUR"}],
        bidCount=2,
    ),
    dict(bids=[{"value": {"amount": 40, "currency": "EUR"}}, {"value": STANDS}]),
    dict(lot={"currentBid": STANDS, "lotNo": 4}),
]


@pytest.mark.parametrize("stated", STANDING, ids=str)
def test_bid_that_stands(stated: dict[str, Any]) -> None:
    check(piece(("price", "currency"), **stated), price_kind="bid")


SELLERS = {
    "text": (dict(seller="old_panes"), None),
    "name": (dict(seller={"name": "old_panes", "id": 8812}), "8812"),
    "displayName": (
        dict(seller={"displayName": "old_panes", "userId": "8812", "rating": 99}),
        "8812",
    ),
    "handle": (dict(vendor={"handle": "old_panes", "uid": "8812"}), "8812"),
    "seller_name": (dict(sellerName="old_panes", sellerId=8812), "8812"),
    "snake": (dict(seller_username="old_panes", seller_id=8812), "8812"),
    "user": (dict(user={"login": "old_panes", "id": 8812}), "8812"),
    "owner": (dict(owner={"nick": "old_panes", "id": "8812"}), "8812"),
    "shop": (dict(shop={"title": "old_panes", "shop_id": "8812"}), "8812"),
    "sellerInfo": (
        dict(sellerInfo={"sellerUserName": "old_panes", "sellerId": "8812", "feedbackScore": 11}),
        "8812",
    ),
    "profile": (dict(seller={"id": "8812", "profile": {"name": "old_panes"}}), "8812"),
    "attributes": (dict(seller={"id": "8812", "attributes": {"name": "old_panes"}}), "8812"),
    "postedBy": (dict(postedBy={"name": "old_panes", "id": "8812"}), "8812"),
    "first last": (
        dict(seller={"first_name": "Anna", "id": "8812", "username": "old_panes"}),
        "8812",
    ),
    "de": (dict(verkaeufer={"benutzername": "old_panes", "kennung": "8812"}), "8812"),
    "fr": (dict(vendeur={"pseudo": "old_panes", "identifiant": "8812"}), "8812"),
    "it": (dict(venditore={"nomeUtente": "old_panes", "codice": "8812"}), "8812"),
    "es": (dict(vendedor={"apodo": "old_panes", "identificador": "8812"}), "8812"),
    "nl": (dict(verkoper={"gebruikersnaam": "old_panes", "nummer": "8812"}), "8812"),
    "pt": (dict(vendedor={"apelido": "old_panes", "id": "8812"}), "8812"),
    "pl": (dict(sprzedawca={"nazwa": "old_panes", "id": "8812"}), "8812"),
    "sv": (dict(säljare={"användarnamn": "old_panes", "id": "8812"}), "8812"),
    "member": (dict(member={"alias": "old_panes", "memberNo": "8812"}), "8812"),
    "link": (dict(seller={"name": "old_panes", "url": "https://stallrow.example/u/8812"}), "8812"),
}


@table(SELLERS)
def test_seller_of_any_shape(stated: tuple[dict[str, Any], str | None]) -> None:
    check(piece("seller", **stated[0]), seller_id=stated[1])


PHOTOS = {
    "objects url": dict(photos=[{"url": "img/a.jpg"}, {"url": "img/b.jpg"}]),
    "path": dict(pictures=[{"path": "img/a.jpg", "w": 100}, {"path": "img/b.jpg", "w": 100}]),
    "variants": dict(
        images=[
            {"id": 1, "thumb": "img/ta.jpg", "large": "img/a.jpg"},
            {"id": 2, "thumb": "img/tb.jpg", "large": "img/b.jpg"},
        ]
    ),
    "variants2": dict(
        images=[
            {"urls": {"small": "img/ta.jpg", "full": "img/a.jpg"}},
            {"urls": {"small": "img/tb.jpg", "full": "img/b.jpg"}},
        ]
    ),
    "variants by width": dict(
        images=[
            {"variants": [{"width": 100, "url": "img/ta.jpg"}, {"width": 800, "url": "img/a.jpg"}]},
            {"variants": [{"width": 100, "url": "img/tb.jpg"}, {"width": 800, "url": "img/b.jpg"}]},
        ]
    ),
    "sizes dict": dict(
        images=[
            {"sizes": {"140x140": "img/ta.jpg", "1200x900": "img/a.jpg"}},
            {"sizes": {"140x140": "img/tb.jpg", "1200x900": "img/b.jpg"}},
        ]
    ),
    "node": dict(media={"edges": [{"node": {"url": "img/a.jpg"}}, {"node": {"url": "img/b.jpg"}}]}),
    "gallery": dict(gallery={"images": ["img/a.jpg", "img/b.jpg"]}),
    "media type": dict(
        media=[
            {"type": "image", "src": "img/a.jpg"},
            {"type": "image", "src": "img/b.jpg"},
            {"type": "video", "src": "v.mp4"},
        ]
    ),
    "cover+more": dict(mainImage="img/a.jpg", additionalImages=["img/b.jpg"]),
    "cover+more2": dict(
        image={"imageUrl": "img/a.jpg"}, additionalImages=[{"imageUrl": "img/b.jpg"}]
    ),
    "dup thumb": dict(thumbnail="img/ta.jpg", images=["img/a.jpg", "img/b.jpg"]),
    "comma text": dict(photos="img/a.jpg,img/b.jpg"),
    "dict numbered": dict(photos={"1": "img/a.jpg", "2": "img/b.jpg"}),
    "numbered keys": dict(image_1="img/a.jpg", image_2="img/b.jpg"),
    "numbered keys2": dict(photo1="img/a.jpg", photo2="img/b.jpg", photo3=""),
    "position": dict(
        photos=[{"position": 2, "file": "img/b.jpg"}, {"position": 1, "file": "img/a.jpg"}]
    ),
    "fotos datei": dict(fotos=[{"datei": "img/a.jpg"}, {"datei": "img/b.jpg"}]),
    "bilder pfad": dict(bilder=[{"pfad": "img/a.jpg", "nr": 1}, {"pfad": "img/b.jpg", "nr": 2}]),
    "immagini percorso": dict(immagini=[{"percorso": "img/a.jpg"}, {"percorso": "img/b.jpg"}]),
    "imagenes ruta": dict(imagenes=[{"ruta": "img/a.jpg"}, {"ruta": "img/b.jpg"}]),
    "zdjecia": dict(zdjęcia=[{"plik": "img/a.jpg"}, {"plik": "img/b.jpg"}]),
    "bilder sv": dict(bilder=[{"fil": "img/a.jpg"}, {"fil": "img/b.jpg"}]),
    "photoPaths": dict(photoPaths=["img/a.jpg", "img/b.jpg"]),
    "local_files": dict(local_files=["img/a.jpg", "img/b.jpg"]),
    "attachments": dict(
        attachments=[
            {"filename": "img/a.jpg", "mime": "image/jpeg"},
            {"filename": "img/b.jpg", "mime": "image/jpeg"},
        ]
    ),
}


@table(PHOTOS)
def test_photos_of_any_shape(stated: dict[str, Any]) -> None:
    check(piece("images", **stated))


SPECIFICS = {
    "dict": dict(attributes=SP),
    "list name": dict(attributes=[{"name": k, "value": v} for k, v in SP.items()]),
    "label/values": dict(aspects=[{"label": k, "values": [v]} for k, v in SP.items()]),
    "key/value": dict(specs=[{"key": k, "value": v} for k, v in SP.items()]),
    "texts": dict(features=[f"{k}: {v}" for k, v in SP.items()]),
    "pairs": dict(attributes=[[k, v] for k, v in SP.items()]),
    "localized": dict(
        localizedAspects=[{"type": "STRING", "name": k, "value": v} for k, v in SP.items()]
    ),
    "typed": dict(attributes={k: {"value": v, "type": "string"} for k, v in SP.items()}),
    "single dicts": dict(attributes=[{k: v} for k, v in SP.items()]),
    "label_value": dict(
        properties=[{"id": "b1", "label": k, "value_label": v, "value": v} for k, v in SP.items()]
    ),
    "groups": dict(
        attributeGroups=[
            {"title": "Frame", "attributes": [{"name": k, "value": v} for k, v in SP.items()]}
        ]
    ),
    "merkmale": dict(merkmale=[{"bezeichnung": k, "wert": v} for k, v in SP.items()]),
    "carac": dict(caracteristiques=[{"libelle": k, "valeur": v} for k, v in SP.items()]),
    "caratt": dict(caratteristiche=[{"etichetta": k, "valore": v} for k, v in SP.items()]),
    "kenmerken": dict(kenmerken=[{"naam": k, "waarde": v} for k, v in SP.items()]),
    "parametry": dict(parametry=[{"nazwa": k, "wartość": v} for k, v in SP.items()]),
    "egenskaper": dict(egenskaper=[{"namn": k, "värde": v} for k, v in SP.items()]),
    "text block": dict(specifics="Brand: Vennerby\nBridge: 21 mm"),
    "title/text": dict(specifications=[{"title": k, "text": v} for k, v in SP.items()]),
    "name/values obj": dict(
        attributes=[{"name": k, "values": [{"name": v}]} for k, v in SP.items()]
    ),
}


@table(SPECIFICS)
def test_specifics_of_any_shape(stated: dict[str, Any]) -> None:
    check(piece("itemSpecifics", **stated))


DATES = {
    "epoch s": dict(createdAt=1793700000),
    "epoch ms": dict(created=1793700000000),
    "epoch text": dict(published_at="1793700000"),
    "iso": dict(publishedAt="2026-11-03T10:00:00+01:00"),
    "date": dict(date="2026-11-03"),
    "de": dict(eingestelltAm="03.11.2026"),
    "obj": dict(dates={"listed": "2026-11-03", "updated": "2026-11-09"}),
    "timestamps": dict(
        timestamps={"created_at": "2026-11-03T08:00:00Z", "updated_at": "2026-11-10T08:00:00Z"}
    ),
    "start": dict(startTime="2026-11-03T08:00:00Z"),
    "mongo": dict(createdAt={"$date": "2026-11-03T08:00:00Z"}),
    "fr": dict(dateDePublication="2026-11-03"),
    "firstPublished": dict(first_publication_date="2026-11-03 08:00:00"),
    "it": dict(pubblicatoIl="03/11/2026"),
    "es": dict(fecha_publicacion="03/11/2026"),
    "nl": dict(geplaatstOp="3-11-2026"),
    "pl": dict(dataDodania="2026-11-03"),
    "sv": dict(publicerad="2026-11-03"),
    "pt": dict(dataPublicacao="03/11/2026"),
    "listing-date": {"listing-date": "2026-11-03"},
    "postedDate": dict(postedDate="Nov 3, 2026"),
}


@table(DATES)
def test_date_of_any_shape(stated: dict[str, Any]) -> None:
    check(piece("listedAt", **stated))


STATES = {
    "active": (dict(status="active"), False),
    "ACTIVE": (dict(listingStatus="ACTIVE"), False),
    "sold": (dict(status="SOLD"), True),
    "ended": (dict(state="ended"), True),
    "reserved": (dict(status="reserved"), False),
    "beendet": (dict(zustandDerAnzeige="beendet"), True),
    "isSold": (dict(isSold=False), False),
    "is_sold T": (dict(is_sold=True), True),
    "vendu": (dict(statut="vendu"), True),
    "active flag": (dict(is_active=True), False),
    "isClosed": (dict(isClosed=False), False),
    "venduto no": (dict(venduto=False), False),
    "sold_at null": (dict(soldAt=None), None),
    "available": (dict(available=True), False),
    "availability": (dict(availability="IN_STOCK"), False),
    "EndedWithSales": (dict(status="EndedWithSales"), True),
    "completed": (dict(sellingState="Completed"), True),
    "ACTIEF": (dict(status="actief"), False),
    "verkocht": (dict(status="verkocht"), True),
    "vendido": (dict(estado="vendido"), True),
    "sprzedane": (dict(status="sprzedane"), True),
    "såld": (dict(status="såld"), True),
    "online": (dict(status="online"), False),
    "deleted": (dict(status="deleted"), True),
    "réservé": (dict(statut="réservée"), False),
    "status obj": (dict(status={"code": "ACTIVE", "label": "Active"}), False),
    "for_sale": (dict(status="for_sale"), False),
    "on sale": (dict(status="on_sale"), False),
    "removed": (dict(removed=False), False),
}


@table(STATES)
def test_state_of_any_wording(stated: tuple[dict[str, Any], bool | None]) -> None:
    check(piece((), **stated[0]), ended=stated[1], price_kind=...)


SHIPPING = {
    "cost": dict(shipping={"cost": 4.9, "currency": "EUR"}),
    "options": dict(
        shippingOptions=[{"service": "Post", "cost": {"value": "4.90", "currency": "EUR"}}]
    ),
    "cents": dict(shipping_cents=490),
    "fee": dict(deliveryFee={"amount": 4.9, "currency": "EUR"}),
    "price": dict(shipping={"price": {"amount": "4.90", "currency": "EUR"}, "method": "post"}),
    "versand": dict(versandkosten="4,90 €"),
    "porto": dict(porto=4.9),
    "frais": dict(fraisDePort={"montant": 4.9}),
    "spese": dict(speseSpedizione="4,90"),
    "gastos": dict(gastos_envio="4,90 €"),
    "verzend": dict(verzendkosten=4.9),
    "portes": dict(portes="4,90"),
    "dostawa": dict(kosztDostawy="4.90"),
    "frakt": dict(frakt=4.9),
    "postage": dict(postage="EUR 4.90"),
    "delivery obj": dict(delivery={"available": True, "price": 4.9}),
}


@table(SHIPPING)
def test_shipping_of_any_shape(stated: dict[str, Any]) -> None:
    check(piece("shippingCost", **stated))


URLS = {
    "url": dict(url=URL),
    "link": dict(link=URL),
    "permalink": dict(permalink=URL + "?utm_source=x"),
    "links.self": dict(links={"self": URL}),
    "href": dict(href=URL),
    "viewItemURL": dict(viewItemURL=URL),
    "webUrl": dict(web_url=URL),
    "canonical": dict(canonicalUrl=URL),
    "shareUrl": dict(shareUrl=URL),
    "adresse": dict(adresseWeb=URL),
    "_links": dict(_links={"self": {"href": URL}}),
    "urls": dict(urls={"public_page": URL}),
}


@table(URLS)
def test_address_under_any_name(stated: dict[str, Any]) -> None:
    check(piece("itemWebUrl", **stated))


LANGUAGES: dict[str, dict[str, Any]] = {
    "de": dict(
        anzeigenId=ID,
        titel=N,
        beschreibung=D,
        preis={"betrag": 45.0, "waehrung": "EUR"},
        versandkosten={"betrag": 4.9, "waehrung": "EUR"},
        verkaeufer={"name": "old_panes", "nummer": 8812},
        eingestelltAm="2026-11-03",
        bilder=["img/a.jpg", "img/b.jpg"],
        merkmale=SP,
        adresse=URL,
    ),
    "de2": {
        "Anzeigennummer": ID,
        "Bezeichnung": N,
        "Artikelbeschreibung": D,
        "Preis": "45,00 €",
        "Versand": "4,90 €",
        "Anbieter": "old_panes",
        "Anbieter-ID": "8812",
        "Online seit": "03.11.2026",
        "Bilder": "img/a.jpg; img/b.jpg",
        "Eigenschaften": "Brand: Vennerby; Bridge: 21 mm",
        "Link": URL,
    },
    "fr": dict(
        idAnnonce=ID,
        titre=N,
        texte=D,
        prix={"valeur": 45.0, "devise": "EUR"},
        fraisDePort=4.9,
        vendeur={"pseudo": "old_panes", "id": 8812},
        datePublication="2026-11-03",
        photos=["img/a.jpg", "img/b.jpg"],
        caractéristiques=SP,
        lien=URL,
    ),
    "fr2": {
        "numero-annonce": ID,
        "intitule": N,
        "descriptif": D,
        "prix-actuel": "45,00 €",
        "frais-livraison": "4,90 €",
        "nom-vendeur": "old_panes",
        "id-vendeur": "8812",
        "mise-en-ligne": "03/11/2026",
        "images": ["img/a.jpg", "img/b.jpg"],
        "attributs": SP,
        "url": URL,
    },
    "it": dict(
        idAnnuncio=ID,
        titolo=N,
        descrizione=D,
        prezzo={"importo": 45.0, "valuta": "EUR"},
        spedizione={"costo": 4.9},
        venditore={"nome": "old_panes", "id": 8812},
        dataPubblicazione="2026-11-03",
        immagini=["img/a.jpg", "img/b.jpg"],
        caratteristiche=SP,
        indirizzo=URL,
    ),
    "es": dict(
        id_anuncio=ID,
        titulo=N,
        descripcion=D,
        precio={"importe": 45.0, "moneda": "EUR"},
        gastosEnvio=4.9,
        vendedor={"nombre": "old_panes", "id": 8812},
        fechaPublicacion="2026-11-03",
        fotos=["img/a.jpg", "img/b.jpg"],
        caracteristicas=SP,
        enlace=URL,
    ),
    "nl": dict(
        advertentieId=ID,
        titel=N,
        beschrijving=D,
        prijs={"bedrag": 45.0, "valuta": "EUR"},
        verzendkosten=4.9,
        verkoper={"naam": "old_panes", "id": 8812},
        datumGeplaatst="2026-11-03",
        fotos=["img/a.jpg", "img/b.jpg"],
        kenmerken=SP,
        koppeling=URL,
    ),
    "pt": dict(
        idAnuncio=ID,
        titulo=N,
        descricao=D,
        preco={"valor": 45.0, "moeda": "EUR"},
        custoEnvio=4.9,
        vendedor={"nome": "old_panes", "id": 8812},
        dataPublicacao="2026-11-03",
        fotos=["img/a.jpg", "img/b.jpg"],
        caracteristicas=SP,
        ligacao=URL,
    ),
    "pl": dict(
        idOgloszenia=ID,
        tytul=N,
        opis=D,
        cena={"kwota": 45.0, "waluta": "EUR"},
        kosztWysylki=4.9,
        sprzedawca={"nazwa": "old_panes", "id": 8812},
        dataDodania="2026-11-03",
        zdjecia=["img/a.jpg", "img/b.jpg"],
        parametry=SP,
        adres=URL,
    ),
    "sv": dict(
        annonsId=ID,
        rubrik=N,
        beskrivning=D,
        pris={"belopp": 45.0, "valuta": "EUR"},
        fraktkostnad=4.9,
        säljare={"namn": "old_panes", "id": 8812},
        publicerad="2026-11-03",
        bilder=["img/a.jpg", "img/b.jpg"],
        egenskaper=SP,
        länk=URL,
    ),
    "da": dict(
        annonceId=ID,
        overskrift=N,
        beskrivelse=D,
        pris={"beløb": 45.0, "valuta": "EUR"},
        fragt=4.9,
        sælger={"navn": "old_panes", "id": 8812},
        oprettet="2026-11-03",
        billeder=["img/a.jpg", "img/b.jpg"],
        egenskaber=SP,
        link=URL,
    ),
}


def renamed(value: Any, style: str) -> Any:
    if isinstance(value, list):
        return [renamed(one, style) for one in value]
    if not isinstance(value, dict):
        return value
    parts = {k: re.sub(r"(?<=[a-z])(?=[A-Z])", "_", k).lower() for k in value if k not in SP}
    styles = {
        "snake": parts,
        "kebab": {k: v.replace("_", "-") for k, v in parts.items()},
        "capitals": {k: v.upper() for k, v in parts.items()},
    }
    names = styles.get(style, {})
    return {names.get(k, k): renamed(v, style) for k, v in value.items()}


@pytest.mark.parametrize("style", ["as it is", "snake", "kebab", "capitals"])
@table(LANGUAGES)
def test_names_in_other_languages(stated: dict[str, Any], style: str) -> None:
    check(renamed(stated, style))


PIECES = [{**PIECE, "itemId": str(int(ID) + n), "itemWebUrl": URL.replace(ID, str(int(ID) + n)),
      "title": f"{N} no {n}" if n else N} for n in range(3)]  # fmt: skip
B = PIECE


def api(one: dict[str, Any]) -> dict[str, Any]:
    told = {k: v for k, v in one.items() if k not in ("itemId", "seller", "itemWebUrl")}
    seller = {"data": {"type": "user", "id": "8812"}}
    links = {"self": one["itemWebUrl"]}
    return {"type": "listing", "id": one["itemId"], "attributes": told,
            "relationships": {"seller": seller}, "links": links}  # fmt: skip


LISTS = {
    "list": PIECES,
    "results": {"total": 3, "page": 1, "results": PIECES},
    "deep": {"data": {"search": {"response": {"items": PIECES}}}},
    "edges": {
        "data": {
            "listings": {
                "edges": [{"cursor": "x", "node": o} for o in PIECES],
                "pageInfo": {"hasNextPage": False},
            }
        }
    },
    "nodes": {"data": {"viewer": {"id": "u1", "name": "me", "watchlist": {"nodes": PIECES}}}},
    "es": {
        "took": 4,
        "hits": {
            "total": {"value": 3},
            "hits": [
                {"_index": "l", "_id": o["itemId"], "_score": 1.0, "_source": o} for o in PIECES
            ],
        },
    },
    "by id": {o["itemId"]: o for o in PIECES},
    "entities": {
        "entities": {"listings": {o["itemId"]: o for o in PIECES}},
        "result": [o["itemId"] for o in PIECES],
    },
    "jsonapi": {
        "data": [api(o) for o in PIECES],
        "included": [{"type": "user", "id": "8812", "attributes": {"username": "old_panes"}}],
        "meta": {"total": 3},
    },
    "pages": [{"page": 1, "items": PIECES[:2]}, {"page": 2, "items": PIECES[2:]}],
    "pages2": {"pages": [PIECES[:2], PIECES[2:]]},
    "pages3": {"page1": PIECES[:2], "page2": PIECES[2:]},
    "groups": {"watching": PIECES[:1], "bidding": PIECES[1:]},
    "groups by seller": {"old_panes": PIECES},
    "wrapped": [{"savedAt": "2026-11-20", "listing": o, "note": "nice"} for o in PIECES],
    "wrapped2": {
        "export": {"version": 2, "created": "2026-11-20"},
        "entries": [{"data": o} for o in PIECES],
    },
    "siblings": [
        {
            "item": {
                k: v
                for k, v in o.items()
                if k not in ("price", "currency", "seller", "shippingCost")
            },
            "seller": o["seller"],
            "pricing": {"amount": 45, "currency": "EUR"},
            "shipping": {"cost": "4.90"},
        }
        for o in PIECES
    ],
    "siblings2": [
        {
            "listing": {k: v for k, v in o.items() if k not in ("seller", "images")},
            "seller": o["seller"],
            "images": o["images"],
        }
        for o in PIECES
    ],
    "title of export": {
        "title": "My watchlist",
        "description": "what I follow",
        "owner": "me",
        "items": PIECES,
    },
    "with similar": {
        "items": PIECES,
        "recommendations": {
            "items": [{"title": "Other", "price": 1, "url": "https://s.example/1"}] * 2
        },
    },
    "with facets": {
        "items": PIECES,
        "facets": [{"name": "Brand", "values": [{"name": "Vennerby", "count": 3}]}],
        "categories": [{"id": 1, "name": "Glasses", "url": "/c/1"}],
    },
    "embedded": {"_embedded": {"listings": PIECES}, "_links": {"self": {"href": "/x"}}},
    "string": {"payload": json.dumps(PIECES)},
    "columns": {
        "itemId": [o["itemId"] for o in PIECES],
        **{k: [o[k] for o in PIECES] for k in B if k != "itemId"},
    },
    "columns2": {"columns": list(B), "data": [[o[k] for k in B] for o in PIECES]},
    "columns3": {
        "columns": [{"name": k, "type": "x"} for k in B],
        "rows": [[o[k] for k in B] for o in PIECES],
    },
    "split": {"columns": list(B), "index": [0, 1, 2], "data": [[o[k] for k in B] for o in PIECES]},
    "df dict": {k: {str(n): o[k] for n, o in enumerate(PIECES)} for k in B},
    "ndpage": {"d": {"results": PIECES}},
    "array of arrays": [list(B)] + [[o[k] for k in B] for o in PIECES],
}


@table(LISTS)
def test_lists_of_any_shape(stated: object) -> None:
    check(stated, count=3)


SIMILAR = [{"title": "Other", "price": 1, "url": "https://stallrow.example/a/1", "id": 5}] * 3


@pytest.mark.parametrize(
    "stated",
    [
        {"listing": B},
        {"data": B},
        {"props": {"pageProps": {"item": B}}},
        {"status": "ok", "result": B},
        {**B, "similarItems": SIMILAR},
        {"item": B, "similarItems": SIMILAR},
        {**B, "seller": {**B["seller"], "items": SIMILAR}},
    ],
)
def test_one_listing_within_an_answer(stated: object) -> None:
    check(stated)


NO_LISTINGS: dict[str, Any] = {
    "config": {
        "name": "app",
        "theme": "dark",
        "limits": {"price": 100, "items": 5},
        "features": ["a", "b"],
    },
    "menu": [
        {"title": "Home", "url": "/"},
        {
            "title": "Frames",
            "url": "/frames",
            "children": [{"title": "Oval", "url": "/frames/oval"}],
        },
    ],
    "menu2": {
        "menu": {"items": [{"label": "Home", "link": "/"}, {"label": "Help", "link": "/help"}]}
    },
    "i18n": {
        "title": "Title",
        "price": "Price",
        "seller": "Seller",
        "description": "Description",
        "shipping": "Shipping",
        "addToCart": "Add to cart",
    },
    "i18n2": {
        "listing": {
            "title": "Titel",
            "price": "Preis",
            "seller": "Verkäufer",
            "description": "Beschreibung",
        },
        "menu": {"home": "Start"},
    },
    "i18n3": {"listing.title": "Titel", "listing.price": "Preis", "listing.seller": "Verkäufer"},
    "i18n4": {
        "de": {"title": "Titel", "price": "Preis"},
        "en": {"title": "Title", "price": "Price"},
    },
    "i18n5": {"title": "Sell a frame", "price": "Your price", "description": "Say what it is"},
    "i18n6": {"title": "Verkaufen", "price": "Dein Preis", "seller": "Wer verkauft?"},
    "analytics": {
        "event": "page_view",
        "user": {"id": "u1"},
        "page": {"title": "Search", "url": "https://s.example/s"},
        "value": 12.5,
        "currency": "EUR",
    },
    "analytics2": [
        {"event": "click", "timestamp": 1790000000, "props": {"title": "Shop", "url": "/x"}}
    ],
    "lock": {
        "name": "x",
        "version": "1.0.0",
        "lockfileVersion": 2,
        "packages": {
            "a": {"version": "1.0", "resolved": "https://r.example/a.tgz", "integrity": "sha512-x"},
            "b": {"version": "2.0", "resolved": "https://r.example/b.tgz"},
        },
    },
    "package": {
        "name": "x",
        "version": "1",
        "description": "does it",
        "author": "me",
        "repository": {"url": "https://g.example/x"},
        "license": "MIT",
    },
    "geojson": {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": "Shop A", "description": "A shop", "address": "x"},
                "geometry": {"type": "Point", "coordinates": [1, 2]},
            }
        ],
    },
    "geojson2": {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "id": 5,
                "properties": {"title": "Stop", "description": "Bus stop"},
                "geometry": {"type": "Point", "coordinates": [1, 2]},
            }
        ],
    },
    "profile": {
        "user": {
            "id": 1,
            "username": "anna",
            "name": "Anna",
            "location": "Linz",
            "rating": 4.9,
            "photo": "a.jpg",
        }
    },
    "profile2": {
        "id": 1,
        "username": "anna",
        "displayName": "Anna",
        "bio": "collects frames",
        "avatar": "a.jpg",
        "listings_count": 5,
    },
    "suggest": {
        "suggestions": [{"text": "round frame", "count": 12}, {"text": "oval frame", "count": 3}]
    },
    "suggest2": ["round frame", ["round frame 1960s", "round frame gold"]],
    "suggest3": {
        "query": "fr",
        "results": [
            {"title": "frames", "url": "/s?q=frames"},
            {"title": "framework", "url": "/s?q=framework"},
        ],
    },
    "manifest": {
        "name": "Market",
        "short_name": "M",
        "start_url": "/",
        "display": "standalone",
        "icons": [{"src": "i.png", "sizes": "192x192", "type": "image/png"}],
        "description": "A market",
    },
    "feed": {
        "version": "1.1",
        "title": "Blog",
        "home_page_url": "https://b.example/",
        "items": [
            {
                "id": "1",
                "url": "https://b.example/1",
                "title": "On frames",
                "content_html": "<p>x</p>",
                "date_published": "2026-11-01",
                "author": {"name": "A"},
            }
        ],
    },
    "openapi": {
        "openapi": "3.0.0",
        "info": {"title": "API", "description": "d", "version": "1"},
        "paths": {
            "/items": {
                "get": {
                    "summary": "List",
                    "description": "x",
                    "parameters": [{"name": "q", "in": "query"}],
                }
            }
        },
    },
    "schema": {
        "$schema": "x",
        "title": "Listing",
        "description": "A listing",
        "type": "object",
        "properties": {
            "title": {"type": "string"},
            "price": {"type": "number", "description": "the price"},
            "seller": {"type": "string"},
        },
    },
    "categories": {
        "categories": [
            {"id": 1, "name": "Glasses", "url": "/c/1", "image": "c1.jpg", "count": 55},
            {"id": 2, "name": "Cases", "url": "/c/2", "image": "c2.jpg", "count": 5},
        ]
    },
    "categories2": [
        {"id": 1, "title": "Glasses", "slug": "glasses", "count": 55},
        {"id": 2, "title": "Cases", "slug": "cases", "count": 5},
    ],
    "shipping rates": [
        {"name": "Standard", "price": 4.9, "currency": "EUR", "days": 3},
        {"name": "Express", "price": 9.9, "currency": "EUR", "days": 1},
    ],
    "plans": {
        "plans": [
            {
                "id": "pro",
                "name": "Pro",
                "price": {"amount": 900, "currency": "EUR"},
                "interval": "month",
            }
        ]
    },
    "rates": {"base": "EUR", "date": "2026-11-20", "rates": {"USD": 1.1, "GBP": 0.85}},
    "reviews": {
        "reviews": [
            {
                "title": "Great seller",
                "text": "fast",
                "rating": 5,
                "author": "bob",
                "date": "2026-01-01",
            }
        ]
    },
    "messages": {
        "threads": [
            {
                "id": 1,
                "subject": "Is it available?",
                "from": "bob",
                "body": "Hello",
                "date": "2026-01-01",
            }
        ]
    },
    "error": {
        "error": {
            "code": 404,
            "title": "Not found",
            "description": "No such thing",
            "status": "closed",
        }
    },
    "weather": {
        "location": "Linz",
        "current": {"temp": 5, "description": "rain"},
        "daily": [{"date": "2026-11-20", "description": "sun"}],
    },
    "bookmarks": {
        "roots": {
            "bar": {
                "children": [
                    {"name": "Market", "type": "url", "url": "https://m.example/"},
                    {"name": "News", "type": "url", "url": "https://n.example/"},
                ],
                "name": "Bar",
                "type": "folder",
            }
        }
    },
    "tsconfig": {"compilerOptions": {"target": "es6", "strict": True}, "include": ["src"]},
    "saved searches": {
        "searches": [
            {
                "id": 7,
                "title": "frames 1960s",
                "url": "https://m.example/s?q=frames",
                "maxPrice": 100,
            }
        ]
    },
    "orders": {
        "orders": [
            {
                "orderId": "99",
                "total": {"amount": 50, "currency": "EUR"},
                "date": "2026-01-01",
                "status": "shipped",
            }
        ]
    },
    "breadcrumb": {
        "@context": "https://schema.org",
        "@type": "BreadcrumbList",
        "itemListElement": [
            {"@type": "ListItem", "position": 1, "name": "Home", "item": "https://m.example/"},
            {"@type": "ListItem", "position": 2, "name": "Frames", "item": "https://m.example/f"},
        ],
    },
    "org": {
        "@context": "https://schema.org",
        "@type": "Organization",
        "name": "Market",
        "url": "https://m.example/",
        "logo": "l.png",
        "description": "We sell",
    },
    "website": {
        "@context": "https://schema.org",
        "@type": "WebSite",
        "name": "Market",
        "url": "https://m.example/",
        "description": "x",
    },
    "article": {
        "@context": "https://schema.org",
        "@type": "Article",
        "headline": "How to date frames",
        "description": "x",
        "image": "a.jpg",
        "author": {"name": "A"},
        "datePublished": "2026-01-01",
        "url": "https://b.example/x",
    },
    "faq": {
        "@type": "FAQPage",
        "mainEntity": [{"@type": "Question", "name": "Q?", "acceptedAnswer": {"text": "A"}}],
    },
    "music": {
        "tracks": [{"title": "Song", "artist": "X", "duration": 200, "url": "https://x.example/1"}]
    },
    "tasks": [
        {"id": 1, "title": "Buy milk", "status": "open", "description": "2 l"},
        {"id": 2, "title": "Call", "status": "closed", "description": ""},
    ],
    "notebook": {
        "cells": [{"cell_type": "code", "source": ["x=1"], "metadata": {}}],
        "metadata": {"title": "Notebook"},
    },
    "ga datalayer": {
        "ecommerce": {
            "currency": "EUR",
            "value": 45,
            "items": [{"item_id": "1", "item_name": "x", "price": 45}],
        }
    },
    "cookies": [{"name": "sid", "value": "x", "domain": "m.example", "path": "/"}],
}


@pytest.mark.parametrize(
    "words", ["abc", "VB", "make offer", "ask me", "open to offers", "à débattre"]
)
@pytest.mark.parametrize("wrap", [lambda o: o, lambda o: [o], lambda o: {"items": [o, {**o}]}])
def test_a_price_that_is_a_word_leaves_the_listing(words: str, wrap: Any) -> None:
    stated = {"title": "Oval frame", "price": words, "description": "tortoise, seven barrels"}
    found = read(wrap(stated)).listings
    assert {(one.title, one.price) for one in found} == {("Oval frame", None)}


@pytest.mark.parametrize(
    ("price", "offers"),
    [
        ("120 VB", True),
        ("EUR 45 VHB", True),
        ("€ 45 or best offer", True),
        ("45,00 € (Preis verhandelbar)", True),
        ("make an offer", True),
        ("120", None),
        ("EUR 45", None),
        ("120 as found", None),
    ],
)
def test_offers_that_the_price_welcomes(price: str, offers: bool | None) -> None:
    stated = {"title": "Oval frame", "price": price, "description": "tortoise, seven barrels"}
    assert [one.offers_accepted for one in read(stated).listings] == [offers]


@pytest.mark.parametrize(
    ("name", "price", "told"),
    [
        ("priceText", "€ 130", ("130", "EUR", "fixed", None)),
        ("displayPrice", "130,00 €", ("130.00", "EUR", "fixed", None)),
        ("price_str", "EUR 130", ("130", "EUR", "fixed", None)),
        ("price", "1.1k", ("1100", None, "fixed", None)),
        ("price", "£1.5k", ("1500", "GBP", "fixed", None)),
        ("price", "2,5 K EUR", ("2500", "EUR", "fixed", None)),
        ("price", "verkauft", (None, None, "sold", True)),
        ("price", "Vendu", (None, None, "sold", True)),
        ("price", "reserved", (None, None, None, False)),
    ],
)
def test_ways_to_write_an_asked_price(
    name: str, price: str, told: tuple[str | None, str | None, str | None, bool | None]
) -> None:
    stated = {"title": "Oval frame", name: price, "description": "tortoise, seven barrels"}
    found = read(stated)
    (one,) = found.listings
    assert (one.currency, one.price_kind, one.ended) == told[1:]
    assert one.price == (None if told[0] is None else Decimal(told[0]))
    assert found.problems == ()


def test_words_about_the_price_leave_a_listing_that_tells_figures() -> None:
    stated = {"title": "Oval frame 48-22", "price": "Price? Write me", "description": "tortoise"}
    assert [one.title for one in read(stated).listings] == ["Oval frame 48-22"]


@table(NO_LISTINGS)
def test_what_offers_nothing_is_no_listing(stated: object) -> None:
    with pytest.raises(Unreadable):
        read(stated)


_json = st.recursive(
    st.none() | st.booleans() | st.text(max_size=8) | st.integers(0, 10**6).map(str),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                [
                    "title",
                    "price",
                    "seller",
                    "images",
                    "attributes",
                    "id",
                    "amount",
                    "unit",
                    "bids",
                    "x",
                ]
            ),
            inner,
            max_size=5,
        )
    ),
    max_leaves=25,
)


@given(_json)
def test_any_value_is_walked_without_failing(value: Any) -> None:
    for one in find_listings(value):
        assert isinstance(plain_object(one), dict)


@pytest.mark.parametrize(
    "pricing",
    [
        {"list": {"value": 45, "unit": "EUR"}, "delivery": {"value": 5, "unit": "EUR"}},
        {"listPrice": {"amount": 45, "currency": "EUR"}, "shipping": {"amount": 5}},
        {"list": {"value": 95, "unit": "EUR"}, "sale": {"value": 45, "unit": "EUR"}},
    ],
)
def test_a_list_price_is_what_is_asked_only_if_it_stands_alone(pricing: dict[str, object]) -> None:
    plain = plain_object({"title": "Frame", "pricing": pricing})
    found = plain.get("price") or plain["pricing"]["price"]
    assert found == "45 EUR"


def test_specifics_beside_the_text_of_an_object_are_kept() -> None:
    rows = [{"label": "Brand", "value": "Vennerby"}, {"label": "Bridge", "value": "21 mm"}]
    plain = plain_object({"title": "Frame", "details": {"text": "Fine.", "facets": rows}})
    assert plain["details"] == "Fine."
    assert plain["specifics"] == {"Brand": "Vennerby", "Bridge": "21 mm"}


_SOLD_BY = {"username": "old_panes", "id": "8812"}
_SHOTS = [{"file": "img/a.jpg", "rank": 0}, {"file": "img/b.jpg", "rank": 1}]
_FACTS = [{"name": k, "value": v} for k, v in SP.items()]
_INNER = {k: v for k, v in PIECE.items() if k not in ("seller", "images", "itemSpecifics")}


@pytest.mark.parametrize(
    "one",
    [
        {"id": ID, "attributes": _INNER, "seller": _SOLD_BY, "images": _SHOTS, "specs": _FACTS},
        {
            "id": ID,
            "attributes": _INNER,
            "relationships": {"seller": _SOLD_BY, "images": _SHOTS, "specs": _FACTS},
        },
        {
            "_id": ID,
            "_score": 1.5,
            "_source": _INNER,
            "seller": _SOLD_BY,
            "images": _SHOTS,
            "itemSpecifics": SP,
        },
        {**_INNER, "_embedded": {"seller": _SOLD_BY, "images": _SHOTS, "specs": _FACTS}},
        {
            **_INNER,
            "seller": _SOLD_BY,
            "Images": {"results": _SHOTS},
            "specs": {"items": _FACTS},
        },
    ],
    ids=["siblings", "relations", "stored", "embedded", "results"],
)
def test_what_stands_beside_a_record_s_attributes_is_the_record_s(one: Any) -> None:
    check({"data": [one], "meta": {"total": 1}})


@pytest.mark.parametrize(
    ("group", "specifics"),
    [
        ("dati", {"Produttore": "Hexworth", "Nome modello": "72 S", "Calibro": "53 mm"}),
        ("data", {"Maker": "Hexworth", "Style name": "72 S", "Eye size": "53 mm"}),
        ("x", {"marca": "Hexworth", "calibro": "53 mm", "condizione": "usato"}),
        ("Angaben", {"Hersteller": "Hexworth", "Steg": "18 mm", "Zustand": "gut"}),
        ("blob", {"Eye size": "48 mm", "Colours": "black"}),
    ],
)
def test_a_group_under_any_name_holds_specifics_as_they_are_labelled(
    group: str, specifics: dict[str, str]
) -> None:
    piece = {k: v for k, v in PIECE.items() if k != "itemSpecifics"}
    found = read({**piece, group: specifics}).listings[0]
    assert dict(found.specifics) == specifics
    also = read({**PIECE, group: specifics}).listings[0]
    assert dict(also.specifics) == SP | specifics


@pytest.mark.parametrize(
    ("group", "inner"),
    [
        ("house", {"name": "Rooms", "code": "9"}),
        ("stats", {"Views": 3, "Likes": 4}),
        ("category", {"id": 3, "Name": "Eyewear"}),
        ("render", {"viewMode": "grid", "imageCount": 3, "theme": "dark"}),
    ],
)
def test_a_group_of_the_site_s_own_values_holds_no_specifics(
    group: str, inner: dict[str, Any]
) -> None:
    assert dict(read({**PIECE, group: inner}).listings[0].specifics) == SP


A, B = "m/271_0.jpg", "m/271_1.jpg"
WEB = ["https://s.example/1.jpg", "https://s.example/2.jpg"]
PHOTOS: dict[str, dict[str, Any]] = {
    "folders within": dict(assets={"images": {"gallery": [A, B]}}),
    "main and others": dict(pictures={"main": A, "others": [B]}),
    "first apart": dict(cover=A, gallery=[B]),
    "srcset": dict(photos=[{"srcset": f"t.jpg 80w, {A} 800w"}, {"srcset": f"{B} 2x, u.jpg 1x"}]),
    "folder and names": dict(photo_dir="m", photos=["271_0.jpg", "271_1.jpg"]),
    "folder within": dict(images={"dir": "m/", "names": ["271_0.jpg", "271_1.jpg"]}),
    "pattern": dict(image_url_template="m/{id}.jpg", image_ids=["271_0", "271_1"]),
    "lists by size": dict(images={"80x80": ["t0.jpg", "t1.jpg"], "1200x900": [A, B]}),
    "main one marked": dict(photos=[{"file": B, "primary": False}, {"file": A, "primary": True}]),
    "deep": dict(media={"photos": {"data": [{"attributes": {"file": n}} for n in (A, B)]}}),
    "stored beside the web": dict(images=WEB, image_paths=[A, B]),
    "stored within the web": dict(
        image_urls=WEB, images=[{"url": w, "path": p} for w, p in zip(WEB, (A, B), strict=True)]
    ),
    "markup": dict(gallery_html=f'<img src="{A}"><img src="{B}">'),
    "notes": dict(photos=[f"![]({A})", f"![]({B})"]),
    "views": dict(photos={"front": A, "side": B}),
    "pictures under any name": dict(turns=[{"angle": "front", "picture": A}, {"picture": B}]),
}


@table(PHOTOS)
def test_photos_however_they_are_told(stated: dict[str, Any]) -> None:
    found = read({**{k: v for k, v in PIECE.items() if k != "images"}, **stated}).listings[0]
    assert found.missing_photos == (A, B)
    assert dict(found.specifics) == SP
