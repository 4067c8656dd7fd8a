"""Flat records of scrapers and small services: one field at a time under other names and shapes."""

# ruff: noqa: C408, E501

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from triage.readers import exports
from triage.readers.source import ReadResult, Source

BASE: dict[str, Any] = {
    "url": "https://s.example/a/271828182",
    "title": "Vennerby 12 round frame",
    "text": "First line.",
    "price": "45.50 €",
    "seller": "anna",
    "photos": ["a.jpg"],
}
CASES: list[tuple[dict[str, Any], dict[str, Any], str]] = []


def rows(field: str, wanted: object, without: tuple[str, ...], *stated: dict[str, Any]) -> None:
    base = {k: v for k, v in BASE.items() if k not in without}
    CASES.extend(({**base, **one}, {field: wanted}, f"{field}: {one}") for one in stated)


SELLERS: list[dict[str, Any]] = [
    dict(seller={"login": "anna", "uid": 8812}),
    dict(verkaeufer={"anzeigename": "anna", "kundennr": "8812"}),
    dict(vendeur={"pseudo": "anna", "ref": "8812"}),
    dict(venditore={"nickname": "anna", "codice": "8812"}),
    dict(vendedor={"apodo": "anna", "codigo": "8812"}),
    dict(anunciante={"usuario": "anna", "id": "8812"}),
    dict(verkoper={"gebruikersnaam": "anna", "nr": "8812"}),
    dict(sprzedawca={"login": "anna", "id": "8812"}),
    dict(säljare={"namn": "anna", "kundnr": "8812"}),
    dict(user={"handle": "anna", "pk": 8812}),
    dict(account={"displayName": "anna", "accountNo": "8812"}),
    dict(seller="anna", seller_url="https://s.example/u/8812"),
    dict(sellerName="anna", sellerNumber="8812"),
    dict(sold_by="anna", sold_by_id=8812),
    dict(owner={"user": {"name": "anna", "id": 8812}}),
    dict(seller={"name": "anna", "profile_url": "https://s.example/u/8812"}),
    dict(seller={"name": "anna", "url": "/u/8812"}),
    dict(seller={"name": "anna", "link": "https://s.example/members/8812?x=1"}),
    dict(profile={"nick": "anna", "id": "8812"}),
    dict(vendor="anna", vendorId=8812),
    dict(by={"name": "anna", "id": "8812"}),
    dict(posted_by={"name": "anna", "id": "8812"}),
    dict(shop={"name": "anna", "id": "8812"}),
    dict(nutzer="anna", nutzer_id="8812"),
    dict(utente="anna", id_utente="8812"),
    dict(usuario="anna", id_usuario="8812"),
    dict(utilisateur={"nom": "anna", "id": 8812}),
    dict(venditore="anna", venditore_id="8812"),
    dict(partner={"name": "anna", "id": "8812"}),
    dict(trader={"name": "anna", "id": "8812"}),
    dict(lister={"username": "anna", "userId": "8812"}),
]
for one in SELLERS:
    base = {k: v for k, v in BASE.items() if k != "seller"}
    CASES.append(({**base, **one}, {"seller_name": "anna", "seller_id": "8812"}, str(one)))
rows(
    "date_listed",
    "2026-11-03",
    (),
    dict(published="2026-11-03"),
    dict(fecha="03/11/2026", titulo="x"),
    dict(inserito="3 novembre 2026"),
    dict(publiee="3 novembre 2026"),
    dict(eingestellt="3. November 2026"),
    dict(dates={"listed": "2026-11-03", "ends": "2026-12-03"}),
    dict(dates={"start": "2026-11-03T10:00:00Z"}),
    dict(timestamps={"created": 1793700000}),
    dict(time={"posted": "2026-11-03"}),
    dict(created_at={"date": "2026-11-03 10:00:00.000000", "timezone": "Europe/Berlin"}),
    dict(created={"seconds": 1793700000, "nanoseconds": 0}),
    dict(createdAt="/Date(1793700000000)/"),
    dict(listed="Tue, 03 Nov 2026 10:00:00 GMT"),
    dict(start_time="2026-11-03"),
    dict(geplaatst="3 november 2026"),
    dict(dodano="3 listopada 2026"),
    dict(upplagd="3 november 2026"),
    dict(anzeige_vom="03.11.2026"),
    dict(date="3 Nov 2026"),
    dict(date_posted="November 3, 2026"),
    dict(age={"since": "2026-11-03"}),
    dict(activeFrom="2026-11-03"),
    dict(valid_from="2026-11-03"),
    dict(begin="2026-11-03"),
    dict(erfasst="03.11.2026"),
    dict(mise_en_ligne="03/11/2026"),
)
rows(
    "listing_id",
    "271828182",
    ("url",),
    dict(ad_id=271828182),
    dict(nr="271828182"),
    dict(number="271828182"),
    dict(annuncio="271828182"),
    dict(inserzione="271828182"),
    dict(anuncio="271828182"),
    dict(ref="271828182"),
    dict(ref_annonce="271828182"),
    dict(annonce="271828182"),
    dict(anzeigennummer="271828182"),
    dict(oggetto_id="271828182"),
    dict(kavel="271828182"),
    dict(identifier="271828182"),
    dict(uid="271828182"),
    dict(key="271828182"),
    dict(_id="271828182"),
    dict(pk=271828182),
    dict(item={"id": 271828182}),
    dict(advertentienr="271828182"),
    dict(objektnr="271828182"),
)
rows(
    "shipping",
    Decimal("4.90"),
    (),
    dict(shipping="4.90"),
    dict(spese={"spedizione": "4,90 €"}),
    dict(envio="4,90 €"),
    dict(porto=4.9),
    dict(postage={"standard": "€4.90", "express": "€9.90"}),
    dict(shipping=[{"name": "Std", "price": 4.9}]),
    dict(delivery={"cost": "4.90"}),
    dict(delivery="by post, 4.90 €"),
    dict(versand={"art": "Paket", "preis": "4,90 €"}),
    dict(fees={"shipping": 4.9}),
    dict(costs={"postage": "4.90"}),
    dict(livraison={"mode": "colis", "prix": "4,90 €"}),
    dict(shipping_options={"standard": 4.9, "express": 9.9}),
    dict(shipping={"type": "FLAT", "value": {"amount": 490, "currency": "EUR", "precision": 2}}),
    dict(shipping_price="EUR 4.90"),
    dict(spedizione="Corriere 4,90 €"),
    dict(shippingFee=4.9),
    dict(frais_port="4,90"),
    dict(gastos_envio="4,90"),
    dict(verzendkosten="4,90"),
    dict(frakt="4,90 €"),
    dict(transport="4,90 €"),
)
rows(
    "ended",
    True,
    (),
    dict(status="ended"),
    dict(state="SOLD"),
    dict(stato="venduto"),
    dict(estado="vendido"),
    dict(statut="vendue"),
    dict(status="verkauft"),
    dict(active=False),
    dict(available=False),
    dict(is_sold=True),
    dict(sold="yes"),
    dict(closed=True),
    dict(availability="out of stock"),
    dict(status={"code": "CLOSED"}),
    dict(lifecycle={"state": "ENDED"}),
    dict(still_available="no"),
    dict(inStock=False),
    dict(isAvailable=False),
)
rows(
    "price",
    Decimal("45.50"),
    ("price",),
    dict(asking="45.50 €"),
    dict(precio="45,50 €"),
    dict(importe="45,50 €"),
    dict(kosten="45,50 €"),
    dict(price={"amount": "45.50", "cur": "EUR"}),
    dict(price=["45.50", "EUR"]),
    dict(price={"min": 45.5, "max": 45.5, "currency": "EUR"}),
    dict(prices=[{"type": "asking", "amount": 45.5, "currency": "EUR"}]),
    dict(price_eur="45.50"),
    dict(eur=45.5),
    dict(amount={"value": 45.5, "unit": "EUR"}),
    dict(cost=45.5),
    dict(preis_cent=4550),
    dict(price={"cents": 4550}),
    dict(offers={"price": "45.50", "priceCurrency": "EUR"}),
    dict(sale={"price": {"EUR": "45.50"}}),
    dict(price="45.50 EUR / 49.90 USD"),
    dict(price_now="45.50", price_before="60.00"),
    dict(price={"value": 45.5, "old_value": 60}),
    dict(price_display="€45.50"),
    dict(betrag="45,50 €"),
    dict(cena="45,50 €"),
    dict(pris="45,50 €"),
    dict(prijs={"euro": 45, "cent": 50}),
)
rows(
    "url",
    "https://s.example/a/271828182",
    ("url",),
    dict(link={"href": "https://s.example/a/271828182"}),
    dict(pagina="https://s.example/a/271828182"),
    dict(enlace="https://s.example/a/271828182"),
    dict(web="https://s.example/a/271828182"),
    dict(source_url="https://s.example/a/271828182?utm_source=x"),
    dict(href="https://s.example/a/271828182"),
    dict(urls=["https://s.example/a/271828182"]),
    dict(page={"url": "https://s.example/a/271828182"}),
    dict(
        links=[
            {"rel": "self", "href": "https://api.s.example/1"},
            {"rel": "alternate", "href": "https://s.example/a/271828182"},
        ]
    ),
    dict(meta={"canonical": "https://s.example/a/271828182"}),
)
rows(
    "description",
    "First line.\nSecond line.",
    ("text",),
    *[
        {k: "First line.\nSecond line."}
        for k in (
            "testo",
            "texto",
            "corpo",
            "cuerpo",
            "desc",
            "body",
            "beschreibung",
            "inhalt",
            "omschrijving",
            "opis",
            "beskrivning",
            "details",
            "notes",
            "note",
            "nota",
            "about",
            "info",
            "content",
            "comment",
            "remarks",
            "descripcion",
            "descriptif",
            "words",
            "story",
        )
    ],
    dict(description={"text": "First line.\nSecond line.", "lang": "en"}),
    dict(description=["First line.", "Second line."]),
    dict(texts={"long": "First line.\nSecond line.", "short": "First"}),
    dict(content={"body": "First line.\nSecond line."}),
)
rows(
    "title",
    "Vennerby 12 round frame",
    ("title",),
    *[
        {k: "Vennerby 12 round frame"}
        for k in (
            "titolo",
            "titulo",
            "nombre",
            "intitule",
            "ueberschrift",
            "heading",
            "name",
            "subject",
            "tytul",
            "rubrik",
            "oggetto",
            "objet",
            "bezeichnung",
            "headline",
            "caption",
            "what",
            "label",
            "item",
            "product",
            "articulo",
            "naam",
        )
    ],
    dict(title={"text": "Vennerby 12 round frame"}),
    dict(texts={"title": "Vennerby 12 round frame"}),
    dict(item={"title": "Vennerby 12 round frame"}),
)


@pytest.mark.parametrize(
    ("record", "wanted"), [c[:2] for c in CASES], ids=[c[2][:60] for c in CASES]
)
def test_a_field_under_other_names_and_in_other_shapes(
    record: dict[str, Any], wanted: dict[str, Any]
) -> None:
    line = json.dumps(record, ensure_ascii=False).encode()
    result = sum(exports.read_json(Source(Path("/x"), "a.jsonl", content=line)), ReadResult())
    (listing,) = result.listings
    got = {field: getattr(listing, field) for field in wanted}
    if "date_listed" in got:
        got["date_listed"] = str(got["date_listed"])[:10]
    assert got == wanted
    assert dict(listing.specifics) == {}
    assert result.problems == ()


EN = {"Maker": "Vennerby", "Style name": "12", "Eye size": "48 mm", "Condition": "Used – good"}
DE = {"Hersteller": "Vennerby", "Modellname": "12", "Glasbreite": "48 mm", "Zustand": "gut"}
IT = {"Produttore": "Vennerby", "Nome modello": "12", "Calibro": "48 mm", "Stato": "usato"}
JA = {"メーカー": "Vennerby", "モデル名": "12", "レンズ幅": "48 mm", "状態": "中古"}


def forms(told: dict[str, str]) -> dict[str, Any]:
    pairs = list(told.items())
    halves = dict(pairs[:2]), dict(pairs[2:])
    names = [
        "specs",
        "dettagli",
        "merkmale",
        "data",
        "info",
        "extra",
        "fields",
        "props",
        "angaben",
        "details",
        "meta",
        "raw",
    ]
    named: dict[str, Any] = {name: {name: told} for name in names}
    return named | {
        "pairs of names": {"x": [{"label": k, "text": v} for k, v in pairs]},
        "terms": {"x": [{"term": k, "description": v} for k, v in pairs]},
        "headers": {"x": [{"header": k, "data": v} for k, v in pairs]},
        "rows": {"rows": [[k, v] for k, v in pairs]},
        "lines": {"lines": [f"{k}: {v}" for k, v in pairs]},
        "one text": {"specs": " | ".join(f"{k}={v}" for k, v in pairs)},
        "json in a text": {"specs": json.dumps(told, ensure_ascii=False)},
        "one each": {"specs": [{k: v} for k, v in pairs]},
        "groups": {"sections": [{"title": "A", "content": h} for h in halves]},
        "named groups": {"specs": dict(zip("AB", halves, strict=True))},
        "under keys": {"specs": {k[::-1]: {"label": k, "value": v} for k, v in pairs}},
        "within": {"item": {"specs": told}},
        "two lists": {"specs": {"names": list(told), "values": list(told.values())}},
        "two fields": {"spec_names": list(told), "spec_values": list(told.values())},
        "flat": told,
    }  # fmt: skip


@pytest.mark.parametrize("told", [EN, DE, IT, JA], ids=["en", "de", "it", "ja"])
@pytest.mark.parametrize("form", forms(EN))
def test_specifics_in_any_form(form: str, told: dict[str, str]) -> None:
    line = json.dumps({**BASE, **forms(told)[form]}, ensure_ascii=False).encode()
    result = sum(exports.read_json(Source(Path("/x"), "a.jsonl", content=line)), ReadResult())
    (listing,) = result.listings
    assert (dict(listing.specifics), listing.ended) == (told, None)


@pytest.mark.parametrize(
    "who",
    ["seller", "vendor", "Verkäufer", "anbieter", "vendeur", "membre", "venditore", "utente",
     "vendedor", "tienda", "verkoper", "gebruiker", "loja", "sprzedawca", "użytkownik", "säljare",
     "annonsör", "sælger", "出品者", "lister", "seller_info", "soldBy"],
)  # fmt: skip
def test_who_sells_in_any_language(who: str) -> None:
    base = {k: v for k, v in BASE.items() if k != "seller"}
    for told in (
        {who: {"name": "anna", "id": "8812"}},
        {who: "anna", f"{who}_id": "8812"},
        {f"{who}_name": "anna", f"{who}_no": 8812},
    ):
        line = json.dumps({**base, **told}, ensure_ascii=False).encode()
        source = Source(Path("/x"), "a.jsonl", content=line)
        (listing,) = sum(exports.read_json(source), ReadResult()).listings
        assert (listing.seller_name, listing.seller_id) == ("anna", "8812"), told
        assert listing.specifics == ()


@pytest.mark.parametrize(
    "key", ["spec_text", "attributes", "details_text", "merkmale", "facts", "x"]
)
@pytest.mark.parametrize(
    "text",
    [
        "Maker: Vennerby; Bridge: 21 mm",
        "Maker=Vennerby|Bridge=21 mm",
        "• Maker: Vennerby • Bridge: 21 mm",
        "Maker\tVennerby\nBridge\t21 mm",
        '{"Maker": "Vennerby", "Bridge": "21 mm"}',
        "<ul><li>Maker: Vennerby</li><li>Bridge: 21 mm</li></ul>",
        "<table><tr><td>Maker</td><td>Vennerby</td></tr><tr><td>Bridge</td><td>21 mm</td></tr></table>",
    ],
)
def test_all_specifics_in_one_text(key: str, text: str) -> None:
    line = json.dumps({**BASE, key: text}, ensure_ascii=False).encode()
    source = Source(Path("/x"), "a.jsonl", content=line)
    (listing,) = sum(exports.read_json(source), ReadResult()).listings
    assert dict(listing.specifics) == {"Maker": "Vennerby", "Bridge": "21 mm"}


@pytest.mark.parametrize(
    "told",
    ["inserito_da", "pubblicato_da", "eingestellt_von", "publié_par", "publicado_por", "posted_by",
     "geplaatst_door", "dodane_przez", "verkauft_von"],
)  # fmt: skip
def test_who_put_it_up_sells_it(told: str) -> None:
    base = {k: v for k, v in BASE.items() if k != "seller"}
    line = json.dumps({**base, told: "anna"}, ensure_ascii=False).encode()
    result = sum(exports.read_json(Source(Path("/x"), "a.jsonl", content=line)), ReadResult())
    (listing,) = result.listings
    assert (listing.seller_name, listing.specifics, result.problems) == ("anna", (), ())


@pytest.mark.parametrize(
    "told",
    [
        "First line is long.\\nSecond line is long.",
        "First line is long.&lt;br&gt;Second line is long.",
        {"paragraphs": ["First line is long.", "Second line is long."]},
        {"blocks": [{"text": "First line is long."}, {"text": "Second line is long."}]},
        [{"p": "First line is long."}, {"p": "Second line is long."}],
    ],
)
def test_lines_of_a_text_however_they_are_parted(told: Any) -> None:
    line = json.dumps({**BASE, "text": told}, ensure_ascii=False).encode()
    source = Source(Path("/x"), "a.jsonl", content=line)
    (listing,) = sum(exports.read_json(source), ReadResult()).listings
    assert listing.description == "First line is long.\nSecond line is long."


@pytest.mark.parametrize(
    "key",
    ["datos", "objet", "articulo", "listing", "lot", "data", "kv", "profile", "info"],
)
@pytest.mark.parametrize("told", [EN, DE, IT, JA], ids=["en", "de", "it", "ja"])
def test_a_group_or_list_of_labels_under_a_name_of_something_else(
    key: str, told: dict[str, str]
) -> None:
    for group in (told, [{k: v} for k, v in told.items()]):
        line = json.dumps({**BASE, key: group}, ensure_ascii=False).encode()
        source = Source(Path("/x"), "a.jsonl", content=line)
        (listing,) = sum(exports.read_json(source), ReadResult()).listings
        assert (dict(listing.specifics), listing.title) == (told, BASE["title"])
