"""What sending costs and what is asked, as sentences, dashes, attributes and the text say it."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

from decimal import Decimal

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import one, picture
from triage.readers.postage import names_sending, sent_for
from triage.readers.prices import find_money

TEXT = "<h2>Description</h2><div>Found in a drawer.<br>Lens width 48 mm.</div>"


def page(part: str, language: str = "en", price: str = "<p class='price'>€ 60,00</p>") -> Listing:
    head = f"<h1>Frame Gantreux 48-22</h1><img src='a.jpg'>{price}"
    return one(f"<html lang={language}><body>{head}{part}</body></html>", {"a.jpg": picture(1)})


@pytest.mark.parametrize(
    ("line", "language", "cost"),
    [
        ("Can post for €3.95", "en", "3.95"), ("Collection or postage (€3.95)", "en", "3.95"), ("€3.95 to post", "en", "3.95"),
        ("Delivery by tracked mail €3.95", "en", "3.95"), ("P&amp;P included", "en", "0"), ("Price includes postage", "en", "0"),
        ("Delivery free over €50", "en", None), ("Postage abroad €9.00", "en", None), ("Collection only", "en", None),
        ("Abholung oder Versand für 5,50 €", "de", "5.50"), ("Porto trägt der Käufer: 5,50 €", "de", "5.50"), ("Versand ins Ausland 15 €", "de", None),
        ("Envoi en colis suivi 7,00 €", "fr", "7"), ("Port compris", "fr", "0"), ("Livraison possible : à partir de 4,99 €", "fr", "4.99"),
        ("Spedizione con corriere: 7,00 €", "it", "7"), ("Spedisco con raccomandata a 7,00 €", "it", "7"), ("Spedizione compresa", "it", "0"),
        ("Envío por mensajería: 7,00 €", "es", "7"), ("Recogida en mano o envío por 7 €", "es", "7"),
        ("Ophalen of Verzenden voor € 11,50", "nl", "11.50"), ("Inclusief verzending", "nl", "0"),
        ("Envio por correio: 7,00 €", "pt", "7"), ("Odbiór osobisty lub wysyłka za 15 zł", "pl", "15"), ("Przesyłka wliczona w cenę", "pl", "0"),
        ("Hämtas eller skickas för 69 kr", "sv", "69"), ("Frakt ingår", "sv", "0"), ("Kan sendes for 69 kr", "da", "69"), ("Fragt inkluderet", "da", "0"),
        ("ゆうパック 800円（送料）", "ja", "800"), ("送料は出品者負担", "ja", "0"),
    ],
)  # fmt: skip
def test_a_sentence_names_what_sending_costs(line: str, language: str, cost: str | None) -> None:
    listing = page(f"<p>{line}</p>{TEXT}", language)
    assert listing.shipping == (None if cost is None else Decimal(cost))
    assert listing.price == Decimal(60)


def test_a_row_about_a_way_of_sending_names_the_cost() -> None:
    row = "<dl><dt>Envoi en colis suivi</dt><dd>7,00 €</dd><dt>Taille</dt><dd>48</dd></dl>"
    listing = page(row + TEXT, "fr")
    assert (listing.shipping, listing.specifics) == (Decimal(7), (("Taille", "48"),))


@pytest.mark.parametrize(
    "text",
    [
        "Total with postage £48.95",
        "Insured post up to £50",
        "Delivery. Price £45",
        "Free post over £20",
    ],
)
def test_other_amounts_are_no_cost_of_sending(text: str) -> None:
    assert sent_for(text, "en") is None


def test_labels_of_other_places_name_no_sending() -> None:
    assert names_sending("Paczkomat")
    assert not names_sending("Versand ins Ausland")


@pytest.mark.parametrize(
    ("text", "language", "currency"),
    [
        ("450:-", "sv", "SEK"),
        ("1 450:-", "sv", "SEK"),
        ("450,-", "da", "DKK"),
        ("450,-", "nb", "NOK"),
        ("450,-", "de", "EUR"),
        ("450.-", "de-ch", "CHF"),
    ],
)
def test_a_dash_for_the_cents_tells_the_currency_of_a_language(
    text: str, language: str, currency: str
) -> None:
    assert [m.currency for m in find_money(text, language)] == [currency]
    listing = page(TEXT, language, f"<p class='price'>{text}</p>")
    assert (listing.price, listing.currency) == (find_money(text, language)[0].amount, currency)


@pytest.mark.parametrize("text", ["450:-", "48-22,-", "12:30 - 14:00", "Lens 48,-"])
def test_a_dash_says_nothing_where_no_language_decides(text: str) -> None:
    assert find_money(text, "en") == ()


@pytest.mark.parametrize(
    ("price", "below"),
    [
        ("", "<p>£45.00</p>"), ("", "<p>£45.00 or nearest offer</p>"),
        ('<div class="price" data-currency="GBP">45.00</div>', ""), ('<div data-price="45.00" data-currency="GBP"></div>', ""),
        ('<x-price amount="45.00" currency="GBP"></x-price>', ""),
    ],
)  # fmt: skip
def test_a_price_below_the_text_or_in_an_attribute_is_read(price: str, below: str) -> None:
    listing = page(TEXT + below, "en", price)
    assert (listing.price, listing.currency) == (Decimal(45), "GBP")
    assert listing.description == "Found in a drawer.\nLens width 48 mm."


def test_the_text_s_own_price_holds_where_no_other_is_stated() -> None:
    text = "<h2>Description</h2><div>Found in a drawer.<br>Price: £45.00</div>"
    assert page(text, "en", "").price == Decimal(45)
    assert page(text, "en").price == Decimal(60)


def test_words_after_a_price_say_that_sending_is_in_it() -> None:
    listing = page(TEXT, "fr", "<p>Prix : 45 euros, port compris</p>")
    assert (listing.price, listing.shipping) == (Decimal(45), Decimal(0))


@pytest.mark.parametrize(
    "price",
    [
        "<p>€45.50 Save €14.50</p>",
        "<p>€45.50 instead of €60.00</p>",
        "<div><span>Total incl. delivery</span><b>€49.45</b></div><p>€45.50</p>",
        "<p>Members €40.00</p><p>€45.50</p>",
        "<aside><h3>Also from this seller</h3><p>Other frame €12</p></aside><p>€45.50</p>",
        '<div class="price"><div>45</div><div>.50</div><div>€</div></div>',
        "<p class='price'>€45.<em>50</em></p>",
        "<button>Buy now · €45.50</button>",
    ],
)
def test_the_amount_asked_is_told_from_those_around_it(price: str) -> None:
    assert page(TEXT, "en", price).price == Decimal("45.50")
