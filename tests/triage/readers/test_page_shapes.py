"""Descriptions, rows, states and pictures in the shapes that pages give them."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import hashlib
from decimal import Decimal

import pytest

from extractors.records import Listing
from tests.triage.readers.pages import one, picture

LINES = (
    "Bought at an estate sale in spring.",
    "Lens width 48 mm, bridge 21 mm, temples 140 mm.",
    "Seven-barrel hinges, both screws original.",
)
BR = "<br>".join(LINES)
P = "".join(f"<p>{line}</p>" for line in LINES)
NL = "\n".join(LINES)
SPANS = "".join(f'<span class="l">{line}</span>' for line in LINES)
PAGE = """<html lang="{language}"><head><title>Vennerby frame 48-21</title>{head}</head><body><main class="max-w-5xl mx-auto">
<h1>{title}</h1><div class="gal">{pictures}</div>{price}<p>Seller: <a href="/user/rosa">rosa</a></p><p>Item number: 5550021</p>
{body}<h2>Shipping</h2><p>Royal post, £5.00</p></main><footer><p>All rights reserved. Terms apply to all sales here.</p></footer></body></html>"""


def shaped(body: str, **parts: str) -> Listing:
    known = {
        "head": "",
        "language": "en",
        "title": "Vennerby frame 48-21",
        "pictures": '<img src="a.jpg">',
    }
    known["price"] = "<p>£60.00</p>"
    files = {f"{name}.jpg": picture(n) for n, name in enumerate("abc")}
    files |= {f"t_{name}.jpg": picture(n, 90, 68) for n, name in enumerate("abc")}
    return one(PAGE.format(body=body, **{**known, **parts}), files)


DESCRIPTIONS = {
    "shadow tree": f'<x-desc><template shadowrootmode="open"><h2>Description</h2><div>{BR}</div></template></x-desc>',
    "own elements": f"<x-section><x-heading>Description</x-heading><x-body>{BR}</x-body></x-section>",
    "own element's name": f"<listing-description>{P}</listing-description>",
    "row of a table": f"<table><tr><td>Condition</td><td>good</td></tr><tr><td>Description</td><td>{BR}</td></tr></table>",
    "list of terms": f"<dl><dt>Condition</dt><dd>good</dd><dt>Description</dt><dd>{BR}</dd></dl>",
    "bare under bold": f"<b>Description</b><br>{BR}<hr>",
    "font": f"<font size=4>Description</font><br><font>{BR}</font><hr>",
    "spans shown as blocks": f'<style>.l{{display:block}}</style><h2>Description</h2><div>{SPANS}</div>',
    "line ends by a class's name": f'<h2>Description</h2><div class="whitespace-pre-line">{NL}</div>',
    "line ends by a rule": f'<style>.t1{{color:#222;white-space:pre-wrap}}</style><h2>Description</h2><div class="t1">{NL}</div>',
    "line ends handed down": f'<h2>Description</h2><div style="white-space:pre-line"><span>{NL}</span></div>',
    "tabs in a row": f'<input type="radio" id="a"><label for="a">Description</label><input type="radio" id="b"><label for="b">Payment</label><section>{P}</section><section>By bank, within a week please.</section>',
    "tabs in a bar": f'<div><button>Payment</button><button>Description</button></div><div>By bank, within a week please.</div><div>{P}</div>',
    "between rules": f"<hr>{P}<hr>",
    "boxes without a name": "<div>" + "".join(f"<div><span>{line}</span></div>" for line in LINES) + "</div>",
    "rows of a table below": f"<h2>Description</h2><div>{BR}</div><table><tr><th>Brand</th><td>Vennerby</td></tr><tr><th>Colour</th><td>green</td></tr></table>",
    "rows of boxes below": f"<h2>Description</h2>{P}<div class='kv'><div><b>Brand</b> Vennerby</div><div><b>Colour</b> green</div></div>",
    "a bar of links and the year below": f"<h2>Description</h2>{P}<div class='b'><div><a href='/1'>Glasses</a> <a href='/2'>Watches</a> <a href='/3'>Sell</a> <a href='/4'>Help</a></div><small>Dusty Row 2026</small></div>",
    "rows, then a bar of links": f"<h2>Description</h2><div>{P}</div><table><tr><td><b>Brand</b></td><td>Vennerby</td></tr><tr><td><b>Colour</b></td><td>green</td></tr></table><div><a href='/1'>Glasses</a> <a href='/2'>Watches</a> <a href='/3'>Help</a> <small>Dusty Row 2026</small></div>",
    "a heading over nothing below": f"<h2>Description</h2>{P}<h3>You will also love these</h3>",
    "a heading of others still for sale": f"<h2>Description</h2><div>{P}</div><p>Similar items still on sale</p><p>Green frame, 30 mm</p>",
    "rows above, under a like heading": f"<h2>About this item</h2><table><tr><td>Brand</td><td>Vennerby</td></tr><tr><td>Colour</td><td>green</td></tr></table><h2>Seller’s description</h2>{P}",
}  # fmt: skip


@pytest.mark.parametrize("body", DESCRIPTIONS.values(), ids=DESCRIPTIONS.keys())
def test_a_description_in_any_shape(body: str) -> None:
    listing = shaped(body)
    assert [line for line in listing.description.split("\n") if line] == list(LINES)
    if "Brand" in body:
        assert listing.specifics == (("Brand", "Vennerby"), ("Colour", "green"))


@pytest.mark.parametrize(
    "price",
    [
        '<div class="text-3xl mt-1">£60.00</div>',
        '<div class="md:max-w-xs"><span>£60.00</span></div>',
        "<div><span>Buy now</span><span>£60.00</span></div><button>Buy now</button><div><span>Shipping</span><span>£5.00</span></div>",
        "<p>Price: £60.00 (p&amp;p £5.00)</p>",
    ],
)
def test_a_price_among_layout_and_buttons(price: str) -> None:
    listing = shaped(P, price=price)
    assert Decimal("60.00") in (listing.price, listing.buy_now)
    assert Decimal("5.00") not in (listing.price, listing.buy_now)


@pytest.mark.parametrize(
    ("line", "shipping"),
    [
        ("Free shipping", Decimal(0)),
        ("Free shipping over £300", None),
        ("Free delivery on orders from £50", None),
    ],
)
def test_free_from_an_amount_is_not_free(line: str, shipping: Decimal | None) -> None:
    page = PAGE.replace("<h2>Shipping</h2><p>Royal post, £5.00</p>", "")
    body = f'<div class="bar">{line}</div>{P}'
    listing = one(
        page.format(
            body=body, head="", language="en", title="Frame 48-21", pictures="", price="<p>£60</p>"
        )
    )
    assert listing.shipping == shipping


@pytest.mark.parametrize(
    ("title", "ended", "kind"),
    [
        ('<span class="badge">Sold • </span> Vennerby frame 48-21', True, "sold"),
        ("Gelöscht • Vennerby frame 48-21", True, "fixed"),
        ("[SOLD] Vennerby frame 48-21", True, "sold"),
        ("Vennerby frame 48-21 - SOLD", True, "sold"),
        ("Reserviert | Vennerby frame 48-21", None, "fixed"),
    ],
)
def test_a_state_is_no_part_of_the_title(title: str, ended: bool | None, kind: str) -> None:
    listing = shaped(P, title=title)
    assert (listing.title, listing.ended, listing.price_kind) == (
        "Vennerby frame 48-21", ended, kind,
    )  # fmt: skip


def test_questions_are_no_specifics() -> None:
    asked = "<h3>Questions</h3><dl><dt>Q: Is the bridge 18 mm?</dt><dd>A: No.</dd><dt>Does it come with a case?</dt><dd>Yes.</dd></dl>"
    rows = (
        "<h2>Item specifics</h2><dl><dt>Brand</dt><dd>Vennerby</dd><dt>Box?</dt><dd>yes</dd></dl>"
    )
    assert shaped(rows + asked).specifics == (("Brand", "Vennerby"), ("Box?", "yes"))


@pytest.mark.parametrize(
    "rows",
    [
        "<p><span>Verkäufer</span><br><a href='/m/18062'>El Desván</a></p><p><span>Marke</span><br><span>Vennerby</span></p><p><span>Farbe</span><br><span>grün</span></p><p><span>Stegweite</span><br><span>21 mm</span></p>",
        "<p><b>Verkäufer</b><br>El Desván</p><div><div>Marke</div><div>Vennerby</div></div><div><div>Farbe</div><div>grün</div></div><div><div>Stegweite</div><div>21 mm</div></div>",
    ],
)
def test_a_value_on_the_line_below_its_label(rows: str) -> None:
    page = PAGE.replace('<p>Seller: <a href="/user/rosa">rosa</a></p>', "")
    listing = one(
        page.format(
            body=f"<div>{rows}</div><h2>Beschreibung</h2>{P}",
            head="",
            language="en",
            title="Brille 48-21",
            pictures="",
            price="<p>60 €</p>",
        )
    )
    assert listing.seller_name == "El Desván"
    rest = ("Stegweite", "21 mm")
    assert listing.specifics == (("Marke", "Vennerby"), ("Farbe", "grün"), rest)


@pytest.mark.parametrize(
    ("pictures", "count"),
    [
        ('<img src="a.jpg"><a href="b_big.jpg"><img src="t_b.jpg" width="90"></a><a href="c_big.jpg"><img src="t_c.jpg" width="90"></a>', 3),
        ('<a href="attachment.php?a=1"><img src="a.jpg"></a><a href="attachment.php?a=2"><img src="b.jpg"></a>', 2),
        ('<a href="/other.php?id=1"><img src="a.jpg"></a><img src="b.jpg">', 1),
    ],
)  # fmt: skip
def test_pictures_that_lead_to_larger_ones(pictures: str, count: int) -> None:
    assert len(shaped(P, pictures=pictures).photos) == count


def test_a_dealer_s_number_in_a_script_s_address() -> None:
    page = PAGE.replace("/user/rosa", "/x/dealer.php?d=351300")
    listing = one(
        page.format(
            body=P, head="", language="en", title="Frame 48-21", pictures="", price="<p>£60</p>"
        )
    )
    assert (listing.seller_name, listing.seller_id) == ("rosa", "351300")


SPECIFICS = (
    ("Brand", "Vennerby"), ("Model", "Delphin"), ("Frame colour", "green"), ("Bridge", "21 mm"),
)  # fmt: skip


def rows(form: str, between: str = "") -> str:
    return between.join(form.format(k=k, v=v) for k, v in SPECIFICS)


ROWS = {
    "bold in one cell": f"<table>{rows('<tr><td><b>{k}</b> {v}</td></tr>')}</table>",
    "dash": f"<ul>{rows('<li>{k} – {v}</li>')}</ul>",
    "marks and line ends": f"<div>{rows('<span class=k>{k}</span> <span class=v>{v}</span><br>')}</div>",
    "small over value": f"<div>{rows('<div><small>{k}</small><br>{v}</div>')}</div>",
    "label over value": rows("<p>{k}<br><b>{v}</b></p>"),
    "commas": f"<p>{rows('{k}: {v}', ', ')}</p>",
    "small pictures": f"<ul>{rows('<li><img src=i.png width=16> <span>{k}</span> <b>{v}</b></li>')}</ul>",
    "chips": f"<div>{rows('<span class=chip>{k}: {v}</span>')}</div>",
    "own elements": f"<spec-list>{rows('<spec-row><spec-key>{k}</spec-key><spec-val>{v}</spec-val></spec-row>')}</spec-list>",
    "fields": rows('<div><label>{k}</label><input readonly value="{v}"></div>'),
    "two columns": "<div><ul>" + "".join(f"<li><span>{k}</span><span>{v}</span></li>" for k, v in SPECIFICS[:3]) + "</ul><ul>" + "".join(f"<li><span>{k}</span><span>{v}</span></li>" for k, v in (*SPECIFICS[3:], ("Era", "1950s"))) + "</ul></div>",
}  # fmt: skip


@pytest.mark.parametrize("body", ROWS.values(), ids=ROWS.keys())
def test_rows_of_specifics_in_any_shape(body: str) -> None:
    listing = shaped(f"<h2>Item specifics</h2>{body}<h2>Description</h2><div>{P}</div>")
    assert listing.specifics[: len(SPECIFICS)] == SPECIFICS


@pytest.mark.parametrize(
    ("price", "language", "amount", "kind"),
    [
        ("<div><span>240</span><sup>50</sup><span>€</span></div>", "de", "240.50", "fixed"),
        ("<div><span>£240</span><sup>50</sup></div>", "en", "240.50", "fixed"),
        ("<style>.o{text-decoration:line-through}</style><div><span class=o>£300</span> <span>£240.50</span></div>", "en", "240.50", "fixed"),
        ("<div><span class='line-through'>£300</span><span>£240.50</span></div>", "en", "240.50", "fixed"),
        ("<label>Price</label><input readonly value='£240.50'>", "en", "240.50", "fixed"),
        ("<button>Buy for £240.50</button>", "en", "240.50", "fixed"),
        ("<p>or 3 payments of £80.16</p><p>£240.50</p>", "en", "240.50", "fixed"),
        ("<p>Sold on 3 November 2026 for £240.50</p>", "en", "240.50", "sold"),
        ("<price-tag>£240.50</price-tag>", "en", "240.50", "fixed"),
    ],
)  # fmt: skip
def test_prices_in_parts_struck_and_on_buttons(
    price: str, language: str, amount: str, kind: str
) -> None:
    listing = shaped(f"<h2>Description</h2><div>{P}</div>", price=price, language=language)
    assert (listing.price, listing.price_kind) == (Decimal(amount), kind)


SITE_LINES = (
    "<p>212 views</p>", "<div><span>212 views</span> · <span>14 watchers</span></div>",
    "<p>Last updated 3 November 2026</p>", "<p>♥ 12</p>", "<p>Category: Eyewear</p>",
    "<ul><li><a href='/t/a'>#acetate</a></li><li><a href='/t/b'>#1950s</a></li></ul>",
    "<p>Translated by the site. <a href='#'>See original</a></p>", "<p>Report this listing</p>",
    "<p>Ref: 5550021</p>",
)  # fmt: skip


@pytest.mark.parametrize("line", SITE_LINES)
@pytest.mark.parametrize("frame", ["<div>{}</div>{}", "{}{}", "<div>{}{}</div>"])
def test_a_site_s_own_lines_below_are_no_description(frame: str, line: str) -> None:
    listing = shaped("<h2>Description</h2>" + frame.format(P, line))
    assert [text for text in listing.description.split("\n") if text] == list(LINES)


def test_a_bold_paragraph_begins_another_part() -> None:
    body = f"<h2>Description</h2>{P}<p><strong>Returns</strong></p><p>Within 14 days.</p>"
    assert "14 days" not in shaped(body).description


@pytest.mark.parametrize(
    ("part", "name", "number"),
    [
        ("<div><strong>rosa_b</strong> <span>4.9 ★</span><a href='/u/rosa_b'>View profile</a></div>", "rosa_b", "rosa_b"),
        ("<p>by <a href='/people/rosa-b'>Rosa B.</a></p>", "Rosa B.", "rosa-b"),
        ("<div data-testid='seller-name'>Rosa B.</div>", "Rosa B.", None),
        ("<p>Auction house: Marlow &amp; Sons</p>", "Marlow & Sons", None),
        ("<p>Posted by rosa_b, 3 November 2026</p>", "rosa_b", None),
    ],
)  # fmt: skip
def test_a_seller_beside_the_reader_s_own_page(part: str, name: str, number: str | None) -> None:
    head = "<header><a href='/user/me'>My page</a></header>"
    page = PAGE.replace('<p>Seller: <a href="/user/rosa">rosa</a></p>', part)
    page = page.replace("<main", head + "<main")
    values = {"head": "", "language": "en", "title": "Frame 48-21", "pictures": ""}
    listing = one(page.format(body=P, price="<p>£60</p>", **values))
    assert (listing.seller_name, listing.seller_id) == (name, number)


@pytest.mark.parametrize(
    ("line", "ended"),
    [
        ("Archived", True),
        ("This listing is no longer active", True),
        ("Unsold", True),
        ("3 available", False),
        ("Ends in 2d 4h", False),
    ],
)
def test_states_in_a_line(line: str, ended: bool) -> None:
    assert shaped(f"<p>{line}</p><h2>Description</h2><div>{P}</div>").ended is ended


REST = "<br>".join(LINES[1:])
FOLDS = {
    "rest in a span": f'<div>{LINES[0]}<span>…</span><span style="display:none"><br>{REST}</span> <button>Read more</button></div>',
    "rest by a class": f'<style>.h{{display:none}}</style><div>{LINES[0]}<span class="h"><br>{REST}</span> <a href="#">Show more</a></div>',
    "short, then whole": f'<div><div>{LINES[0][:20]}… <button>Read more</button></div><div style="display:none">{BR}</div></div>',
    "short beside whole": f'<div>{LINES[0]} Lens width 48…</div><div hidden>{BR}</div><button>Show more</button>'.replace(" Lens width 48…", "…"),
    "in details": f'<div><p>{LINES[0]}</p><details><summary>Read more</summary><p>{LINES[1]}</p><p>{LINES[2]}</p></details></div>',
}  # fmt: skip


@pytest.mark.parametrize("body", FOLDS.values(), ids=FOLDS.keys())
def test_what_a_button_unfolds_is_description(body: str) -> None:
    listing = shaped(f"<h2>Description</h2>{body}")
    assert [line for line in listing.description.split("\n") if line] == list(LINES)
    assert listing.hidden_text is None


def test_what_no_button_unfolds_stays_hidden() -> None:
    body = f'<div>{P}<p>48 mm <span style="display:none">gold</span></p><p>Read more</p></div>'
    listing = shaped(f"<h2>Description</h2>{body}")
    assert "gold" not in listing.description
    assert listing.hidden_text == "gold"


@pytest.mark.parametrize(
    ("pictures", "names"),
    [
        ('<img src="a.jpg"><div><img src="t_a.jpg"><img src="t_b.jpg"><img src="t_c.jpg"></div>', ("a", "t_b", "t_c")),
        ('<img src="a.jpg"><img src="b.jpg"><div><img src="face.jpg"><b>rosa</b></div>', ("a", "b")),
        ('<img src="w.gif" data-src="a.jpg"><img src="w.gif" data-src="b.jpg"><img src="w.gif" data-src="c.jpg">', ("a", "b", "c")),
        ('<img src="a.jpg"><dialog><img src="a.jpg"><img src="b.jpg"></dialog>', ("a", "b")),
        ('<img src="a.jpg"><div hidden><img src="b.jpg"><img src="c.jpg"></div>', ("a", "b", "c")),
    ],
)  # fmt: skip
def test_photos_without_a_named_gallery(pictures: str, names: tuple[str, ...]) -> None:
    files = {f"{name}.jpg": picture(n, 800, 600) for n, name in enumerate("abc")}
    files |= {f"t_{name}.jpg": picture(n, 100, 75) for n, name in enumerate("abc")}
    files |= {"face.jpg": picture(9, 150, 150), "w.gif": picture(8, 10, 10)}
    values = {"head": "", "language": "en", "title": "Frame 48-21", "price": "<p>£60</p>"}
    listing = one(PAGE.format(body=P, pictures=pictures, **values), files)
    wanted = [hashlib.sha256(files[name + ".jpg"]).hexdigest() for name in names]
    assert [p.sha256 for p in listing.photos] == wanted


@pytest.mark.parametrize(
    "handed",
    [
        '[{"big": "/p/a.jpg", "small": "/p/a_s.jpg"}, {"big": "/p/b.jpg", "small": "/p/b_s.jpg"}]',
        "[{big: '/p/a.jpg'}, {big: '/p/b.jpg'}]",
        '["/p/a.jpg", "/p/b.jpg"]',
    ],
)
def test_large_pictures_that_a_script_hands_to_a_gallery_are_photos(handed: str) -> None:
    files = {f"/p/{name}.jpg": picture(n) for n, name in enumerate("ab")}
    files |= {f"/p/{name}_s.jpg": picture(n, 80, 60) for n, name in enumerate("ab")}
    shown = "".join(f'<img src="/p/{name}_s.jpg" class="i">' for name in "ab")
    html = f"""<html lang="en"><body><h1>Vennerby frame 48-21</h1><div id="pg"><img src="/p/a.jpg"><div>{shown}</div></div>
<script>var g = new Gallery({{el: "#pg", pictures: {handed}}});</script><p>£60.00</p>
<p>Seller: rosa</p><p>Item number: 5550021</p></body></html>"""
    known = {f"https://stallrow.example{place}": body for place, body in files.items()}
    large = [hashlib.sha256(picture(n)).hexdigest() for n in (0, 1)]
    assert [
        p.sha256
        for p in one(
            html.replace('"/p/', '"https://stallrow.example/p/').replace(
                "'/p/", "'https://stallrow.example/p/"
            ),
            known,
        ).photos
    ] == large
