"""Ways in which pages state one fact: bare runs of text, words about labels, other languages."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import hashlib
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import HOME, one, picture, read
from triage.readers import exports
from triage.readers.dates import read_date
from triage.readers.labels import field_of_label
from triage.readers.markup import parse_html
from triage.readers.page import read_page
from triage.readers.runs import wrap_runs
from triage.readers.source import Asset, MemberResources, ReadResult, Source, Unreadable
from triage.readers.visible_facts import line_facts
from triage.readers.words import text_lines


def stated(part: str, language: str = "en") -> Listing:
    return one(f"<html lang={language}><body><h1>Frame Gantreux 48-22</h1>{part}</body></html>")


@pytest.mark.parametrize(
    "part",
    [
        "<hr><b>Price:</b> £60.00 ono<br><b>Postage:</b> £4.00 at home, £9.00 abroad<br><b>Seller:</b> rosa<br><b>Listed:</b> 3rd November 2026<hr>",
        "<center><p>Lovely.</p>Price: £60.00<br>Postage: £4.00<br>Seller: rosa<br>Listed: 3/11/2026 </center>",
        "<table><tr><td><p>See below.</p><b>Price</b>: £60.00<br><b>Postage</b>: £4.00<br><b>Seller</b>: rosa<br><b>Listed</b>: 2026-11-03</td></tr></table>",
    ],
)
def test_labels_in_bare_text_between_blocks_are_read(part: str) -> None:
    listing = stated(part + "<a href='old.htm'>Sold</a>")
    assert (listing.price, listing.currency, listing.price_kind) == (
        Decimal("60.00"),
        "GBP",
        "fixed",
    )
    assert (listing.shipping, listing.seller_name) == (Decimal("4.00"), "rosa")
    assert (listing.date_listed, listing.ended) == ("2026-11-03", None)


@pytest.mark.parametrize(
    "html",
    [
        "a<b>x</b>y<p>q</p><hr><b>P:</b> 3<br>z<table><tr><td>c</td></tr></table>end",
        "<div>t<br>u<ul><li>a</ul>v</div>",
        "<p>a</p> <b>z</b> <i>k</i> <p>b</p>t",
        "<td>a<div>b</div>c",
    ],
)
def test_boxes_about_bare_text_leave_the_lines_as_they_are(html: str) -> None:
    root = parse_html(f"<body>{html}</body>")
    assert root is not None
    before = text_lines(root)
    wrap_runs(root)
    assert text_lines(root) == before


@pytest.mark.parametrize(
    ("label", "field"),
    [
        ("UK postage", "shipping"),
        ("Standard shipping to Germany:", "shipping"),
        ("Versand innerhalb Deutschland", "shipping"),
        ("Versand nach Deutschland", "shipping"),
        ("Livraison en France", "shipping"),
        ("Dostawa od", "shipping"),
        ("Envío a península", "shipping"),
        ("Postage abroad", None),
        ("Price incl. VAT", "price"),
        ("Preis inkl. MwSt.", "price"),
        ("Price per month", None),
        ("UK size", None),
        ("Stock no.", "listing_id"),
        ("رقم الإعلان", "listing_id"),
        ("Szállítási díj", "shipping"),
    ],
)
def test_words_about_a_label_leave_its_meaning(label: str, field: str | None) -> None:
    assert field_of_label(label) == field


@pytest.mark.parametrize(
    ("line", "price"),
    [
        ("￥４，２００（税込）", "4200"),
        ("60,00 € inkl. MwSt.", "60.00"),
        ("€60 incl. VAT", "60"),
        ("$60.00 + $5.00 shipping", "60.00"),
        ("£60 (was £80)", "60"),
        ("£4.00 postage", None),
        ("12 x £5.00", None),
        ("£5 (deposit)", None),
    ],
)
def test_a_bare_amount_is_the_price_unless_its_own_words_say_otherwise(
    line: str, price: str | None
) -> None:
    page = f"<h1>Frame Gantreux 48-22</h1><p>{line}</p><p>Seller: rosa</p><p>Item number: 77123</p>"
    found = [listing.price for listing in read(page).listings]
    assert found == ([] if price is None else [Decimal(price)])


def test_an_empty_box_between_label_and_value_is_passed_over() -> None:
    part = "<div><div>Seller</div><div style='background-image:url(a.jpg)'></div><div>rosa</div></div><p>Price: $5.00</p>"
    assert stated(part).seller_name == "rosa"
    part = "<div><div>Seller</div><img src='a.jpg'><div>rosa</div></div><p>Price: $5.00</p>"
    assert stated(part).seller_name == "rosa"


def test_a_heading_that_is_a_label_names_what_follows_it() -> None:
    part = "<p>Price: $5.00</p><h2>Description</h2><div>Lens 48.</div><p>ID: 771234</p><h2>Seller</h2><a href='/users/rosa-b'><img src='a.jpg' class='avatar'><h4>rosa</h4></a><p>Here since 2015</p>"
    listing = stated(part)
    assert (listing.seller_name, listing.seller_id) == ("rosa", "rosa-b")
    assert (listing.description, listing.listing_id) == ("Lens 48.", "771234")


def test_the_number_of_a_lot_gives_way_to_the_listing_s_own() -> None:
    part = "<p>Lot 214</p><p>Price: $5.00</p><p>Seller: rosa</p>"
    assert stated(part + "<p>Object ID: 135204</p>").listing_id == "135204"
    assert (
        one(f"<h1>Frame</h1>{part}", url="https://a.example/sale-8/lot-135204").listing_id
        == "135204"
    )
    assert one(f"<h1>Frame</h1>{part}", url=None).listing_id == "214"


def test_an_offer_of_alike_variants_is_the_groups() -> None:
    variant = '{"@type":"Product","offers":{"@type":"Offer","price":"5","priceCurrency":"EUR","availability":"https://schema.org/InStock"}}'
    script = f'<script type="application/ld+json">{{"@type":"ProductGroup","name":"Frame Gantreux 48-22","hasVariant":[{variant}]}}</script>'
    listing = stated(script)
    assert (listing.price, listing.currency, listing.ended) == (Decimal(5), "EUR", False)


def test_an_end_still_ahead_says_not_ended() -> None:
    ahead = (date.today() + timedelta(days=9)).isoformat()
    assert stated(f"<p>Current bid: $5.00</p><p>Ends: {ahead}</p>").ended is False
    assert stated("<p>Current bid: $5.00</p><p>Ends: 2020-01-01</p>").ended is None


def test_an_arabic_page_is_read() -> None:
    rows = [
        ("السعر", "٢٨٠٫٥٠ درهم"),
        ("الشحن", "مجاني"),
        ("رقم الإعلان", "513284"),
        ("تاريخ النشر", "٣ نوفمبر ٢٠٢٦"),
        ("اللون", "عسلي"),
    ]
    table = "".join(f"<tr><th>{a}</th><td>{b}</td></tr>" for a, b in rows)
    listing = one(
        f"<html lang=ar dir=rtl><body><h1>إطار نظارة</h1><table>{table}</table></body></html>"
    )
    assert (listing.price, listing.currency, listing.shipping) == (
        Decimal("280.50"),
        "AED",
        Decimal(0),
    )
    assert (listing.listing_id, listing.date_listed) == ("513284", "2026-11-03")
    assert listing.specifics == (("اللون", "عسلي"),)


@pytest.mark.parametrize(
    ("text", "language", "iso"),
    [
        ("2026. november 3.", "hu", "2026-11-03"),
        ("3. listopadu 2026", "cs", "2026-11-03"),
        ("3 listopada 2026", "hr", "2026-10-03"),
        ("3. marraskuuta 2026 klo 18.30", "fi", "2026-11-03T18:30:00"),
        ("2026年11月28日 21時10分", "ja", "2026-11-28T21:10:00"),
        ("2026년 11월 3일", "ko", "2026-11-03"),
        ("3 XI 2026", "pl", "2026-11-03"),
        ("November the 3rd, 2026", "en", "2026-11-03"),
        ("3 Nov '26", "en", "2026-11-03"),
        ("den 3:e november 2026", "sv", "2026-11-03"),
        ("3 Νοεμβρίου 2026", "el", "2026-11-03"),
    ],
)
def test_dates_of_more_languages(text: str, language: str, iso: str) -> None:
    read_as = read_date(text, language)
    assert read_as is not None
    assert read_as.iso == iso


def test_a_logo_is_no_photo_where_nothing_is_a_gallery() -> None:
    files = {f"cid:{n}": picture(n) for n in (1, 2)} | {"cid:logo": picture(3, 140, 40)}
    images = "".join(f'<p><a href="cid:big{n}"><img src="cid:{n}"></a></p>' for n in (1, 2))
    page = f'<body><img src="cid:logo"><h1>Frame Gantreux</h1><p>Price: $5.00</p><p>Seller: rosa</p>{images}</body>'
    assert [p.member for p in one(page, files).photos] == ["part:1", "part:2"]


@pytest.mark.parametrize("address", ["https://a.example/api/771234", "https://a.example/graph"])
def test_a_shell_page_takes_the_reply_that_its_script_fetched(address: str) -> None:
    reply = b'{"data":{"item":{"id":771234,"title":"Frame Gantreux","price":{"amount":"12.00","currency":"GBP"},"seller":{"id":"U7","username":"rosa"},"description":"Lens 48"}}}'
    other = reply.replace(b"771234", b"99").replace(b"12.00", b"13.00")
    page, url = b"<html><body><div id=root></div></body></html>", "https://a.example/item/771234"
    table = {
        place: Asset("a.har", f"entry:{n}", place, lambda body=body: body, "application/json")
        for n, (place, body) in enumerate(
            [
                ("https://a.example/api/items/99", other),
                ("https://a.example/api/items/771234", reply),
            ]
        )
    }
    source = Source(Path("."), "a.har", "entry:9", content=page, url=url, table=table)
    (listing,) = read_page(page, MemberResources(source, table, url), source).listings
    assert (listing.title, listing.price, listing.seller_name) == (
        "Frame Gantreux",
        Decimal("12.00"),
        "rosa",
    )


def test_a_statement_of_accounts_is_no_listing() -> None:
    data = b"Date;Text;Amount;Balance\n03.11.2026;Rent;-800,00;1200,50\n04.11.2026;Refund;45,20;1155,30\n"
    source = Source(Path("/x"), "a.csv", content=data)
    with pytest.raises(Unreadable):
        sum(exports.read_csv(source), ReadResult())


def test_a_page_that_states_nothing_is_still_no_listing() -> None:
    assert not read(
        "<h1>Opening hours</h1><hr>Monday: 9-12<br>Tuesday: 9-12<hr>", url=HOME
    ).listings


SHAPES = [
    "<p>{L}: {V}</p>",
    "<p><strong>{L}</strong> {V}</p>",
    "<div><div>{L}</div><div><div><span>{V}</span></div></div></div>",
    "<table><tr><td><img src=i.gif></td><td>{L}</td><td>{V}</td></tr></table>",
    "<ul><li><em>{L}</em><br>{V}</li></ul>",
    "<section><header><h2>{L}</h2></header><div><div><p>{V}</p></div></div></section>",
    "<p>Two views · {L}: {V} · 12 km</p>",
    "<div><span>{L}</span><span>......</span><span>{V}</span></div>",
    "<div aria-label='{L}'>{V}</div>",
    "<span title='{L}'>{V}</span>",
    "<table><tr><td><b>{L}</b></td><td><b>Returns</b></td></tr><tr><td>{V}</td><td>none</td></tr></table>",
    "<details open><summary>{L}</summary><div>{V}</div></details>",
    "<x-row><x-label>{L}</x-label><x-value>{V}</x-value></x-row>",
]


@pytest.mark.parametrize("shape", SHAPES)
def test_a_label_and_its_value_are_seen_in_any_shape(shape: str) -> None:
    part = "<p class=price>$20.00</p><p>Item number: 99887766</p>"
    part += shape.format(L="Seller", V="rosa") + shape.format(L="Shipping", V="$4.50")
    listing = stated(part + shape.format(L="Listed", V="3 November 2026"))
    assert (listing.seller_name, listing.shipping) == ("rosa", Decimal("4.50"))
    assert listing.date_listed == "2026-11-03"


@pytest.mark.parametrize(
    ("part", "field", "value"),
    [
        ("<p>Listed by <b>rosa</b> on 3 November 2026</p>", "seller_name", "rosa"),
        ("<p>Listed by <b>rosa</b> on 3 November 2026</p>", "date_listed", "2026-11-03"),
        ("<div class='seller-card'><h3>rosa</h3><p>Here since 2015</p></div>", "seller_name", "rosa"),
        ("<div class='user-box'><div class='user-name'>rosa</div>Private</div>", "seller_name", "rosa"),
        ("<p>3 views, listed 3 November 2026</p>", "date_listed", "2026-11-03"),
        ("<time datetime='2026-11-03'>Posted 3 Nov</time>", "date_listed", "2026-11-03"),
        ("<div><strong>3 Nov 2026</strong><small>Listed</small></div>", "date_listed", "2026-11-03"),
        ("<p>Delivery: <s>$6.00</s> $4.50</p>", "shipping", Decimal("4.50")),
        ("<h3>Postage options</h3><table><tr><td>Tracked 48<td>$4.50<tr><td>Tracked 24<td>$6</table>", "shipping", Decimal("4.50")),
        ("<p>$20 incl. postage</p>", "price", Decimal(20)),
        ("<p>Was $30.00 now $20.00</p>", "price", Decimal("20.00")),
        ("<div class=price><sup>$</sup>20<sup>50</sup></div>", "price", Decimal("20.50")),
        ("<div>4 x $5.00</div><div>$20.00</div>", "price", Decimal("20.00")),
        ("<p>$20.00</p><p>ono</p>", "offers_accepted", True),
        ("<p>$20.00</p><p>o.b.o.</p>", "offers_accepted", True),
        ("<button>Add to basket</button>", "ended", False),
        ("<button disabled>Sold out</button>", "ended", True),
        ("<p><a href='/sold'>Sold</a></p>", "ended", None),
    ],
)  # fmt: skip
def test_facts_in_lines_and_parts_of_their_own(part: str, field: str, value: object) -> None:
    base = "" if field == "price" else "<p>Price: $20.00</p>"
    listing = stated(f"{base}<p>Item number: 99887766</p><p>Location: Leeds</p>{part}")
    assert getattr(listing, field) == value


TEXT = "<p>Ostelino 46-22, honey.</p><p>Light wear.</p>"


@pytest.mark.parametrize(
    "part",
    [
        "<ul><li><a href='#d'>Description</a><li><a href='#s'>Shipping</a></ul><div id=d>{T}</div><div id=s>Daily.</div>",
        "<button aria-controls=pd>Description</button><div id=pd role=tabpanel>{T}</div>",
        "<h3><button aria-expanded=true>Description</button></h3><div>{T}</div><h3><button>Returns</button></h3><div>14 days.</div>",
        "<h2>Description</h2><div>{T}</div><button>Read more</button><a href='#'>Show more</a>",
        "<h2>Description</h2><p><a href='#'>Translate</a></p>{T}<p><a href='/report'>Report this item</a></p>",
        "<h2>Description</h2>{T}<h3>Stay safe</h3><p>Never pay elsewhere.</p>",
        "<h2>Description</h2>{T}<p>Listed on 3 November 2026</p><p>ID: 99887766</p>",
        "<h2>Seller's notes</h2>{T}<h2>Comments</h2><p>none</p>",
    ],
)
def test_a_description_begins_and_ends_with_its_part(part: str) -> None:
    listing = stated("<p>Price: $20.00</p><p>Seller: rosa</p>" + part.format(T=TEXT))
    lines = [line for line in (listing.description or "").split("\n") if line]
    assert lines == ["Ostelino 46-22, honey.", "Light wear."]


FILES = {f"cid:{n}": picture(n) for n in range(1, 4)} | {"cid:map": picture(9)}
GALLERIES = [
    '<meta property="og:image" content="cid:1">' + "".join(f"<img src=cid:{n}>" for n in (1, 2, 3)),
    "".join(
        f'<img src="data:image/gif;base64,R0lGODlhAQABAAAA" data-src=cid:{n}>' for n in (1, 2, 3)
    ),
    "<div>" + "".join(f"<i style='background:url(cid:{n})'></i>" for n in (1, 2, 3)) + "</div>",
    "<div>" + "".join(f"<i style='--img:url(cid:{n})'></i>" for n in (1, 2, 3)) + "</div>",
    "".join(f"<input type=image src=cid:{n}>" for n in (1, 2, 3)),
    '<ul data-views=\'["cid:1/a.jpg","cid:2/a.jpg","cid:3/a.jpg"]\'></ul>',
]


@pytest.mark.parametrize("gallery", GALLERIES)
def test_photos_of_unnamed_galleries(gallery: str) -> None:
    files = FILES | {f"{name}/a.jpg": data for name, data in FILES.items()}
    page = f"<body><h1>Frame Gantreux</h1>{gallery}<p>Price: $5.00</p><p>Seller: rosa</p><h2>Location</h2><img src=cid:map></body>"
    shown = [files_by(photo.sha256) for photo in one(page, files).photos]
    assert shown == ["cid:1", "cid:2", "cid:3"]


def files_by(sha256: str) -> str:
    return next(n for n, data in FILES.items() if hashlib.sha256(data).hexdigest() == sha256)


@pytest.mark.parametrize(
    "page",
    [
        "<h1>Order 77123409</h1><table><tr><td>Price<td>$20.00<tr><td>Shipping<td>$4.50<tr><td>Seller<td>rosa</table>",
        "<h1>What is this frame worth?</h1><p>Posted by ben on 3 November 2026</p><img src=cid:1><p>Maybe £40.</p>",
        "<h1>Spectacle frame, 1950</h1><img src=cid:1><table><tr><th>Object number<td>1998.44<tr><th>Material<td>horn</table>",
        "<h1>Apple cake</h1><img src=cid:1><p>Posted by ina on 3 November 2026</p><ul><li>Flour: 200 g<li>Sugar: 90 g</ul>",
        "<h1>Optician wanted</h1><p>Posted: 3 November 2026</p><p>Location: Leeds</p><p>Salary: £30,000</p>",
        "<h1>The Frame Attic</h1><p>Opening hours: 9-5</p><p>Location: Leeds</p><img src=cid:1><p>Free shipping</p>",
        "<h1>Feedback of rosa</h1><img src=cid:1><table><tr><th>From<th>Item<th>Price<tr><td>ben (7)<td>Frame (#3001)<td>$9.00<tr><td>ina (9)<td>Case (#3002)<td>$4.00</table>",
        '<script type="application/ld+json">{"@type":"Product","name":"Frame","aggregateRating":{"ratingValue":4}}</script><h1>Customer reviews</h1><h2>Frame</h2><p>ben: paid £40</p>',
        '<script type="application/ld+json">{"@type":"Review","name":"A week with it","itemReviewed":{"@type":"Product","name":"Frame"}}</script><h1>A week with it</h1><p>It costs about £80.</p>',
    ],
)
def test_pages_that_offer_nothing_are_no_listings(page: str) -> None:
    assert not read(f"<html lang=en><body>{page}</body></html>", FILES, None).listings


@pytest.mark.parametrize(
    "card",
    [
        '<div class="seller"><img src="a.jpg" class="avatar"><a href="https://market.example/u/rosa44/">rosa44</a> <span>7 years active</span></div>',
        '<div><img src="a.jpg"><p>Seller</p><a href="https://market.example/profile/rosa44">rosa44</a></div>',
    ],
)
def test_a_card_of_the_seller_ends_the_description(card: str) -> None:
    text = "<p>Price: £60.00</p><h2>Description</h2><div>Lovely frame.<br>48 mm lenses.</div>"
    listing = stated(text + card + "<h2>Similar items</h2>")
    assert listing.description == "Lovely frame.\n48 mm lenses."
    assert "rosa44" in (listing.seller_id, listing.seller_name)


@pytest.mark.parametrize(
    ("part", "language"),
    [
        ("<p>Cette vente est terminée. Objet vendu.</p><p>Prix de vente : 60,00 EUR</p>", "fr"),
        ("<p>This auction has ended. Item sold.</p><p>Price: £60.00</p>", "en"),
        ("<p>Diese Auktion ist beendet. Artikel verkauft.</p><p>Preis: 60,00 €</p>", "de"),
    ],
)
def test_ended_and_sold_in_one_line_is_sold(part: str, language: str) -> None:
    more = "<h2>Description</h2><div>48 mm.<br>140 mm.</div><p>Seller: rosa</p>"
    listing = stated(part + more, language)
    assert (listing.ended, listing.price_kind) == (True, "sold")


@pytest.mark.parametrize(
    ("line", "language"),
    [("Anzeige online seit 03.11.2026", "de"), ("Annonce en ligne depuis le 03/11/2026", "fr")],
)
def test_since_when_it_is_online_is_when_it_was_listed(line: str, language: str) -> None:
    listing = stated(f"<p>Price: £60.00</p><p>Seller: rosa</p><p>{line}</p>", language)
    assert listing.date_listed == "2026-11-03"


@pytest.mark.parametrize(
    ("line", "language", "shipping"),
    [
        ("Price: €135, shipping €8", "en", 8),
        ("€135 shipping €8", "en", 8),
        ("€8 shipping, €135", "en", 8),
        ("€135 (postage €8)", "en", 8),
        ("135 € + 8 € Versand", "de", 8),
        ("Preis 135 € zzgl. Versand 8 €", "de", 8),
        ("135 €, livraison 8 €", "fr", 8),
        ("送料込み", "ja", 0),
        ("(税込) 送料込み", "ja", 0),
        ("無料", "ja", None),
    ],
)
def test_of_two_amounts_in_a_line_one_is_for_shipping(
    line: str, language: str, shipping: int | None
) -> None:
    amounts = [f.value.value for f in line_facts(line, language) if f.field == "shipping"]
    assert set(amounts) == ({Decimal(shipping)} if shipping is not None else set())


@pytest.mark.parametrize(
    ("language", "label"),
    [
        ("fr", "Prix de vente final"),
        ("fr", "Prix d'adjudication"),
        ("en", "Final sale price"),
        ("de", "Endgültiger Verkaufspreis"),
        ("it", "Prezzo di vendita finale"),
        ("es", "Precio de venta final"),
        ("nl", "Uiteindelijke verkoopprijs"),
        ("pt", "Preço de venda final"),
        ("pl", "Ostateczna cena sprzedaży"),
    ],
)
def test_the_last_price_of_an_ended_sale_is_a_sold_one(language: str, label: str) -> None:
    listing = stated(f"<table><tr><td>{label}</td><td>60,00 €</td></tr></table>", language)
    assert (listing.price, listing.price_kind) == (Decimal("60.00"), "sold")


SOLD_BY = "<p>Seller: rosa</p><p>Item number: 5550021</p>"
SPECS = "<div><b>Brand</b><span>Gantreux</span></div><div><b>Colour</b><span>green</span></div>"


@pytest.mark.parametrize(
    "part",
    [
        "<section><h2>Opis</h2><p>Zawiasy siedmioczęściowe, drobna rysa.</p></section><section><h2>Sprzedawca</h2><p><a href='/p/9'>rosa</a></p></section>",
        "<section><h2>Vendidos recientemente</h2><ul><li>Gafas Ostelino 50-22 – 12,00 €</li></ul></section><section><h2>Opiniones</h2><ul><li>todo bien</li></ul></section>",
        "<ul><li><b>hanka</b> still there</li><li><b>rosa</b> PM</li><li><b>otis</b> nice</li></ul>",
    ],
)
def test_parts_of_a_page_and_talk_below_are_no_specifics(part: str) -> None:
    listing = stated(f"<p>£60.00</p>{SOLD_BY}<dl>{SPECS}</dl>{part}")
    assert {name for name, _ in listing.specifics} <= {"Brand", "Colour"}


@pytest.mark.parametrize(
    ("language", "line", "shipping"),
    [
        ("fr", "<p>60,00 € <span>(Frais de port : 4,95 €)</span></p>", "4.95"),
        ("en", "<p>€60.00 <span>(Shipping: €4.95)</span></p>", "4.95"),
        ("de", "<div>60,00 € (zzgl. Versandkosten 4,95 €)</div>", "4.95"),
    ],
)
def test_a_price_with_shipping_in_brackets_is_a_bare_price(
    language: str, line: str, shipping: str
) -> None:
    listing = stated(line + SOLD_BY, language)
    assert (listing.price, listing.currency) == (Decimal("60.00"), "EUR")
    assert listing.shipping == Decimal(shipping)


@pytest.mark.parametrize(
    "price",
    [
        '{"priceAmount": "60.00", "currencyName": "EUR"}',
        '{"amount": 60, "currencyId": "EUR"}',
        '{"saleAmount": "60.00", "currencyKey": "EUR"}',
        '{"priceValue": 60.0, "currencySymbol": "€"}',
    ],
)
def test_an_amount_in_a_page_s_data_is_read_under_longer_names(price: str) -> None:
    data = f'{{"product": {{"id": 9001, "name": "Frame Gantreux 48-22", "description": "Good.", "price": {price}}}}}'
    listing = stated(f'<script type="application/json">{data}</script>')
    assert (listing.price, listing.currency) == (Decimal("60"), "EUR")


@pytest.mark.parametrize("mark", ["/", "//", "|", "·"])
def test_labels_and_values_in_one_line_about_a_mark(mark: str) -> None:
    listing = stated(
        f"<section>Price: £60.00 {mark} Shipping: £4.95</section>"
        f"<section>Listing ID: 5550021 {mark} Listed: 3 November 2026 {mark} Sold by: rosa</section>"
    )
    assert (listing.price, listing.shipping) == (Decimal("60.00"), Decimal("4.95"))
    assert (listing.listing_id, listing.seller_name) == ("5550021", "rosa")
    assert listing.date_listed == "2026-11-03"


def test_halves_about_a_stroke_stay_one_value() -> None:
    listing = stated(
        f"<p>£60.00</p>{SOLD_BY}<dl>{SPECS}<div><b>Fits</b><span>men / women / unisex</span></div></dl>"
    )
    assert ("Fits", "men / women / unisex") in listing.specifics


@pytest.mark.parametrize(
    "head",
    [
        '<meta property="og:site_name" content="Atelier Rosa"><meta property="og:title" content="Frame Gantreux 48-22 — Atelier Rosa">',
        '<script type="application/ld+json">{"@type": "Product", "name": "Frame Gantreux 48-22 - Stallrow", "offers": {"price": "60", "priceCurrency": "GBP"}}</script>',
        '<script type="application/ld+json">{"@type": "Product", "name": "Frame Gantreux 48-22 | Atelier Rosa"}</script>',
    ],
)
def test_a_title_does_without_the_site_s_name_as_the_heading_does(head: str) -> None:
    html = f"<html lang=en><head>{head}</head><body><h1>Frame Gantreux 48-22</h1><p>£60.00</p>{SOLD_BY}</body></html>"
    assert one(html).title == "Frame Gantreux 48-22"


def test_rows_and_days_in_a_page_s_data_are_read_under_longer_names() -> None:
    rows = '[{"key": "brand", "key_label": "Brand", "value": "1", "value_label": "Gantreux"}]'
    data = f'{{"ad": {{"adId": 9001, "subject": "Frame Gantreux 48-22", "body": "Good.", "price": 60, "firstPublicationDate": "2026-11-03T10:00:00Z", "attributes": {rows}}}}}'
    listing = stated(f'<script type="application/json">{data}</script>')
    assert listing.specifics == (("Brand", "Gantreux"),)
    assert (listing.date_listed or "")[:10] == "2026-11-03"


def test_a_seller_kept_apart_from_the_listings_is_found_by_id() -> None:
    data = '{"listings": {"9001": {"id": 9001, "title": "Frame Gantreux 48-22", "price": 60, "sellerId": 71}}, "users": {"70": {"id": 70, "username": "otis"}, "71": {"id": 71, "username": "rosa"}}}'
    listing = stated(f'<script type="application/json">{data}</script>')
    assert (listing.seller_id, listing.seller_name) == ("71", "rosa")
