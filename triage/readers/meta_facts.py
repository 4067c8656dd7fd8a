"""Facts in a page's head: Open Graph, product tags, canonical link, title, "saved from"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal

from triage.readers.addresses import canonical_url
from triage.readers.dates import read_date
from triage.readers.facts import Amount, Fact
from triage.readers.markup import HtmlElement
from triage.readers.prices import currency_code, read_price

Meta = tuple[tuple[str, str], ...]

# Open Graph protocol (ogp.me) and the product tags that go with it: name -> our field
_SIMPLE = {
    "og:title": ("title", "open graph"),
    "twitter:title": ("title", "meta"),
    "og:description": ("description", "open graph"),
    "description": ("description", "meta"),
    "og:url": ("url", "open graph"),
    "product:retailer_item_id": ("listing_id", "product tags"),
    "product:retailer_part_no": ("listing_id", "product tags"),
}
_AMOUNTS = ("product:sale_price", "product:price", "og:price")
_GONE = {
    "oos": "ended",
    "out of stock": "ended",
    "outofstock": "ended",
    "sold": "sold",
    "soldout": "sold",
    "sold out": "sold",
    "discontinued": "ended",
}
_OPEN = {"instock", "in stock", "available", "available for order", "preorder"}


def read_meta(root: HtmlElement) -> Meta:
    """The names and contents of a page's <meta> elements, in order, names in lower case."""
    rows = []
    for meta in root.iter("meta"):
        name = meta.get("property") or meta.get("name") or meta.get("itemprop")
        content = meta.get("content")
        if name and content and "itemprop" not in meta.attrib:
            rows.append((name.strip().lower(), content.strip()))
    return tuple(rows)


def meta_facts(root: HtmlElement, meta: Meta, language: str) -> list[Fact]:
    return list(_meta_facts(root, meta, language))


def _meta_facts(root: HtmlElement, meta: Meta, language: str) -> Iterator[Fact]:
    known: dict[str, str] = {}
    for name, content in meta:
        known.setdefault(name, content)
    for name, (field, origin) in _SIMPLE.items():
        if known.get(name):
            site = known.get("og:site_name") if field == "title" else None
            yield Fact(field, _unsigned(known[name], site) if site else known[name], origin, name)
    yield from _prices(known, language)
    status = known.get("product:availability") or known.get("og:availability") or ""
    status = status.casefold().rsplit("/", 1)[-1].strip()
    if status in _GONE or status in _OPEN:
        yield Fact("status", _GONE.get(status, "open"), "product tags", "product:availability")
    for name in _PUBLISHED:
        stated = read_date(known.get(name, ""), language)
        if stated:
            yield Fact("date_listed", stated.iso, "product tags", name)
    seller = known.get("product:retailer_title") or known.get("product:seller")
    if seller:
        yield Fact("seller_name", seller, "product tags", "product:retailer_title")
    for link in root.iter("link"):
        if "canonical" in link.get("rel", "").lower().split() and link.get("href"):
            yield Fact("url", link.get("href"), "canonical link")
    yield from _page_title(root, known)


_PUBLISHED = (
    *("article:published_time", "product:published_time", "og:published_time"),
    *("dc.date.issued", "dcterms.issued", "dcterms.created", "dc.date.created"),
    *("datepublished", "publication_date", "publish-date", "pubdate"),
)


def _unsigned(title: str, site: str) -> str:
    """A title without the site's name before or after a mark.

    >>> _unsigned("Round frame | Old Row", "Old Row"), _unsigned("Old Row", "Old Row")
    ('Round frame', 'Old Row')
    """
    name = re.escape(site.strip())
    bare = re.sub(rf"\s*[-–—|·•:]+\s*{name}\s*$|^\s*{name}\s*[-–—|·•:]+\s*", "", title, flags=re.I)
    return bare if name and bare.strip() else title


def _page_title(root: HtmlElement, known: dict[str, str]) -> Iterator[Fact]:
    title = root.find(".//head/title")
    if title is None:
        title = root.find(".//title")
    text = " ".join((title.text or "").split()) if title is not None else ""
    if text:
        yield Fact("title", without_site(text, known.get("og:site_name")), "page title")


def without_site(title: str, site: str | None = None) -> str:
    """Drop the site's name after (or before) the last bar or dash of a page title.

    >>> without_site("Round frame 48 - brown | Marketname"), without_site("Frame – 1950s")
    ('Round frame 48 - brown', 'Frame – 1950s')
    """
    parts = re.split(r"\s+[|·•›»]\s+", title)
    if len(parts) > 1:
        return max(parts[:1] + [p for p in parts if len(p) > 2 * len(parts[0])], key=len)
    if site:
        title = re.sub(rf"\s+[-–—]\s+{re.escape(site)}\s*$", "", title, flags=re.I)
    return title


def without_host(title: str, addresses: Iterable[str]) -> str:
    """Drop the part of a page title, first or last, that is the site's name by its address.

    >>> without_host("Round frame - brown - Old Shop", ["https://www.oldshop.example/i/1"])
    'Round frame - brown'
    """
    hosts = {re.sub(r"[^a-z0-9]", "", h) for a in addresses if (h := _host(a))}
    parts = re.split(r"(\s+[-–—:]\s+)", title)
    for place, rest in ((-1, parts[:-2]), (0, parts[2:])):
        name = re.sub(r"[^a-z0-9]", "", parts[place].casefold())
        if len(name) >= 4 and rest and any(h.startswith(name) or name.startswith(h) for h in hosts):
            return "".join(rest)
    return title


def _host(address: str) -> str:
    """The name in a host, without "www" and the like before it and the ending after it."""
    host = re.split(r"[/?#:]", address.partition("//")[2], maxsplit=1)[0].casefold()
    return re.sub(r"^(?:www\d?|m|mobile|forum|shop|store|old|en|de|fr|it|es)\.", "", host)


def _prices(known: dict[str, str], language: str) -> Iterator[Fact]:
    for stem in _AMOUNTS:
        text = known.get(f"{stem}:amount") or known.get(stem)
        money = read_price(text, language) if text else None
        if money is None:
            continue
        code = currency_code(known.get(f"{stem}:currency"), language) or money.currency
        yield Fact("price", Amount(money.amount, code), "product tags", f"{stem}:amount")
        break
    for number in ("1", "2"):
        label, data = (
            known.get(f"twitter:label{number}", ""),
            known.get(f"twitter:data{number}", ""),
        )
        money = (
            read_price(data, language)
            if re.search(r"(?i)price|preis|prix|prezzo|precio", label)
            else None
        )
        if money is not None:
            yield Fact("price", Amount(money.amount, money.currency), "open graph", "twitter:data")
    for name in ("product:shipping_cost:amount", "product:shipping_cost"):
        money = read_price(known[name], language) if name in known else None
        if money is not None:
            code = currency_code(known.get("product:shipping_cost:currency"), language)
            yield Fact("shipping", Amount(Decimal(money.amount), code), "product tags", name)


def meta_images(meta: Meta) -> list[str]:
    """The share images of a page, in order."""
    names = (
        "og:image",
        "og:image:url",
        "og:image:secure_url",
        "twitter:image",
        "twitter:image:src",
    )
    found = [content for name, content in meta if name in names]
    return list(dict.fromkeys(found))


_SAVED_FROM = re.compile(r"<!--\s*saved from url=\((\d{1,6})\)(\S+?)\s*-->", re.I)
_SINGLE_FILE = re.compile(
    r"<!--[^>]{0,200}?\burl:\s*(https?://\S+)\s+saved (?:date|on|at):\s*([^\n]+?)\s*(?:-->|\n)",
    re.I | re.S,
)


def saved_from(text: str) -> tuple[str | None, str | None]:
    """Address and date of saving from the comment that browsers and savers put first."""
    head = text[:6000]
    if (match := _SAVED_FROM.search(head)) is not None:
        address = match[2].replace("&amp;", "&")[: int(match[1]) or None]
        return (address if canonical_url(address) else None), None
    if (match := _SINGLE_FILE.search(head)) is not None:
        date = re.sub(r"\s*\(.*?\)\s*$", "", match[2])
        date = re.sub(r"GMT(?=[+-]\d)", "", date)
        stated = read_date(date, "en")
        return match[1], stated.iso if stated else None
    return None, None
