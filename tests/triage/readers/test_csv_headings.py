"""Columns of tables under other headings: languages, currencies in the name, photos, yes and no."""

# ruff: noqa: C408

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from triage.readers import exports
from triage.readers.source import ReadResult, Source

CASES: list[tuple[str, str, dict[str, Any]]] = [
    ("Titel;Preis (EUR);Verkäufer", "F one;45,00;anna", dict(seller_name="anna")),
    ("title;Price £;seller", "F one;45.00;anna", dict(currency="GBP")),
    ("title;price_eur;seller", "F one;45;anna", {}),
    ("title;amount;currency;seller", "F one;45;EUR;anna", {}),
    ("title;price;ccy;seller", "F one;45;EUR;anna", {}),
    ("title;price;seller;sold", "F one;45 €;anna;no", dict(ended=False)),
    ("title;price;seller;sold?", "F one;45 €;anna;yes", dict(ended=True)),
    ("titolo;prezzo;venditore;venduto", "F one;45 €;anna;sì", dict(ended=True, seller_name="anna")),
    ("titre;prix;vendeur;vendu", "F one;45 €;anna;non", dict(ended=False)),
    ("titel;prijs;verkoper;verkocht", "F one;€ 45;anna;nee", dict(ended=False, seller_name="anna")),
    ("título;preço;vendedor;vendido", "F one;45 €;anna;não", dict(ended=False)),
    (
        "tytuł;cena;sprzedawca;sprzedane",
        "F one;45 EUR;anna;nie",
        dict(ended=False, seller_name="anna"),
    ),
    ("rubrik;pris;säljare;såld", "F one;45 EUR;anna;nej", dict(ended=False, seller_name="anna")),
    ("title;price;active;seller", "F one;45 €;yes;anna", dict(ended=False)),
    ("title;price;status;seller", "F one;45 €;Reserved;anna", dict(ended=False)),
    (
        "title;price;photo1;photo2;photo3",
        "F one;45 €;a.jpg;b.jpg;",
        dict(missing_photos=("a.jpg", "b.jpg")),
    ),
    ("title;price;images", "F one;45 €;a.jpg|b.jpg", dict(missing_photos=("a.jpg", "b.jpg"))),
    ("title;price;images", "F one;45 €;a.jpg, b.jpg", dict(missing_photos=("a.jpg", "b.jpg"))),
    (
        "title;price;Main photo;Other photos",
        "F one;45 €;a.jpg;b.jpg c.jpg",
        dict(missing_photos=("a.jpg", "b.jpg", "c.jpg")),
    ),
    (
        "Foto principale;Altre foto;titolo;prezzo",
        "a.jpg;b.jpg|c.jpg;F one;45 €",
        dict(missing_photos=("a.jpg", "b.jpg", "c.jpg")),
    ),
    (
        "title;price;Lens width;Bridge (mm);Material",
        "F one;45 €;48 mm;21;Acetate",
        dict(specifics={"Lens width": "48 mm", "Bridge (mm)": "21", "Material": "Acetate"}),
    ),
    ("title;price_cents;currency;seller", "F one;4500;EUR;anna", {}),
    ("title;price (cents);currency;seller", "F one;4500;EUR;anna", {}),
    ("title;Preis in Cent;Währung;Verkäufer", "F one;4500;EUR;anna", {}),
    (
        "title;price;postage (EUR);seller id;seller name",
        "F one;45 €;4.90;8812;anna",
        dict(shipping=Decimal("4.90"), seller_id="8812", seller_name="anna"),
    ),
    (
        "title;price;date listed;item no;link",
        "F one;45 €;03/11/2026;271828;https://s.example/a/271828",
        dict(listing_id="271828", url="https://s.example/a/271828"),
    ),
    (
        "Anzeigennummer;Bezeichnung;Preis;Versandkosten;Anbieter;eingestellt am;Bilder;Link",
        "271828;F one;45,00 €;4,90 €;anna;03.11.2026;a.jpg, b.jpg;https://s.example/a/271828",
        dict(date_listed="2026-11-03", shipping=Decimal("4.90"), listing_id="271828"),
    ),
    ("seller;title;price;seller rating", "anna;F one;45 €;99 %", dict(seller_name="anna")),
    ("user;title;price", "anna;F one;45 €", dict(seller_name="anna")),
    (
        "seller username;title;price;seller no",
        "anna;F one;45 €;8812",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "Nom du vendeur;N° vendeur;titre;prix",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "Verkäufername;Verkäufer-Nr.;Titel;Preis",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "Verkäufer;Mitgliedsnummer;Titel;Preis",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "vendedor;id vendedor;título;precio",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "venditore;codice venditore;titolo;prezzo",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "verkoper;verkopernr;titel;prijs",
        "anna;8812;F one;€ 45",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "sold by;account number;title;price",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "seller;seller account;title;price",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "seller;member id;title;price",
        "anna;8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
    (
        "seller;seller_url;title;price",
        "anna;https://s.example/u/8812;F one;45 €",
        dict(seller_name="anna", seller_id="8812"),
    ),
]


@pytest.mark.parametrize(("header", "row", "wanted"), CASES, ids=[c[0] for c in CASES])
def test_columns_under_other_headings(header: str, row: str, wanted: dict[str, Any]) -> None:
    source = Source(Path("/x"), "a.csv", content=f"{header}\n{row}\n".encode())
    (listing,) = sum(exports.read_csv(source), ReadResult()).listings
    wanted = {"title": "F one", "price": Decimal(45), "currency": "EUR", **wanted}
    got = {field: getattr(listing, field) for field in wanted}
    if "specifics" in wanted:
        got["specifics"] = dict(got["specifics"])
    assert got == wanted


def read_columns(header: str, row: str) -> Any:
    source = Source(Path("/x"), "a.csv", content=f"{header}\n{row}\n".encode())
    (listing,) = sum(exports.read_csv(source), ReadResult()).listings
    return listing


_LISTED = """
Inserat vom|Anzeige vom|Eingestellt am|Seit|Publiziert am|Freigeschaltet am|Im Netz seit|Erstellt
Ad from|Up since|Posted|Dated|First listed|For sale since|Date added|Went live
Annonce du|Parue le|En ligne depuis|Date de dépôt|Mise en vente|Depuis le
Annuncio del|Online da|Messo in vendita|Data inserimento|Dal|Caricato il
Anuncio del|Puesto el|Fecha de alta|Desde|Subido el
Advertentie sinds|Te koop sinds|Gepubliceerd op|Plaatsingsdatum
Publicado em|À venda desde|Data de inserção
Ogłoszenie z dnia|Od|Dodano|Data wystawienia
Annons från|Till salu sedan|Upplagd den|Skapad den
Annonce fra|Sat til salg den|Oprettelsesdato|Dato
掲載日時|出品日|登録日時|日付
"""
_OVER = """
Ablaufdatum|Läuft ab|Laufzeit bis|Endet am|Ends|Expiry date|Expires|Valid until|Closing date
Termine le|Date d'expiration|Clôture|Scade il|Data scadenza|Chiude il|Vence|Caduca el|Cierre
Loopt tot|Verloopt op|Einddatum|Expira em|Fim|Koniec|Wygasa|Slutar den|Slutdato|終了日時|締切
"""
_OTHER = """
Kaufdatum|Zuletzt gesehen|Geändert am|Mitglied seit|Last updated|Date bought|Member since|Checked on
Date d'achat|Modifiée le|Membre depuis|Data acquisto|Aggiornato il|Fecha de compra|Miembro desde
Aankoopdatum gekocht|Lid sinds|Data zakupu|Köpt den|Ændret den|更新日
"""


@pytest.mark.parametrize(
    ("names", "field"), [(_LISTED, "date_listed"), (_OVER, "ends_at"), (_OTHER, "")]
)
def test_columns_of_dates_are_told_by_the_words_over_them(names: str, field: str) -> None:
    for name in names.strip().replace("\n", "|").split("|"):
        listing = read_columns(f"Nr;title;price;{name}", "12345678;F one;45 €;12.11.2026")
        got = {f: getattr(listing, f) for f in ("date_listed", "ends_at")}
        assert got == {f: "2026-11-12" if f == field else None for f in got}, name


@pytest.mark.parametrize(
    ("header", "row", "wanted"),
    [
        (
            "Titel;EUR;VB;Anbieter",
            "F one;45,00;ja;anna",
            dict(currency="EUR", offers_accepted=True),
        ),
        ("Titel;VB;Anbieter", "F one;45 €;anna", dict(currency="EUR", seller_name="anna")),
        ("Título;Precio;Vendido por", "F one;45 €;ada.b", dict(seller_name="ada.b", ended=None)),
        ("Titel;Sofortkauf;Anbieter", "F one;45 €;anna", dict(price_kind="fixed", buy_now=None)),
        ("Titre;Prix;Pseudo", "F one;45 €;ada.b", dict(seller_name="ada.b", seller_id="ada.b")),
        ("Nummer;Titel;Preis", "12345678;F one;45 €", dict(listing_id="12345678")),
        ("Ref;Title;Price", "VB-12;F one;45 €", dict(listing_id=None)),
        ("Titel;Preis;Porto und Versand", "F one;45 €;4,90", dict(shipping=Decimal("4.90"))),
    ],
)
def test_headings_told_by_what_stands_below(header: str, row: str, wanted: dict[str, Any]) -> None:
    listing = read_columns(header, row)
    assert {f: getattr(listing, f) for f in wanted} == wanted
    assert (listing.title, listing.price) == ("F one", Decimal(45))


HEAD = [
    "Nr",
    "Titel",
    "Beschreibung",
    "Preis",
    "Verkäufer",
    "Eingestellt",
    "Link",
    "Steg",
    "Foto 1",
]
ROWS = [
    ["271828182", "F one", "As found.", "1.245,50 €", "anna", "03.11.2026", "https://s.example/a/1",
     "21 mm", "a.jpg"],
    ["314159265", "F two", "As new.", "99,00 €", "bert", "04.11.2026", "https://s.example/a/2",
     "20 mm", "b.jpg"],
]  # fmt: skip


def written(*rows: list[str], between: str = ";") -> str:
    return "\r\n".join(between.join(row) for row in rows) + "\r\n"


def changed(column: str, cell: str) -> list[str]:
    return [cell if name == column else old for name, old in zip(HEAD, ROWS[0], strict=True)]


TABLES = {
    "plain": written(HEAD, *ROWS),
    "title above": written(["My list 2026", *[""] * 8], [""] * 9, HEAD, *ROWS),
    "two headings": written(["Angebot", "", "", "Geld", "", "Wer", "", "", ""], HEAD, *ROWS),
    "sum below": written(HEAD, *ROWS, ["Summe", "", "", "1.344,50 €", *[""] * 5]),
    "count below": written(HEAD, *ROWS, [""] * 9, ["2 Einträge", *[""] * 8]),
    "heading again": written(HEAD, ROWS[0], HEAD, ROWS[1]),
    "row numbers": written(["", *HEAD], ["1", *ROWS[0]], ["2", *ROWS[1]]),
    "link as a formula": written(
        HEAD, changed("Link", '"=HYPERLINK(""https://s.example/a/1"";""Link"")"'), ROWS[1]
    ),
    "number as text": written(HEAD, changed("Nr", "'271828182"), ROWS[1]),
    "number as a formula": written(HEAD, changed("Nr", '"=""271828182"""'), ROWS[1]),
    "day as a number": written(HEAD, changed("Eingestellt", "46329"), ROWS[1]),
    "stars": written([f"{name}*" for name in HEAD[:7]] + HEAD[7:], *ROWS),
    "turned": written(*[list(cells) for cells in zip(HEAD, *ROWS, strict=True)]),
    "of a note": "| "
    + " | ".join(HEAD)
    + " |\n"
    + "|---" * 9
    + "|\n"
    + "".join(f"| {' | '.join(row)} |\n" for row in ROWS),
    "labels in columns": written(
        [*HEAD[:7], "Merkmal 1", "Wert 1", "Foto 1"],
        *[[*row[:7], "Steg", row[7], row[8]] for row in ROWS],
    ),
    "all in one column": written(
        [*HEAD[:7], "Sonstiges", "Foto 1"],
        *[[*row[:7], f"Steg: {row[7]} | Marke: V", row[8]] for row in ROWS],
    ),
}


@pytest.mark.parametrize("text", TABLES.values(), ids=TABLES)
def test_tables_as_spreadsheets_give_them(text: str) -> None:
    source = Source(Path("/x"), "a.csv", content=text.encode())
    result = sum(exports.read_csv(source), ReadResult())
    assert [one.title for one in result.listings] == ["F one", "F two"]
    one = result.listings[0]
    assert (one.listing_id, one.url) == ("271828182", "https://s.example/a/1")
    assert (one.price, one.currency, one.seller_name) == (Decimal("1245.50"), "EUR", "anna")
    assert (one.date_listed, dict(one.specifics)["Steg"]) == ("2026-11-03", "21 mm")
    assert (one.description, one.missing_photos) == ("As found.", ("a.jpg",))
    assert result.problems == ()
