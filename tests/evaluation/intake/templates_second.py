"""More page templates that the readers were improved with."""

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

W = {
    "en": {"price": "Asking price", "bid": "High bid", "sold": "Final price", "buy": "Buy now", "ship": "Postage", "free": "Free UK postage", "by": "Sold by", "no": "Listing ID", "listed": "Added on", "closes": "Closes", "about": "About this item", "facts": "Specifications", "more": "More like this", "offer": "or best offer", "contact": "Contact seller", "place": "Ships from", "gone": "Sold", "over": "Bidding has ended", "est": "Estimate", "hist": "Bid history", "past": "Similar items sold for", "rrp": "RRP", "free2": "Free", "bids": "bids", "member": "Member ID"},
    "de": {"price": "Festpreis", "bid": "Höchstgebot", "sold": "Endpreis", "buy": "Sofortkauf", "ship": "Versandkosten", "free": "Versandkostenfrei", "by": "Anbieter", "no": "Anzeigen-ID", "listed": "Online seit", "closes": "Auktionsende", "about": "Artikelbeschreibung", "facts": "Eigenschaften", "more": "Weitere Artikel", "offer": "VB", "contact": "Nachricht schreiben", "place": "Standort", "gone": "Verkauft", "over": "Auktion beendet", "est": "Schätzpreis", "hist": "Gebotsübersicht", "past": "Ähnliche Stücke verkauft für", "rrp": "UVP", "free2": "Kostenlos", "bids": "Gebote", "member": "Benutzername"},
    "fr": {"price": "Prix de vente", "bid": "Meilleure enchère", "sold": "Adjugé", "buy": "Acheter maintenant", "ship": "Frais de port", "free": "Port offert", "by": "Vendu par", "no": "Référence de l'annonce", "listed": "Publié le", "closes": "Fin de la vente", "about": "Description du vendeur", "facts": "Caractéristiques", "more": "D'autres articles", "offer": "à débattre", "contact": "Contacter le vendeur", "place": "Localisation", "gone": "Vendu", "over": "Enchère terminée", "est": "Estimation", "hist": "Historique des enchères", "past": "Articles similaires vendus", "rrp": "Prix conseillé", "free2": "Gratuit", "bids": "enchères", "member": "Pseudo"},
    "it": {"price": "Prezzo richiesto", "bid": "Offerta più alta", "sold": "Prezzo finale", "buy": "Compra subito", "ship": "Spese di spedizione", "free": "Spedizione inclusa", "by": "Venduto da", "no": "Codice annuncio", "listed": "Pubblicato il", "closes": "Fine asta", "about": "Descrizione del venditore", "facts": "Caratteristiche", "more": "Altri articoli", "offer": "trattabile", "contact": "Contatta il venditore", "place": "Posizione", "gone": "Venduto", "over": "Asta terminata", "est": "Stima", "hist": "Storico offerte", "past": "Simili venduti a", "rrp": "Prezzo di listino", "free2": "Gratis", "bids": "offerte", "member": "Nome utente"},
    "es": {"price": "Precio fijo", "bid": "Puja más alta", "sold": "Precio final", "buy": "Compra inmediata", "ship": "Gastos de envío", "free": "Envío incluido", "by": "Ofrecido por", "no": "ID de anuncio", "listed": "En venta desde", "closes": "Fin de la subasta", "about": "Descripción del vendedor", "facts": "Características", "more": "Más artículos", "offer": "negociable", "contact": "Contactar con el vendedor", "place": "Ubicación", "gone": "Vendido", "over": "Subasta finalizada", "est": "Estimación", "hist": "Historial de pujas", "past": "Similares vendidos por", "rrp": "PVP", "free2": "Gratis", "bids": "pujas", "member": "Nombre de usuario"},
}  # fmt: skip


def _word(goods: Goods) -> str:
    return W[goods.language][{"fixed": "price", "bid": "bid", "sold": "sold"}[goods.kind]]


def _post(goods: Goods, style: int = 0) -> str:
    w = W[goods.language]
    return (
        w["free"]
        if goods.shipping == 0
        else money(goods.shipping, goods.currency, goods.language, style)
    )


def _rail(rng: random.Random, goods: Goods, assets: dict[str, bytes], form: str) -> str:
    out = []
    for other in others(rng, goods, 5):
        address = f"https://s.{goods.host}/p/{rng.getrandbits(40):x}.jpg"
        assets[address] = other_photo(rng, goods)
        out.append(
            form.format(
                u=esc(other.url), i=esc(address), t=esc(other.title), p=esc(price_of(other))
            )
        )
    return "".join(out)


def wild(rng: random.Random, goods: Goods) -> Made:
    """JSON-LD as found in the wild, image objects, srcset with lazy placeholders and <noscript>."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [f"https://cdn.{goods.host}/{rng.getrandbits(50):x}_1200x900.jpg" for _ in goods.photos]
    tiny = [u.replace("_1200x900", "_200x150") for u in big]
    assets |= dict(zip(big, goods.photos, strict=False)) | dict(
        zip(tiny, thumbs(goods, 200), strict=False)
    )
    images = ", ".join(f'{{"@type": "ImageObject", "contentUrl": "{u}"}}' for u in big)
    number = {"fixed": f'"{goods.price}"', "bid": f"{goods.price}", "sold": f"{goods.price}"}[
        goods.kind
    ]
    described = "\\n".join(json.dumps(esc(x))[1:-1] for x in goods.lines)
    stock = "https://schema.org/" + ("SoldOut" if goods.kind == "sold" else "InStock")
    kind = ', "name": "Auction"' if goods.kind == "bid" else ""
    ld = f"""// product
{{"@context": "http://schema.org/", "@type": ["Product", "IndividualProduct"], /* main */ "name": {json.dumps(esc(goods.title))},
"description": "{described}", "productID": "{goods.listing_id}", "image": [{images},],
"additionalProperty": [{", ".join(json.dumps({"@type": "PropertyValue", "name": k, "value": v}, ensure_ascii=False) for k, v in goods.specifics)},],
"offers": [{{"@type": "Offer"{kind}, "price": {number}, "priceCurrency": "{goods.currency}", "availability": "{stock}", "validFrom": "{goods.listed.isoformat()}",
"seller": {{"@type": "Organization", "name": {json.dumps(goods.seller_name)}, "identifier": "{goods.seller_id}"}},}},],}}"""
    pics = "".join(
        f'<figure><img class="lz" src="data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7" data-srcset="{t} 200w, {b} 1200w"><noscript><img src="{b}"></noscript></figure>'
        for t, b in zip(tiny, big, strict=False)
    )
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} – Kontor</title><link rel="canonical" href="{goods.url}"><script type="application/ld+json">{ld}</script></head>
<body><div id="app"><div class="m-pdp"><div class="m-pdp__media">{pics}</div><div class="m-pdp__info"><h1>{esc(goods.title)}</h1><div class="m-pdp__amount">{price_of(goods, 1)}</div></div></div>
<div class="m-strip" data-section="recommendations"><div class="m-strip__title">{w["more"]}</div>{_rail(rng, goods, assets, '<a href="{u}"><img src="{i}"><span>{t}</span><em>{p}</em></a>')}</div></div></body></html>"""
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
    return Made(
        page,
        base_gold(goods, *shown) | {"ended": goods.kind == "sold"},
        list(zip(big, tiny, strict=False)),
        assets,
    )


def classified(rng: random.Random, goods: Goods) -> Made:
    """A small ad: price heading with a note, attribute list, seller box; fixed prices only."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://img.{goods.host}/api/v1/ad/{rng.getrandbits(64):x}?rule=59" for _ in goods.photos
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    sold = goods.kind == "sold"
    page = f"""<!DOCTYPE html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} | Budenzeile</title><link rel="canonical" href="{goods.url}"></head><body id="ad-view">
<div class="site-bar"><form><input name="q"></form></div><article><div id="ad-image"><div class="galleryimage-large">{"".join(f'<div class="galleryimage-element" data-ix="{n}"><img src="{u}" data-imgsrc="{u}" alt="{esc(goods.title)}"></div>' for n, u in enumerate(big))}</div></div>
<h1 id="ad-title">{f'<span class="tag">{w["gone"]}</span> ' if False else ""}{esc(goods.title)}</h1>{f'<span class="pill">{w["gone"]}</span>' if sold else ""}<h2 id="ad-price">{price_of(goods)} {w["offer"]}</h2><span id="ad-ship">+ {w["ship"]} {money(goods.shipping or goods.price / 10, goods.currency, goods.language)}</span>
<div id="ad-extra"><span>{esc(goods.place)}</span><div><i class="ic"></i><span>{w["listed"]}: {day(goods.listed, goods.language, 1 if goods.language != "en" else 0)}</span></div></div>
<div id="ad-details"><ul class="addetails">{"".join(f'<li class="addetail">{esc(k)}<span class="addetail-value">{esc(v)}</span></li>' for k, v in goods.specifics)}</ul></div>
<h3>{w["about"]}</h3><p id="ad-text">{"<br>".join(esc(x) for x in goods.lines)}</p></article>
<aside id="contact"><span class="av">P</span><a href="/nutzer/{goods.seller_id}?tab=ads">{esc(goods.seller_name)}</a><small>{w["no"]}: {goods.listing_id}</small><button>{w["contact"]}</button></aside>
<section><h2>{w["more"]}</h2><ul>{_rail(rng, goods, assets, '<li><article><a href="{u}"><img src="{i}"></a><h2>{t}</h2><p>{p}</p></article></li>')}</ul></section></body></html>"""
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
        "date_listed",
    ]
    gold = base_gold(goods, *shown)
    gold |= {
        "price_kind": "sold" if sold else "fixed",
        "ended": sold,
        "shipping": (goods.shipping or goods.price / 10).quantize(goods.price),
    }
    return Made(page, gold, [(u,) for u in big], assets)


def auction(rng: random.Random, goods: Goods) -> Made:
    """An auction lot: estimate, bid history, comparisons; thumbnails linked to large pictures."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/lots/{goods.listing_id}/{n + 1}-full.jpg"
        for n in range(len(goods.photos))
    ]
    tiny = [u.replace("-full", "-sm") for u in big]
    assets |= dict(zip(big, goods.photos, strict=False)) | dict(
        zip(tiny, thumbs(goods, 140), strict=False)
    )
    label = w["sold"] if goods.kind == "sold" else w["bid"]
    m = lambda amount: money(amount, goods.currency, goods.language)  # noqa: E731
    history = "".join(
        f"<tr><td>b***{n}</td><td>{m(goods.price - n * 2)}</td></tr>" for n in range(3)
    )
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title><meta property="og:url" content="{goods.url}"><meta property="og:title" content="{esc(goods.title)}"></head><body>
<header role="banner"><a href="/"><img src="https://{goods.host}/brand.png" alt="logo"></a></header><main>
<div class="lotgallery"><a href="{big[0]}" class="stage"><img src="{big[0]}"></a><div class="strip">{"".join(f'<a href="{b}"><img src="{s}"></a>' for b, s in zip(big, tiny, strict=False))}</div></div>
<section class="lot"><h1>{esc(goods.title)}</h1><dl class="lot-facts"><dt>{w["est"]}</dt><dd>{m(goods.price + 100)} – {m(goods.price + 300)}</dd><dt>{label}</dt><dd><strong>{price_of(goods)}</strong></dd>
{f"<dt>{w['buy']}</dt><dd>{m(goods.buy_now)}</dd>" if goods.buy_now and goods.kind == "bid" else ""}<dt>{w["no"]}</dt><dd>{goods.listing_id}</dd><dt>{w["listed"]}</dt><dd><time datetime="{goods.listed.isoformat()}">{day(goods.listed, goods.language)}</time></dd><dt>{w["by"]}</dt><dd>{esc(goods.seller_name)}</dd><dt>{w["member"]}</dt><dd>{goods.seller_id}</dd><dt>{w["ship"]}</dt><dd>{w["free2"] if goods.shipping == 0 else m(goods.shipping)}</dd></dl>{f"<p>{w['over']}</p>" if goods.ended or goods.kind == "sold" else ""}</section>
<section class="lot-spec"><h2>{w["facts"]}</h2><dl>{"".join(f"<div><dt>{esc(k)}</dt><dd>{esc(v)}</dd></div>" for k, v in goods.specifics)}</dl></section>
<section class="lot-desc"><h2>{w["about"]}</h2><div>{"".join(f"<p>{esc(x)}</p>" for x in goods.lines)}</div></section>
<section><h2>{w["hist"]}</h2><table>{history}</table></section><section><h2>{w["past"]}</h2>{_rail(rng, goods, assets, '<figure><a href="{u}"><img src="{i}"></a><figcaption>{t} <b>{p}</b></figcaption></figure>')}</section></main></body></html>"""
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
    gold = base_gold(goods, *shown)
    if goods.kind == "fixed":
        gold["price_kind"] = "bid"
    return Made(page, gold, list(zip(big, tiny, strict=False)), assets)


def hydrated(rng: random.Random, goods: Goods) -> Made:
    """Data in a JSON script among other caches; pictures as backgrounds; names without sense."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [f"https://st.{goods.host}/o/{rng.getrandbits(70):x}.webp" for _ in goods.photos]
    assets |= dict(zip(big, goods.photos, strict=False))
    item = {"itemId": goods.listing_id, "heading": goods.title, "descriptionHtml": "<p>" + "<br>".join(esc(x) for x in goods.lines) + "</p>",
            "pricing": {"current": {"value": str(goods.price), "currencyCode": goods.currency}, "buyNow": {"value": str(goods.buy_now)} if goods.buy_now else None},
            "saleFormat": "auction" if goods.kind == "bid" else "fixed_price", "bidCount": goods.bids if goods.kind == "bid" else 0, "isSold": goods.kind == "sold",
            "vendor": {"username": goods.seller_id, "displayName": goods.seller_name}, "gallery": [{"src": u, "w": 640} for u in big], "canonicalUrl": goods.url,
            "publishedAt": f"{goods.listed.isoformat()}T08:00:00Z", "shipping": {"cost": {"value": str(goods.shipping)}},
            "aspects": [{"name": k, "values": [v]} for k, v in goods.specifics]}  # fmt: skip
    cache = {"props": {"pageProps": {"relatedListings": [{"itemId": o.listing_id, "heading": o.title, "pricing": {"current": {"value": str(o.price)}}} for o in others(rng, goods)], "pdp": {"entity": item}}}, "locale": goods.language}  # fmt: skip
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title></head><body><div id="__app"><div class="a1"><div class="photo-swiper">{"".join(f'''<div class="b2" style="background-image:url('{u}')"></div>''' for u in big)}</div>
<div class="c3"><h1 class="d4">{esc(goods.title)}</h1><span class="e5">{price_of(goods)}</span></div></div><div class="f6"><h3>{w["more"]}</h3>{_rail(rng, goods, assets, '<a class="g7" href="{u}"><img src="{i}"><span>{t}</span><span>{p}</span></a>')}</div></div>
<script id="__PAGE_DATA__" type="application/json">{json.dumps(cache)}</script></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "buy_now",
        "shipping",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
        "date_listed",
    ]
    gold = base_gold(goods, *shown) | {
        "ended": goods.kind == "sold",
        "date_listed": goods.listed.isoformat(),
    }
    if goods.kind != "bid":
        gold["buy_now"] = None
    return Made(page, gold, [(u,) for u in big], assets)


def shop(rng: random.Random, goods: Goods) -> Made:
    """Microdata all in <meta>, a table of four columns, tabs, a basket, related products."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/media/catalog/{goods.listing_id}_{n}.jpg"
        for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    cells = [f"<th>{esc(k)}</th><td>{esc(v)}</td>" for k, v in goods.specifics]
    rows = "".join(f"<tr>{''.join(cells[n : n + 2])}</tr>" for n in range(0, len(cells), 2))
    m = lambda amount: money(amount, goods.currency, goods.language)  # noqa: E731
    gone = goods.kind == "sold"
    related = "".join(
        f'<div itemprop="isRelatedTo" itemscope itemtype="http://schema.org/Product"><meta itemprop="name" content="{esc(o.title)}"><div itemprop="offers" itemscope itemtype="http://schema.org/Offer"><meta itemprop="price" content="{o.price}"></div></div>'
        for o in others(rng, goods, 3)
    )
    page = f"""<!DOCTYPE html><html lang="{goods.language}"><head><meta charset="UTF-8"><title>{esc(goods.title)}</title><base href="https://{goods.host}/"><link rel="canonical" href="/item/{goods.slug}/{goods.listing_id}"></head><body>
<div class="minicart"><span class="total">{m(goods.price * 3)}</span></div><div itemscope itemtype="http://schema.org/Product"><meta itemprop="name" content="{esc(goods.title)}"><meta itemprop="sku" content="{goods.listing_id}">
<div class="product-images">{"".join(f'<a href="{u}" data-lightbox="g"><img src="{u}" width="600"></a>' for u in big)}</div><h1>{esc(goods.title)}</h1>
<div itemprop="offers" itemscope itemtype="http://schema.org/Offer"><meta itemprop="price" content="{goods.price}"><meta itemprop="priceCurrency" content="{goods.currency}"><link itemprop="availability" href="http://schema.org/{"SoldOut" if gone else "InStock"}">
<p class="was">{w["rrp"]} {m(goods.price + 45)}</p><p class="now">{price_of(goods)}</p><p class="ship-line">{w["free"] if goods.shipping == 0 else f"{m(goods.shipping)} {w['ship']}"}</p></div>
<div role="tabpanel" id="tab-1"><div class="rte" itemprop="description"><table><tr><td>{"</td></tr><tr><td>".join(esc(x) for x in goods.lines)}</td></tr></table></div></div>
<div role="tabpanel" id="tab-2" class="product-specs"><table>{rows}</table></div>{related}</div><div class="vendor-box"><span>{w["by"]}</span> <a href="/store/{goods.seller_id}">{esc(goods.seller_name)}</a></div>
<div class="upsell-products"><h2>{w["more"]}</h2>{_rail(rng, goods, assets, '<div><a href="{u}"><img src="{i}"></a>{t}<span class="price">{p}</span></div>')}</div></body></html>"""
    shown = [
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "price_kind",
        "shipping",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
    ]
    gold = base_gold(goods, *shown) | {"price_kind": "sold" if gone else "fixed", "ended": gone}
    return Made(page, gold, [(u,) for u in big], assets)


def spare(rng: random.Random, goods: Goods) -> Made:
    """Plain semantic HTML: figure, dl, time; RDFa terms with a prefix, upper-case tags."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/foto/{goods.listing_id}-{n}.jpeg" for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    gone = goods.kind == "sold"
    page = f"""<HTML LANG="{goods.language}" prefix="schema: https://schema.org/"><HEAD><META CHARSET="utf-8"><TITLE>{esc(goods.title)}</TITLE><LINK REL="canonical" HREF="{goods.url}#top"></HEAD><BODY><MAIN typeof="schema:Product">
<H1 property="schema:name">{esc(goods.title)}</H1>{"".join(f'<FIGURE><IMG property="schema:image" SRC="{u}"></FIGURE>' for u in big)}<DIV property="schema:description">{"<BR>".join(esc(x) for x in goods.lines)}</DIV>
<DL>{"".join(f"<DT>{esc(k)}<DD>{esc(v)}" for k, v in goods.specifics)}</DL><DIV property="schema:offers" typeof="schema:Offer"><DATA property="schema:price" content="{goods.price}">{price_of(goods)}</DATA> <META property="schema:priceCurrency" content="{goods.currency}"><LINK property="schema:availability" HREF="https://schema.org/{"SoldOut" if gone else "InStock"}"></DIV>
<P>{w["by"]} <A HREF="/u/{goods.seller_id}">{esc(goods.seller_name)}</A>, {w["listed"]} <TIME DATETIME="{goods.listed.isoformat()}">{day(goods.listed, goods.language)}</TIME></P><P>{w["no"]} {goods.listing_id}</P></MAIN>
<ASIDE><H2>{w["more"]}</H2>{_rail(rng, goods, assets, '<P><A HREF="{u}"><IMG SRC="{i}">{t}</A> {p}</P>')}</ASIDE></BODY></HTML>"""
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
    gold = base_gold(goods, *shown) | {"price_kind": "sold" if gone else "fixed", "ended": gone}
    return Made(page, gold, [(u,) for u in big], assets)


def framed(rng: random.Random, goods: Goods) -> Made:
    """Description in a second file, boxes that take turns, an endless carousel, an avatar."""
    w = W[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://ph.{goods.host}/{goods.listing_id}/{n:03}/l.jpg" for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=False)) | {
        f"https://{goods.host}/me.png": icon(rng)
    }
    slides = [
        f'<div class="slick-slide{" slick-cloned" if k else ""}"><img src="{u}"></div>'
        for k, u in ((1, big[-1]), *((0, u) for u in big), (1, big[0]))
    ]
    frame = f"https://{goods.host}/d/{goods.listing_id}"
    boxes = "".join(
        f'<span class="n">{esc(k)}</span><span class="t">{esc(v)}</span>'
        for k, v in goods.specifics
    )
    label = _word(goods)
    lines = [
        f"{label}: {price_of(goods, 1)}",
        f"{w['ship']}: {_post(goods)}",
        f"{w['no']}: {goods.listing_id}",
        f"{w['listed']}: {day(goods.listed, goods.language)}",
    ]
    if goods.buy_now:
        lines.insert(1, f"{w['buy']}: {money(goods.buy_now, goods.currency, goods.language)}")
    page = f"""<!-- saved from url=({len(goods.url) + 17:04}){goods.url}?utm_medium=mail -->
<!DOCTYPE html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title></head><body><div class="wrap"><div class="slick-track carousel">{"".join(slides)}</div>
<div class="hd"><h1>{esc(goods.title)}</h1></div><div class="txt">{"<br>".join(lines)}</div>{f"<strong>{w['gone'] if goods.kind == 'sold' else w['over']}</strong>" if goods.ended else ""}<div class="who"><img src="https://{goods.host}/me.png" class="avatar"><div>{w["by"]}</div><div><a href="https://{goods.host}/profile/{goods.seller_id}">{esc(goods.seller_name)}</a></div></div>
<div class="props-grid" id="attributes">{boxes}</div><iframe src="{frame}" class="ifr" name="itemdescription"></iframe></div><div class="recently-viewed">{_rail(rng, goods, assets, '<div><a href="{u}"><img src="{i}"></a>{t} {p}</div>')}</div></body></html>"""
    inner = f"<html><head><meta charset='utf-8'><title>x</title></head><body><pre>{chr(10).join(esc(x) for x in goods.lines)}</pre></body></html>"
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
    return Made(page, base_gold(goods, *shown), [(u,) for u in big], assets, {frame: inner})


TEMPLATES = (wild, classified, auction, hydrated, shop, spare, framed)
