"""Page templates kept back: used for the figures only, never while writing the readers."""

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

U = {
    "en": {"now": "Price now", "bid": "Leading bid", "sold": "Winning bid", "buy": "Buy it now price", "ship": "Shipping cost", "s": "Seller name", "id": "Username", "n": "Ad number", "d": "Date posted", "text": "Description from the seller", "spec": "Features", "more": "More from this seller", "gone": "Sold", "cond": "Shipping & payment"},
    "de": {"now": "Preisvorstellung", "bid": "Derzeitiges Gebot", "sold": "Erzielter Preis", "buy": "Sofort-Kaufen-Preis", "ship": "Porto", "s": "Name des Verkäufers", "id": "Nutzername", "n": "Anzeigennummer", "d": "Einstelldatum", "text": "Produktbeschreibung", "spec": "Merkmale", "more": "Mehr von diesem Anbieter", "gone": "Verkauft", "cond": "Versand & Zahlung"},
    "fr": {"now": "Prix actuel", "bid": "Dernière enchère", "sold": "Prix final", "buy": "Prix d'achat immédiat", "ship": "Frais de livraison", "s": "Nom du vendeur", "id": "Nom d'utilisateur", "n": "Numéro d'annonce", "d": "Date de publication", "text": "Descriptif", "spec": "Caractéristiques", "more": "Les autres annonces du vendeur", "gone": "Vendu", "cond": "Livraison et paiement"},
    "it": {"now": "Prezzo attuale", "bid": "Ultima offerta", "sold": "Offerta vincente", "buy": "Prezzo compralo subito", "ship": "Costi di spedizione", "s": "Nome venditore", "id": "Nome utente", "n": "ID annuncio", "d": "Data di pubblicazione", "text": "Descrizione prodotto", "spec": "Dettagli dell'oggetto", "more": "Altri annunci del venditore", "gone": "Venduto", "cond": "Spedizione e pagamento"},
    "es": {"now": "Precio actual", "bid": "Última puja", "sold": "Puja ganadora", "buy": "Precio de compra inmediata", "ship": "Costes de envío", "s": "Nombre del vendedor", "id": "Usuario", "n": "Número de anuncio", "d": "Fecha de publicación", "text": "Descripción del producto", "spec": "Detalles del artículo", "more": "Otros anuncios del vendedor", "gone": "Vendido", "cond": "Envío y pago"},
}  # fmt: skip


def _row(rng: random.Random, goods: Goods, assets: dict[str, bytes], form: str) -> str:
    out = []
    for other in others(rng, goods, 4):
        address = f"https://a.{goods.host}/t/{rng.getrandbits(40):x}.jpg"
        assets[address] = other_photo(rng, goods)
        out.append(
            form.format(u=esc(other.url), i=address, t=esc(other.title), p=esc(price_of(other)))
        )
    return "".join(out)


def panels(rng: random.Random, goods: Goods) -> Made:
    """Panels of lists, labels and values in <span>s of one <li>; details elements; data-zoom."""
    u = U[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/z/{goods.listing_id}_{n}_zoom.jpg" for n in range(len(goods.photos))
    ]
    small = [b.replace("_zoom", "_view") for b in big]
    assets |= dict(zip(big, goods.photos, strict=True)) | dict(
        zip(small, thumbs(goods, 300), strict=True)
    )
    gone, bid = goods.kind == "sold", goods.kind == "bid"
    label = u["sold"] if gone else u["bid"] if bid else u["now"]
    rows = [
        (label, price_of(goods)),
        (u["ship"], money(goods.shipping or goods.price / 25, goods.currency, goods.language)),
        (u["n"], goods.listing_id),
        (u["d"], day(goods.listed, goods.language)),
    ]
    if bid and goods.buy_now:
        rows.append((u["buy"], money(goods.buy_now, goods.currency, goods.language)))
    own = [(u["s"], goods.seller_name), (u["id"], goods.seller_id)]
    item = lambda k, v: f'<li><span class="l">{esc(k)}</span> <span class="r">{esc(v)}</span></li>'  # noqa: E731
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)} » Kontor</title><link rel="canonical" href="{goods.url}"></head><body><div class="shell"><header><h1>{esc(goods.title)}</h1></header>
<div class="shots">{"".join(f'<div class="shot"><img src="{s}" data-zoom-image="{b}"></div>' for s, b in zip(small, big, strict=True))}</div><ul class="panel">{"".join(item(*r) for r in rows)}</ul><ul class="panel">{"".join(item(*r) for r in own)}</ul>
<details open><summary>{u["spec"]}</summary><ul>{"".join(item(*r) for r in goods.specifics)}</ul></details><details open><summary>{u["text"]}</summary><p>{"<br>".join(esc(x) for x in goods.lines)}</p></details>
<details><summary>{u["cond"]}</summary><p>DHL {money(goods.price / 3, goods.currency, goods.language)}</p></details><h2>{u["more"]}</h2><ul>{_row(rng, goods, assets, '<li><a href="{u}"><img src="{i}">{t}</a> {p}</li>')}</ul></div></body></html>"""
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
    gold = base_gold(goods, *shown) | {"ended": gone, "buy_now": goods.buy_now if bid else None}
    gold["shipping"] = (goods.shipping or goods.price / 25).quantize(goods.price)
    return Made(page, gold, list(zip(big, small, strict=True)), assets)


def product(rng: random.Random, goods: Goods) -> Made:
    """One JSON-LD product with nested seller and shipping; the visible page only a shell."""
    u = U[goods.language]
    assets: dict[str, bytes] = {}
    big = [f"https://images.{goods.host}/{rng.getrandbits(60):x}.jpg" for _ in goods.photos]
    assets |= dict(zip(big, goods.photos, strict=True))
    gone = goods.kind == "sold"
    ld = {"@context": "http://schema.org", "@type": "http://schema.org/Product", "name": goods.title.replace("'", "&#39;"), "productID": goods.listing_id, "url": f"{goods.url}?utm_source=ld", "image": [{"@type": "ImageObject", "url": b, "width": 640} for b in big],
          "description": "<p>" + "</p><p>".join(esc(x) for x in goods.lines) + "</p>", "additionalProperty": [{"@type": "PropertyValue", "name": k, "value": [v]} for k, v in goods.specifics],
          "offers": {"@type": "Offer", "price": f"{goods.price:.2f}", "priceCurrency": goods.currency.lower(), "availability": "http://schema.org/SoldOut" if gone else "http://schema.org/InStock", "availabilityStarts": f"{goods.listed.isoformat()}T08:00:00+02:00",
          "shippingDetails": [{"@type": "OfferShippingDetails", "shippingRate": {"@type": "MonetaryAmount", "value": float(goods.shipping), "currency": goods.currency}}], "offeredBy": {"@type": "Person", "name": goods.seller_name, "alternateName": goods.seller_id}}}  # fmt: skip
    page = f"""<!doctype html><html lang="{goods.language}"><head><meta charset="utf-8"><title>{esc(goods.title)}</title></head><body><script type="application/ld+json">
<![CDATA[ {json.dumps(ld, ensure_ascii=False)} ]]></script><div id="a"><div class="k1"><ul class="k2">{"".join(f'<li class="k3"><div><img src="{b}" loading="lazy" alt=""></div></li>' for b in big)}</ul><div class="k4"><h1>{esc(goods.title)}</h1><div>{price_of(goods)}</div><img src="https://{goods.host}/pay.png" alt="visa"></div></div>
<div class="k9"><h3>{u["more"]}</h3><div class="k10">{_row(rng, goods, assets, '<a href="{u}" class="k11"><div><img src="{i}"></div><div>{t}</div><div>{p}</div></a>')}</div></div></div></body></html>"""
    assets[f"https://{goods.host}/pay.png"] = icon(rng)
    shown = [
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
        "shipping",
    ]
    gold = base_gold(goods, *shown) | {"price_kind": "sold" if gone else "fixed", "ended": gone}
    return Made(page, gold, [(b,) for b in big], assets)


def letter(rng: random.Random, goods: Goods) -> Made:
    """Paragraphs with bold labels only, in an old encoding, photos one below the other."""
    u = U[goods.language]
    assets: dict[str, bytes] = {}
    big = [
        f"https://{goods.host}/~shop/pics/{goods.listing_id}{n}.JPG"
        for n in range(len(goods.photos))
    ]
    assets |= dict(zip(big, goods.photos, strict=True))
    gone = goods.kind == "sold"
    m = lambda a: money(a, goods.currency, goods.language)  # noqa: E731
    lines = [
        (u["now"], m(goods.price)),
        (u["ship"], m(goods.shipping or goods.price / 10)),
        (u["n"], goods.listing_id),
        (u["d"], day(goods.listed, goods.language)),
        (u["s"], goods.seller_name),
        (u["id"], goods.seller_id),
    ]
    page = f"""<!-- saved from url=({len(goods.url):04}){goods.url} -->
<html lang="{goods.language}"><head><meta http-equiv="content-type" content="text/html; charset=windows-1252"><title>{esc(goods.title)}</title></head><body><table width="100%"><tr><td><a href="/">Start</a></td></tr></table><h1>{esc(goods.title)}</h1>{f"<h3><font color='#cc0000'>{u['gone']}!</font></h3>" if gone else ""}
{"".join(f"<p><b>{esc(k)}:</b> {esc(v)}</p>" for k, v in lines)}<h3>{u["spec"]}</h3>{"".join(f"<p><b>{esc(k)}</b>: {esc(v)}</p>" for k, v in goods.specifics)}<h3>{u["text"]}</h3><p>{"<br>".join(esc(x) for x in goods.lines)}</p><hr>{"".join(f'<p align="center"><img src="{b}" border="1"></p>' for b in big)}<hr><p><small>© {goods.host}</small></p></body></html>"""
    shown = [
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
    ]
    gold = base_gold(goods, *shown) | {"price_kind": "sold" if gone else "fixed", "ended": gone}
    gold["shipping"] = (goods.shipping or goods.price / 10).quantize(goods.price)
    made = Made(page.replace("\u202f", "\u00a0"), gold, [(b,) for b in big], assets)
    made.encoding = "windows-1252"
    return made


TEMPLATES = (panels, product, letter)
