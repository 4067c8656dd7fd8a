"""Templates first kept back; what they showed was put right, so they count as seen now."""

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

V = {
    "en": {"price": "Item price", "bid": "Current bid", "sold": "Hammer price", "start": "Starting bid", "buy": "Buy outright", "ship": "Delivery", "by": "Listed by", "no": "Lot no.", "on": "Posted on", "about": "Description of the item", "spec": "Item details", "more": "Customers also viewed", "acc": "Seller username", "loc": "Located in", "gone": "This item has been sold.", "pay": "Payments", "cash": "Card, transfer", "ret": "Returns", "retv": "Not accepted", "also": "Related searches", "off": "Open to offers", "ship2": "delivery"},
    "de": {"price": "Artikelpreis", "bid": "Aktuelles Gebot", "sold": "Zuschlag", "start": "Startpreis", "buy": "Sofortkauf-Preis", "ship": "Versand", "by": "Angeboten von", "no": "Los-Nr.", "on": "Veröffentlicht am", "about": "Beschreibung des Artikels", "spec": "Produktdetails", "more": "Kunden sahen auch", "acc": "Verkäuferkonto", "loc": "Artikelort", "gone": "Dieser Artikel wurde verkauft.", "pay": "Zahlungsarten", "cash": "Überweisung", "ret": "Rücknahme", "retv": "Ausgeschlossen", "also": "Verwandte Suchen", "off": "Preis verhandelbar", "ship2": "Versand"},
    "fr": {"price": "Prix demandé", "bid": "Mise actuelle", "sold": "Prix adjugé", "start": "Mise à prix", "buy": "Achat direct", "ship": "Frais d'envoi", "by": "Proposé par", "no": "Lot n°", "on": "Annonce publiée le", "about": "Description de l'article", "spec": "Fiche technique", "more": "Vous aimerez peut-être", "acc": "Pseudo du vendeur", "loc": "Envoi depuis", "gone": "Cet objet a été vendu.", "pay": "Moyens de paiement", "cash": "Virement", "ret": "Retours", "retv": "Non acceptés", "also": "Recherches associées", "off": "Prix négociable", "ship2": "de frais de port"},
    "it": {"price": "Prezzo fisso", "bid": "Offerta corrente", "sold": "Aggiudicato a", "start": "Base d'asta", "buy": "Acquisto immediato", "ship": "Costo di spedizione", "by": "Proposto da", "no": "Lotto n.", "on": "Annuncio del", "about": "Descrizione dell'oggetto", "spec": "Scheda tecnica", "more": "Potrebbe piacerti anche", "acc": "Account venditore", "loc": "Spedito da", "gone": "Questo oggetto è stato venduto.", "pay": "Metodi di pagamento", "cash": "Bonifico", "ret": "Resi", "retv": "Non accettati", "also": "Ricerche correlate", "off": "Prezzo trattabile", "ship2": "di spedizione"},
    "es": {"price": "Precio de venta", "bid": "Puja en curso", "sold": "Precio de adjudicación", "start": "Precio de salida", "buy": "Compra directa", "ship": "Coste de envío", "by": "Anunciante", "no": "Lote", "on": "Anunciado el", "about": "Descripción del artículo", "spec": "Ficha técnica", "more": "Quizás te interese", "acc": "Cuenta del vendedor", "loc": "Enviado desde", "gone": "Este artículo se ha vendido.", "pay": "Formas de pago", "cash": "Transferencia", "ret": "Devoluciones", "retv": "No se aceptan", "also": "Búsquedas relacionadas", "off": "Precio negociable", "ship2": "de envío"},
}  # fmt: skip


def _strip(rng: random.Random, goods: Goods, assets: dict[str, bytes], form: str) -> str:
    out = []
    for other in others(rng, goods, 4):
        address = f"https://im.{goods.host}/{rng.getrandbits(40):x}/c.jpg"
        assets[address] = other_photo(rng, goods)
        out.append(
            form.format(
                u=esc(other.url),
                i=esc(address),
                t=esc(other.title),
                p=esc(price_of(other, 1)),
                s=esc(other.seller_name),
            )
        )
    return "".join(out)


def several(rng: random.Random, goods: Goods) -> Made:
    """Several products in several scripts, one script broken, the seller by reference."""
    v = V[goods.language]
    assets: dict[str, bytes] = {}
    big = [f"https://img.{goods.host}/r/{rng.getrandbits(44):x}/1024.jpg" for _ in goods.photos]
    small = [u.replace("/1024.jpg", "/128.jpg") for u in big]
    assets |= dict(zip(big, goods.photos, strict=False)) | dict(
        zip(small, thumbs(goods, 128), strict=False)
    )
    others_ld = [
        {
            "@context": "https://schema.org",
            "@type": "Product",
            "name": o.title,
            "description": "x " * 30,
            "image": "https://img.example/z.jpg",
            "url": o.url,
            "offers": {"@type": "Offer", "price": float(o.price), "priceCurrency": o.currency},
        }
        for o in others(rng, goods, 2)
    ]
    gone = goods.kind == "sold"
    main = {"@context": {"@vocab": "https://schema.org/"}, "@graph": [
        {"@type": "Organization", "@id": "#seller", "name": goods.seller_name, "url": f"https://{goods.host}/shop/{goods.seller_id}"},
        {"@type": "ItemPage", "mainEntity": {"@id": "#p"}},
        {"@type": "Product", "@id": "#p", "name": goods.title, "identifier": {"@type": "PropertyValue", "propertyID": "listing", "value": goods.listing_id}, "description": "\n".join(goods.lines),
         "brand": {"@type": "Brand", "name": goods.title.split()[0]}, "aggregateRating": {"@type": "AggregateRating", "ratingValue": "4.5", "reviewCount": "12"},
         "offers": {"@type": "Offer", "seller": {"@id": "#seller"}, "availability": "SoldOut" if gone else "InStock", "url": goods.url, "priceSpecification": [
             {"@type": "UnitPriceSpecification", "priceType": "https://schema.org/StrikethroughPrice", "price": float(goods.price + 80), "priceCurrency": goods.currency},
             {"@type": "UnitPriceSpecification", "price": float(goods.price), "priceCurrency": goods.currency}]},
         "additionalProperty": [{"@type": "PropertyValue", "name": k, "value": x} for k, x in goods.specifics]}]}  # fmt: skip
    scripts = [
        json.dumps(others_ld[0]),
        json.dumps(main),
        '{"@type": "Product", "name": "broken',
        json.dumps(others_ld[1]),
    ]
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} — Markt</title>{"".join(f'<script type="application/ld+json">{s}</script>' for s in scripts)}</head><body>
<div class="pg"><div class="pg__left"><div class="pics"><div class="pics__rail">{"".join(f'<a href="#p{n}"><img src="{s}" alt="{n}"></a>' for n, s in enumerate(small))}</div><div class="pics__full">{"".join(f'<img id="p{n}" src="{b}">' for n, b in enumerate(big))}</div></div></div>
<div class="pg__right"><h1><span>{esc(goods.title)}</span></h1><p><s>{money(goods.price + 80, goods.currency, goods.language)}</s> <strong>{price_of(goods)}</strong></p></div></div>
<section><h2>{v["more"]}</h2><div>{_strip(rng, goods, assets, '<div><a href="{u}"><img src="{i}"></a><h3>{t}</h3><div>{p}</div></div>')}</div></section></body></html>"""
    gold = base_gold(
        goods,
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
    )
    return Made(
        page,
        gold | {"price_kind": "sold" if gone else "fixed", "ended": gone},
        list(zip(big, small, strict=False)),
        assets,
    )


def headed(rng: random.Random, goods: Goods) -> Made:
    """Small headings over values, list items with data-src, a description with headings inside."""
    v = V[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/uploads/{goods.listing_id}/IMG_{1000 + n}.jpg"
        for n in range(len(goods.photos))
    ]
    small = [u.replace(".jpg", "-150x150.jpg") for u in big]
    assets |= dict(zip(big, goods.photos, strict=False)) | dict(
        zip(small, thumbs(goods, 150), strict=False)
    )
    gone = goods.kind == "sold"
    bid = goods.kind == "bid"
    label = v["sold"] if gone else v["bid"] if bid else v["price"]
    facts = [
        (label, price_of(goods)),
        (v["ship"], money(goods.shipping or goods.price / 20, goods.currency, goods.language)),
        (v["by"], goods.seller_name),
        (v["acc"], goods.seller_id),
        (v["no"], goods.listing_id),
        (v["on"], day(goods.listed, goods.language, 0)),
        (v["ret"], v["retv"]),
        (v["pay"], v["cash"]),
    ]
    if bid and goods.buy_now:
        facts.insert(1, (v["buy"], money(goods.buy_now, goods.currency, goods.language)))
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title><link rel="canonical" href="{goods.url}?ref=home&amp;utm_campaign=x"><style>.ghost{{position:absolute;left:-9999px}}</style></head><body>
<ul id="lightSlider">{"".join(f'<li data-thumb="{s}" data-src="{b}"><img src="{b}"></li>' for b, s in zip(big, small, strict=False))}</ul><div class="cap"><h1>{esc(goods.title)}</h1></div>
<div class="tiles">{"".join(f"<div class='tile'><h4>{esc(k)}</h4><p>{esc(x)}</p></div>" for k, x in facts)}</div><h3>{v["spec"]}</h3><div class="sp">{"".join(f"<p><strong>{esc(k)}</strong> {esc(x)}</p>" for k, x in goods.specifics)}</div>
<div id="itemDescription"><h3>{v["about"]}</h3><div><p>{esc(goods.lines[0])}</p><ul>{"".join(f"<li>{esc(x)}</li>" for x in goods.lines[1:])}</ul><span class="ghost">genuine original rare</span></div></div>
<h3>{v["more"]}</h3><div class="row">{_strip(rng, goods, assets, '<div class="col"><a href="{u}"><img src="{i}"><span>{t}</span></a><em>{p}</em></div>')}</div></body></html>"""
    gold = base_gold(
        goods,
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
    )
    gold |= {
        "shipping": (goods.shipping or goods.price / 20).quantize(goods.price),
        "ended": gone,
        "buy_now": goods.buy_now if bid else None,
    }
    return Made(page, gold, list(zip(big, small, strict=False)), assets)


def splitted(rng: random.Random, goods: Goods) -> Made:
    """The price in pieces, sections told by aria-label, pictures in <picture> with several sources."""
    v = V[goods.language]
    assets: dict[str, bytes] = {}
    big = [f"https://cdn.{goods.host}/{rng.getrandbits(48):x}@2x.jpg" for _ in goods.photos]
    small = [u.replace("@2x", "") for u in big]
    assets |= dict(zip(big, goods.photos, strict=False)) | dict(
        zip(small, thumbs(goods, 320), strict=False)
    )
    whole = price_of(goods)
    pieces = f'<span class="p-a">{esc(whole[:1])}</span><span class="p-b">{esc(whole[1:])}</span>'
    gone = goods.kind == "sold"
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title><meta property="og:url" content="{goods.url}"></head><body><main>
<section aria-label="Gallery">{"".join(f'<picture><source type="image/jpeg" srcset="{s} 1x, {b} 2x"><img src="{s}" alt=""></picture>' for b, s in zip(big, small, strict=False))}</section>
<section aria-label="Summary"><h1>{esc(goods.title)}</h1><p data-testid="price">{pieces}</p><p>{v["off"]}</p>{f"<p role='status'>{v['gone']}</p>" if gone else ""}<p>+ {money(goods.shipping or goods.price / 20, goods.currency, goods.language)} {v["ship2"]}</p></section>
<section aria-label="Seller"><img src="https://{goods.host}/u.png" class="avatar" width="32" height="32"><p>{v["by"]} <a href="/members/{goods.seller_id}"><b>{esc(goods.seller_name)}</b></a></p><p>{v["loc"]} {esc(goods.place)}</p></section>
<section aria-label="Details"><h2>{v["spec"]}</h2><ul>{"".join(f"<li><span>{esc(k)}</span><span>{esc(x)}</span></li>" for k, x in goods.specifics)}</ul></section>
<section aria-label="Text"><h2>{v["about"]}</h2>{"".join(f"<p>{esc(x)}</p>" for x in goods.lines)}<footer>{v["no"]} {goods.listing_id} · {v["on"]} {day(goods.listed, goods.language, 0)}</footer></section>
<section aria-label="More"><h2>{v["more"]}</h2>{_strip(rng, goods, assets, '<article><a href="{u}"><img src="{i}"><h3>{t}</h3></a><p>{p}</p></article>')}</section><p>{v["also"]}: <a href="/s">frames</a></p></main></body></html>"""
    gold = base_gold(
        goods,
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
        "date_listed",
    )
    gold |= {
        "price_kind": "sold" if gone else "fixed",
        "ended": gone,
        "shipping": (goods.shipping or goods.price / 20).quantize(goods.price),
    }
    assets[f"https://{goods.host}/u.png"] = icon(rng)
    return Made(page, gold, list(zip(big, small, strict=False)), assets)


def bidding(rng: random.Random, goods: Goods) -> Made:
    """Structured data give the start price, the page the bid; a table with a caption; a dialog."""
    v = V[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/img/lot/{goods.listing_id}-{n}.jpg" for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    start = goods.price - 5
    ld = {"@context": "https://schema.org", "@type": "Product", "name": goods.title, "image": big, "offers": {"@type": "Offer", "name": v["start"], "price": str(start), "priceCurrency": goods.currency, "availabilityEnds": goods.ends.isoformat()}}  # fmt: skip
    gone = goods.kind == "sold"
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title><link rel="canonical" href="{goods.url}"><script type="application/ld+json">{json.dumps(ld)}</script></head><body>
<div class="product-media-viewer"><div class="main"><img src="{big[0]}"></div><ol>{"".join(f'<li><img src="{b}"></li>' for b in big)}</ol></div><h1>{esc(goods.title)}</h1>
<table class="state"><tr><td>{v["sold"] if gone else v["bid"]}</td><td>{price_of(goods, 1)}</td></tr><tr><td>{v["start"]}</td><td>{money(start, goods.currency, goods.language)}</td></tr>{f"<tr><td>{v['buy']}</td><td>{money(goods.buy_now, goods.currency, goods.language)}</td></tr>" if goods.buy_now and not gone else ""}<tr><td>{v["no"]}</td><td>{goods.listing_id}</td></tr><tr><td>{v["by"]}</td><td><a href="https://{goods.host}/profile/{goods.seller_id}">{esc(goods.seller_name)}</a> (88)</td></tr></table>
<table class="t2"><caption>{v["spec"]}</caption>{"".join(f"<tr><th>{esc(k)}</th><td>{esc(x)}</td></tr>" for k, x in goods.specifics)}</table><h2>{v["about"]}</h2><blockquote>{"<br/>".join(esc(x) for x in goods.lines)}</blockquote>
<div role="dialog" class="overlay"><p>{v["bid"]}: {money(goods.price + 1, goods.currency, goods.language)}</p></div><aside class="x-more"><h2>{v["more"]}</h2>{_strip(rng, goods, assets, '<div><a href="{u}"><img src="{i}"></a>{t}<br>{p}</div>')}</aside></body></html>"""
    gold = base_gold(
        goods,
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
    )
    gold |= {
        "price_kind": "sold" if gone else "bid",
        "ended": gone,
        "buy_now": goods.buy_now if not gone else None,
    }
    return Made(page, gold, [(b,) for b in big], assets)


def posted(rng: random.Random, goods: Goods) -> Made:
    """A posting in running lines, photos in the middle of it, nothing marked at all."""
    v = V[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://files.{goods.host}/attachments/{rng.getrandbits(32)}.jpg" for _ in goods.photos
    ]
    assets |= dict(zip(big, goods.photos, strict=False))
    gone = goods.kind == "sold"
    page = f"""<!-- saved from url=({len(goods.url):04}){goods.url} -->
<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} | Forum</title></head><body><div id="wrapper"><div id="crumbs"><a href="/">Start</a> &gt; <a href="/f">Forum</a></div>
<h1>{esc(goods.title)}</h1><p class="meta">{v["by"]}: <a href="/member/{goods.seller_id}">{esc(goods.seller_name)}</a> | {v["on"]}: {day(goods.listed, goods.language, 0)} | {v["no"]}: {goods.listing_id}</p>
<p>{v["price"]}: <b>{price_of(goods, 2)}</b></p>{f"<p><b>{v['gone']}</b></p>" if gone else ""}<dl class="kv">{"".join(f"<dt>{esc(k)}</dt><dd>{esc(x)}</dd>" for k, x in goods.specifics)}</dl>
<div class="attachments">{"".join(f'<p><img src="{b}" width="640" alt="photo"></p>' for b in big)}</div><h3>{v["about"]}</h3><p>{"<br>".join(esc(x) for x in goods.lines)}</p>
<h3>{v["more"]}</h3><ul>{_strip(rng, goods, assets, '<li><a href="{u}"><img src="{i}" width="80"> {t}</a> {p} ({s})</li>')}</ul></div></body></html>"""
    gold = base_gold(
        goods,
        "title",
        "description",
        "specifics",
        "price",
        "currency",
        "seller_id",
        "seller_name",
        "listing_id",
        "url",
        "date_listed",
    )
    gold |= {"price_kind": "sold" if gone else "fixed", "ended": gone}
    return Made(page, gold, [(b,) for b in big], assets)


TEMPLATES = (several, headed, splitted, bidding, posted)
