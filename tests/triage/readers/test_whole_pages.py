"""Whole pages as sites of several kinds build them, read in all their fields."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from tests.triage.readers.pages import one, picture

FILES = {"a.jpg": picture(1), "b.jpg": picture(2)}
PAGES: dict[str, tuple[str, str, dict[str, Any]]] = {
    "application in Spanish": (
        "https://k.example/item/montura-gantreux-404-1123581321",
        '<html lang="es"><head><title>Montura Gantreux 404 por 45 EUR en TRASTEO</title></head><body><div id="app"><div class="sc-c"><img src="a.jpg"><img src="b.jpg"></div>'
        '<div class="sc-u"><a href="/user/rosa-77120"><h3>Rosa L.</h3></a><span>4,9</span></div><span class="sc-p">45 €</span><h1 class="sc-t">Montura Gantreux 404</h1>'
        '<section class="sc-d">De una tienda antigua.<br>Lente 48 mm.</section><div><span>Publicado hace 3 días</span><span>120 visitas</span></div><div><span>Envío disponible desde 2,95 €</span></div><button>Comprar</button></div></body></html>',
        {"title": "Montura Gantreux 404", "price": Decimal(45), "shipping": Decimal("2.95"), "seller_name": "Rosa L.", "listing_id": "1123581321", "description": "De una tienda antigua.\nLente 48 mm."},
    ),
    "flea market in Japanese": (
        "https://k.example/item/m12345678901",
        '<html lang="ja"><head><title>Gantreux 404 メガネ | のみの市</title></head><body><main><div class="imgs"><img src="a.jpg"></div><h1>Gantreux 404 メガネ</h1><div><span>¥</span><span>12,800</span> <span>(税込)</span> <span>送料込み</span></div><button>購入手続きへ</button>'
        '<h2>商品の説明</h2><pre>古いお店の品です。\nレンズ48mm。</pre><p>3日前</p><h2>商品の情報</h2><div><div><span>ブランド</span><span>Gantreux</span></div><div><span>商品の状態</span><span>やや傷や汚れあり</span></div><div><span>配送料の負担</span><span>送料込み(出品者負担)</span></div></div>'
        '<h2>出品者</h2><a href="/user/profile/77120"><div>へだ</div><div>1,204</div><div>本人確認済</div></a></main></body></html>',
        {"price": Decimal(12800), "shipping": Decimal(0), "seller_name": "へだ", "seller_id": "77120", "listing_id": "m12345678901", "description": "古いお店の品です。\nレンズ48mm。", "specifics": (("ブランド", "Gantreux"), ("商品の状態", "やや傷や汚れあり"))},
    ),
    "shop without a heading over its text": (
        "https://k.example/products/gantreux-404-frame",
        '<html lang="en"><head><title>Gantreux 404 frame – Old Row Antiques</title></head><body><header><h1 class="header__logo"><a href="/"><img src="logo.png" alt="Old Row"></a></h1></header><div class="product-single"><div class="product-media"><img src="a.jpg"></div><h2 class="product-single__title">Gantreux 404 frame</h2>'
        '<dl class="price"><dt>Regular price</dt><dd><s>£60.00</s></dd><dt>Sale price</dt><dd><span>£45.00</span></dd></dl><p>Tax included.</p><button>Add to cart</button><div class="rte">From an old shop.<br>Lens 48 mm.</div><p>Vendor: <a href="/collections/vendors?q=Rosa">Rosa</a></p><p>SKU: OR-2201</p></div></body></html>',
        {"title": "Gantreux 404 frame", "price": Decimal(45), "listing_id": "OR-2201", "seller_name": "Rosa", "description": "From an old shop.\nLens 48 mm."},
    ),
    "notices in English": (
        "https://k.example/mlt/atq/d/portland-gantreux-404-frame/7712093456.html",
        '<html><head><title>Gantreux 404 frame - antiques - by owner - sale</title></head><body><section><h2 class="postingtitle"><span class="all"><span id="only">Gantreux 404 frame</span> - <span class="price">$45</span><small> (Portland)</small></span></h2><section><figure><div class="swipe"><img src="a.jpg"><img src="b.jpg"></div></figure>'
        '<p class="attrgroup"><span>condition: <b>good</b></span><br><span>make / manufacturer: <b>Gantreux</b></span></p><section id="postingbody">From an old shop.<br>Lens 48 mm.</section><p>post id: 7712093456</p><p>posted: <time datetime="2026-11-03T10:00:00-0800">2026-11-03 10:00</time></p></section></section></body></html>',
        {"title": "Gantreux 404 frame", "price": Decimal(45), "listing_id": "7712093456", "description": "From an old shop.\nLens 48 mm.", "specifics": (("condition", "good"), ("make / manufacturer", "Gantreux"))},
    ),
    "page of one's own in Spanish": (
        "https://k.example/anuncios/montura-gantreux-404/",
        '<html lang="es"><head><title>Montura Gantreux 404 | El Desván</title></head><body><article><h1>Montura Gantreux 404</h1><div class="ad-gallery"><img src="a.jpg"></div><div class="field-row"><span class="lbl">Precio:</span> <span>45€</span></div><div class="field-row"><span class="lbl">Gastos de envío:</span> <span>6€</span></div>'
        '<div class="field-row"><span class="lbl">Marca:</span> <span>Gantreux</span></div><div class="field-row"><span class="lbl">Calibre:</span> <span>48 mm</span></div><div class="entry-content">De una tienda antigua.<br>Lente 48 mm.</div>'
        '<footer><span>Publicado por <a href="/author/rosa/">rosa</a></span> <span>el 3 noviembre, 2026</span> <span>Ref: 2201</span></footer></article></body></html>',
        {"price": Decimal(45), "shipping": Decimal(6), "seller_name": "rosa", "seller_id": "rosa", "date_listed": "2026-11-03", "listing_id": "2201", "description": "De una tienda antigua.\nLente 48 mm.", "specifics": (("Marca", "Gantreux"), ("Calibre", "48 mm"))},
    ),
    "dealer in German": (
        "https://k.example/objekt/2201",
        '<html lang="de"><head><title>Gantreux 404 Brille – Antikhof</title></head><body><h1>Gantreux 404 Brille</h1><img src="a.jpg"><p>Preis: 45,- Euro</p><p>Versandkosten innerhalb Deutschlands: 5,50 Euro</p><p>Bestell-Nr.: AH-2201</p><h3>Objektbeschreibung</h3><p>Aus einem alten Laden.<br>Scheibe 48 mm.</p>'
        "<h3>Objektdaten</h3><table><tr><td>Hersteller:</td><td>Gantreux</td></tr><tr><td>Zeit:</td><td>um 1955</td></tr></table><h3>Anbieter</h3><address>Antikhof Lind<br>Hofgasse 3<br>04109 Leipzig</address></body></html>",
        {"price": Decimal(45), "currency": "EUR", "shipping": Decimal("5.50"), "seller_name": "Antikhof Lind", "description": "Aus einem alten Laden.\nScheibe 48 mm.", "specifics": (("Hersteller", "Gantreux"), ("Zeit", "um 1955"))},
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", PAGES)
def test_a_whole_page_is_read_rightly(kind: str) -> None:
    url, html, wanted = PAGES[kind]
    listing = one(html, FILES, url)
    assert {name: getattr(listing, name) for name in wanted} == wanted
