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
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from triage.readers.field_names import (
    field_of,
    is_of_shipping,
    key_of,
    spellings,
    words,
)
from triage.readers.fields import split_names
from triage.readers.prices import (
    currency_code,
    find_money,
    in_whole_coins,
    read_number,
    read_price,
)

MOST_PHOTOS = 200
MOST_ROWS = 1_000

Object = dict[str, Any]


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    text = files("triage.readers").joinpath("data/json_shapes.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def _named(kind: str, names: str = "names") -> dict[str, int]:
    """Names of a kind as they are compared, each with its place in the list."""
    rows = _data()[kind][names]
    return {key: at for at, row in reversed(list(enumerate(rows))) for key in spellings(row)}


@lru_cache(maxsize=20_000)
def _is_named(key: str, kind: str, names: str) -> bool:
    return key_of(key[:200]) in _named(kind, names)


def _is(key: object, kind: str, names: str = "names") -> bool:
    return _is_named(str(key), kind, names)


@lru_cache(maxsize=20_000)
def words_of(key: str) -> tuple[str, ...]:
    """The words of a name, as they are compared.

    >>> words_of("priceInCents"), words_of("seller_user-name")
    (('price', 'in', 'cents'), ('seller', 'user', 'name'))
    """
    spaced = re.sub(r"(?<=[a-zà-þ0-9])(?=[A-ZÀ-Þ])", " ", key[:120])
    return tuple(key_of(word) for word in re.findall(r"[^\W_]+", spaced))


def plain_object(value: Mapping[str, Any]) -> Object:
    """Bring the values of one listing to plain ones, see above."""
    made = _without_start(_level(_with_whole_addresses(value), 0))
    photos = made.get("photos")
    if isinstance(photos, list) and any(isinstance(p, dict) and "sha256" in p for p in photos):
        return made  # our own records
    return _with_photos(made)


def _without_start(made: Object) -> Object:
    """Leave out what bidding started from if the bid or price that stands is told as well."""
    starts = [k for k in made if _is(k, "start_bid")]
    others = {field_of(k) for k in made if k not in starts} & {"price", "bid", "sold"}
    if starts and not others:
        return {("starting bid" if k in starts else k): v for k, v in made.items()}
    return {k: v for k, v in made.items() if k not in starts}


def _level(value: Mapping[str, Any], depth: int) -> Object:
    """One object, the amounts first: what they are may stand in names beside them."""
    whole = _with_parallel(_without_old(_in_whole_coins(value)))
    made: Object = {}
    for key, inner in whole.items():
        for name, plain in _entry(str(key), inner, depth):
            held = made.setdefault(name, plain)
            if name == "specifics" and held is not plain and isinstance(held, dict):
                made[name] = {**plain, **held} if isinstance(plain, dict) else held
    return made


def _entry(key: str, inner: Any, depth: int) -> Iterator[tuple[str, Any]]:
    """What one name and its value become."""
    if inner is None or inner == "" or depth > 5 or _is(key, "bid_step"):
        return
    if _is(key, "free", "flags") and str(inner).casefold() == "true":
        yield "shipping", "free"
    elif isinstance(inner, dict):
        yield from _object(key, inner, depth)
    elif isinstance(inner, list):
        yield from _list(key, inner, depth)
    elif _is(key, "auction", "flags") and str(inner).casefold() in ("true", "false"):
        if str(inner).casefold() == "true":
            yield "price_kind", "auction"
    elif field_of(key) is None and _is_bid(key) and _number(inner) is not None:
        yield "current bid", inner
    elif field_of(key) is None and (person := _flat_person(key)) is not None:
        yield person, inner
    elif field_of(key) is None and (label := _PREFIXED.match(key)) is not None:
        yield "specifics", {label[1]: _said(inner)}
    elif not (_is(key, "bid_count") and _is_count(inner)):
        yield key, inner
    elif int(str(inner)) > 0:
        yield "price_kind", "auction"


# "offer_param_Brand", "attr.bridge", "item_specific:Bridge"
_PREFIXED = re.compile(
    r"(?i)(?:[a-z]+[_.:-])?(?:attr|attribute|param|parameter|prop|property|spec|specific|aspect"
    r"|feature|merkmal|caract|kenmerk|cecha)s?[_.:/-]+(?!(?:raw|json|list|text|html|count|total|ids?)s?$)(\S.*)"
)


def _flat_person(key: str) -> str | None:
    """The field of a value that tells of a seller in a longer name ("seller_username")."""
    told = words_of(key)
    known = [w for w in told if w in _named("person", "words")]
    if known and told[-1] in _PAGES and set(told) <= {*known, *_PAGES}:
        return "seller_id"
    left = "".join(w for w in told if w not in known and w not in ("de", "du", "del", "des"))
    if not known or not left:
        return None
    if left in _named("person"):
        return "seller_name"
    return "seller_id" if left in _named("person", "ids") else None


_PAGES = ("url", "link", "profile", "page", "href", "uri", "address", "website")


def _is_count(value: object) -> bool:
    return re.fullmatch(r"\d{1,4}", str(value)) is not None


def _object(key: str, inner: Object, depth: int) -> Iterator[tuple[str, Any]]:
    field = field_of(key)
    is_named = _is_money(key, field)
    if (is_named or _is_all_money(inner)) and (amount := _money(inner, is_named)) is not None:
        yield from _amounts(key, field, inner, amount)
    elif field == "shipping" and _is_free(inner):
        yield key, "free"
    elif _is_sending(key, field) and (cheapest := _cheapest(inner)) is not None:
        yield "shipping", cheapest
    elif field == "description" and (text := _text_in(inner)) is not None:
        yield key, text
        if pairs := dict(_group_beside(inner)):
            yield "specifics", pairs
    elif _is_person(key, field) and (person := _person(inner)):
        yield from person.items()
    elif _is(key, "url", "sets") and (address := _address_in(inner)) is not None:
        yield key if field == "url" else "url", address
        yield from ((k, v) for k, v in inner.items() if _is_photos(k, v) and not _is_small(k))
    elif field == "ended" and (state := _state(inner)) is not None:
        yield key, state
    elif field == "specifics" and (pairs := dict(_pairs(inner))):
        yield "specifics", pairs
    elif field == "currency":
        yield key, next((v for v in inner.values() if currency_code(str(v))), None)
    elif _is(key, "auction"):
        yield from _auction(_level(inner, depth + 1))
    elif field in (None, "date_listed", "ignored") and _is_group(key, inner):  # "data" is a date
        yield from _of_group(inner, depth)
    elif _is_of_money(key):
        yield key, _with_lone_price(_level(inner, depth + 1))
    else:
        yield key, _level(inner, depth + 1)


def _with_lone_price(level: Object) -> Object:
    """Amounts of a sale where the list price stands alone: that one is asked."""
    asked = [k for k in level if field_of(f"price.{k}") in ("price", "bid", "sold")]
    listed = [k for k in level if _is(k, "old", "alone")]
    if len(listed) != 1 or [k for k in asked if k not in listed]:
        return level
    return {("price" if k in listed else k): v for k, v in level.items()}


def _is_free(value: Mapping[str, Any]) -> bool:
    return any(key_of(str(k)) in _FREE and str(v).casefold() == "true" for k, v in value.items())


_FREE = ("free", "isfree", "gratis", "gratuit", "gratuita", "kostenlos", "freeshipping")


def _is_sending(key: str, field: str | None) -> bool:
    """Say whether an object or a list is about sending ("shippingOptions")."""
    return field == "shipping" or (field is None and is_of_shipping(key))


def _cheapest(options: Any) -> str | None:
    """What sending costs by the cheapest of several ways, as text; to fetch it is none of them."""
    found = [(n, t) for t in _ways(options) if (n := read_number(t.split(" ")[0])) is not None]
    return min(found)[1] if found else None


def _ways(options: Any, depth: int = 0) -> Iterator[str]:
    if isinstance(options, list):
        for one in options[:50]:
            yield from _ways(one, depth + 1)
    elif isinstance(options, dict) and depth < 5 and not _is_to_fetch(options):
        if (amount := _money(options, True)) is not None:
            yield amount
            return
        for key, inner in options.items():
            if not _is_to_fetch({"name": key}):
                yield from _ways(inner, depth + 1)


def _is_to_fetch(way: Mapping[str, Any]) -> bool:
    """Say whether a way of sending is to fetch the piece oneself."""
    told = (w for v in way.values() if isinstance(v, str) and len(v) < 60 for w in words_of(v))
    return any(w in _named("fetch", "words") for w in told)


def _auction(level: Object) -> Iterator[tuple[str, Any]]:
    """What an object about bids says: its price is the bid that stands."""
    yield "price_kind", "auction"
    for key, value in level.items():
        if _is(key, "bid_count", "inside") and _is_count(value):
            continue
        is_price = field_of(key) in ("price", "bid") or _is(key, "amount") or _is_standing(key)
        yield ("start bid" if _is(key, "start_bid") else "current bid" if is_price else key), value


def _is_standing(key: str) -> bool:
    """Say whether a name is that of the bid that stands ("highest", "lance_atual")."""
    told = words_of(key)
    states = [w for w in told if w in _named("standing", "words")]
    bids = [w for w in told if w in _named("standing", "bid")]
    rest = [w for w in told if w not in states and w not in bids]
    plain = all(w in _named("standing", "of_amount") for w in rest)
    return plain and bool(states)


def _is_bid(key: str) -> bool:
    """The same outside of an auction's object, where the name must speak of a bid."""
    told = words_of(key)
    return _is_standing(key) and any(w in _named("standing", "bid") for w in told)


def _list(key: str, inner: list[Any], depth: int) -> Iterator[tuple[str, Any]]:
    field = field_of(key)
    if field == "description" and (blocks := _blocks(inner)) is not None:
        yield key, blocks
    elif _is(key, "bid_history") and (highest := _highest(inner)) is not None:
        yield "current bid", highest
    elif field in (None, "specifics", "description") and (
        pairs := dict(_listed_pairs(inner, "specifics" if _is_specifics(key) else field))
    ):
        yield "specifics", pairs
    elif len(inner) == 1 and isinstance(inner[0], dict) and field != "photos":
        yield from _object(key, inner[0], depth)
    elif field in _FIELDS and len(inner) == 2 and (code := _listed_code(inner)):
        yield key, code
    elif _is_sending(key, field) and (cheapest := _cheapest(inner)) is not None:
        yield "shipping", cheapest
    else:
        yield key, [_level(i, depth + 1) if isinstance(i, dict) else i for i in inner[:MOST_ROWS]]


def _blocks(told: list[Any]) -> str | None:
    """A text in pieces: lines, or blocks of an editor ({"type": "paragraph", "text": ...})."""
    texts = [
        t if isinstance(t, str) else _text_in(t) if isinstance(t, dict) else None for t in told
    ]
    is_pairs = any(isinstance(t, dict) and _pair(t) and "type" not in t for t in told)
    return "\n".join(t for t in texts if t) if texts and all(texts) and not is_pairs else None


def _listed_code(pair: list[Any]) -> str | None:
    """An amount and its currency side by side in a list ([45, "EUR"])."""
    number = next((n for i in pair if (n := _number(i)) is not None), None)
    code = next((c for i in pair if isinstance(i, str) and (c := currency_code(i))), None)
    return f"{_shown(number)} {code}" if number is not None and code else None


# --- amounts -----------------------------------------------------------------------------------


def _in_whole_coins(value: Mapping[str, Any]) -> Object:
    """Name and value of amounts in small coins as those of whole ones ("price_cents": 4500)."""
    made: Object = {}
    scale = _scale(value)
    code = next((c for k, v in value.items() if (c := _code(k, v)) is not None), None)
    for key, inner in value.items():
        if scale and _says_scale(str(key), inner):
            continue
        told = words_of(str(key))
        cents = [w for w in told if w in _named("cents", "words")]
        micros = [w for w in told if w in _named("micros", "words")]
        number = _number(inner)
        if (cents or micros) and number is not None and number == number.to_integral():
            small = {*cents, *micros, *_named("cents", "beside")}
            name = " ".join(w for w in told if w not in small) or "amount"
            name = "price" if field_of(name) is None and _is_amount(name) else name
            whole = number / 10**6 if micros else in_whole_coins(number, code)
            made.setdefault(name, _shown(whole))
        elif told[-1:] == ("ct",) and number is not None and _is_amount(" ".join(told[:-1])):
            made.setdefault(" ".join(told[:-1]), _shown(in_whole_coins(number, code)))
        elif number is not None and _LONG.search(str(inner)) and _is_amount(key):
            made[key] = _shown(number)
        elif scale and number is not None and _is_amount(key) and "." not in str(inner):
            made[key] = _shown(number / 10**scale)
        else:
            made[key] = inner
    return made


def _says_scale(key: str, value: object) -> bool:
    if isinstance(value, dict):
        return False
    told = words_of(key)
    is_unit = _is_unit(key) and not _coin(value)
    return (
        is_unit
        or any(_is(key, *kind) for kind in (("scale",), ("factor",), ("factor", "minor")))
        or (len(told) > 1 and told[-1] in _SCALES)
    )


_LONG = re.compile(r"\.\d{3,}$")  # what calculating with binary fractions leaves


def _scale(value: Mapping[str, Any]) -> int:
    """How many digits of the amounts stand behind the point; 0 if they are whole coins."""
    for key, inner in value.items():
        if isinstance(inner, dict) and field_of(str(key)) == "currency" and (own := _scale(inner)):
            return own
        told = words_of(str(key))
        is_scale = _is(key, "scale") or (
            told[-1:] and told[-1] in _SCALES and _is_amount(" ".join(told[:-1]))
        )
        if is_scale and re.fullmatch(r"-?[0-4]", str(inner)):
            return abs(int(inner))
        if _is(key, "factor") and re.fullmatch(r"10{1,3}", str(inner)):
            return len(str(inner)) - 1
        if _is(key, "factor", "minor") and str(inner).casefold() == "true":
            return 2
        if _is_unit(key) and isinstance(inner, str):
            told = words_of(inner.replace("euro", "EUR ").replace("EURO", "EUR "))
            if any(w == "ct" or w in _named("cents", "words") for w in told):
                return 2
            if any(w in _named("micros", "words") for w in told):
                return 6
    return 0


_SCALES = ("scale", "decimals", "precision", "exponent", "exp", "digits")


@lru_cache(maxsize=20_000)
def _is_unit(key: object) -> bool:
    """Say whether a name is that of a unit ("price_unit"), of an amount if of anything."""
    told = words_of(str(key))
    return _is(key, "unit") or (
        len(told) == 2 and told[1] in _named("unit") and _is_amount(told[0])
    )


def _coin(unit: object) -> str | None:
    """The currency in a unit ("EUR cent", "eurocent", "euro"), which may be of small coins."""
    told = re.findall(r"euro|[A-Za-z]{3}(?![a-z])|[€£]", str(unit)) if len(str(unit)) < 20 else ()
    return next((c for w in told if (c := currency_code(w)) is not None), None)


def _is_amount(key: object) -> bool:
    return _names_an_amount(str(key)[:200])


@lru_cache(maxsize=20_000)
def _names_an_amount(name: str) -> bool:
    known = field_of(f"price.{name}") == "price" or _is(name, "amount")
    return known or field_of(name) in _FIELDS or _is_bid(name)


_FIELDS = ("price", "bid", "sold", "buy_now", "shipping")


def _number(value: object) -> Decimal | None:
    text = str(value).strip()
    if isinstance(value, bool) or not re.fullmatch(r"\d{1,15}(?:\.\d{1,12})?", text):
        return None
    return Decimal(text)


def _shown(amount: Decimal) -> str:
    """An amount with two digits behind the point at most.

    >>> _shown(Decimal("45.00000001")), _shown(Decimal("45.5"))
    ('45', '45.50')
    """
    cents = amount.quantize(Decimal("0.01"))
    return str(cents.to_integral() if cents == cents.to_integral() else cents)


def _without_old(value: Mapping[str, Any]) -> Object:
    """Leave out amounts that no longer hold, unless no other amount stands beside them."""
    old = {k for k, v in value.items() if _is(k, "old") and (_number(v) or isinstance(v, dict))}
    if not old:
        return dict(value)
    others = [k for k in value if k not in old and _is_amount(k) and field_of(k) != "shipping"]
    return {k: v for k, v in value.items() if k not in old} if others else dict(value)


def _is_money(key: str, field: str | None) -> bool:
    return field in _FIELDS or _is_of_money(key) or _is(key, "start_bid") or _is(key, "bid_step")


def _holds_the_price(key: str) -> bool:
    """Say whether an object under this name, if it is an amount, is what is asked."""
    return _is_of_money(key) or _is(key, "amount") or key_of(key) in words("wrapper")


def _is_of_money(key: str) -> bool:
    """Say whether a name is that of a sale's amounts ("pricing", "prijsinfo")."""
    bare = re.sub(r"(?:info|information|informatie|details?|data|angaben?)$", "", key_of(key))
    return _is(key, "money") or bare in _named("money")


def _is_all_money(value: Mapping[str, Any]) -> bool:
    """Say whether an object tells an amount and nothing else."""
    return all(
        _is_inner_amount(k)
        or field_of(f"price.{k}") == "currency"
        or any(_is(k, kind) for kind in ("currency", "scale", "unit", "shown", "old"))
        or any(w in _named("cents", "words") for w in words_of(str(k)))
        or key_of(str(k)) in ("type", "nanos")
        for k in value
    )


def _money(value: Mapping[str, Any], is_named: bool) -> str | None:
    """An object that is one amount, as text with its currency; None if it is none.

    It needs a currency of its own, or a name that is that of an amount.
    """
    value = _without_old(_in_whole_coins(value))
    code = next((c for k, v in value.items() if (c := _code(k, v)) is not None), None)
    if is_named and value and all(len(k) == 3 and currency_code(k) for k in value):
        key, inner = next(iter(value.items()))
        if (number := _number(inner)) is not None:
            return f"{_shown(number)} {currency_code(key)}"  # {"EUR": 45}
    shown = [t for k, v in value.items() if _is(k, "shown") for t in _texts(v)]
    money = next((m for text in shown for m in find_money(text) if m.currency), None)
    found = [(k, v) for k, v in value.items() if _is_inner_amount(k)]
    code = code or (money.currency if money else None)
    for _, inner in found:
        if isinstance(inner, dict):
            return _money({**inner, **({"currency": code} if code else {})}, is_named)
        amount = _amount(inner, value)
        if amount is None and isinstance(inner, str) and (read := read_price(inner)) is not None:
            amount, code = read.amount, read.currency or code
        if amount is not None and (is_named or code):
            return f"{_shown(amount)} {code or ''}".strip()
    return f"{_shown(money.amount)} {code}" if money and is_named else None


def _texts(value: Any) -> list[str]:
    inner = value.values() if isinstance(value, dict) else (value,)
    return [text for text in inner if isinstance(text, str)]


def _is_inner_amount(key: str) -> bool:
    return field_of(f"price.{key}") == "price" or _is(key, "amount")


def _amount(inner: object, value: Mapping[str, Any]) -> Decimal | None:
    """A number; with what stands beside it in billionths ("units": 45, "nanos": 500000000)."""
    number = _number(inner)
    nanos = _number(value.get("nanos"))
    return number + nanos / 10**9 if number is not None and nanos else number


def _code(key: object, value: object) -> str | None:
    if isinstance(value, dict):
        inner = (c for k, v in value.items() if (c := _code(k, v)) is not None)
        return next(inner, None) if field_of(str(key)) == "currency" else None
    if _is_unit(key) and isinstance(value, str):
        return _coin(value)
    is_name = field_of(f"price.{key}") == "currency" or _is(key, "currency")
    if not is_name or not value:
        return None
    return currency_code(str(value)) or _numbered().get(str(value))


@cache
def _numbered() -> dict[str, str]:
    return dict(row.split(" ") for row in _data()["numeric_currency"]["names"])


def _amounts(key: str, field: str | None, inner: Object, amount: str) -> Iterator[tuple[str, Any]]:
    """An amount under its name, and what else its object says of the sale."""
    name = key if field in _FIELDS or not _holds_the_price(key) else "price"
    name = "current bid" if name == key and field is None and _is_bid(key) else name
    yield "start bid" if _is(key, "start_bid") else name, amount
    if name != "price" and field != "price":
        return
    for other, value in inner.items():
        said = field_of(other)
        if said in ("price_kind", "offers_accepted", "buy_now", "bid", "sold", "shipping"):
            yield from _entry(other, value, 1)
        elif key_of(other) in ("type", "kind", "typ", "tipo") and isinstance(value, str):
            yield "price_kind", value


def _of_a_bid(bid: Object) -> Object:
    """A bid without who made it and when, so that its amount is left."""
    inner = next((v for k, v in bid.items() if _is_amount(k) and isinstance(v, dict)), None)
    return inner if inner is not None else {k: v for k, v in bid.items() if not _is(k, "person")}


def _highest(bids: Iterable[Any]) -> str | None:
    """The highest of a list of bids."""
    texts = [_money(_of_a_bid(b), True) if isinstance(b, dict) else str(b) for b in bids]
    found = [(n, t) for t in texts if t and (n := read_number(t.split(" ")[0])) is not None]
    return max(found)[1] if found else None


# --- sellers, texts, states, addresses ---------------------------------------------------------


def _is_person(key: str, field: str | None) -> bool:
    told = words_of(key)
    known = [w for w in told if w in _named("person", "words")]
    rest = [w for w in told if w not in known and w not in _named("person", "beside")]
    return bool(known and not rest) or _is(key, "person", "whole") or field == "seller_name"


def _person(value: Mapping[str, Any]) -> Object:
    """Name and number of who sells, from an object about them."""
    names: list[tuple[int, str]] = []
    ids: list[tuple[int, str]] = []
    handle, feedback = "", None
    for key, inner in value.items():
        plain = _bare(str(key))
        if isinstance(inner, dict):
            if _is(key, "person", "within"):
                found = _person(inner)
                names += [(99, found[k]) for k in ("seller_name",) if k in found]
                ids += [(99, found[k]) for k in ("seller_id",) if k in found]
            elif set(inner) == {"id"}:
                ids.append((60, str(inner["id"])))
            continue
        text = str(inner).strip()
        if isinstance(inner, list) or not text or text.casefold() in ("true", "false", "none"):
            continue
        if plain in _named("person"):
            names.append((_named("person")[plain], text))
            handle = handle or (text if plain in _HANDLES else "")
        elif plain in _named("person", "ids"):
            ids.append((_named("person", "ids")[plain], text))
        elif field_of(f"seller.{key}") == "seller_id" or field_of(str(key)) in _OF_A_PERSON:
            ids.append((50, text))
        elif _is(key, "person", "feedback"):
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
    left = [w for w in told if w not in ("seller", "vendor", "owner", "shop", "store")]
    return "".join(left if left and len(left) < len(told) else told)


def _text_in(value: Mapping[str, Any]) -> str | None:
    """The text in an object that holds it plain, as markup, or both."""
    texts = {key_of(str(k)): v for k, v in value.items() if isinstance(v, str) and v.strip()}
    for names in ("plain", "html"):
        found = [(at, k) for k, at in _named("text", names).items() if k in texts]
        if found:
            return str(texts[min(found)[1]])
    return None


def _state(value: Mapping[str, Any]) -> str | None:
    texts = {key_of(str(k)): v for k, v in value.items() if isinstance(v, str)}
    found = [(at, k) for k, at in _named("state").items() if k in texts]
    return str(texts[min(found)[1]]) if found else None


def _address_in(value: Mapping[str, Any]) -> str | None:
    """The web address among several: the listing's page before others."""
    found: list[tuple[int, int, str]] = []
    for key, inner in value.items():
        address = inner.get("href") if isinstance(inner, dict) else inner
        if isinstance(address, str) and address.startswith("http"):
            at = _named("url", "best").get(key_of(str(key)), 99)
            found.append((at, -len(found), address))
    return min(found)[2] if found else None


# --- item specifics ----------------------------------------------------------------------------


def _pairs(value: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Names and values in an object of specifics, which may say each value's kind or unit."""
    if (pair := _pair(value)) is not None:
        yield pair
        return
    for key, inner in list(value.items())[:MOST_ROWS]:
        if isinstance(inner, dict):
            if (labelled := _labelled(str(key), inner)) is not None:
                yield labelled
            elif (text := _value_in(inner)) is not None:
                yield str(key), text
            else:
                yield from _pairs(inner)
        elif isinstance(inner, list):
            listed = list(_listed_pairs(inner, "specifics"))
            texts = [str(i) for i in inner if isinstance(i, str | int)]
            yield from listed or ([(str(key), ", ".join(texts))] if texts else [])
        elif inner is not None and not str(key).startswith("@"):
            yield str(key), _said(inner)


def _said(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _with_parallel(value: Object) -> Object:
    """Put two lists that run side by side ("attributeNames", "attributeValues") together."""
    lists = {k: v for k, v in value.items() if isinstance(v, list) and v and _is_specifics(k)}
    for key, names in lists.items():
        if words_of(key)[-1].rstrip("s") not in ("name", "label", "key", "title"):
            continue
        stem = words_of(key)[:-1]
        for other, values in lists.items():
            if other != key and words_of(other)[:-1] == stem and len(values) == len(names):
                pairs = {str(k): v for k, v in zip(names, values, strict=True)}
                return {k: v for k, v in value.items() if k not in (key, other)} | {
                    "specifics": pairs
                }
    return value


def _is_group(key: str, value: Mapping[str, Any]) -> bool:
    """Say whether an object under any name holds specifics: texts under names as people write them.

    Programs' own names ("displayName", "view_count") are no labels, nor are a name and a number.
    """
    if is_elsewhere(key) or _is_apart(key) or len(value) > 60 or set(value) <= {"id", "name"}:
        return False
    told = [(str(k), v) for k, v in value.items() if v is not None and v != ""]
    plain = [(k, v) for k, v in told if isinstance(v, str | int | float) or _is_listed(v)]
    labels = [k for k, v in plain if _is_label(k) or _is_measured(v)]
    return len(plain) == len(told) > 0 and len(labels) * 2 > len(told)


def _is_apart(key: str) -> bool:
    return any(w in _named("apart", "words") for w in (*words_of(key), key_of(key)))


def _is_listed(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(i, str) for i in value)


def _is_label(key: str) -> bool:
    """Say whether a name is written as a label on a page: with spaces or a capital, or known."""
    if len(key) > 60:
        return False
    is_known = any(w in _named("label", "words") for w in words_of(key))
    return is_known or re.fullmatch(r"[A-ZÀ-Þ][^\W\d_A-Z]+|\S+(?: \S+)+", key) is not None


def _is_measured(value: object) -> bool:
    return isinstance(value, str) and _MEASURED.fullmatch(value.strip()) is not None


_MEASURED = re.compile(r"\d{1,3}(?:[.,]\d)?\s?(?:mm|cm|in|″|\")")


def _of_group(value: Object, depth: int) -> Iterator[tuple[str, Any]]:
    """The specifics of a group, and the facts that stand among them."""
    own = {k: v for k, v in value.items() if _is_fact(k, v)}
    for key, inner in own.items():
        yield from _entry(str(key), inner, depth + 1)
    if pairs := dict(_pairs({k: v for k, v in value.items() if k not in own})):
        yield "specifics", pairs


def _is_fact(key: str, value: object) -> bool:
    """Say whether a value in a group is the listing's own ("Prezzo"), not the piece's ("Stato")."""
    field = field_of(key)
    return field not in (None, "ended", "specifics", "title", "id", "ignored", "quantity") and (
        field not in _FIELDS or _number(value) is not None or read_price(str(value)) is not None
    )


def _listed_pairs(rows: list[Any], field: str | None) -> Iterator[tuple[str, str]]:
    """Names and values in a list of specifics: objects, pairs, texts, groups of them.

    Under a name that is not one of specifics, only objects with name and value are.
    """
    if not rows or len(rows) > MOST_ROWS:
        return
    objects = [r for r in rows if isinstance(r, dict)]
    if len(objects) == len(rows):
        pairs = [_pair(row) for row in objects]
        grouped = all(any(_is_specifics(k) for k in row) for row in objects)
        if field is None and (not all(pairs) or len(rows) < 2) and not grouped:
            return
        for row, pair in zip(objects, pairs, strict=True):
            within = [p for v in row.values() if isinstance(v, dict) and (p := _pair(v))]
            if pair is not None:
                yield pair
            elif len(within) == 1:
                yield within[0]
            elif field is None or len(row) > 1:
                yield from _group(row)
            else:
                yield from _pairs(row)
    elif field == "specifics":
        for row in rows:
            if isinstance(row, list) and len(row) == 2 and isinstance(row[0], str):
                yield row[0], str(row[1])
            elif isinstance(row, str) and (cut := _LABELLED.match(row)):
                yield cut[1], cut[2]


_LABELLED = re.compile(r"([^:=]{2,60}?)\s*[:=]\s*(\S.*)")


def _group(row: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The specifics of a group with a heading."""
    for key, inner in row.items():
        if isinstance(inner, list) and (_is_specifics(key) or _is(key, "photos", "lists")):
            yield from _listed_pairs(inner, "specifics")
        elif isinstance(inner, dict) and _is_specifics(key):
            yield from _pairs(inner)


def _group_beside(text: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The specifics that an object holds beside a text."""
    for key, inner in text.items():
        if isinstance(inner, list):
            yield from _listed_pairs(inner, "specifics" if _is_specifics(key) else None)
        elif isinstance(inner, dict) and _is_specifics(key):
            yield from _pairs(inner)


def _is_specifics(key: object) -> bool:
    return field_of(str(key)) == "specifics" or any(
        w in _named("specifics", "words") for w in words_of(str(key))
    )


def _pair(row: Mapping[str, Any]) -> tuple[str, str] | None:
    """The name and the value in an object such as {"name": "Bridge", "value": "21 mm"}."""
    if len(row) > 8 or any(field_of(str(k)) in ("price", "url", "photos") for k in row):
        return None
    keys = {_of_a_pair(str(k)): k for k in row}
    labels = [(at, k) for k, at in _named("specifics", "label").items() if k in keys]
    values = [(at, k) for k, at in _named("specifics", "value").items() if k in keys]
    for _, label in sorted(labels):
        name = row[keys[label]]
        for _, value in sorted(values):
            text = _value_text(row[keys[value]]) if value != label else None
            if isinstance(name, str) and name.strip() and text is not None:
                return name, _with_unit(text, row)
    return None


def _of_a_pair(key: str) -> str:
    """A key without a word for specifics before it ("attributeName" is "name")."""
    told = words_of(key)
    is_longer = len(told) > 1 and told[0].rstrip("s") in _SINGLE
    return "".join(told[1:]) if is_longer else key_of(key)


_SINGLE = (
    "attribute", "attr", "aspect", "property", "prop", "feature", "spec", "detail", "param",
    "parameter", "characteristic", "merkmal", "caracteristica", "atributo", "kenmerk",
)  # fmt: skip


def _labelled(key: str, value: Mapping[str, Any]) -> tuple[str, str] | None:
    """The specific in an object under its own key ({"maker": {"title": "Maker", "value": ...}})."""
    pair = _pair(value)
    is_told = any(key_of(str(k)) in ("label", "title", "caption", "displayname") for k in value)
    return pair if pair and (is_told or key_of(pair[0]) == key_of(key)) else None


def _value_in(value: Mapping[str, Any]) -> str | None:
    """The value in an object that says its kind beside it ({"value": "21 mm", "type": "text"})."""
    keys = {key_of(str(k)): k for k in value}
    found = [(at, k) for k, at in _named("specifics", "value").items() if k in keys]
    texts = (_value_text(value[keys[k]]) for _, k in sorted(found))
    text = next((t for t in texts if t is not None), None)
    return None if text is None else _with_unit(text, value)


def _value_text(value: Any) -> str | None:
    if isinstance(value, list) and value:
        texts = [_value_text(v) for v in value[:50]]
        return ", ".join(t for t in texts if t) or None
    if isinstance(value, dict):
        told = [v for k, v in value.items() if _is_text_of_value(k) and isinstance(v, str | int)]
        return str(told[0]) if told else None
    return _said(value) if isinstance(value, str | int | float) and str(value).strip() else None


def _is_text_of_value(key: object) -> bool:
    return _is(key, "specifics", "value") or _is(key, "specifics", "label")


def _with_unit(text: str, row: Mapping[str, Any]) -> str:
    unit = next((v for k, v in row.items() if _is(k, "specifics", "unit")), None)
    return f"{text} {unit}" if isinstance(unit, str) and unit and unit not in text else text


# --- photos ------------------------------------------------------------------------------------


def _with_photos(value: Object) -> Object:
    """Put all photos of an object under one name, in order, each in its best size."""
    named = [(k, v) for k, v in value.items() if _is_photos(k, v)]
    main = [one for one in named if _is_first(one[0])]
    rest = [one for one in named if one not in main and not _is_small(one[0])]
    small = [one for one in named if one not in main and one not in rest]
    found = [a for key, inner in (*main, *rest) for a in _addresses(inner)]
    found = found or [a for key, inner in small for a in _addresses(inner)]
    if not found:
        return value
    taken = {k for k, _ in named}
    made = {k: v for k, v in value.items() if k not in taken}
    return {**made, "photos": list(dict.fromkeys(found))[:MOST_PHOTOS]}


def _is_photos(key: str, value: Any) -> bool:
    if not isinstance(value, str | list | dict):
        return False
    told = {w.rstrip("0123456789") for w in words_of(key)}
    is_named = not told.isdisjoint(_named("photos", "words")) or field_of(key) == "photos"
    if is_named:
        return True
    listed = isinstance(value, list) and bool(value) and all(map(_is_file, value))
    return listed or not told.isdisjoint(_named("photos", "small"))


def _is_file(value: object) -> bool:
    return isinstance(value, str) and _PICTURE.search(value) is not None


_PICTURE = re.compile(r"\.(?:jpe?g|jfif|png|webp|gif|tiff?|bmp|avif|hei[cf])(?:[?#].*)?$", re.I)


def _with_whole_addresses(value: Mapping[str, Any]) -> Object:
    """Make addresses of pictures that are told in parts: numbers, and a pattern or a folder."""
    made: Object = {}
    patterns = {k: v for k, v in value.items() if isinstance(v, str) and _is_pattern(str(k), v)}
    for key, inner in value.items():
        if isinstance(inner, dict) and _is_photos(str(key), inner):
            parts = [(k, v) for k, v in inner.items() if isinstance(v, str)]
            own = {k: v for k, v in parts if _is_pattern(str(k), v)} or patterns
            listed = next((v for v in inner.values() if isinstance(v, list)), None)
            made[key] = _in_pattern(listed, own) if listed and own else inner
        elif isinstance(inner, list) and patterns and _is_photos(str(key), inner):
            made[key] = _in_pattern(inner, patterns)
        elif key not in patterns:
            made[key] = inner
    return made


_HOLE = re.compile(r"\$?\{[^{}]*\}|%[sd@]|:(?:id|name|file|hash|key)\b|<[a-z_]+>")
_OF_A_PICTURE = (
    "id", "key", "hash", "name", "file", "uuid", "imageid", "photoid", "token", "code",
    "filename", "ref", "path",
)  # fmt: skip


def _is_pattern(key: str, text: str) -> bool:
    """Say whether a text is an address of pictures with a hole, or the folder they lie in."""
    if "/" not in text or len(text) > 500 or " " in text.strip():
        return False
    told = {w.rstrip("s") for w in words_of(key)}
    is_folder = text.endswith(("/", "=")) and bool(
        told & {"base", "prefix", "root", "folder", "dir", "path", "host", "cdn", "url"}
    )
    is_named = bool(told & {w.rstrip("s") for w in _named("photos", "words")}) or bool(
        told & {"template", "pattern", "format", "base", "prefix", "cdn"}
    )
    return is_named and (is_folder or _HOLE.search(text) is not None)


def _in_pattern(pictures: list[Any], patterns: Mapping[str, str]) -> list[Any]:
    """Each picture's number or name put where the pattern has its hole; others as they are."""
    pattern = max(patterns.values(), key=len)
    found = []
    for picture in pictures[:MOST_PHOTOS]:
        name = picture
        if isinstance(picture, dict):
            told = {key_of(str(k)): v for k, v in picture.items()}
            name = next((told[k] for k in _OF_A_PICTURE if k in told), None)
        is_part = isinstance(name, str | int) and not re.match(r"https?:|data:", str(name))
        found.append(_filled(pattern, str(name)) if is_part else picture)
    return found


def _filled(pattern: str, name: str) -> str:
    """
    >>> _filled("https://i.example/{size}/{id}.jpg", "77"), _filled("media/", "/a.jpg")
    ('https://i.example/large/77.jpg', 'media/a.jpg')
    """
    holes = _HOLE.findall(pattern)
    if not holes:
        return pattern + name.lstrip("/")
    bare = [key_of(hole) for hole in holes]
    own = next((h for h, b in zip(holes, bare, strict=True) if b in _OF_A_PICTURE), holes[-1])
    filled = pattern.replace(own, name)
    return _HOLE.sub("large", filled)


def _is_first(key: str) -> bool:
    return any(w in _named("photos", "first") for w in words_of(key))


def _is_small(key: str) -> bool:
    return any(w in _named("photos", "small") for w in words_of(key))


def _addresses(value: Any, depth: int = 0) -> list[str]:
    """The addresses of photos in a value, the best of each photo."""
    if isinstance(value, str):
        names = split_names(value)
        return [n for n in names if "/" in n or "." in n or n.startswith("data:")]
    if depth > 5:
        return []
    if isinstance(value, list):
        return [a for one in _in_place(value[:MOST_PHOTOS]) for a in _addresses(one, depth + 1)]
    if not isinstance(value, dict):
        return []
    if value and all(re.fullmatch(r"\D{0,12}\d{1,3}", str(k)) for k in value):
        return [a for one in value.values() for a in _addresses(one, depth + 1)]
    for key, inner in value.items():
        if isinstance(inner, list) and _is(key, "photos", "lists"):
            return _addresses(inner, depth + 1)
        if isinstance(inner, dict) and key_of(str(key)) in ("node", "attributes", "fields"):
            return _addresses(inner, depth + 1)
    best = _best(value)
    return [best] if best else []


def _in_place(photos: list[Any]) -> list[Any]:
    """Photos in the order that they state, else as they stand."""
    places = []
    for photo in photos:
        stated = next(
            (v for k, v in photo.items() if _is(k, "photos", "place")), None
        ) if isinstance(photo, dict) else None  # fmt: skip
        if stated is None or not re.fullmatch(r"\d{1,6}", str(stated)):
            return photos
        places.append(int(stated))
    return [photo for _, photo in sorted(zip(places, photos, strict=True), key=lambda p: p[0])]


def _best(value: Mapping[str, Any]) -> str | None:
    """The address of one photo's best size; None for what is no photo."""
    kind = str(value.get("type") or value.get("kind") or value.get("mime") or "")
    if "video" in kind.casefold():
        return None
    found: list[tuple[float, str]] = sorted(_sizes(value, 0.0), key=lambda one: -one[0])
    return found[0][1] if found else None


def _sizes(value: Any, rank: float, depth: int = 0) -> Iterator[tuple[float, str]]:
    """Addresses of one photo, each with how large or near the picture there is."""
    if isinstance(value, list):
        for one in value[:50]:
            yield from _sizes(one, rank, depth + 1)
        return
    if not isinstance(value, dict) or depth > 4:
        return
    sides = [n for k, v in value.items() if _is_side(k) and (n := _number(v)) is not None]
    wide = float(max(sides, default=0)) if depth else 0.0
    for key, inner in value.items():
        own = rank + _rank(str(key)) + wide
        if isinstance(inner, str):
            if _may_be_address(str(key), inner):
                yield own, inner
        else:
            yield from _sizes(inner, own, depth + 1)


def _is_side(key: object) -> bool:
    return key_of(str(key)) in ("width", "height", "w", "h", "size", "breite", "largeur", "ancho")


def _rank(key: str) -> float:
    told = (*words_of(key), key_of(key))
    if any(w in _named("photos", "files") for w in told):
        return 100_000.0
    if any(w in _named("photos", "small") for w in told):
        return -50_000.0
    if any(w in _named("photos", "large") for w in told):
        return 10_000.0 - 10.0 * min(_named("photos", "large").get(w, 99) for w in told)
    if any(w in _named("photos", "middle") for w in told):
        return 1_000.0
    sides = re.findall(r"\d{2,4}", key)
    return float(max(map(int, sides))) if sides else 0.0


def _may_be_address(key: str, text: str) -> bool:
    if _PICTURE.search(text):
        return True
    plain = key_of(key)
    is_named = field_of(f"photos.{key}") == "photos" or plain in ("url", "src", "href")
    return (is_named or _rank(key) != 0) and ("/" in text or text.startswith("data:"))


# --- what stands about a listing -----------------------------------------------------------------


def is_elsewhere(key: str) -> bool:
    """Say whether a name is that of other things than the listings ("similarItems")."""
    plain, told = key_of(key), words_of(key)
    names = _named("envelope", "elsewhere")
    long = (n for n in names if len(n) > 5)
    return any(w in names for w in told) or any(plain.startswith(n) for n in long)


def is_about_the_sale(key: str) -> bool:
    """Say whether an object beside a listing says something of it: who sells, for how much."""
    field = field_of(key)
    known = field not in (None, "none", "id", "ignored", "title", "ended", "url")
    return known or _is_person(key, field) or _is_money(key, field) or _is(key, "auction")


def named_body(value: Mapping[str, Any]) -> str | None:
    """The name under which a stored document keeps what it says, its id standing beside that."""
    if (
        "geometry" in value
        or not ("id" in value or "_id" in value)
        or any(field_of(k) == "title" for k in value)
    ):
        return None
    bodies = _data()["envelope"]["body"]
    return next((k for k in bodies if isinstance(value.get(k), dict)), None)
