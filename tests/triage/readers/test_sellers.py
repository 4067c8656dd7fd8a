"""Who sells, as pages tell it: labels, sentences, links, headings, own elements, attributes."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import one, picture
from triage.readers.addresses import item_in, owner_in
from triage.readers.dates import day_after

TEXT = "<h2>Description</h2><div>Found in a drawer.<br>Lens width 48 mm.</div>"


def page(part: str, language: str = "en") -> Listing:
    head = "<h1>Frame Gantreux 48-22</h1><img src='a.jpg'><p class='price'>£60.00</p>"
    return one(f"<html lang={language}><body>{head}{part}</body></html>", {"a.jpg": picture(1)})


SENTENCES = {
    "en": "Listed by {} on 9 November 2026",
    "de": "Eingestellt von {} am 9. November 2026",
    "fr": "Publié par {} le 9 novembre 2026",
    "it": "Pubblicato da {} il 9 novembre 2026",
    "es": "Publicado por {} el 9 de noviembre de 2026",
    "nl": "Geplaatst door {} op 9 november 2026",
    "pt": "Publicado por {} em 9 de novembro de 2026",
    "pl": "Dodane przez {} dnia 9 listopada 2026",
    "sv": "Upplagd av {} den 9 november 2026",
    "da": "Oprettet af {} den 9. november 2026",
    "nb": "Lagt ut av {} 9. november 2026",
}


@pytest.mark.parametrize("language", SENTENCES)
def test_a_sentence_tells_who_has_listed_and_when(language: str) -> None:
    linked = SENTENCES[language].format('<a href="/zz/77120">Rosa Lind</a>')
    plain = SENTENCES[language].format("Rosa Lind")
    first, second = (
        page(f"<p>{linked}</p>{TEXT}", language),
        page(f"<p>{plain}</p>{TEXT}", language),
    )
    assert (first.seller_name, first.seller_id, first.date_listed) == (
        "Rosa Lind",
        "77120",
        "2026-11-09",
    )
    assert (second.seller_name, second.seller_id, second.date_listed) == (
        "Rosa Lind",
        None,
        "2026-11-09",
    )


@pytest.mark.parametrize(
    ("part", "language"),
    [
        ('<p>Listed on 9 November 2026 by <a href="/membre/77120">Rosa Lind</a></p>', "en"),
        ("<p>Eingestellt am 9. November 2026 von <b>Rosa Lind</b></p>", "de"),
        (
            '<p>Seller: <a href="/zz/77120">Rosa Lind</a> · Item no. 9001 · Listed on 9 November 2026</p>',
            "en",
        ),
        (
            "<p>Anbieter: Rosa Lind | Anzeigennummer: 9001 | Eingestellt am 9. November 2026</p>",
            "de",
        ),
    ],
)
def test_the_day_before_or_apart_from_the_name_is_read(part: str, language: str) -> None:
    listing = page(part + TEXT, language)
    assert (listing.seller_name, listing.date_listed) == ("Rosa Lind", "2026-11-09")


def test_a_day_of_joining_is_no_day_of_listing() -> None:
    listing = page(f"<p>Sold by Rosa Lind since 9 November 2014</p>{TEXT}")
    assert (listing.seller_name, listing.date_listed) == ("Rosa Lind", None)


@pytest.mark.parametrize(
    "part",
    [
        '<p>Seller: <a href="/v/77120">Rosa Lind</a></p>',
        '<p>Vendeur : <a href="liste.php?v=77120">Rosa Lind</a></p>',
        '<dl><dt>Verkäufer</dt><dd><a href="/k/77120">Rosa Lind</a></dd></dl>',
        '<x-seller-card user-id="77120"><a href="/makers/77120">Rosa Lind</a></x-seller-card>',
        '<x-vendor-info name="Rosa Lind" vendor-id="77120"></x-vendor-info>',
        '<div class="seller-box" data-seller-id="77120"><span class="seller-name">Rosa Lind</span></div>',
        '<div class="seller-box"><button data-user-id="77120">Follow</button><span class="seller-name">Rosa Lind</span></div>',
        '<div data-seller-name="Rosa Lind" data-seller-id="77120"><button>Message</button></div>',
        '<a class="seller-link" href="/x/77120">Rosa Lind</a>',
        '<div class="seller"><a href="/x/77120">Rosa Lind</a><a href="/x/77120/items">See all 12 items</a></div>',
        '<section><h3>Meet the owner</h3><div><a href="/x/77120">Rosa Lind</a></div><div>98% positive</div></section>',
        '<h3>Über den Verkäufer</h3><div><a href="/x/77120">Rosa Lind</a></div>',
    ],
)
def test_the_id_is_read_whatever_its_site_calls_a_seller(part: str) -> None:
    listing = page(TEXT + part)
    assert (listing.seller_name, listing.seller_id) == ("Rosa Lind", "77120")


@pytest.mark.parametrize(
    "heading",
    ["Contact the seller", "Sold by", "Kontakt zum Anbieter", "À propos du vendeur", "Il venditore", "Vendedor",
     "Over de verkoper", "Sprzedawca", "Om säljaren", "Om sælgeren", "出品者情報"],
)  # fmt: skip
def test_a_name_under_a_heading_is_the_seller_and_ends_the_description(heading: str) -> None:
    listing = page(f"{TEXT}<h3>{heading}</h3><p>Rosa Lind</p><p>Member since 2014</p>")
    assert listing.seller_name == "Rosa Lind"
    assert listing.description == "Found in a drawer.\nLens width 48 mm."


def test_ids_that_disagree_are_not_taken_from_attributes() -> None:
    rows = "".join(f'<p data-seller-id="{n}">note</p>' for n in (1, 2))
    assert page(TEXT + rows).seller_id is None


@pytest.mark.parametrize(
    ("time", "day"),
    [
        (
            '<time itemprop="datePublished" datetime="2026-11-03T10:00Z">3 weeks ago</time>',
            "2026-11-03",
        ),
        ('<time class="listing-date" datetime="2026-11-03">3 weeks ago</time>', "2026-11-03"),
        (
            '<div itemscope itemtype="https://schema.org/Review"><time itemprop="datePublished" datetime="2026-11-03">x</time></div>',
            None,
        ),
        (
            '<time class="listed" datetime="2026-11-03">a</time><time class="listed" datetime="2026-11-04">b</time>',
            None,
        ),
    ],
)
def test_a_time_named_for_listing_dates_it(time: str, day: str | None) -> None:
    assert (page(time + TEXT).date_listed or "")[:10] == (day or "")


@pytest.mark.parametrize(
    ("address", "seller"),
    [
        ("/v/40418", "40418"), ("/antiquaires/galerie-du-lac/", "galerie-du-lac"),
        ("/makers/rosa/items", "rosa"), ("/", None), ("mailto:rosa@shop.example", None),
        ("/listing/12345", None), ("/x/@rosa", "rosa"),
    ],
)  # fmt: skip
def test_the_last_step_of_a_sellers_link_is_the_id(address: str, seller: str | None) -> None:
    assert owner_in(address) == seller


@pytest.mark.parametrize(
    ("address", "title", "number"),
    [
        ("https://m.example/a/m12345678-jaren-50-montuur", "", "m12345678"),
        ("https://m.example/a/m12345678-bril-zwart-4919", "", "m12345678"),
        ("https://m.example/p/round-black-acetate-5322/", "", None),
        ("https://m.example/p/round-5322", "Round frame 53-22", None),
        ("https://m.example/p/round-5322", "Round frame", "5322"),
        ("https://m.example/frame,12345678", "", "12345678"),
        ("https://m.example/brown-frame-48-20-1234567", "Brown frame 48-20", "1234567"),
    ],
)
def test_sizes_at_the_end_of_an_address_are_no_id(
    address: str, title: str, number: str | None
) -> None:
    assert item_in(address, title) == number


def test_the_word_between_name_and_day_is_told() -> None:
    found = day_after("Rosa Lind, 3 May 2026", "en")
    assert found is not None
    assert (found[0], found[1], found[2].iso) == (9, ",", "2026-05-03")
    assert day_after("Shop 24") is None


@pytest.mark.parametrize(
    "part",
    [
        '<p>by <a href="/artisan/77120">Rosa Lind</a></p>',
        '<p>From the shop of <a href="/zz/77120">Rosa Lind</a></p>',
        '<p>Written by <a rel="author" href="/zz/77120">Rosa Lind</a></p>',
        '<div class="vcard"><a class="fn url" href="/zz/77120">Rosa Lind</a></div>',
        '<p>Seller: <a href="/u/77120">Rosa Lind <span class="badge">PRO</span></a></p>',
        "<p>Seller: Rosa Lind</p><p>Member no. 77120</p>",
    ],
)
def test_bylines_and_cards_name_the_seller(part: str) -> None:
    listing = page(part + TEXT)
    assert (listing.seller_name, listing.seller_id) == ("Rosa Lind", "77120")


@pytest.mark.parametrize(
    ("part", "name"),
    [
        ("<p>Seller:<br>Rosa Lind<br>Leeds</p>", "Rosa Lind"),
        ("<div><h4>Rosa Lind</h4><span>Private seller</span></div>", "Rosa Lind"),
        (
            "<div><strong>Rosa Lind</strong><br><span>Gewerblicher Anbieter</span></div>",
            "Rosa Lind",
        ),
        (
            '<div class="seller"><span class="avatar">RL</span><span class="nm">Rosa Lind</span></div>',
            "Rosa Lind",
        ),
        (
            '<div class="seller">Rosa Lind <a href="/messages/new?to=77120">Contact</a></div>',
            "Rosa Lind",
        ),
        ("<p>出品者：へだ（評価 214）</p>", "へだ"),
        ('<p>by <a href="/brands/gantreux">Gantreux</a></p>', None),
    ],
)
def test_names_are_set_apart_by_lines_marks_and_kinds(part: str, name: str | None) -> None:
    assert page(part + TEXT).seller_name == name


@pytest.mark.parametrize(
    ("line", "language"),
    [
        ("On sale from 3 November 2026", "en"), ("Ad created 3 November 2026", "en"), ("Inserat vom 3. November 2026", "de"),
        ("Im Shop seit 03.11.2026", "de"), ("Parue le 3 novembre 2026", "fr"), ("Online dal 3 novembre 2026", "it"),
        ("Dado de alta el 3 de noviembre de 2026", "es"), ("Op de site sinds 3 november 2026", "nl"), ("Ogłoszenie z dnia 3 listopada 2026", "pl"),
        ("Inserido a 3 de novembro de 2026", "pt"), ("Annonsdatum: 3 november 2026", "sv"), ("Annoncen oprettet 03-11-2026", "da"),
        ("2026年11月3日に出品", "ja"),
    ],
)  # fmt: skip
def test_more_ways_of_dating_a_listing_are_read(line: str, language: str) -> None:
    assert page(f"<p>{line}</p>{TEXT}", language).date_listed == "2026-11-03"


@pytest.mark.parametrize(
    "part",
    [
        '<dl><dt>Date listed</dt><dd><time datetime="2026-11-03">3 Nov</time></dd></dl>',
        '<div class="date-listed">3 November 2026</div>',
        "<x-listed-date>3 November 2026</x-listed-date>",
        '<span class="posted" title="2026-11-03 10:00">3 weeks ago</span>',
    ],
)
def test_parts_named_for_the_day_of_listing_date_it(part: str) -> None:
    assert (page(part + TEXT).date_listed or "")[:10] == "2026-11-03"
