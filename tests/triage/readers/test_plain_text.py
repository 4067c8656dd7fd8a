"""Notes: a title, facts by their labels, and the description as it stands."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.records import Listing
from triage.readers import plain_text
from triage.readers.source import Source, Unreadable


def read(text: str | bytes, **known: Any) -> Listing:
    data = text if isinstance(text, bytes) else text.encode()
    (listing,) = plain_text.read(Source(Path("/x"), "my_note.txt", content=data, **known)).listings
    return listing


FACTS = "Price: 85,50 EUR\nSeller: anna\n"


@pytest.mark.parametrize(
    ("text", "title", "description"),
    [
        (f"Frame\n{FACTS}\nLens 48 mm.\n\nBridge 21.", "Frame", "Lens 48 mm.\n\nBridge 21."),
        (f"Title: Frame\n{FACTS}Description: Lens 48.\nmore", "Frame", "Lens 48.\nmore"),
        (f"Frame: round\n{FACTS}\ntext", "Frame: round", "text"),
        (f"Frame\n\n{FACTS}\nFirst: 48-21.\nSecond: 50.", "Frame", "First: 48-21.\nSecond: 50."),
        (f"# Frame\r\n{FACTS}\r\ntext\r\n", "Frame", "text"),
        (f"Frame\n\ntext about it\n\n{FACTS}", "Frame", "text about it"),
        (f"---\ntitle: Frame\n{FACTS}---\ntext", "Frame", "text"),
        (FACTS, "my note", ""),
        (f"Frame\n{FACTS}\n  two  spaces\n\tand a tab  ", "Frame", "  two  spaces\n\tand a tab"),
    ],
)  # fmt: skip
def test_title_and_description(text: str, title: str, description: str) -> None:
    listing = read(text)
    assert (listing.title, listing.description) == (title, description)
    assert (listing.price, listing.currency) == (Decimal("85.50"), "EUR")
    assert listing.seller_name == "anna"


@pytest.mark.parametrize(
    "facts",
    [
        "Preis: 85,50 €\nVerkäufer: anna\nEingestellt am: 1. November 2026",
        "Prix : 85,50 €\nVendeur : anna\nMise en ligne : 1 novembre 2026",
        "Prezzo: 85,50 €\nVenditore: anna\nPubblicato il: 1 novembre 2026",
        "Precio: 85,50 €\nVendedora: anna\nPublicado el: 1 de noviembre de 2026",
        "* price = EUR 85.50\n* seller = anna\n* date listed = 2026-11-01",
        "85,50 €\nSeller: anna\nListed: Nov 1, 2026",
    ],
)
def test_facts_in_five_languages(facts: str) -> None:
    listing = read(f"Frame\n{facts}\n\ntext")
    assert (listing.price, listing.currency) == (Decimal("85.50"), "EUR")
    assert (listing.seller_name, listing.date_listed) == ("anna", "2026-11-01")


def test_short_unknown_labels_are_specifics() -> None:
    listing = read(f"Frame\n{FACTS}Bridge: 21 mm\nhttps://stallrow.example/item/70077\n\ntext")
    assert listing.specifics == (("Bridge", "21 mm"),)
    assert (listing.url, listing.listing_id) == ("https://stallrow.example/item/70077", "70077")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(encoding: str) -> None:
    assert read(f"Größe 48\n{FACTS}".encode(encoding)).title == "Größe 48"


@pytest.mark.parametrize(
    "text",
    [
        "Dear Anna,\n\nthe weather is fine.",
        "Title: The sea\n\nA poem.",
        "MIT License\n\nCopyright x",
    ],
)
def test_text_of_something_else_is_refused(text: str) -> None:
    with pytest.raises(Unreadable):
        read(text)


def test_a_mails_subject_is_its_title() -> None:
    listing = read(f"{FACTS}\ntext", is_mail=True, title="Fwd: Frame 12")
    assert (listing.title, listing.description) == ("Frame 12", "text")


@given(st.text(max_size=300))
def test_any_text_ends_in_a_listing_or_is_refused(text: str) -> None:
    try:
        listing = read(text)
    except Unreadable:
        return
    assert listing.title or listing.description or listing.price is not None


@pytest.mark.parametrize(
    ("line", "ended", "kind"),
    [
        ("Status: sold", True, "sold"),
        ("Status: ended", True, "fixed"),
        ("Status: active", False, "fixed"),
        ("Statut : vendue", True, "sold"),
        ("Sold", True, "sold"),
        ("Verkauft.", True, "sold"),
        ("This listing has ended.", True, "fixed"),
        ("Sold: yes", True, "sold"),
        ("Sold with its case", None, "fixed"),
    ],
)
def test_what_is_sold_has_its_last_price(line: str, ended: bool | None, kind: str) -> None:
    listing = read(f"Frame\nPrice: 60 EUR\n{line}\nSeller: anna\n\ntext")
    assert (listing.ended, listing.price_kind, listing.price) == (ended, kind, Decimal(60))


NOTED = (
    "{}\nPrice: 85,50 EUR\nSeller: anna\nItem number: 50021\nhttps://stall.example/view?item=50021"
)


@pytest.mark.parametrize(
    ("text", "description"),
    [
        (NOTED + "\n\nLens 48 mm.\nBridge 21.", "Lens 48 mm.\nBridge 21."),
        (NOTED + "\n\nDescription: Lens 48 mm.\n\nBridge 21.", "Lens 48 mm.\n\nBridge 21."),
        (NOTED + "\nLens 48 mm.\nBridge 21.", "Lens 48 mm.\nBridge 21."),
        ("Hello,\n\nlook at these:\n\n" + NOTED + "\n\nLens 48 mm.", "Lens 48 mm."),
        (NOTED + "\n\nLens 48 mm.\n\n-- \nBert", "Lens 48 mm."),
        (NOTED, ""),
    ],
)
def test_listing_noted_in_a_mail_keeps_its_description(text: str, description: str) -> None:
    listing = read(text.format("Round frame"), title="Fwd: a find", is_mail=True)
    assert (listing.title, listing.description) == ("Round frame", description)
    assert (listing.price, listing.seller_name) == (Decimal("85.50"), "anna")
    assert listing.listing_id == "50021"


@pytest.mark.parametrize(
    ("facts", "price", "seller"),
    [
        ("Price 210 USD\nSeller dora_k", Decimal(210), "dora_k"),
        ("45 €, seller dora_k", Decimal(45), "dora_k"),
        ("Preis 45 €; Verkäufer: Anna", Decimal(45), "Anna"),
        ("Prix 45 €\nVendeur : Anna", Decimal(45), "Anna"),
    ],
)
def test_facts_may_lack_their_colon_or_share_a_line(facts, price, seller):
    listing = read(f"Frame\n{facts}\n\nLens 48 mm, bridge 20 mm.")
    assert (listing.price, listing.seller_name or listing.seller_id) == (price, seller)
    assert listing.description == "Lens 48 mm, bridge 20 mm."


@pytest.mark.parametrize(
    "line", ["Price negotiable", "Seller moves house", "Prices rose 20 €", "Lens 48, bridge: 20 mm"]
)
def test_a_sentence_that_begins_like_a_fact_is_text(line):
    listing = read(f"Frame\n{FACTS}\n{line}\nmore")
    assert listing.description == f"{line}\nmore"


PASTED = """Oval spectacles frame

£85.00
or Best Offer
+ £4.20 postage

Condition: Used
“Light scratching to the left tip”

Located in: Leeds, United Kingdom

Seller: specs_and_city (1,204) 99.1% positive

About this item
Lens width: 46mm

Five barrel hinges."""


def test_facts_between_the_paragraphs_of_a_copied_page_are_read() -> None:
    listing = read(PASTED)
    assert (listing.price, listing.currency, listing.offers_accepted) == (Decimal(85), "GBP", True)
    assert (listing.shipping, listing.location) == (Decimal("4.20"), "Leeds, United Kingdom")
    assert listing.seller_name == "specs_and_city"
    assert listing.seller_feedback == "(1,204) 99.1% positive"
    assert listing.description.startswith("Condition: Used")
    assert "Seller" not in listing.description
    assert listing.description.endswith("Lens width: 46mm\n\nFive barrel hinges.")


@pytest.mark.parametrize(
    "paragraph",
    [
        "Seller: bob, who told me more",
        "Seller: bob\nHe knew it well.",
        "Bridge: 21 mm",
        "First: 48",
    ],
)
def test_paragraphs_that_tell_more_or_again_stay_in_the_text(paragraph: str) -> None:
    listing = read(f"Frame\n{FACTS}\nLens 48 mm.\n\n{paragraph}\n\nNice.")
    assert listing.seller_name == "anna"
    assert listing.description == f"Lens 48 mm.\n\n{paragraph}\n\nNice."


NOTES = (
    "Oval frame\nPrice: 95 EUR\nSeller: anna\n46-20-140",
    "Square frame\nPrice: 60 EUR\nSeller: tom\n52-18-145",
)
LINKED = (
    "Oval frame, 95 EUR\n46-20-140\nhttps://m.example/1001",
    "Square frame\n60 EUR\n52-18-145\nhttps://m.example/1002",
)


def read_all(text: str) -> list[Listing]:
    source = Source(Path("/x"), "my_notes.txt", content=text.encode())
    return list(plain_text.read(source).listings)


@pytest.mark.parametrize("between", ["\n\n---\n\n", "\n=====\n", "\n\n* * *\n", "\n\n", "\n\n\n"])
def test_several_notes_in_a_file_are_as_many_listings(between: str) -> None:
    found = read_all(between.join(NOTES) + "\n")
    assert [(one.title, one.price, one.seller_name) for one in found] == [
        ("Oval frame", Decimal(95), "anna"),
        ("Square frame", Decimal(60), "tom"),
    ]
    assert [one.description for one in found] == ["46-20-140", "52-18-145"]
    assert [one.line for one in found] == [1, 4 + between.count("\n")]


def test_paragraphs_with_an_address_each_are_as_many_listings() -> None:
    found = read_all("\n\n".join(LINKED))
    assert [(one.title, one.price) for one in found] == [
        ("Oval frame", Decimal(95)),
        ("Square frame", Decimal(60)),
    ]
    assert all(size in one.description for one, size in zip(found, ("46-20", "52-18"), strict=True))


@pytest.mark.parametrize(
    "more",
    [
        "Also see:\nSquare frame\nhttps://m.example/1002",
        "---\nThe seller says: 52-18 was another one.",
        "Price: 60 EUR last year\nSeller: tom",
    ],
)
def test_what_is_no_note_of_its_own_stays_with_the_one_listing(more: str) -> None:
    assert len(read_all(f"{NOTES[0]}\n\n{more}")) == 1
