"""Facts of saved pages; samples are written after the examples of the standards named."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

from decimal import Decimal

import extruct
import pytest

from tests.triage.readers.pages import HOME, one, read
from triage.readers.items import read_microdata, read_rdfa
from triage.readers.markup import parse_html

PRODUCT = """<script type="application/ld+json">%s</script><h1>Round frame 48-20</h1>"""


@pytest.mark.parametrize(
    "block",
    [
        # schema.org Product, example of an Offer
        '{"@context":"https://schema.org","@type":"Product","name":"Round frame 48-20","offers":{"@type":"Offer","price":"119.50","priceCurrency":"EUR"}}',
        # JSON-LD 1.1, 4.9: a graph of several nodes, linked by @id
        '{"@graph":[{"@type":"WebPage","mainEntity":{"@id":"#p"}},{"@id":"#p","@type":["Product","Thing"],"name":"Round frame 48-20","offers":{"@id":"#o"}},{"@id":"#o","@type":"Offer","price":119.5,"priceCurrency":"EUR"}]}',
        # JSON-LD 1.1, 4.2.1: values as objects; schema.org priceSpecification beside a list price
        '[{"@type":"Product","name":{"@value":"Round frame 48-20"},"offers":[{"@type":"Offer","priceSpecification":[{"priceType":"https://schema.org/ListPrice","price":200},{"price":"119,50","priceCurrency":"EUR"}]}]}]',
        # as found in the wild: comments, trailing commas, entities, a control character
        '/* item */ {"@type":"Product",\n"name":"Round frame 48-20", // title\n"description":"a\tb &amp; c","offers":{"@type":"AggregateOffer","lowPrice":"119.50","priceCurrency":"EUR",},}',
        # related and listed products are not this one
        '[{"@type":"ItemList","itemListElement":[{"@type":"ListItem","item":{"@type":"Product","name":"Other","offers":{"price":"5"}}}]},{"@type":"Product","name":"Round frame 48-20","isRelatedTo":{"@type":"Product","name":"X","offers":{"price":"7"}},"offers":{"@type":"Offer","price":"119.50","priceCurrency":"EUR"}}]',
    ],
)
def test_json_ld_in_every_shape_gives_the_price(block: str) -> None:
    listing = one(PRODUCT % block)
    assert (listing.price, listing.currency, listing.price_kind) == (
        Decimal("119.5"),
        "EUR",
        "fixed",
    )
    assert listing.title == "Round frame 48-20"


def test_not_a_number_is_no_price() -> None:
    block = '{"@type":"Product","name":"Round frame 48-20","offers":{"price":NaN,"priceCurrency":"EUR"}}'
    assert one(PRODUCT % block).price is None


# WHATWG HTML, 5.2.3 and 5.2.5: typed items, itemref to a part elsewhere, values by element
MICRODATA = """<body><div itemscope itemtype="https://schema.org/Product" itemref="more">
<h1 itemprop="name">Round frame 48-20</h1><meta itemprop="sku" content="A-77">
<div itemprop="offers" itemscope itemtype="https://schema.org/Offer"><data itemprop="price" value="80.00">80</data>
<meta itemprop="priceCurrency" content="GBP"><time itemprop="validFrom" datetime="2026-03-01">1 March</time></div></div>
<p id="more"><img itemprop="image" src="a.jpg"><span itemprop="description">line<br>two</span></p></body>"""


def test_microdata_is_crawled_with_itemref() -> None:
    listing = one(MICRODATA)
    assert (listing.price, listing.currency, listing.listing_id) == (
        Decimal("80.00"),
        "GBP",
        "A-77",
    )
    assert (listing.description, listing.date_listed) == ("line\ntwo", "2026-03-01")
    assert listing.missing_photos == ("a.jpg",)


def test_microdata_agrees_with_a_reference_library() -> None:
    root = parse_html(MICRODATA)
    assert root is not None
    (item,) = read_microdata(root)
    (expected,) = extruct.extract(MICRODATA, syntaxes=["microdata"])["microdata"]
    assert item.text("name") == expected["properties"]["name"]
    assert (
        item.items("offers")[0].text("price")
        == expected["properties"]["offers"]["properties"]["price"]
    )
    assert set(item.properties) == set(expected["properties"])


# RDFa Lite 1.1, 2.1 to 2.4: vocab, typeof, property, resource, prefix
@pytest.mark.parametrize("prefix", ["", "schema:"])
def test_rdfa_lite_gives_the_item(prefix: str) -> None:
    html = f"""<body vocab="https://schema.org/" prefix="schema: https://schema.org/"><div typeof="{prefix}Product" resource="#x">
    <h1 property="{prefix}name">Round frame 48-20</h1><div property="{prefix}offers" typeof="{prefix}Offer">
    <span property="{prefix}price" content="55.00">55</span><meta property="{prefix}priceCurrency" content="EUR">
    <span property="{prefix}seller" typeof="{prefix}Person"><b property="{prefix}name">Ada K.</b></span></div></div></body>"""
    listing = one(html)
    assert (listing.price, listing.currency, listing.seller_name) == (
        Decimal("55.00"),
        "EUR",
        "Ada K.",
    )
    root = parse_html(html)
    assert root is not None
    assert read_rdfa(root)[0].types == ("Product",)


# Open Graph protocol, "Optional metadata", with product tags
def test_share_tags_give_price_and_number() -> None:
    listing = one(
        """<head><meta property="og:title" content="Round frame"><meta property="product:price:amount" content="12.00">
        <meta property="product:price:currency" content="USD"><meta property="product:retailer_item_id" content="N5512"></head>
        <body><h1>Round frame</h1><p>Seller: Ada</p></body>"""
    )
    assert (listing.price, listing.currency, listing.listing_id) == (
        Decimal("12.00"),
        "USD",
        "N5512",
    )


LABELLED = [
    ("en", "Current bid: £45.00", "7 bids", "Item number: 556677", "Listed on 3 March 2026", "Seller: ada_k"),
    ("de", "Aktuelles Gebot: 45,00 £", "7 Gebote", "Artikelnummer: 556677", "Eingestellt am 3. März 2026", "Verkäufer: ada_k"),
    ("fr", "Enchère actuelle : 45,00 £", "7 enchères", "Numéro de l'objet : 556677", "Mis en ligne le 3 mars 2026", "Vendeur : ada_k"),
    ("it", "Offerta attuale: 45,00 £", "7 offerte", "Numero oggetto: 556677", "Inserito il 3 marzo 2026", "Venditore: ada_k"),
    ("es", "Puja actual: 45,00 £", "7 pujas", "Número de artículo: 556677", "Publicado el 3 de marzo de 2026", "Vendedor: ada_k"),
]  # fmt: skip


@pytest.mark.parametrize("row", LABELLED)
def test_labels_are_read_in_five_languages(row: tuple[str, ...]) -> None:
    language, *lines = row
    body = "".join(f"<p>{line}</p>" for line in lines)
    listing = one(f"<html lang={language}><body><h1>Round frame</h1>{body}")
    assert (listing.price, listing.currency, listing.price_kind) == (Decimal("45.00"), "GBP", "bid")
    assert (listing.listing_id, listing.date_listed) == ("556677", "2026-03-03")
    assert listing.seller_name == "ada_k"


ROWS = [
    "<table><tr><th>Seller</th><td>Ada</td></tr><tr><th>Lens width</th><td>48 mm</td></tr><tr><th>Bridge</th><td>20 mm</td></tr></table>",
    "<dl><dt>Seller</dt><dd>Ada</dd><dt>Lens width</dt><dd>48 mm</dd><dt>Bridge</dt><dd>20 mm</dd></dl>",
    "<p>Seller: Ada</p><ul><li><b>Lens width:</b> 48 mm</li><li><b>Bridge:</b> 20 mm</li></ul>",
    "<p>Sold by Ada</p><div><div class=r><span>Lens width</span><span>48 mm</span></div><div class=r><span>Bridge</span><span>20 mm</span></div><div class=r><span>Seller</span><span>Ada</span></div></div>",
    "<p>Seller: Ada</p><div class=specs><i class=k>Lens width</i><u class=v>48 mm</u><i class=k>Bridge</i><u class=v>20 mm</u></div>",
    "<p>Seller: Ada</p><table><tr><th>Lens width</th><td>48 mm</td><th>Bridge</th><td>20 mm</td></tr></table>",
    "<p>Seller: Ada</p><table><tr><th>Lens width</th><th>Bridge</th></tr><tr><td>48 mm</td><td>20 mm</td></tr></table>",
    "<p>Seller: Ada</p><ul><li>Lens width<span>48 mm</span></li><li>Bridge<span>20 mm</span></li></ul>",
]


@pytest.mark.parametrize("rows", ROWS)
def test_item_specifics_are_read_however_they_are_set(rows: str) -> None:
    listing = one(f"<html lang=en><body><h1>Round frame</h1><p>Price: £5.00</p>{rows}")
    assert listing.specifics == (("Lens width", "48 mm"), ("Bridge", "20 mm"))
    assert listing.seller_name == "Ada"


NOT_THE_PRICE = [
    "<del>£90.00</del>",
    "<span style='text-decoration:line-through'>£90.00</span>",
    "<p class='old-price'>£90.00</p>",
    "<p>Shipping: £4.00</p>",
    "<p>Pay in 3 instalments of £15.00</p>",
    "<div class=minicart>Total £200.00</div>",
    "<footer>Orders over £30.00 ship free</footer>",
    "<section><h2>Similar items</h2><p class=price>£12.00</p></section>",
    "<p>Similar items sold for £77.00</p>",
    "<div><a href='/itm/1'><img src=1.jpg>Some other frame</a> £1.00</div><div><a href='/itm/2'><img src=2.jpg>Some other frame</a> £2.00</div>",
]


@pytest.mark.parametrize("trap", NOT_THE_PRICE)
@pytest.mark.parametrize("own", ["<p>Price: £45.00</p>", "<p class=x-price>£45.00</p>"])
def test_other_amounts_are_not_the_price(trap: str, own: str) -> None:
    listing = one(
        f"<html lang=en><body>{trap}<h1>Round frame</h1><p>Seller: Ada</p><p>Item number: 5566</p>{trap}{own}{trap}"
    )
    assert (listing.price, listing.currency, listing.price_kind) == (
        Decimal("45.00"),
        "GBP",
        "fixed",
    )


@pytest.mark.parametrize(
    "struck", ["<s>£90.00</s>", "<del>£90.00</del>", "<b class=old-price>£90.00</b>"]
)
@pytest.mark.parametrize("label", ["Sale price", "Price"])
def test_a_label_before_a_struck_amount_names_the_next(label: str, struck: str) -> None:
    listing = one(
        f"<html lang=en><body><h1>Round frame</h1><div><span>{label}</span>{struck}<span>£45.00</span></div><p>Seller: Ada</p>"
    )
    assert listing.price == Decimal("45.00")


def test_buy_now_stands_beside_the_bid() -> None:
    listing = one(
        "<html lang=en><body><h1>Round frame</h1><p>Current bid: £45.00</p><p>Buy it now: £90.00</p><p>Seller: Ada</p>"
    )
    assert (listing.price, listing.price_kind, listing.buy_now) == (
        Decimal("45.00"),
        "bid",
        Decimal("90.00"),
    )


def test_winning_bid_is_sold_and_ended() -> None:
    listing = one(
        "<html lang=en-us><body><h1>Round frame</h1><p>This listing ended on Sun, Mar 8, 2026 at 6:30 PM.</p><p>Winning bid: US $120.50</p><p>Seller: Ada</p>"
    )
    assert (listing.price, listing.currency, listing.price_kind) == (
        Decimal("120.50"),
        "USD",
        "sold",
    )
    assert (listing.ended, listing.ends_at) == (True, "2026-03-08T18:30:00")


def test_sources_that_disagree_are_both_kept() -> None:
    block = '{"@type":"Product","name":"Round frame 48-20","offers":{"price":"45.00","priceCurrency":"GBP"}}'
    listing = one(PRODUCT % block + "<p>Price: £50.00</p>")
    assert listing.price == Decimal("45.00")
    assert listing.origins["price"] == (
        "json-ld: offers.price",
        "visible text: “Price” says 50.00 GBP",
    )


def test_a_doubtful_date_says_so_in_its_origin() -> None:
    listing = one(
        "<html lang=en><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: A</p><p>Listed on: 03/04/2026</p>"
    )
    assert "the other way round" in listing.origins["date_listed"][0]


def test_an_unlabelled_date_is_not_taken() -> None:
    listing = one(
        "<html lang=en><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: A</p><p>3 March 2026</p>"
    )
    assert listing.date_listed is None


HIDDEN = [
    "<p style='display:none'>secret words</p>",
    "<span style='font-size:0'>secret words</span>",
    "<span style='color:#fff'>secret words</span>",
    "<font color=white>secret words</font>",
    "<div style='position:absolute;left:-9999px'>secret words</div>",
    "<div style='background:#222'><span style='color:#222222'>secret words</span></div>",
    "<p class=gone>secret words</p>",
    "<p hidden>secret words</p>",
]


@pytest.mark.parametrize("part", HIDDEN)
def test_hidden_text_is_flagged_and_not_taken(part: str) -> None:
    listing = one(
        f"<html lang=en><head><style>.gone{{opacity:0}}</style></head><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: A</p><h2>Description</h2><div><p>Lens 48</p>{part}</div>"
    )
    assert listing.hidden_text == "secret words"
    assert listing.description == "Lens 48"


def test_text_that_can_be_read_is_not_hidden() -> None:
    listing = one(
        "<html lang=en><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: A</p><h2>Description</h2><div style='background:#000'><p style='color:#fff;font-size:14px'>Lens 48</p></div>"
    )
    assert (listing.hidden_text, listing.description) == (None, "Lens 48")


def test_description_comes_from_nested_frames_with_its_lines() -> None:
    inner = "data:text/html,%3Cp%3ELens%2048%3Cbr%3EBridge%2020%3C/p%3E"
    files = {
        "https://stallrow.example/d.html": f'<body><iframe src="{inner}"></iframe></body>'.encode()
    }
    listing = one(
        "<html lang=en><body><h1>Round frame</h1><p>Price: £5.00</p><iframe id=desc src='/d.html'></iframe>",
        files,
    )
    assert listing.description == "Lens 48\nBridge 20"
    assert listing.origins["description"] == ("frame",)


def test_a_cut_description_gives_way_to_the_whole() -> None:
    block = '{"@type":"Product","name":"Round frame 48-20","description":"Lens width 48 mm, seven barrels, all original screws."}'
    listing = one(PRODUCT % block + "<h2>Description</h2><p>Lens width 48 mm, seven…</p>")
    assert listing.description.endswith("original screws.")


@pytest.mark.parametrize(
    "body",
    [
        "<title>Page not found</title><h1>Page not found</h1>",
        "<title>Help: fees</title><h1>Selling fees</h1><table><tr><th>Price</th><td>£10.00</td></tr></table>",
        "<h1>Vintage frames</h1>" + "".join(f"<div class=c><a href='/itm/{n}'><img src={n}.jpg>A frame for you</a><b class=price>£{n}.00</b></div>" for n in range(1, 9)),
        "<h1>ada_k</h1><p>Location: Leeds</p><p>Feedback: 99%</p><p>Member since 2012</p>",
    ],
)  # fmt: skip
def test_a_page_that_is_no_listing_gives_none_and_says_so(body: str) -> None:
    result = read(f"<html lang=en><body>{body}")
    assert result.listings == ()
    assert len(result.problems) == 1


def test_address_is_canonical_and_without_tracking() -> None:
    html = '<head><link rel=canonical href="/item/9001?utm_source=x&amp;colour=brown#top"></head><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: A</p>'
    assert one(html).url == f"{HOME}?colour=brown"


def test_saved_from_comment_gives_the_address() -> None:
    html = f"<!-- saved from url=({len(HOME):04}){HOME} -->\n<html><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: A</p>"
    assert one(html, url=None).url == HOME


def test_markup_in_a_title_is_text() -> None:
    html = "<html><body><h1>Frame &lt;script&gt;alert(1)&lt;/script&gt;<svg onload=x></svg></h1><p>Price: £5.00</p><p>Seller: A</p>"
    assert one(html).title == "Frame <script>alert(1)</script>"


def test_page_state_fills_what_the_page_does_not_show() -> None:
    html = """<html><body><h1>Round frame 48-20</h1><script>window.__S = {list: {title: 'Round frame 48-20', price: {amount: 61.5, currency: 'EUR'},
      seller: {id: 'ada_k', displayName: 'Ada'}, id: 556677, description: 'Lens 48',}, similar: [{title: 'Round frame 48', price: {amount: 3}}]};</script>"""
    listing = one(html)
    assert (listing.price, listing.currency, listing.seller_id) == (Decimal("61.5"), "EUR", "ada_k")
    assert (listing.seller_name, listing.listing_id, listing.description) == (
        "Ada",
        "556677",
        "Lens 48",
    )
