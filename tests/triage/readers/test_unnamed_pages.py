"""Pages that name few of their parts: threads of forums, old table pages, other languages."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.triage.readers.pages import one, read
from triage.readers.addresses import item_in, seller_in

POST = """<li class="postbit"><span class="date">{date}</span><div class="info"><a class="username" href="member.php?u={number}">{name}</a><img src="face{number}.jpg" width="80"></div><div class="postcontent">{text}</div></li>"""
LATER = POST.format(date="4 November 2026", number=77, name="ben", text="I would give $20 for it.")


def thread(title: str, text: str) -> str:
    first = POST.format(date="3 November 2026", number=33, name="rosa", text=text)
    return f"<title>{title} - Lens Talk</title><body><h1>{title}</h1><ol>{first}{LATER}{LATER}</ol></body>"


@pytest.mark.parametrize(
    ("title", "text", "price", "shipping"),
    [
        ("FS: Vennerby 48-22", "Good hinges.<br>Price: $150 shipped", "150", "0"),
        ("FS: Vennerby 48-22", "Asking price: $90 plus $8 shipping.", "90", "8"),
        ("Vennerby frame, $60", "Good hinges.", "60", None),
        ("Selling my Vennerby", "I would like $45 for it.", "45", None),
    ],
)
def test_the_first_post_of_a_thread_is_the_listing(
    title: str, text: str, price: str, shipping: str | None
) -> None:
    listing = one(thread(title, text))
    assert (listing.title, listing.price) == (title, Decimal(price))
    assert listing.shipping == (None if shipping is None else Decimal(shipping))
    assert (listing.seller_name, listing.seller_id) == ("rosa", "33")
    assert listing.date_listed == "2026-11-03"
    assert "$20" not in (listing.description or "")


def test_an_author_in_bold_alone_is_the_seller() -> None:
    post = "<table><tr><td><b>{name}</b><br><small>3 November 2026, 18:20</small></td><td><div class=postbody>{text}</div></td></tr></table>"
    first = post.format(name="rosa", text="Good hinges.<br>Price: $150 shipped")
    later = post.format(name="ben", text="Nice, I would give $20.")
    page = f"<title>FS: Vennerby</title><body><h1>FS: Vennerby 48-22</h1><div class=topic>{first}{later}</div></body>"
    listing = one(page)
    assert (listing.seller_name, listing.price) == ("rosa", Decimal(150))
    assert listing.date_listed == "2026-11-03T18:20:00"


@pytest.mark.parametrize(
    ("title", "text"),
    [
        ("How old is this hinge?", "I paid $30 in 2019."),
        ("WTB: Vennerby 48-22", "Price: up to $90"),
    ],
)
def test_a_thread_that_offers_nothing_is_no_listing(title: str, text: str) -> None:
    assert not read(thread(title, text)).listings


def test_a_table_page_without_a_heading_is_read_beside_an_empty_basket() -> None:
    page = """<title>Occhiali Ardesio 46-22 - VetrinaVecchia</title><body><table><tr><td>Carrello: € 0,00</td></tr></table>
    <table><tr><td><font size="5"><b>Occhiali Ardesio 46-22</b></font></td></tr><tr><td>Prezzo:</td><td>€ 95,00</td></tr>
    <tr><td>Spedizione:</td><td>€ 7,50</td></tr><tr><td>Venditore:</td><td>lucia</td></tr></table></body>"""
    listing = one(page)
    assert (listing.title, listing.price) == ("Occhiali Ardesio 46-22", Decimal("95.00"))
    assert listing.shipping == Decimal("7.50")


@pytest.mark.parametrize(
    ("language", "rows", "price", "kind"),
    [
        (
            "ja",
            {"現在価格": "12,800円", "送料": "850円", "出品者": "sora", "入札件数": "2件"},
            "12800",
            "bid",
        ),
        ("he", {"מחיר": "₪350", "משלוח": "₪25", "מוכר": "dana"}, "350", "fixed"),
        (
            "nl",
            {"Vraagprijs": "€ 40,00", "Verzending": "€ 6,75", "Verkoper": "piet"},
            "40",
            "fixed",
        ),
        ("pt", {"Preço": "40,00 €", "Portes de envio": "5,00 €", "Vendedor": "rui"}, "40", "fixed"),
        (
            "pl",
            {"Aktualna oferta": "90,00 zł", "Dostawa": "15,00 zł", "Sprzedawca": "ola"},
            "90",
            "bid",
        ),
        ("sv", {"Högsta bud": "300 kr", "Frakt": "60 kr", "Säljare": "kim"}, "300", "bid"),
    ],
)
def test_labels_of_further_languages(
    language: str, rows: dict[str, str], price: str, kind: str
) -> None:
    cells = "".join(f"<tr><th>{k}</th><td>{v}</td></tr>" for k, v in rows.items())
    listing = one(
        f'<html lang="{language}"><body><h1>Frame 48-20</h1><table>{cells}</table></body>'
    )
    assert (listing.price, listing.price_kind) == (Decimal(price), kind)
    assert listing.shipping is not None
    assert listing.seller_name in ("sora", "dana", "piet", "rui", "ola", "kim")


BASE = '<h1>Round frame 48-20</h1><div class="price">£45.00</div><a href="/usr/anna">anna</a>%s'


@pytest.mark.parametrize(
    ("line", "shipping"),
    [
        ("+ £3.50 postage", "3.50"),
        ("£3.50 P&amp;P", "3.50"),
        ("plus $8 shipping", "8"),
        ("zzgl. 4,90 € Versand", "4.90"),
        ("+ 5 € de port", "5"),
    ],
)
def test_an_amount_before_the_word_for_shipping(line: str, shipping: str) -> None:
    listing = one(BASE % f"<div>{line}</div>")
    assert (listing.price, listing.shipping) == (Decimal("45.00"), Decimal(shipping))


def test_what_people_typed_is_the_description_where_nothing_is_named() -> None:
    text = "Found in a drawer.\nMarked 12K.\nPick up only."
    listing = one(BASE % f'<div><span dir="auto" style="white-space: pre-wrap">{text}</span></div>')
    assert listing.description == text


def test_a_lone_row_under_its_heading_is_an_item_specific() -> None:
    row = "<div><h2>Details</h2><ul><li><div>Condition</div><div>Used</div></li></ul></div>"
    assert one(BASE % row).specifics == (("Condition", "Used"),)


def test_a_banner_says_when_it_was_sold() -> None:
    banner = '<div class="banner">This listing sold on Oct 19, 2026. The item is no longer available.</div>'
    listing = one(BASE % banner)
    assert (listing.ended, listing.price_kind, listing.ends_at) == (True, "sold", "2026-10-19")


@pytest.mark.parametrize(
    ("address", "number"),
    [
        ("https://m.example/products/frames-1980s", None),
        ("https://m.example/p/frame-1955", None),
        ("https://m.example/p/brille-1930er", None),
        ("https://m.example/listing/9f0c-77a1", "9f0c-77a1"),
        (
            "https://m.example/item/0b6f2c1e-8a77-4c0e-9d11-2f3a4b5c6d7e",
            "0b6f2c1e-8a77-4c0e-9d11-2f3a4b5c6d7e",
        ),
    ],
)
def test_no_year_is_a_number_of_a_listing(address: str, number: str | None) -> None:
    assert item_in(address) == number


def test_the_number_after_a_name_is_the_sellers() -> None:
    assert seller_in("/u/rosa-b/4400") == "4400"
