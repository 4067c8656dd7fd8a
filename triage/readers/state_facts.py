"""Facts from the data that a page carries for its own scripts ("hydration state").

Such data has no standard: the object that looks most like the listing is taken, its names are
read by data/state_names.toml, and all of it is trusted least of what is about this one item.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from json.encoder import encode_basestring
from typing import Any

from triage.readers.addresses import IMAGE_ENDING
from triage.readers.dates import read_date
from triage.readers.facts import Amount, Fact
from triage.readers.phrases import says
from triage.readers.prices import currency_code, read_price
from triage.readers.schema_facts import name_fit
from triage.readers.tables import table_of
from triage.readers.tolerant_json import load_json, load_prefix
from triage.readers.words import plain_text

ORIGIN = "page state"
MOST_TEXT = 4_000_000
MOST_OBJECTS = 20_000


@cache
def _data() -> dict[str, Any]:
    return table_of("state_names.toml")


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    names: dict[str, list[str]] = _data()["names"]
    return tuple((f, re.compile("|".join(f"(?:{p})" for p in rows))) for f, rows in names.items())


@cache
def field_of_path(path: str) -> str | None:
    """The field that a dotted path means, or None.

    >>> field_of_path("seller.displayName"), field_of_path("price.amount"), field_of_path("x")
    ('seller_name', 'price', None)
    """
    plain = re.sub(r"[_\- ]", "", path).casefold()
    return next((field for field, pattern in _patterns() if pattern.fullmatch(plain)), None)


_ASSIGNED = re.compile(
    r"(?:window|self|globalThis)(?:\.[\w$]+|\[[\"'][\w$.-]+[\"']\])\s*=\s*(?=[\[{])|(?:var|let|const)\s+[\w$]+\s*=\s*(?=[\[{])"
)
# an object given to a function or put on a list, if its names are in quotes
_HANDED = re.compile(r"\w\(\s*(?:[\w$.'\"#-]{1,40}+\s*+,\s*+){0,2}+(?=\{\s*\"\w)")
_PARSED = re.compile(r"JSON\.parse\(\s*(?=[\"'])")


def read_states(scripts: Iterable[tuple[str, str]]) -> list[Any]:
    """Parse the data in scripts (type, text): JSON scripts, and objects given to a name."""
    states: list[Any] = []
    budget = MOST_TEXT
    for kind, text in scripts:
        if len(text) < 40 or len(text) > budget:
            continue
        if not any(word in text for word in _TITLES) or not _may_hold_data(kind, text):
            continue
        budget -= len(text)
        states += [s for s in _states_of(kind, text) if isinstance(s, dict | list)]
    return states


def may_be_about(text: str, title: str | None, number: str | None) -> bool:
    """Say quickly whether a script may hold a listing: its number, or half of its title's words.

    Most of what scripts hold is about the site or about other listings.
    """
    words = [w for w in _LONG_WORD.findall((title or "").casefold()) if w.isascii()]
    if not words or (number and number in text):
        return True
    plain = text.casefold()
    return 2 * sum(word in plain for word in words) >= len(words)


_LONG_WORD = re.compile(r"\w{4,}")
_TITLES = (
    *("title", "Title", "name", "Name", "headline", "heading", "subject"),
    *("titre", "titolo", "titulo", "título", "titel", "Titel", "tytu", "bezeichnung", "rubrik"),
)
_STARTS = re.compile(r"[=(,]\s*[\[{\"']")


def _may_hold_data(kind: str, text: str) -> bool:
    """A script that is data, or gives some to a name somewhere."""
    if "json" in kind or text.lstrip()[:1] in "{[":
        return True
    return "JSON.parse" in text or _STARTS.search(text) is not None


def _states_of(kind: str, text: str) -> Iterator[Any]:
    if "json" in kind or text.lstrip()[:1] in "{[":
        yield _plain_json(text)
        return
    for match in list(_ASSIGNED.finditer(text))[:20]:
        value = load_prefix(text, match.end())
        yield value if value is not None else _script_object(text, match.end())
    for match in list(_HANDED.finditer(text))[:20]:
        yield load_prefix(text, match.end())
    for match in list(_PARSED.finditer(text))[:5]:
        inner = (
            load_prefix(text, match.end())
            if text[match.end()] == '"'
            else _quoted(text, match.end())
        )
        if isinstance(inner, str):
            yield _plain_json(inner)


def _plain_json(text: str) -> Any:
    return load_json(text)


def _quoted(text: str, start: int) -> str | None:
    """A string in single quotes, as a script writes it."""
    match = re.compile(r"'((?:[^'\\]|\\.)*)'", re.S).match(text, start)
    if match is None:
        return None
    body = match[1].replace("\\'", "'").replace('"', '\\"').replace('\\\\"', '\\"')
    try:
        value = json.loads(f'"{body}"', strict=False)
    except ValueError:
        return None
    return value if isinstance(value, str) else None


_SCRIPT_TOKEN = re.compile(
    r"(?P<double>\"(?:[^\"\\]|\\.)*\")|(?P<single>'(?:[^'\\]|\\.)*')|(?P<note>//[^\n]*|/\*.*?\*/)"
    r"|(?P<key>[A-Za-z_$][\w$]*)(?=\s*:)|(?P<word>undefined|NaN|!0|!1|void 0)"
    r"|(?P<open>[{\[])|(?P<shut>[}\]])|(?P<comma>,)(?=\s*[}\]])",
    re.S,
)


def _script_object(text: str, start: int) -> Any:
    """An object literal with bare keys or single quotes, made JSON and parsed."""
    parts: list[str] = []
    depth, position = 0, start
    for match in _SCRIPT_TOKEN.finditer(text, start, start + MOST_TEXT):
        kind = match.lastgroup
        if kind == "open":
            depth += 1
        elif kind == "shut":
            depth -= 1
            if depth == 0:
                return load_json("".join((*parts, text[position : match.end()])))
        elif kind != "double":
            parts += [text[position : match.start()], _json_token(kind, match[0])]
            position = match.end()
    return None


def _json_token(kind: str | None, written: str) -> str:
    if kind == "single":
        return encode_basestring(written[1:-1].replace("\\'", "'"))
    if kind == "key":
        return f'"{written}"'
    if kind == "word":
        return {"!0": "true", "!1": "false"}.get(written, "null")
    return ""  # a note, a comma before a closing bracket


# --- the listing among the objects --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Candidate:
    value: dict[str, Any]
    score: float


def find_state_listing(
    states: Iterable[Any], title: str | None, number: str | None, step: str | None = None
) -> dict[str, Any] | None:
    """The object most like the listing: named like the page, or with its id, or with the last
    step of its address; None if none is."""
    best: _Candidate | None = None
    for path, value in objects_in(states):
        if any(_leads_elsewhere(step) for step in path):
            continue
        score = _score(value, title, number)
        if score and step and any(isinstance(v, str) and v.endswith(step) for v in value.values()):
            score += 2.0
        if score > (best.score if best else 2.5):
            best = _Candidate(value, score)
    return best.value if best else None


@cache
def _leads_elsewhere(step: str) -> bool:
    plain = re.sub(r"[_\- ]", "", step).casefold()
    return any(
        plain.startswith(word) or plain.endswith(word) for word in _data()["elsewhere"]["names"]
    )


def objects_in(states: Iterable[Any]) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """Every object in a page's data with the path of names that leads to it."""
    stack: list[tuple[tuple[str, ...], Any]] = [((), s) for s in states]
    count = 0
    while stack and count < MOST_OBJECTS:
        path, value = stack.pop()
        count += 1
        if isinstance(value, dict):
            yield path, value
            stack += [
                ((*path, str(k)), v)
                for k, v in value.items()
                if isinstance(v, dict | list) and len(path) < 12
            ]
        elif isinstance(value, list):
            stack += [(path, v) for v in value[:200] if isinstance(v, dict | list)]


def _score(value: dict[str, Any], title: str | None, number: str | None) -> float:
    fields = {field_of_path(str(k)) for k, v in value.items() if v is not None} - {None}
    below = {
        field_of_path(f"{k}.{i}")
        for k, v in value.items()
        if isinstance(v, dict)
        for i in list(v)[:20]
    } - {None}
    known = fields | below
    if "title" not in fields or not known & {
        "price",
        "price_minor",
        "bid",
        "sold",
        "description",
        "seller_name",
        "seller_id",
        "start_bid",
        "buy_now",
    }:
        return 0.0
    name = next(
        (v for k, v in value.items() if field_of_path(str(k)) == "title" and isinstance(v, str)),
        None,
    )
    score = 4.0 * name_fit(name, title) + 0.3 * len(known)
    ids = [
        str(v)
        for k, v in value.items()
        if field_of_path(str(k)) == "listing_id" and isinstance(v, str | int)
    ]
    return score + (2.0 if number and number in ids else 0.0)


# --- its facts -----------------------------------------------------------------------------------


def state_facts(listing: dict[str, Any], language: str) -> list[Fact]:
    """The facts of a listing object."""
    return list(_state_facts(listing, language))


def _state_facts(listing: dict[str, Any], language: str) -> Iterator[Fact]:
    rows = list(_scalars(listing))
    currency = next(
        (currency_code(str(v), language) for p, v in rows if field_of_path(p) == "currency"), None
    )
    named = {field_of_path(path) for path, _ in rows}
    for path, value in rows:
        field = field_of_path(path)
        if field == "seller_name" and REFERENCE.fullmatch(str(value)):
            field = "seller_id"
        if field == "seller_id":
            value = str(value).rpartition(":")[2]
        if field is not None:
            yield from _fact(field, value, path, currency, language)
        if field == "seller_id" and "seller_name" not in named and _is_handle(path):
            yield from _fact("seller_name", value, path, currency, language)
    for pair in _specifics(listing):
        yield Fact("specifics", pair, ORIGIN, "specifics")


REFERENCE = re.compile(r"\d+|[A-Z]\w*:\w[\w-]*")  # to who is kept apart: 77, "User:77"


def seller_beside(states: Iterable[Any], listing: dict[str, Any]) -> list[Fact]:
    """The name of who sells, where a listing tells only an id and people are kept apart from it."""
    seller = seller_without_name(listing)
    for path, value in objects_in(states) if seller is not None else ():
        own = {str(value.get(n)) for n in ("id", "_id", "uid", "userId", "sellerId")}
        own |= {step.rpartition(":")[2] for step in path[-1:]}
        if _tells_of_people(path) and seller in own:
            named = [(k, v) for k, v in value.items() if isinstance(v, str) and v.strip()]
            for key, name in named:
                if field_of_path(f"seller.{key}") == "seller_name" or _is_handle(str(key)):
                    return [Fact("seller_name", " ".join(name.split()), ORIGIN, str(key))]
    return []


def seller_without_name(listing: dict[str, Any]) -> str | None:
    """The seller's id, where a listing tells no name that a reader knows the seller by."""
    rows = [(field_of_path(path), path, str(value)) for path, value in _scalars(listing)]
    named = [(path, v) for f, path, v in rows if f == "seller_name"]
    ids = [v.rpartition(":")[2] for f, _, v in rows if f == "seller_id"]
    ids += [v.rpartition(":")[2] for _, v in named if REFERENCE.fullmatch(v)]
    if any(not REFERENCE.fullmatch(v) for _, v in named):
        return None
    if any(_is_handle(path) for field, path, _ in rows if field == "seller_id"):
        return None
    return next(iter(ids), None)


def _tells_of_people(path: tuple[str, ...]) -> bool:
    people = _data()["people"]["names"]
    plain = (re.sub(r"[_\- ]", "", step.partition(":")[0]).casefold() for step in path)
    return any(step in people for step in plain)


def _is_handle(path: str) -> bool:
    """Say whether a seller's id is the name under which the site shows the seller."""
    last = re.sub(r"[_\- ]", "", path.rsplit(".", 1)[-1]).casefold()
    return last.endswith(("username", "login", "handle", "nick", "nickname"))


def _scalars(value: dict[str, Any], path: str = "", depth: int = 0) -> Iterator[tuple[str, Any]]:
    """Paths and values, the shallow ones first: an object's own name before those inside it."""
    later = []
    for key, inner in value.items():
        here = f"{path}.{key}" if path else str(key)
        if isinstance(inner, dict) and depth < 3 and not _leads_elsewhere(str(key)):
            later.append((here, inner))
        elif inner is not None and not isinstance(inner, dict | list):
            yield here, inner
        elif (
            isinstance(inner, list)
            and field_of_path(here) in ("description",)
            and all(isinstance(i, str) for i in inner)
        ):
            yield here, "\n".join(inner)
    for here, inner in later:
        yield from _scalars(inner, here, depth + 1)


def _fact(field: str, value: Any, path: str, currency: str | None, language: str) -> Iterator[Fact]:
    text = str(value).strip() if not isinstance(value, bool) else ("true" if value else "false")
    if not text:
        return
    if field in ("price", "bid", "start_bid", "sold", "buy_now", "shipping", "price_minor"):
        if isinstance(value, bool):
            return
        if field == "shipping" and says("free_shipping", text):
            yield Fact(field, Amount(Decimal(0)), ORIGIN, path)
            return
        plain = re.fullmatch(r"\d{1,10}(?:\.\d{1,4})?", text) and not isinstance(value, str)
        money = None if plain else read_price(text, language)
        amount = Decimal(text) if plain else money.amount if money is not None else None
        if amount is None:
            return
        currency = currency or (money.currency if money is not None else None)
        if field == "price_minor":
            field, amount = "price", amount / 100
        yield Fact(field, Amount(amount, currency), ORIGIN, path)
    elif field in ("date_listed", "ends_at"):
        stated = read_date(text, language)
        if stated:
            yield Fact(field, stated.iso, ORIGIN, path)
    elif field == "description":
        yield Fact(field, plain_text(text), ORIGIN, path)
    elif field == "quantity":
        if re.fullmatch(r"\d{1,5}", text):
            yield Fact(field, int(text), ORIGIN, path)
    elif field == "bid_count":
        if re.fullmatch(r"[1-9]\d{0,5}", text):
            yield Fact("auction", True, ORIGIN, path)
    elif field == "format":
        if re.search(r"(?i)auction|auktion|asta|subasta|ench|\bbid", text) or (
            path.casefold() == "isauction" and text == "true"
        ):
            yield Fact("auction", True, ORIGIN, path)
    elif field == "status":
        yield from _status(path, text)
    elif field == "offers":
        if text.casefold() in ("true", "yes", "1", "false", "no", "0"):
            yield Fact("offers_accepted", text.casefold() in ("true", "yes", "1"), ORIGIN, path)
    elif field in (
        "title",
        "url",
        "listing_id",
        "seller_id",
        "seller_name",
        "seller_feedback",
        "location",
        "returns",
    ):
        if isinstance(value, bool) or len(text) > 2000:
            return
        yield Fact(field, " ".join(text.split()), ORIGIN, path)


def _status(path: str, text: str) -> Iterator[Fact]:
    last = path.rsplit(".", 1)[-1].casefold()
    word = text.casefold().rsplit("/", 1)[-1]
    if word in ("true", "false"):
        said = word == "true"
        if "sold" in last and said:
            yield Fact("status", "sold", ORIGIN, path)
        elif re.search(r"ended|closed|expired", last):
            yield Fact("status", "ended" if said else "open", ORIGIN, path)
        elif re.search(r"active|live|open", last):
            yield Fact("status", "open" if said else "ended", ORIGIN, path)
    elif word in ("sold", "soldout", "sold_out"):
        yield Fact("status", "sold", ORIGIN, path)
    elif word in (
        "ended",
        "closed",
        "expired",
        "completed",
        "finished",
        "inactive",
        "unsold",
        "outofstock",
    ):
        yield Fact("status", "ended", ORIGIN, path)
    elif word in (
        "active",
        "live",
        "open",
        "published",
        "available",
        "online",
        "onsale",
        "on_sale",
        "running",
        "instock",
    ):
        yield Fact("status", "open", ORIGIN, path)


def _specifics(listing: dict[str, Any]) -> Iterator[tuple[str, str]]:
    for key, value in listing.items():
        if re.sub(r"[_\- ]", "", str(key)).casefold() not in _data()["specifics"]["names"]:
            continue
        if isinstance(value, dict):
            yield from (
                (str(k), str(v))
                for k, v in value.items()
                if isinstance(v, str | int | Decimal) and not isinstance(v, bool)
            )
        elif isinstance(value, list):
            yield from (
                pair for row in value[:200] if isinstance(row, dict) and (pair := _row(row))
            )


def _row(row: dict[str, Any]) -> tuple[str, str] | None:
    keys = {re.sub(r"[_\- ]", "", str(k)).casefold(): v for k, v in row.items()}
    names: dict[str, list[str]] = _data()["specifics"]
    label = next((keys[k] for k in names["labels"] if isinstance(keys.get(k), str)), None)
    value = next((keys[k] for k in names["values"] if keys.get(k) is not None), None)
    if isinstance(value, list):
        value = ", ".join(str(v) for v in value if isinstance(v, str | int))
    return (
        (label, str(value))
        if label and isinstance(value, str | int | Decimal) and str(value)
        else None
    )


def state_images(listing: dict[str, Any]) -> list[str]:
    """The image addresses of a listing object, in order."""
    for key, value in listing.items():
        if re.sub(r"[_\- ]", "", str(key)).casefold() in _data()["photos"]["names"]:
            entries = (
                value
                if isinstance(value, list)
                else list(value.values())
                if isinstance(value, dict)
                else []
            )
            found = [a for entry in _flat(entries) if (a := _address(entry))]
            if found:
                return found
    return []


_PICTURES = re.compile(r"\[\s*(?:\{|[\"'](?:https?:)?\\?/)")
_MOST_LISTS = 20


def script_images(texts: Iterable[str], shown: frozenset[str]) -> list[str]:
    """The images in a list that a script hands to a gallery, if the page shows one of them."""
    for text in texts:
        if len(text) > MOST_TEXT // 10 or _PICTURES.search(text) is None:
            continue
        if not any(address in text for address in shown):
            continue
        for match in list(_PICTURES.finditer(text))[:_MOST_LISTS]:
            value = load_prefix(text, match.start())
            value = _script_object(text, match.start()) if value is None else value
            found = state_images({"images": value}) if isinstance(value, list) else []
            if len(found) > 1 and not shown.isdisjoint(found):
                return found if all(map(IMAGE_ENDING.search, found)) else []
    return []


def _flat(entries: list[Any]) -> Iterator[Any]:
    for entry in entries:
        if isinstance(entry, list):
            yield from entry
        else:
            yield entry


def _address(entry: Any) -> str | None:
    if isinstance(entry, str):
        return entry if re.search(r"[/.]", entry) else None
    if not isinstance(entry, dict):
        return None
    keys = {re.sub(r"[_\- ]", "", str(k)).casefold(): v for k, v in entry.items()}
    for name in _data()["photos"]["addresses"]:
        value = keys.get(name)
        if isinstance(value, dict):
            value = _address(value)
        if isinstance(value, str) and value:
            return value
    return next((a for v in keys.values() if isinstance(v, dict) and (a := _address(v))), None)
