"""Page templates that the readers were written with."""

from __future__ import annotations

import json
import random

from tests.evaluation.intake.goods import Goods, day, money
from tests.evaluation.intake.made import (
    Made,
    base_gold,
    esc,
    icon,
    other_photo,
    others,
    price_of,
    thumbs,
)

L = {
    "en": {"price": "Price", "bid": "Current bid", "sold": "Sold for", "buy": "Buy it now", "ship": "Shipping", "free": "Free shipping", "seller": "Seller", "no": "Item number", "listed": "Listed on", "ends": "Ends", "desc": "Description", "spec": "Item specifics", "sim": "Similar items", "place": "Item location", "bids": "bids", "ended": "This listing has ended", "was": "Was", "pay": "Pay in 3 instalments of", "also": "You may also like", "left": "Time left", "cart": "Add to basket"},
    "de": {"price": "Preis", "bid": "Aktuelles Gebot", "sold": "Verkauft für", "buy": "Sofort-Kaufen", "ship": "Versand", "free": "Kostenloser Versand", "seller": "Verkäufer", "no": "Artikelnummer", "listed": "Eingestellt am", "ends": "Endet", "desc": "Beschreibung", "spec": "Artikelmerkmale", "sim": "Ähnliche Artikel", "place": "Artikelstandort", "bids": "Gebote", "ended": "Dieses Angebot wurde beendet", "was": "Bisher", "pay": "3 Raten zu je", "also": "Das könnte Ihnen auch gefallen", "left": "Restzeit", "cart": "In den Warenkorb"},
    "fr": {"price": "Prix", "bid": "Enchère actuelle", "sold": "Vendu pour", "buy": "Achat immédiat", "ship": "Livraison", "free": "Livraison gratuite", "seller": "Vendeur", "no": "Numéro de l'objet", "listed": "Mis en ligne le", "ends": "Se termine le", "desc": "Description", "spec": "Caractéristiques de l'objet", "sim": "Articles similaires", "place": "Lieu où se trouve l'objet", "bids": "enchères", "ended": "Cette annonce est terminée", "was": "Ancien prix", "pay": "3 mensualités de", "also": "Vous aimerez aussi", "left": "Temps restant", "cart": "Ajouter au panier"},
    "it": {"price": "Prezzo", "bid": "Offerta attuale", "sold": "Venduto per", "buy": "Compralo Subito", "ship": "Spedizione", "free": "Spedizione gratuita", "seller": "Venditore", "no": "Numero oggetto", "listed": "Inserito il", "ends": "Termina il", "desc": "Descrizione", "spec": "Specifiche dell'oggetto", "sim": "Oggetti simili", "place": "Luogo in cui si trova l'oggetto", "bids": "offerte", "ended": "Questa inserzione è terminata", "was": "Prezzo precedente", "pay": "3 rate da", "also": "Ti potrebbe interessare anche", "left": "Tempo rimasto", "cart": "Aggiungi al carrello"},
    "es": {"price": "Precio", "bid": "Puja actual", "sold": "Vendido por", "buy": "¡Cómpralo ya!", "ship": "Envío", "free": "Envío gratis", "seller": "Vendedor", "no": "Número de artículo", "listed": "Publicado el", "ends": "Finaliza el", "desc": "Descripción", "spec": "Características del artículo", "sim": "Artículos similares", "place": "Ubicación del artículo", "bids": "pujas", "ended": "Este anuncio ha finalizado", "was": "Antes", "pay": "3 cuotas de", "also": "También te puede gustar", "left": "Tiempo restante", "cart": "Añadir al carrito"},
}  # fmt: skip


def _price_label(goods: Goods) -> str:
    words = L[goods.language]
    return words[{"fixed": "price", "bid": "bid", "sold": "sold"}[goods.kind]]


def _ship(goods: Goods, style: int = 0) -> str:
    if goods.shipping == 0:
        return L[goods.language]["free"]
    return money(goods.shipping, goods.currency, goods.language, style)


def _cards(rng: random.Random, goods: Goods, assets: dict[str, bytes], make: str) -> str:
    cards = []
    for n, other in enumerate(others(rng, goods)):
        address = f"https://img.{goods.host}/sim/{other.listing_id}/{n}.jpg"
        assets[address] = other_photo(rng, goods)
        cards.append(
            make.format(
                url=esc(other.url),
                img=esc(address),
                title=esc(other.title),
                price=esc(price_of(other)),
            )
        )
    return "".join(cards)


def linked(rng: random.Random, goods: Goods) -> Made:
    """JSON-LD in a graph, description in a frame, thumbnails beside the large picture."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    large = [
        f"https://img.{goods.host}/g/{goods.listing_id}-{n}/s-l1600.jpg"
        for n in range(len(goods.photos))
    ]
    small = [u.replace("s-l1600", "s-l96") for u in large]
    assets |= dict(zip(large, goods.photos, strict=False)) | dict(
        zip(small, thumbs(goods), strict=False)
    )
    offer = {"@type": "Offer", "price": str(goods.price), "priceCurrency": goods.currency, "url": goods.url,
             "availability": "https://schema.org/" + ("SoldOut" if goods.kind == "sold" else "InStock"),
             "seller": {"@type": "Person", "name": goods.seller_name, "url": f"https://{goods.host}/usr/{goods.seller_id}"},
             "shippingDetails": {"@type": "OfferShippingDetails", "shippingRate": {"@type": "MonetaryAmount", "value": str(goods.shipping), "currency": goods.currency}}}  # fmt: skip
    product = {"@type": "Product", "name": goods.title, "sku": goods.listing_id, "image": large, "offers": offer,
               "isRelatedTo": [{"@type": "Product", "name": o.title, "offers": {"@type": "Offer", "price": str(o.price), "priceCurrency": o.currency}} for o in others(rng, goods, 2)]}  # fmt: skip
    graph = {
        "@context": "https://schema.org",
        "@graph": [{"@type": "BreadcrumbList", "itemListElement": []}, product],
    }
    frame = f"https://desc.{goods.host}/{goods.listing_id}.html"
    rows = "".join(f"<dt>{esc(k)}:</dt><dd>{esc(v)}</dd>" for k, v in goods.specifics)
    mark = f'<span class="bids">{goods.bids} {w["bids"]}</span>' if goods.kind == "bid" else ""
    ended = f"<p>{w['ended']}</p>" if goods.ended else ""
    page = f"""<!DOCTYPE html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} | Stallrow</title>
<link rel="canonical" href="{goods.url}"><script type="application/ld+json">{json.dumps(graph)}</script></head><body>
<nav><a href="/">Home</a><a href="/basket">Basket {money(goods.price + 7, goods.currency, goods.language)}</a></nav>
<div class="pic-panel gallery"><ul class="thumbs">{"".join(f'<li><button><img src="{u}" alt=""></button></li>' for u in small)}</ul>
<div class="carousel">{"".join(f'<div class="slide"><img src="{u}" alt="{esc(goods.title)}"></div>' for u in large)}</div></div>
<h1>{esc(goods.title)}</h1>{ended}<div class="price-box"><span class="lbl">{_price_label(goods)}:</span> <span class="x-price">{price_of(goods)}</span> {mark}</div>
{f'<div class="bin"><span>{w["buy"]}:</span> <span>{money(goods.buy_now, goods.currency, goods.language)}</span></div>' if goods.buy_now else ""}
<section class="about"><h2>{w["spec"]}</h2><dl>{rows}</dl></section>
<section><h2>{w["desc"]}</h2><iframe id="desc_ifr" title="{w["desc"]}" src="{frame}"></iframe></section>
<p>{w["listed"]} {day(goods.listed, goods.language, rng.randint(0, 1) if goods.language != "en" else 1)}</p>
<section class="x-sim"><h2>{w["sim"]}</h2><ul>{_cards(rng, goods, assets, '<li><a href="{url}"><img src="{img}"><span>{title}</span></a><b>{price}</b></li>')}</ul></section>
<footer>© Stallrow</footer></body></html>"""
    inner = (
        "<html><head><style>body{color:#222}</style></head><body><div>"
        + "<br>".join(esc(x) for x in goods.lines)
        + "</div></body></html>"
    )
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "buy_now",
        "shipping",
        "ended",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
        "date_listed",
    ]
    return Made(
        page,
        base_gold(goods, *shown),
        list(zip(large, small, strict=False)),
        assets,
        {frame: inner},
    )


def micro(rng: random.Random, goods: Goods) -> Made:
    """Microdata with itemref, an older price struck out, instalments, <picture> with srcset."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    pictures, shots = [], []
    for n, (photo, thumb) in enumerate(zip(goods.photos, thumbs(goods, 160), strict=False)):
        big, tiny = (
            f"https://cdn.{goods.host}/{goods.listing_id}/{n}_{k}.jpg" for k in ("large", "thumb")
        )
        assets |= {big: photo, tiny: thumb}
        shots.append((big, tiny))
        pictures.append(
            f'<a href="{big}"><picture><source srcset="{big} 1200w, {tiny} 160w"><img itemprop="image" src="{tiny}" alt="{n + 1}"></picture></a>'
        )
    old = money(goods.price + 30, goods.currency, goods.language)
    rows = "".join(f"<tr><th>{esc(k)}</th><td>{esc(v)}</td></tr>" for k, v in goods.specifics)
    kind = {
        "bid": f"<p>{goods.bids} {w['bids']}</p>",
        "sold": f"<p class='st'>{w['ended']}</p>",
        "fixed": f"<button>{w['cart']}</button>",
    }[goods.kind]
    stock = "SoldOut" if goods.kind == "sold" else "InStock"
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title><link rel="canonical" href="{goods.url}?utm_source=feed"></head>
<body itemscope itemtype="https://schema.org/Product" itemref="det"><header class="site-header"><img class="logo" src="https://{goods.host}/logo.png"></header>
<main><div class="photos">{"".join(pictures)}</div><h1 itemprop="name">{esc(goods.title)}</h1><meta itemprop="productID" content="{goods.listing_id}">
<div itemprop="offers" itemscope itemtype="https://schema.org/Offer"><del>{old}</del> <span itemprop="price" content="{goods.price}">{price_of(goods)}</span>
<meta itemprop="priceCurrency" content="{goods.currency}"><link itemprop="availability" href="https://schema.org/{stock}"><small>{w["pay"]} {money(goods.price / 3, goods.currency, goods.language)}</small>
<span itemprop="seller" itemscope itemtype="https://schema.org/Organization"><a itemprop="url" href="https://{goods.host}/shop/{goods.seller_id}"><span itemprop="name">{esc(goods.seller_name)}</span></a></span></div>
{kind}<p>{w["ship"]}: {_ship(goods)}</p></main>
<div id="det"><h3>{w["spec"]}</h3><table>{rows}</table><h3>{w["desc"]}</h3><div itemprop="description">{"".join(f"<p>{esc(x)}</p>" for x in goods.lines)}</div></div>
<aside><h3>{w["also"]}</h3>{_cards(rng, goods, assets, '<div class="tile" itemscope itemtype="https://schema.org/Product"><a itemprop="url" href="{url}"><img itemprop="image" src="{img}"></a><span itemprop="name">{title}</span><span>{price}</span></div>')}</aside></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "shipping",
        "ended",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
    ]
    gold = base_gold(goods, *shown) | {"ended": goods.kind == "sold"}
    return Made(page, gold, shots, assets)


def plain(rng: random.Random, goods: Goods) -> Made:
    """No structured data: rows of two boxes, list of specifics, lazy pictures with data-src."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    pictures, shots = [], []
    for n, photo in enumerate(goods.photos):
        address = f"https://pics.{goods.host}/{goods.listing_id}/p{n}.jpg"
        assets[address] = photo
        shots.append((address,))
        pictures.append(
            f'<div class="slide"><img class="lazy" data-src="{address}" src="{address}"></div>'
        )
    rows = [
        (_price_label(goods), price_of(goods, 1)),
        (w["no"], goods.listing_id),
        (w["place"], goods.place),
        (w["ship"], _ship(goods)),
        (w["listed"], day(goods.listed, goods.language, 0)),
    ]
    if goods.kind == "bid":
        rows.append((w["left"], "2 d 4 h"))
    if goods.buy_now:
        rows.append((w["buy"], money(goods.buy_now, goods.currency, goods.language, 1)))
    facts = "".join(
        f'<div class="row"><div class="k">{esc(k)}</div><div class="v">{esc(v)}</div></div>'
        for k, v in rows
    )
    specifics = "".join(f"<li><b>{esc(k)}:</b> {esc(v)}</li>" for k, v in goods.specifics)
    state = f'<div class="notice">{w["ended"]}</div>' if goods.ended else ""
    page = f"""<!-- saved from url=({len(goods.url):04}){goods.url} -->
<html lang="{goods.language}"><head><meta http-equiv="Content-Type" content="text/html; charset=utf-8"><title>{esc(goods.title)} - Quai</title></head><body>
<div id="topbar">Menu <span>{money(goods.price * 2, goods.currency, goods.language)}</span></div>
<div class="image-slider">{"".join(pictures)}</div><div class="head"><h1>{esc(goods.title)}</h1>{state}</div><div class="facts">{facts}</div>
<div class="seller-card"><img class="avatar" src="https://{goods.host}/a.png"><a href="/user/{goods.seller_id}">{esc(goods.seller_name)}</a> <span>(214)</span></div>
<h2>{w["spec"]}</h2><ul class="spec">{specifics}</ul><h2>{w["desc"]}</h2><div class="text"><p>{"<br>".join(esc(x) for x in goods.lines)}</p></div>
<div class="similar-items"><h2>{w["sim"]}</h2>{_cards(rng, goods, assets, '<div><a href="{url}"><img src="{img}"></a><p>{title}</p><p class="price">{price}</p></div>')}</div></body></html>"""
    assets[f"https://{goods.host}/a.png"] = icon(rng)
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "buy_now",
        "shipping",
        "ended",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
        "date_listed",
    ]
    return Made(page, base_gold(goods, *shown), shots, assets)


def tags(rng: random.Random, goods: Goods) -> Made:
    """Open Graph and product tags, gallery thumbnails with data-full."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://media.{goods.host}/full/{goods.listing_id}{n:02}.jpg"
        for n in range(len(goods.photos))
    ]
    small = [u.replace("/full/", "/tn/") for u in big]
    assets |= dict(zip(big, goods.photos, strict=False)) | dict(
        zip(small, thumbs(goods, 120), strict=False)
    )
    gallery = f'<img id="main" src="{big[0]}">' + "".join(
        f'<img class="thumb" src="{s}" data-full="{b}">' for s, b in zip(small, big, strict=False)
    )
    og = "".join(f'<meta property="og:image" content="{b}">' for b in big)
    rows = "".join(f"<tr><td>{esc(k)}</td><td>{esc(v)}</td></tr>" for k, v in goods.specifics)
    kind = {
        "bid": f"<p>{goods.bids} {w['bids']}</p>",
        "sold": f"<p>{w['sold']} {price_of(goods)}</p>",
        "fixed": "",
    }[goods.kind]
    page = f"""<html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} · Bancarella</title><meta property="og:type" content="product"><meta property="og:title" content="{esc(goods.title)}">
<meta property="og:url" content="{goods.url}">{og}<meta property="product:price:amount" content="{goods.price}"><meta property="product:price:currency" content="{goods.currency}">
<meta property="product:retailer_item_id" content="{goods.listing_id}"><meta property="og:description" content="{esc(goods.lines[0][:40])}..."></head><body>
<div class="viewer">{gallery}</div><h1>{esc(goods.title)}</h1>{kind}<div class="prod-price">{price_of(goods, 2)}</div>
<p>{w["seller"]}: <a href="https://{goods.host}/members/{goods.seller_id}">{esc(goods.seller_name)}</a> (99,1 %)</p>
<div class="tab" id="specifications"><table>{rows}</table></div><div class="tab" id="description"><h4>{w["desc"]}</h4>{"".join(f"<div>{esc(x)}</div>" for x in goods.lines)}</div>
<div><h4>{w["also"]}</h4><div class="grid">{_cards(rng, goods, assets, '<a href="{url}"><img src="{img}">{title} {price}</a>')}</div></div></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
    ]
    gold = base_gold(goods, *shown)
    gold["ended"] = True if goods.kind == "sold" else None
    return Made(page, gold, list(zip(big, small, strict=False)), assets)


def state(rng: random.Random, goods: Goods) -> Made:
    """A page drawn by a script: class names say nothing, the data stand in a script."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    big = [f"https://i.{goods.host}/{rng.getrandbits(60):x}.jpg" for _ in goods.photos]
    assets |= dict(zip(big, goods.photos, strict=False))
    data = {"config": {"title": "x", "price": 3}, "listing": {"id": goods.listing_id, "title": goods.title, "description": "\n".join(goods.lines),
            "price": {"amount": float(goods.price), "currency": goods.currency}, "type": {"bid": "AUCTION", "fixed": "FIXED", "sold": "FIXED"}[goods.kind], "status": "sold" if goods.kind == "sold" else "active",
            "seller": {"id": goods.seller_id, "displayName": goods.seller_name}, "images": [{"url": u} for u in big], "createdAt": goods.listed.isoformat() + "T09:12:00Z",
            "url": goods.url, "attributes": [{"label": k, "value": v} for k, v in goods.specifics]},
            "similar": [{"id": o.listing_id, "title": o.title, "price": {"amount": float(o.price)}} for o in others(rng, goods)]}  # fmt: skip
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title></head><body><div id="root"><div class="css-1x8"><div class="css-99">{"".join(f'<img class="css-3" src="{u}">' for u in big)}</div>
<div class="css-4"><h1 class="css-5">{esc(goods.title)}</h1><div class="css-6">{price_of(goods)}</div></div><div class="css-7">{"".join(f"<p>{esc(x)}</p>" for x in goods.lines)}</div>
<div class="css-8"><h2>{w["also"]}</h2>{_cards(rng, goods, assets, '<a class="css-c" href="{url}"><img src="{img}"><div>{title}</div><div>{price}</div></a>')}</div></div></div>
<script>window.__STATE__ = {json.dumps(data, ensure_ascii=False)};</script></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
    ]
    gold = base_gold(goods, *shown) | {
        "date_listed": goods.listed.isoformat(),
        "ended": goods.kind == "sold",
    }
    return Made(page, gold, [(u,) for u in big], assets)


def rdfa(rng: random.Random, goods: Goods) -> Made:
    """RDFa Lite."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://f.{goods.host}/{goods.listing_id}/bild-{n + 1}.jpg"
        for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    items = "".join(
        f'<div property="additionalProperty" typeof="PropertyValue"><span property="name">{esc(k)}</span>: <span property="value">{esc(v)}</span></div>'
        for k, v in goods.specifics
    )
    kind = {"bid": f"<p>{goods.bids} {w['bids']}</p>", "sold": f"<p>{w['ended']}</p>", "fixed": ""}[
        goods.kind
    ]
    stock = "SoldOut" if goods.kind == "sold" else "InStock"
    page = f"""<!DOCTYPE html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title></head><body vocab="https://schema.org/"><article typeof="Product" resource="#it">
<h1 property="name">{esc(goods.title)}</h1><link property="url" href="{goods.url}"><meta property="sku" content="{goods.listing_id}">{"".join(f'<img property="image" src="{u}" width="500">' for u in big)}
<div property="offers" typeof="Offer"><span property="price" content="{goods.price}">{price_of(goods)}</span><meta property="priceCurrency" content="{goods.currency}"><link property="availability" href="http://schema.org/{stock}"><time property="availabilityStarts" datetime="{goods.listed.isoformat()}"></time>
<div property="seller" typeof="Person"><span property="name">{esc(goods.seller_name)}</span><meta property="identifier" content="{goods.seller_id}"></div></div>{kind}
<div class="attributes">{items}</div><div property="description"><ul>{"".join(f"<li>{esc(x)}</li>" for x in goods.lines)}</ul></div></article>
<section class="related">{_cards(rng, goods, assets, '<div typeof="Product"><a property="url" href="{url}"><img property="image" src="{img}"></a><b property="name">{title}</b><i>{price}</i></div>')}</section></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
        "date_listed",
    ]
    gold = base_gold(goods, *shown) | {"ended": goods.kind == "sold"}
    return Made(page, gold, [(u,) for u in big], assets)


def tables(rng: random.Random, goods: Goods) -> Made:
    """Tables for layout, <font>, an encoding of one byte, no classes at all."""
    w = L[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/pix/{goods.listing_id}{chr(97 + n)}.jpg"
        for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    rows = [
        (_price_label(goods), price_of(goods, 0)),
        (w["ship"], _ship(goods)),
        (w["seller"], f'{goods.seller_name} (<a href="/members/{goods.seller_id}">214</a>)'),
        (w["no"], goods.listing_id),
        (w["listed"], day(goods.listed, goods.language, 0)),
    ]
    if goods.buy_now:
        rows.insert(1, (w["buy"], money(goods.buy_now, goods.currency, goods.language)))
    facts = "".join(
        f"<tr><td align=right><font size=2>{esc(k)}:</font></td><td><b>{v}</b></td></tr>"
        for k, v in rows
    )
    specifics = "".join(f"<tr><td>{esc(k)}</td><td>{esc(v)}</td></tr>" for k, v in goods.specifics)
    state = f"<p><font color=red>{w['ended']}</font></p>" if goods.ended else ""
    page = f"""<html lang={goods.language}><head><meta http-equiv=content-type content="text/html; charset=iso-8859-1"><title>{esc(goods.title)}</title></head><body bgcolor=#ffffff><center><table width=900><tr><td><img src="https://{goods.host}/spacer.gif" width=1 height=1></td></tr>
<tr><td valign=top>{"<br>".join(f'<img src="{u}" border=0>' for u in big)}</td><td valign=top><h1>{esc(goods.title)}</h1>{state}<table>{facts}</table></td></tr>
<tr><td colspan=2><h3>{w["spec"]}</h3><table border=1>{specifics}</table><h3>{w["desc"]}</h3><font face=arial>{"<br>".join(esc(x) for x in goods.lines)}</font></td></tr></table></center></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "buy_now",
        "shipping",
        "ended",
        "seller_id",
        "seller_name",
        "listing_id",
        "date_listed",
    ]
    gold = base_gold(goods, *shown)
    made = Made(page.replace("\u202f", "\u00a0"), gold, [(u,) for u in big], assets)
    made.encoding = "windows-1252"
    return made


TEMPLATES = (linked, micro, plain, tags, state, rdfa, tables)
