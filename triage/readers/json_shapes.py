"""An object of a JSON export with each value where a flat record would have it.

Programs set a price as {"amount": 4500, "scale": 2}, a seller as an object, photos by size, and
item specifics in a dozen ways. `plain_object` brings all of these to one: amounts are texts
("45.00 EUR"), sellers two names, photos a list of addresses, specifics an object. What it does not
know stays as it is. The words for all of it lie in data/json_shapes.toml.

Where one thing is said more than once, this holds: a photo's file beside the export before its
web address, and the largest size; the amount now asked before older ones, which are dropped; the
bid that stands before the one it started from; the plain text before its markup.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from triage.readers.field_names import field_of, key_of
from triage.readers.json_amounts import (
    AMOUNTS,
    cheapest_way,
    highest_bid,
    holds_the_price,
    is_all_money,
    is_bid,
    is_money,
    is_of_money,
    is_sending,
    is_standing,
    listed_code,
    money_text,
    plain_number,
    whole_amounts,
    with_lone_price,
    without_old,
)
from triage.readers.json_names import Object, is_kind, named, shape_words, words_of
from triage.readers.json_photos import is_photos, is_small, with_photos, with_whole_addresses
from triage.readers.json_specifics import (
    MOST_ROWS,
    PREFIXED,
    group_beside,
    is_fact,
    is_group,
    is_specifics,
    listed_pairs,
    pair_in,
    pairs_in,
    said,
    with_parallel,
)
from triage.readers.prices import currency_code


def plain_object(value: Mapping[str, Any]) -> Object:
    """Bring the values of one listing to plain ones, see above."""
    made = _without_start(_level(with_whole_addresses(value), 0))
    photos = made.get("photos")
    if isinstance(photos, list) and any(isinstance(p, dict) and "sha256" in p for p in photos):
        return made  # our own records
    return with_photos(made)


def _without_start(made: Object) -> Object:
    """Leave out what bidding started from if the bid or price that stands is told as well."""
    starts = [k for k in made if is_kind(k, "start_bid")]
    others = {field_of(k) for k in made if k not in starts} & {"price", "bid", "sold"}
    if starts and not others:
        return {("starting bid" if k in starts else k): v for k, v in made.items()}
    return {k: v for k, v in made.items() if k not in starts}


def _level(value: Mapping[str, Any], depth: int) -> Object:
    """One object, the amounts first: what they are may stand in names beside them."""
    whole = with_parallel(without_old(whole_amounts(value)))
    made: Object = {}
    for key, inner in whole.items():
        for name, plain in _entry(str(key), inner, depth):
            held = made.setdefault(name, plain)
            if name == "specifics" and held is not plain and isinstance(held, dict):
                made[name] = {**plain, **held} if isinstance(plain, dict) else held
    return made


def _entry(key: str, inner: Any, depth: int) -> Iterator[tuple[str, Any]]:
    """What one name and its value become."""
    if inner is None or inner == "" or depth > 5 or is_kind(key, "bid_step"):
        return
    if is_kind(key, "free", "flags") and str(inner).casefold() == "true":
        yield "shipping", "free"
    elif isinstance(inner, dict):
        yield from _object(key, inner, depth)
    elif isinstance(inner, list):
        yield from _list(key, inner, depth)
    elif is_kind(key, "auction", "flags") and str(inner).casefold() in ("true", "false"):
        if str(inner).casefold() == "true":
            yield "price_kind", "auction"
    elif field_of(key) is None and is_bid(key) and plain_number(inner) is not None:
        yield "current bid", inner
    elif field_of(key) is None and (person := _flat_person(key)) is not None:
        yield person, inner
    elif field_of(key) is None and (label := PREFIXED.match(key)) is not None:
        yield "specifics", {label[1]: said(inner)}
    elif not (is_kind(key, "bid_count") and _is_count(inner)):
        yield key, inner
    elif int(str(inner)) > 0:
        yield "price_kind", "auction"


def _flat_person(key: str) -> str | None:
    """The field of a value that tells of a seller in a longer name ("seller_username")."""
    told = words_of(key)
    known = [w for w in told if w in named("person", "words")]
    whole = "".join(told[:2])
    if not known and whole in named("person", "whole") and len(told) > 2:
        known = list(told[:2])
    if known and told[-1] in _PAGES and set(told) <= {*known, *_PAGES}:
        return "seller_id"
    besides = {*known, *named("person", "beside")} if known else set()
    left = "".join(w for w in told if w not in besides)
    if not known:
        return None
    if not left:
        return "seller_name"
    if left in named("person"):
        return "seller_name"
    return "seller_id" if left in named("person", "ids") else None


_PAGES = frozenset(("url", "link", "profile", "page", "href", "uri", "address", "website", "web"))


def _is_count(value: object) -> bool:
    return re.fullmatch(r"\d{1,4}", str(value)) is not None


def _object(key: str, inner: Object, depth: int) -> Iterator[tuple[str, Any]]:
    field = field_of(key)
    is_named = is_money(key, field)
    if (is_named or is_all_money(inner)) and (amount := money_text(inner, is_named)) is not None:
        yield from _amounts(key, field, inner, amount)
    elif field == "shipping" and _is_free(inner):
        yield key, "free"
    elif is_sending(key, field) and (cheapest := cheapest_way(inner)) is not None:
        yield "shipping", cheapest
    elif field == "description" and (text := _text_in(inner)) is not None:
        yield key, text
        if pairs := dict(group_beside(inner)):
            yield "specifics", pairs
    elif _is_person(key, field) and (person := _person(inner)):
        yield from person.items()
    elif is_kind(key, "url", "sets") and (address := _address_in(inner)) is not None:
        yield key if field == "url" else "url", address
        yield from ((k, v) for k, v in inner.items() if is_photos(k, v) and not is_small(k))
    elif field in _DATES and (stated := _date_in(inner)) is not None:
        yield key, stated
    elif field == "ended" and len(inner) > 2 and is_group(key, inner):
        yield from _of_group(inner, depth)  # "stato" and "estado" are conditions as well
    elif field == "ended" and any(_is_flag(k, v) for k, v in inner.items()):
        for name, flag in inner.items():
            yield from _entry(name, flag, depth + 1) if _is_flag(name, flag) else ()
    elif field == "ended" and (state := _state(inner)) is not None:
        yield key, state
    elif field == "specifics" and (pairs := dict(pairs_in(inner))):
        yield "specifics", pairs
    elif field == "currency":
        yield key, next((v for v in inner.values() if currency_code(str(v))), None)
    elif is_kind(key, "auction"):
        yield from _auction(_level(inner, depth + 1))
    elif field not in _NO_GROUPS and is_group(key, inner):
        yield from _of_group(inner, depth)
    elif is_of_money(key):
        yield key, with_lone_price(_level(inner, depth + 1))
    else:
        level = _level(inner, depth + 1)
        if isinstance(level.get("specifics"), dict):
            yield "specifics", level.pop("specifics")
        yield key, level


# "data" is a date in Italian, "details" a text, "objet" a title: what stands inside tells
_NO_GROUPS = (*AMOUNTS, "currency", "seller_name", "seller_id", "photos", "url", "ended")


def _is_flag(key: str, value: Any) -> bool:
    """Say whether a value tells with yes or no that a piece is sold, gone or still there."""
    return field_of(key) in ("sold", "ended") and str(value).casefold() in ("true", "false")


_DATES = ("date_listed", "ends_at", "date_saved")


def _date_in(value: Mapping[str, Any]) -> str | None:
    """The date in an object that is one ({"date": ..., "timezone": ...}, {"seconds": ...})."""
    names = ("iso", "datetime", "date", "utc", "value", "timestamp", "seconds", "epoch", "raw")
    told = {key_of(str(k)).strip("#"): v for k, v in value.items()}
    found = [told[n] for n in names if isinstance(told.get(n), str | int)]
    return str(found[0]) if found and len(value) <= 6 else None


def _is_free(value: Mapping[str, Any]) -> bool:
    return any(key_of(str(k)) in _FREE and str(v).casefold() == "true" for k, v in value.items())


_FREE = ("free", "isfree", "gratis", "gratuit", "gratuita", "kostenlos", "freeshipping")


def _auction(level: Object) -> Iterator[tuple[str, Any]]:
    """What an object about bids says: its price is the bid that stands."""
    yield "price_kind", "auction"
    for key, value in level.items():
        if is_kind(key, "bid_count", "inside") and _is_count(value):
            continue
        is_price = field_of(key) in ("price", "bid") or is_kind(key, "amount") or is_standing(key)
        yield (
            ("start bid" if is_kind(key, "start_bid") else "current bid" if is_price else key),
            value,
        )


def _list(key: str, inner: list[Any], depth: int) -> Iterator[tuple[str, Any]]:
    field = field_of(key)
    if field == "description" and (blocks := _blocks(inner)) is not None:
        yield key, blocks
    elif is_kind(key, "bid_history") and (highest := highest_bid(inner)) is not None:
        yield "current bid", highest
    elif (field not in _NO_GROUPS and not is_photos(key, inner)) and (
        pairs := dict(listed_pairs(inner, "specifics" if is_specifics(key) else None))
    ):
        yield "specifics", pairs
    elif len(inner) == 1 and isinstance(inner[0], dict) and field != "photos":
        yield from _object(key, inner[0], depth)
    elif is_kind(key, "url", "sets") and (address := _linked(inner)) is not None:
        yield "url", address
    elif field in AMOUNTS and len(inner) == 2 and (code := listed_code(inner)):
        yield key, code
    elif is_sending(key, field) and (cheapest := cheapest_way(inner)) is not None:
        yield "shipping", cheapest
    else:
        yield key, [_level(i, depth + 1) if isinstance(i, dict) else i for i in inner[:MOST_ROWS]]


_PIECES = ("lines", "paragraphs", "blocks", "righe", "zeilen", "absatze", "lignes", "lineas")


def _blocks(told: list[Any]) -> str | None:
    """A text in pieces: lines, or blocks of an editor ({"type": "paragraph", "text": ...})."""
    texts = [
        t if isinstance(t, str) else _text_in(t) if isinstance(t, dict) else None for t in told
    ]
    is_pairs = any(isinstance(t, dict) and pair_in(t) and "type" not in t for t in told)
    return "\n".join(t for t in texts if t) if texts and all(texts) and not is_pairs else None


def _amounts(key: str, field: str | None, inner: Object, amount: str) -> Iterator[tuple[str, Any]]:
    """An amount under its name, and what else its object says of the sale."""
    name = key if field in AMOUNTS or not holds_the_price(key) else "price"
    name = "current bid" if name == key and field is None and is_bid(key) else name
    yield "start bid" if is_kind(key, "start_bid") else name, amount
    if name != "price" and field != "price":
        return
    for other, value in inner.items():
        said = field_of(other)
        if said in ("price_kind", "offers_accepted", "buy_now", "bid", "sold", "shipping"):
            yield from _entry(other, value, 1)
        elif key_of(other) in ("type", "kind", "typ", "tipo") and isinstance(value, str):
            yield "price_kind", value


def _is_person(key: str, field: str | None) -> bool:
    told = words_of(key)
    known = [w for w in told if w in named("person", "words")]
    rest = [w for w in told if w not in known and w not in named("person", "beside")]
    return bool(known and not rest) or is_kind(key, "person", "whole") or field == "seller_name"


def _person(value: Mapping[str, Any]) -> Object:
    """Name and number of who sells, from an object about them."""
    names: list[tuple[int, str]] = []
    ids: list[tuple[int, str]] = []
    handle, feedback = "", None
    for key, inner in value.items():
        plain = _bare(str(key))
        if isinstance(inner, dict):
            if is_kind(key, "person", "within"):
                found = _person(inner)
                names += [(99, found[k]) for k in ("seller_name",) if k in found]
                ids += [(99, found[k]) for k in ("seller_id",) if k in found]
            elif set(inner) == {"id"}:
                ids.append((60, str(inner["id"])))
            continue
        text = str(inner).strip()
        if isinstance(inner, list) or not text or text.casefold() in ("true", "false", "none"):
            continue
        if plain in named("person"):
            names.append((named("person")[plain], text))
            handle = handle or (text if plain in _HANDLES else "")
        elif plain in named("person", "ids"):
            ids.append((named("person", "ids")[plain], text))
        elif _PAGES.intersection(words_of(str(key))) and "/" in text:
            ids.append((98, text))
        elif field_of(f"seller.{key}") == "seller_id" or field_of(str(key)) in _OF_A_PERSON:
            ids.append((50, text))
        elif is_kind(key, "person", "feedback"):
            feedback = feedback or text
    made: Object = {"seller_name": min(names)[1]} if names else {}
    if ids or (handle and handle != made.get("seller_name")):
        made["seller_id"] = min(ids)[1] if ids else handle
    if feedback and made:
        made["seller_feedback"] = feedback
    return made


_OF_A_PERSON = ("url", "listing_id")


_HANDLES = ("username", "login", "handle", "nick", "pseudo")


def _bare(key: str) -> str:
    """The name of a value about a seller without the word for the seller ("sellerUserName")."""
    told = words_of(key)
    left = [w for w in told if w not in named("person", "words")]
    return "".join(left if left and len(left) < len(told) else told)


def _text_in(value: Mapping[str, Any]) -> str | None:
    """The text in an object that holds it plain, as markup, or both."""
    for key, inner in value.items():
        if isinstance(inner, list) and key_of(str(key)) in _PIECES:
            return _blocks(inner)
    texts = {key_of(str(k)): v for k, v in value.items() if isinstance(v, str) and v.strip()}
    if len(texts) == len(value) == 1 and key_of(str(next(iter(value)))) in ("p", "line", "li"):
        return str(next(iter(texts.values())))
    for names in ("plain", "html"):
        found = [(at, k) for k, at in named("text", names).items() if k in texts]
        if found:
            return str(texts[min(found)[1]])
    return None


def _state(value: Mapping[str, Any]) -> str | None:
    texts = {key_of(str(k)): v for k, v in value.items() if isinstance(v, str)}
    found = [(at, k) for k, at in named("state").items() if k in texts]
    return str(texts[min(found)[1]]) if found else None


def _linked(links: list[Any]) -> str | None:
    """The web address among links that tell what they lead to (RFC 8288, "rel" and "href")."""
    rows = [row for row in links if isinstance(row, dict)]
    told = {str(r.get("rel")): r.get("href") or r.get("url") for r in reversed(rows)}
    return _address_in(told) if rows and all("rel" in r for r in rows) else None


def _address_in(value: Mapping[str, Any]) -> str | None:
    """The web address among several: the listing's page before others."""
    found: list[tuple[int, int, str]] = []
    for key, inner in value.items():
        address = inner.get("href") if isinstance(inner, dict) else inner
        if isinstance(address, str) and address.startswith("http"):
            at = named("url", "best").get(key_of(str(key)), 99)
            found.append((at, -len(found), address))
    return min(found)[2] if found else None


def _of_group(value: Object, depth: int) -> Iterator[tuple[str, Any]]:
    """The specifics of a group, and the facts that stand among them."""
    own = {k: v for k, v in value.items() if is_fact(k, v)}
    for key, inner in own.items():
        yield from _entry(str(key), inner, depth + 1)
    if pairs := dict(pairs_in({k: v for k, v in value.items() if k not in own})):
        yield "specifics", pairs


def is_about_the_sale(key: str) -> bool:
    """Say whether an object beside a listing says something of it: who sells, for how much."""
    field = field_of(key)
    known = field not in (None, "none", "id", "ignored", "title", "ended", "url")
    return known or _is_person(key, field) or is_money(key, field) or is_kind(key, "auction")


def named_body(value: Mapping[str, Any]) -> str | None:
    """The name under which a stored document keeps what it says, its id standing beside that."""
    if (
        "geometry" in value
        or not ("id" in value or "_id" in value)
        or any(field_of(k) == "title" for k in value)
    ):
        return None
    bodies = shape_words()["envelope"]["body"]
    return next((k for k in bodies if isinstance(value.get(k), dict)), None)
