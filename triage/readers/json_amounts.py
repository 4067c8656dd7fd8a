"""Amounts of money in JSON exports: numbers, texts, objects, small coins, ways of sending, bids."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

from triage.readers.field_names import field_of, is_of_shipping, key_of, words
from triage.readers.json_names import Object, is_kind, named, shape_words, words_of
from triage.readers.prices import currency_code, find_money, in_whole_coins, read_number, read_price


def with_lone_price(level: Object) -> Object:
    """Amounts of a sale where the list price stands alone: that one is asked."""
    asked = [k for k in level if field_of(f"price.{k}") in ("price", "bid", "sold")]
    listed = [k for k in level if is_kind(k, "old", "alone")]
    if len(listed) != 1 or [k for k in asked if k not in listed]:
        return level
    return {("price" if k in listed else k): v for k, v in level.items()}


def is_sending(key: str, field: str | None) -> bool:
    """Say whether an object or a list is about sending ("shippingOptions")."""
    return field == "shipping" or (field is None and is_of_shipping(key))


def cheapest_way(options: Any) -> str | None:
    """What sending costs by the cheapest of several ways, as text; to fetch it is none of them."""
    found = [(n, t) for t in _ways(options) if (n := read_number(t.split(" ")[0])) is not None]
    return min(found)[1] if found else None


def _ways(options: Any, depth: int = 0) -> Iterator[str]:
    if isinstance(options, list):
        for one in options[:50]:
            yield from _ways(one, depth + 1)
    elif isinstance(options, dict) and depth < 5 and not _is_to_fetch(options):
        if (amount := money_text(options, True)) is not None:
            yield amount
            return
        for key, inner in options.items():
            if _is_to_fetch({"name": key}):
                continue
            if isinstance(inner, str | int | float) and _is_cost(inner):
                yield str(read.amount) if (read := read_price(str(inner))) else "0"
            else:
                yield from _ways(inner, depth + 1)


def _is_cost(value: object) -> bool:
    """Say whether a bare value is an amount for sure: with a currency, or with cents."""
    text = str(value)
    is_money = len(text) < 20 and any(m.currency for m in find_money(text))
    return is_money or re.fullmatch(r"\d{1,3}[.,]\d{1,2}", text) is not None


def _is_to_fetch(way: Mapping[str, Any]) -> bool:
    """Say whether a way of sending is to fetch the piece oneself."""
    told = (w for v in way.values() if isinstance(v, str) and len(v) < 60 for w in words_of(v))
    return any(w in named("fetch", "words") for w in told)


def is_standing(key: str) -> bool:
    """Say whether a name is that of the bid that stands ("highest", "lance_atual")."""
    told = words_of(key)
    states = [w for w in told if w in named("standing", "words")]
    bids = [w for w in told if w in named("standing", "bid")]
    rest = [w for w in told if w not in states and w not in bids]
    plain = all(w in named("standing", "of_amount") for w in rest)
    return plain and bool(states)


def is_bid(key: str) -> bool:
    """The same outside of an auction's object, where the name must speak of a bid."""
    told = words_of(key)
    return is_standing(key) and any(w in named("standing", "bid") for w in told)


def listed_code(pair: list[Any]) -> str | None:
    """An amount and its currency side by side in a list ([45, "EUR"])."""
    number = next((n for i in pair if (n := plain_number(i)) is not None), None)
    code = next((c for i in pair if isinstance(i, str) and (c := currency_code(i))), None)
    return f"{_shown(number)} {code}" if number is not None and code else None


def whole_amounts(value: Mapping[str, Any]) -> Object:
    """Name and value of amounts in small coins as those of whole ones ("price_cents": 4500)."""
    made: Object = {}
    scale = _scale(value)
    code = next((c for k, v in value.items() if (c := _code(k, v)) is not None), None)
    for key, inner in value.items():
        if scale and _says_scale(str(key), inner):
            continue
        told = words_of(str(key))
        cents = [w for w in told if w in named("cents", "words")]
        micros = [w for w in told if w in named("micros", "words")]
        number = plain_number(inner)
        if (cents or micros) and number is not None and number == number.to_integral():
            small = {*cents, *micros, *named("cents", "beside")}
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
        or any(is_kind(key, *kind) for kind in (("scale",), ("factor",), ("factor", "minor")))
        or (len(told) > 1 and told[-1] in _SCALES)
    )


_LONG = re.compile(r"\.\d{3,}$")  # what calculating with binary fractions leaves


def _scale(value: Mapping[str, Any]) -> int:
    """How many digits of the amounts stand behind the point; 0 if they are whole coins."""
    for key, inner in value.items():
        if isinstance(inner, dict) and field_of(str(key)) == "currency" and (own := _scale(inner)):
            return own
        told = words_of(str(key))
        is_scale = is_kind(key, "scale") or (
            told[-1:] and told[-1] in _SCALES and _is_amount(" ".join(told[:-1]))
        )
        if is_scale and re.fullmatch(r"-?[0-4]", str(inner)):
            return abs(int(inner))
        if is_kind(key, "factor") and re.fullmatch(r"10{1,3}", str(inner)):
            return len(str(inner)) - 1
        if is_kind(key, "factor", "minor") and str(inner).casefold() == "true":
            return 2
        if _is_unit(key) and isinstance(inner, str):
            told = words_of(inner.replace("euro", "EUR ").replace("EURO", "EUR "))
            if any(w == "ct" or w in named("cents", "words") for w in told):
                return 2
            if any(w in named("micros", "words") for w in told):
                return 6
    return 0


_SCALES = ("scale", "decimals", "precision", "exponent", "exp", "digits")


@lru_cache(maxsize=20_000)
def _is_unit(key: object) -> bool:
    """Say whether a name is that of a unit ("price_unit"), of an amount if of anything."""
    told = words_of(str(key))
    return is_kind(key, "unit") or (
        len(told) == 2 and told[1] in named("unit") and _is_amount(told[0])
    )


def _coin(unit: object) -> str | None:
    """The currency in a unit ("EUR cent", "eurocent", "euro"), which may be of small coins."""
    told = re.findall(r"euro|[A-Za-z]{3}(?![a-z])|[€£]", str(unit)) if len(str(unit)) < 20 else ()
    return next((c for w in told if (c := currency_code(w)) is not None), None)


def _is_amount(key: object) -> bool:
    return _names_an_amount(str(key)[:200])


@lru_cache(maxsize=20_000)
def _names_an_amount(name: str) -> bool:
    known = field_of(f"price.{name}") == "price" or is_kind(name, "amount")
    return known or field_of(name) in AMOUNTS or is_bid(name)


AMOUNTS = ("price", "bid", "sold", "buy_now", "shipping")


def plain_number(value: object) -> Decimal | None:
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


def without_old(value: Mapping[str, Any]) -> Object:
    """Leave out amounts that no longer hold, unless no other amount stands beside them."""
    old = {
        k
        for k, v in value.items()
        if is_kind(k, "old") and (plain_number(v) or (isinstance(v, dict) and is_all_money(v)))
    }
    if not old:
        return dict(value)
    others = [k for k in value if k not in old and _is_amount(k) and field_of(k) != "shipping"]
    return {k: v for k, v in value.items() if k not in old} if others else dict(value)


def is_money(key: str, field: str | None) -> bool:
    return (
        field in AMOUNTS
        or is_of_money(key)
        or is_kind(key, "start_bid")
        or is_kind(key, "bid_step")
    )


def holds_the_price(key: str) -> bool:
    """Say whether an object under this name, if it is an amount, is what is asked."""
    return is_of_money(key) or is_kind(key, "amount") or key_of(key) in words("wrapper")


def is_of_money(key: str) -> bool:
    """Say whether a name is that of a sale's amounts ("pricing", "prijsinfo")."""
    bare = re.sub(r"(?:info|information|informatie|details?|data|angaben?)$", "", key_of(key))
    return is_kind(key, "money") or bare in named("money")


def is_all_money(value: Mapping[str, Any]) -> bool:
    """Say whether an object tells an amount and nothing else."""
    return all(
        _is_inner_amount(k)
        or field_of(f"price.{k}") == "currency"
        or any(is_kind(k, kind) for kind in ("currency", "scale", "unit", "shown", "old"))
        or any(w in named("cents", "words") for w in words_of(str(k)))
        or key_of(str(k)) in ("type", "nanos")
        for k in value
    )


def money_text(value: Mapping[str, Any], is_named: bool) -> str | None:
    """An object that is one amount, as text with its currency; None if it is none.

    It needs a currency of its own, or a name that is that of an amount.
    """
    if (coins := _coins_in(value)) is not None:
        return coins
    value = without_old(whole_amounts(_without_range(value)))
    code = next((c for k, v in value.items() if (c := _code(k, v)) is not None), None)
    if is_named and value and all(len(k) == 3 and currency_code(k) for k in value):
        key, inner = next(iter(value.items()))
        if (number := plain_number(inner)) is not None:
            return f"{_shown(number)} {currency_code(key)}"  # {"EUR": 45}
    shown = [t for k, v in value.items() if is_kind(k, "shown") for t in _texts(v)]
    money = next((m for text in shown for m in find_money(text) if m.currency), None)
    found = [(k, v) for k, v in value.items() if _is_inner_amount(k)]
    code = code or (money.currency if money else None)
    for _, inner in found:
        if isinstance(inner, dict):
            return money_text({**inner, **({"currency": code} if code else {})}, is_named)
        amount = _amount(inner, value)
        if amount is None and isinstance(inner, str) and (read := read_price(inner)) is not None:
            amount, code = read.amount, read.currency or code
        if amount is not None and (is_named or code):
            return f"{_shown(amount)} {code or ''}".strip()
    return f"{_shown(money.amount)} {code}" if money and is_named else None


def _without_range(value: Mapping[str, Any]) -> Object:
    """A range of prices that is none ({"min": 45, "max": 45}) as one amount."""
    ends = {k: v for k, v in value.items() if key_of(str(k)) in ("min", "max", "low", "high")}
    amounts = {str(v) for v in ends.values()}
    if len(ends) != 2 or len(amounts) != 1:
        return dict(value)
    return {**{k: v for k, v in value.items() if k not in ends}, "amount": amounts.pop()}


def _coins_in(value: Mapping[str, Any]) -> str | None:
    """An amount told as whole coins and small ones beside each other ({"euro": 45, "cent": 50})."""
    if len(value) != 2:
        return None
    told = {str(k): n for k, v in value.items() if (n := plain_number(v)) is not None}
    small = [k for k in told if key_of(k) in named("cents", "words") and told[k] < 100]
    whole = [(k, c) for k in told if (c := currency_code(k) or _coin(k)) is not None]
    if len(told) != 2 or len(small) != 1 or len(whole) != 1 or whole[0][0] == small[0]:
        return None
    return f"{_shown(told[whole[0][0]] + told[small[0]] / 100)} {whole[0][1]}"


def _texts(value: Any) -> list[str]:
    inner = value.values() if isinstance(value, dict) else (value,)
    return [text for text in inner if isinstance(text, str)]


def _is_inner_amount(key: str) -> bool:
    return field_of(f"price.{key}") == "price" or is_kind(key, "amount")


def _amount(inner: object, value: Mapping[str, Any]) -> Decimal | None:
    """A number; with what stands beside it in billionths ("units": 45, "nanos": 500000000)."""
    number = plain_number(inner)
    nanos = plain_number(value.get("nanos"))
    return number + nanos / 10**9 if number is not None and nanos else number


def _code(key: object, value: object) -> str | None:
    if isinstance(value, dict):
        inner = (c for k, v in value.items() if (c := _code(k, v)) is not None)
        return next(inner, None) if field_of(str(key)) == "currency" else None
    if _is_unit(key) and isinstance(value, str):
        return _coin(value)
    is_name = field_of(f"price.{key}") == "currency" or is_kind(key, "currency")
    if not is_name or not value:
        return None
    return currency_code(str(value)) or _numbered().get(str(value))


@cache
def _numbered() -> dict[str, str]:
    return dict(row.split(" ") for row in shape_words()["numeric_currency"]["names"])


def _of_a_bid(bid: Object) -> Object:
    """A bid without who made it and when, so that its amount is left."""
    inner = next((v for k, v in bid.items() if _is_amount(k) and isinstance(v, dict)), None)
    return (
        inner if inner is not None else {k: v for k, v in bid.items() if not is_kind(k, "person")}
    )


def highest_bid(bids: Iterable[Any]) -> str | None:
    """The highest of a list of bids."""
    texts = [money_text(_of_a_bid(b), True) if isinstance(b, dict) else str(b) for b in bids]
    found = [(n, t) for t in texts if t and (n := read_number(t.split(" ")[0])) is not None]
    return max(found)[1] if found else None
