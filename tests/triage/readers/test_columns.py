"""Tables as people keep them: everyday words over columns, or columns told by their cells."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from extractors.records import Listing
from triage.readers.exports import find_columns, read_csv, read_json
from triage.readers.field_names import everyday_field, field_of
from triage.readers.source import Source, Unreadable

TEXT = "Oval frame with seven barrels, 46-24, stamped inside the left temple."


def read(table: str) -> list[Listing]:
    source = Source(Path("/x"), "mine.csv", content=table.encode())
    return [listing for result in read_csv(source) for listing in result.listings]


@pytest.mark.parametrize(
    "header",
    [
        "Headline,Blurb,Asking,Money,Who",
        "What,About,Asking price,Currency,From whom",
        "Titel,Bemerkungen,Preis,Währung,Von wem",
        "Was,Infos,Preis,Währung,Kontakt",
        "Titre,Remarques,Prix,Devise,De qui",
        "Titolo,Osservazioni,Prezzo,Valuta,Da chi",
        "Título,Comentarios,Precio,Moneda,De quién",
    ],
)
def test_everyday_columns(header: str) -> None:
    (listing,) = read(f'{header}\nVennerby,"{TEXT}",80,GBP,k.moreau\n')
    assert (listing.title, listing.description) == ("Vennerby", TEXT)
    assert (listing.price, listing.currency, listing.seller_name) == (
        Decimal(80),
        "GBP",
        "k.moreau",
    )
    assert listing.specifics == ()


def test_origin_names_the_column() -> None:
    (listing,) = read(f'Headline,Blurb,Asking,Who\nVennerby,"{TEXT}",80 GBP,anna\n')
    assert listing.origins["description"] == ("csv:Blurb",)
    assert listing.origins["seller_name"] == ("csv:Who",)


def test_everyday_word_gives_way_to_a_plain_name() -> None:
    (listing,) = read("Title,Price,Seller,Contact,Description,Info\nx,80 EUR,anna,mail,text,more\n")
    assert (listing.seller_name, listing.description) == ("anna", "text")
    assert dict(listing.specifics) == {"Contact": "mail", "Info": "more"}


def test_columns_are_told_by_what_they_hold() -> None:
    rows = [
        ["a", TEXT, "olga_k", "black"],
        ["b", TEXT + " Good hinges.", "p.frames", "honey"],
        ["c", TEXT + " One screw is missing.", "olga_k", "black"],
    ]
    columns = find_columns(["Title", "Spalte 2", "Spalte 3", "Colour"], rows)
    assert columns == {"Spalte 2": "description", "Spalte 3": "seller_name"}


@pytest.mark.parametrize(
    "cells",
    [["black", "honey", "black"], ["abc-001", "abc-002", "abc-003"], ["46-24", "48-22", "46-24"]],
)
def test_other_short_cells_are_no_sellers(cells: list[str]) -> None:
    assert find_columns(["Title", "X"], [["t", cell] for cell in cells]) == {}


def test_everyday_key_in_json() -> None:
    text = '{"title": "Vennerby", "price": "80 EUR", "who": "anna", "blurb": "Lens 48."}'
    source = Source(Path("/x"), "a.json", content=text.encode())
    listings = [listing for result in read_json(source) for listing in result.listings]
    assert (listings[0].seller_name, listings[0].description) == ("anna", "Lens 48.")


@pytest.mark.parametrize("table", ["name,contact\nAnna,a\n", "who,what\na,b\n", "from,to\n1,2\n"])
def test_table_of_something_else_says_which_names_are_known(table: str) -> None:
    with pytest.raises(Unreadable) as told:
        read(table)
    assert "title, description, price" in told.value.do


def test_everyday_words_name_fields_in_tables_alone() -> None:
    assert (field_of("Who"), everyday_field("Who")) == (None, "seller_name")


@pytest.mark.parametrize(
    ("cells", "named"),
    [
        ("46,20,140", ("Lens width", "Bridge", "Temple length")),
        ("46 mm,20 mm,140 mm", ("Lens width", "Bridge", "Temple length")),
        ("140,50,40", ("L", "B", "T")),  # a parcel's length, breadth and depth
        ("46,20,black", ("L", "B", "T")),
    ],
)
def test_lengths_under_letters_are_told_by_their_size(cells: str, named: tuple[str, ...]) -> None:
    (listing,) = read(f"Title,Price,Seller,L,B,T\nVennerby,80 EUR,anna,{cells}\n")
    assert listing.specifics == tuple(zip(named, cells.split(","), strict=True))
