"""Facts of a listing from its schema.org item (Product, Offer and what hangs on them).

Terms: schema.org vocabulary, version 29. Which of several items is the listing is decided by
`choose_product`: never one that is only related, similar, listed or an accessory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from triage.readers.addresses import canonical_url, seller_in
from triage.readers.dates import read_date
from triage.readers.facts import Amount, Fact
from triage.readers.items import Item, short_name
from triage.readers.labels import field_of_label
from triage.readers.prices import currency_code, read_price
from triage.readers.words import plain_text

PRODUCT = ("Product", "IndividualProduct", "SomeProducts", "ProductModel", "ProductGroup")
_OFFERS = ("Offer", "AggregateOffer", "OfferForPurchase", "Demand")
# properties that lead away from the thing itself
AWAY = frozenset(
    [
        "isRelatedTo",
        "isSimilarTo",
        "isAccessoryOrSparePartFor",
        "isConsumableFor",
        "isVariantOf",
        "itemListElement",
        "hasVariant",
        "review",
        "reviews",
        "hasPart",
        "relatedLink",
        "significantLink",
        "recommendation",
        "about",
        "mentions",
        "hasOfferCatalog",
        "makesOffer",
        "owns",
        "subjectOf",
        "similar",
        "related",
    ]
)
_PAGES = ("WebPage", "ItemPage", "CollectionPage", "SearchResultsPage")


def find_products(items: Iterable[Item]) -> tuple[list[Item], list[Item]]:
    """List the items that are for sale: those the page is about, and those it only lists."""
    own: list[Item] = []
    listed: list[Item] = []
    for top in items:
        for path, item in top.walk():
            if not _is_product(item):
                continue
            away = bool(set(path) & AWAY) or top.has_type("ItemList", "OfferCatalog")
            away = away or ("itemReviewed" in path and not item.properties.get("offers"))
            (listed if away else own).append(item)
    return _without_parts(own), listed


def _is_product(item: Item) -> bool:
    if item.has_type(*PRODUCT):
        return True
    if item.has_type(*_OFFERS):
        return bool(item.texts("name")) and not item.items("itemOffered")
    return bool(item.properties.get("offers")) and bool(item.texts("name"))


def _without_parts(products: list[Item]) -> list[Item]:
    """Drop offers that hang on a product also found, and the same node found twice."""
    inside = {
        id(below)
        for product in products
        for path, below in product.walk()
        if path and not set(path) & {"itemOffered"}
    }
    by_key: dict[object, Item] = {}
    for product in products:
        if id(product) not in inside:
            key = product.id or id(product)
            if key not in by_key or len(product.properties) > len(by_key[key].properties):
                by_key[key] = product
    return list(by_key.values())


def choose_product(products: Sequence[Item], title: str | None, url: str | None) -> Item | None:
    """Choose the item that the page is about: by address, by name, else the only or fullest one.

    None if there are several and nothing says which.
    """
    if not products:
        return None
    scored = sorted(products, key=lambda p: -_fit(p, title, url))
    if len(scored) == 1 or _fit(scored[0], title, url) >= 1.5:
        return scored[0]
    full = [p for p in scored if p.properties.get("offers") and p.properties.get("description")]
    offered = [p for p in scored if p.properties.get("offers")]
    return next((only[0] for only in (full, offered) if len(only) == 1), None)


def _fit(item: Item, title: str | None, url: str | None) -> float:
    addresses = {canonical_url(a) for a in (item.id or "", *item.texts("url", "mainEntityOfPage"))}
    addresses |= {canonical_url(a) for o in item.items("offers") for a in o.texts("url")}
    fit = 4.0 if url is not None and url in addresses else 0.0
    fit += 3.0 * name_fit(item.text("name"), title)
    fit += 0.5 * bool(item.texts("description")) + 0.4 * bool(item.properties.get("offers"))
    return fit + 0.01 * min(len(item.properties), 30)


def name_fit(name: str | None, title: str | None) -> float:
    """How well a name is the page's title, 0 to 1: share of common words of the shorter one."""
    mine, other = _words_of(name or ""), _words_of(title or "")
    if not mine or not other:
        return 0.0
    share = len(mine & other) / min(len(mine), len(other))
    return share if share >= 0.6 and len(mine & other) >= min(2, len(mine), len(other)) else 0.0


@lru_cache(maxsize=1024)
def _words_of(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"\w+", text.casefold()))


def product_facts(item: Item, language: str) -> list[Fact]:
    """Every fact that a product item states."""
    return list(_product_facts(item, language))


def _product_facts(item: Item, language: str) -> Iterator[Fact]:
    origin = item.origin
    offers = _offers(item)
    holders = [item, *offers, *item.items("mainEntityOfPage")]
    for name in ("name", "headline"):
        for text in item.texts(name)[:1]:
            yield Fact("title", " ".join(text.split()), origin, name)
    for text in item.texts("description")[:1]:
        yield Fact("description", plain_text(text), origin, "description")
    for holder in holders:
        yield from _identity(holder, item, origin)
        yield from _holder_dates(holder, language, origin)
    for offer in offers:
        yield from offer_facts(offer, item, language)
    for pair in specifics_of(item):
        yield Fact("specifics", pair, origin, "additionalProperty")
    for fallback in _plain_properties(item):
        yield Fact("plain specifics", fallback, origin, "product properties")
    for seller in [s for h in holders for s in h.all("seller", "offeredBy", "vendor", "merchant")]:
        yield from seller_facts(seller, origin)


def _offers(item: Item) -> list[Item]:
    """The offers of a product, those inside an aggregate included, and of an offer itself."""
    first = [item] if item.has_type(*_OFFERS) or item.properties.get("price") else []
    found = first + list(item.items("offers")) or _variant_offers(item)
    return found + [o for f in found for o in f.items("offers") if f is not item]


def _variant_offers(item: Item) -> list[Item]:
    """The offer of a group's variants, where they are all for the same price."""
    offers = [o for v in item.items("hasVariant") for o in v.items("offers")]
    prices = {(o.texts("price"), tuple(p.texts("price") for p in o.items("priceSpecification")))
              for o in offers}  # fmt: skip
    return offers[:1] if len(prices) == 1 else []


def _identity(holder: Item, item: Item, origin: str) -> Iterator[Fact]:
    for name in ("productID", "identifier", "sku", "serialNumber"):
        for value in holder.all(name):
            text = value.text("value", "name") if isinstance(value, Item) else value
            if isinstance(value, Item) and re.search(
                r"(?i)gtin|mpn|ean|isbn|upc", value.text("propertyID", "name") or ""
            ):
                continue
            if text and len(text) <= 80:
                bare = re.sub(r"^(?:sku|item|id|mpn|listing|ref)[:#]\s*", "", text, flags=re.I)
                yield Fact("listing_id", bare, origin, name)
    for name in ("url", "mainEntityOfPage"):
        for text in holder.texts(name):
            if canonical_url(text) or text.startswith("/"):
                yield Fact("url", text, origin, name)
    if holder is item and item.id and canonical_url(item.id):
        yield Fact("url", item.id, origin, "@id")


_LISTED = (
    "datePosted",
    "datePublished",
    "dateCreated",
    "uploadDate",
    "availabilityStarts",
    "validFrom",
    "releaseDate",
)
_ENDS = ("availabilityEnds", "validThrough", "endDate", "auctionEnd", "expires", "priceValidUntil")


def _holder_dates(holder: Item, language: str, origin: str) -> Iterator[Fact]:
    for field, names in (("date_listed", _LISTED), ("ends_at", _ENDS)):
        for name in names:
            for text in holder.texts(name):
                stated = read_date(text, language)
                if stated is not None:
                    note = f"{name} ({stated.doubt})" if stated.doubt else name
                    yield Fact(field, stated.iso, origin, note)


# --- offers ----------------------------------------------------------------------------------

_NOT_THE_PRICE = ("StrikethroughPrice", "ListPrice", "MSRP", "SRP", "RRP", "MinimumAdvertisedPrice")
_GONE = {"SoldOut": "sold", "OutOfStock": "ended", "Discontinued": "ended"}


def offer_facts(offer: Item, item: Item, language: str) -> Iterator[Fact]:
    """Price, shipping, status, stock and terms of one offer."""
    origin = item.origin
    kind = _offer_kind(offer)
    for amount, note in _amounts(offer, language):
        yield Fact(kind, amount, origin, f"offers.{note}")
    yield from _shipping(offer, language, origin)
    for text in offer.texts("availability", "offerStatus", "eventStatus"):
        status = _GONE.get(short_name(text))
        if status:
            yield Fact("status", status, origin, "availability")
        elif short_name(text) in (
            "InStock",
            "LimitedAvailability",
            "OnlineOnly",
            "InStoreOnly",
            "PreOrder",
        ):
            yield Fact("status", "open", origin, "availability")
    for level in (*offer.all("inventoryLevel"), *offer.all("quantity")):
        text = level.label if isinstance(level, Item) else level
        if re.fullmatch(r"\d{1,6}(?:\.0+)?", text.strip()):
            yield Fact("quantity", int(float(text)), origin, "inventoryLevel")
    for policy in offer.all("hasMerchantReturnPolicy"):
        terms = _returns(policy)
        if terms:
            yield Fact("returns", terms, origin, "hasMerchantReturnPolicy")
    for place in offer.all("availableAtOrFrom", "areaServed", "itemLocation")[:1]:
        where = _place(place)
        if where:
            yield Fact("location", where, origin, "availableAtOrFrom")


def _offer_kind(offer: Item) -> str:
    """Tell a bid from a fixed price by the offer's own name or type."""
    named = " ".join(offer.texts("name", "priceType", "additionalType", "category", "description"))
    words = re.split(r"[/:|]", named)
    for word in (named, *words):
        field = field_of_label(re.sub(r"(?<=[a-z])(?=[A-Z])", " ", short_name(word)))
        if field in ("bid", "start_bid", "buy_now", "sold"):
            return "bid" if field == "start_bid" else field
    if re.search(r"(?i)\b(auction|bid|auktion|gebot|ench[eè]res?|asta|subasta)", named):
        return "bid"
    return "price"


def _amounts(offer: Item, language: str) -> Iterator[tuple[Amount, str]]:
    for name in ("price", "lowPrice"):
        for text in offer.texts(name):
            amount = _amount(text, offer, language)
            if amount is not None:
                yield amount, name
                break
        else:
            continue
        return
    for specification in offer.items("priceSpecification"):
        if specification.has_type("DeliveryChargeSpecification", "PaymentChargeSpecification"):
            continue
        if any(short_name(t) in _NOT_THE_PRICE for t in specification.texts("priceType")):
            continue
        for text in specification.texts("price", "minPrice"):
            amount = _amount(text, specification, language, offer)
            if amount is not None:
                yield amount, "priceSpecification"
                return


def _amount(text: str, *holders: Item | str) -> Amount | None:
    language = next((h for h in holders if isinstance(h, str)), "")
    money = read_price(text, language)
    if money is None:
        return None
    stated = [
        t for h in holders if isinstance(h, Item) for t in h.texts("priceCurrency", "currency")
    ]
    code = next((c for t in stated if (c := currency_code(t, language))), None)
    return Amount(money.amount, code or money.currency)


def _shipping(offer: Item, language: str, origin: str) -> Iterator[Fact]:
    for detail in offer.items("shippingDetails"):
        for rate in detail.items("shippingRate"):
            for text in rate.texts("value", "minValue", "price"):
                amount = _amount(text, rate, language)
                if amount is not None:
                    yield Fact("shipping", amount, origin, "shippingDetails")
    for specification in offer.items("priceSpecification", "deliveryCharge"):
        if specification.has_type("DeliveryChargeSpecification"):
            for text in specification.texts("price"):
                amount = _amount(text, specification, language)
                if amount is not None:
                    yield Fact("shipping", amount, origin, "DeliveryChargeSpecification")


def _returns(policy: Item | str) -> str | None:
    if isinstance(policy, str):
        return None if canonical_url(policy) else policy
    for text in policy.texts("description", "name"):
        return text
    category = next((short_name(t) for t in policy.texts("returnPolicyCategory")), None)
    days = next((t for t in policy.texts("merchantReturnDays")), None)
    if category == "MerchantReturnNotPermitted":
        return "not accepted"
    if days:
        return f"{days} days"
    return "accepted" if category else None


def _place(place: Item | str) -> str | None:
    """One line for a place: its address in parts, else its name."""
    if isinstance(place, str):
        return None if canonical_url(place) else place
    for address in (*place.items("address"), place):
        parts = [
            address.text(n)
            for n in ("postalCode", "addressLocality", "addressRegion", "addressCountry")
        ]
        if any(parts):
            town = " ".join(p for p in parts[:2] if p)
            return ", ".join(p for p in (town, *parts[2:]) if p)
    return place.text("address", "name")


# --- seller and specifics ----------------------------------------------------------------------


def seller_facts(seller: Item | str, origin: str) -> Iterator[Fact]:
    """Name, id and feedback of a seller (Person, Organization or bare text)."""
    if isinstance(seller, str):
        address = canonical_url(seller)
        handle = seller_in(seller) if address or seller.startswith("/") else None
        if handle:
            yield Fact("seller_id", handle, origin, "seller")
        elif not address:
            yield Fact("seller_name", seller, origin, "seller")
        return
    for text in seller.texts("name", "legalName")[:1]:
        yield Fact("seller_name", " ".join(text.split()), origin, "seller.name")
    for value in seller.all("identifier", "alternateName"):
        name = value.text("value", "name") if isinstance(value, Item) else value
        if name:
            yield Fact("seller_id", seller_in(name) or name, origin, "seller.identifier")
    for text in (*seller.texts("url", "sameAs", "mainEntityOfPage"), seller.id or ""):
        handle = seller_in(text)
        if handle:
            yield Fact("seller_id", handle, origin, "seller.url")
    for rating in seller.items("aggregateRating"):
        shown = rating.text("ratingValue")
        count = rating.text("ratingCount", "reviewCount")
        if shown or count:
            score = f"{shown or ''} ({count})".strip() if count else shown
            yield Fact("seller_feedback", score, origin, "seller.aggregateRating")
    for place in seller.items("address", "location")[:1]:
        where = _place(place)
        if where:
            yield Fact("seller_place", where, origin, "seller.address")


def specifics_of(item: Item) -> list[tuple[str, str]]:
    """The label and value of each additionalProperty (PropertyValue), with its unit."""
    pairs = []
    for value in item.items("additionalProperty"):
        label = value.text("name", "propertyID")
        texts = value.texts("value")
        unit = value.text("unitText") or {"MMT": "mm", "CMT": "cm", "GRM": "g"}.get(
            value.text("unitCode") or "", ""
        )
        if label and texts:
            text = ", ".join(" ".join(t.split()) for t in texts)
            pairs.append(
                (
                    " ".join(label.split()).rstrip(" :"),
                    f"{text} {unit}".strip() if unit and unit not in text else text,
                )
            )
    return pairs


def _plain_properties(item: Item) -> Iterator[tuple[str, str]]:
    for label, name in (
        ("Brand", "brand"),
        ("Model", "model"),
        ("Colour", "color"),
        ("Material", "material"),
        ("Size", "size"),
    ):
        texts = item.texts(name)
        if texts and not canonical_url(texts[0]):
            yield label, ", ".join(" ".join(t.split()) for t in texts)


def image_addresses(item: Item) -> list[str]:
    """The addresses of a product's images, in order: texts, ImageObjects, lists of either."""
    found: list[str] = []
    for value in item.all("image", "images", "photo", "primaryImageOfPage", "associatedMedia"):
        if isinstance(value, str):
            found += re.split(r"\s+(?=https?://)|,\s*(?=https?://)", value)
        else:
            found += value.texts("contentUrl", "url", "thumbnailUrl", "@value")[:1] or (
                [value.id] if value.id else []
            )
    return list(dict.fromkeys(f for f in found if f))
