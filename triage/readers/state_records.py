"""A page's data read as exports are: by names in many languages, in any shape (json_shapes.py).

It adds to state_facts.py what that leaves open, and puts data together that a page hands to its
scripts in pieces.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import islice
from pathlib import Path
from typing import Any

from extractors.records import Listing
from triage.readers.dates import read_date
from triage.readers.facts import Amount, Fact
from triage.readers.fields import build_listing, scalars
from triage.readers.json_listings import may_be_listing
from triage.readers.json_shapes import plain_object
from triage.readers.markup import HtmlElement, select
from triage.readers.source import Source
from triage.readers.state_facts import ORIGIN, REFERENCE, objects_in
from triage.readers.tolerant_json import load_prefix
from triage.readers.words import one_line

_MONEY = frozenset(("price", "bid", "sold", "buy_now", "start_bid"))
_TEXTS = (
    *("description", "listing_id", "seller_id", "seller_name"),
    *("location", "returns", "seller_feedback"),
)
_MOST_TRIED = 200  # objects of a page's data


def record_facts(listing: Mapping[str, Any], told: Sequence[Fact], language: str) -> list[Fact]:
    """The facts of a listing object that are not among the `told` ones yet, or better told.

    An amount given in coins, with an exponent or in parts is better told.
    """
    plain = plain_object(listing)
    named = [n for n in scalars(plain) if n.value.strip()]
    made, _ = build_listing(Source(Path("."), "state"), named, "state", language=language)
    known = {f.field for f in told}
    facts = [f for f in _facts(made, known) if f.field not in known]
    rows = plain.get("specifics")
    if "specifics" not in known and isinstance(rows, dict):
        facts += [
            Fact("specifics", (str(k), str(v)), ORIGIN, "specifics")
            for k, v in rows.items()
            if isinstance(v, str | int | Decimal) and not isinstance(v, bool)
        ]
    if (
        made.price is not None
        and made.price_kind == "fixed"
        and any(map(_is_split, listing.values()))
    ):
        facts.insert(0, Fact("price", Amount(made.price, made.currency), ORIGIN, "price"))
    return facts


def _is_split(value: Any) -> bool:
    """Say whether an amount is told in parts: units and nanos, a value and its exponent."""
    return isinstance(value, dict) and not _PARTS.isdisjoint(str(k).casefold() for k in value)


_PARTS = frozenset(("nanos", "exponent", "scale", "precision", "fraction", "fractional", "digits"))


def _facts(made: Listing, known: set[str]) -> Iterator[Fact]:
    if made.price is not None and known.isdisjoint(_MONEY):
        kind = {"bid": "bid", "sold": "sold"}.get(made.price_kind or "", "price")
        yield Fact(kind, Amount(made.price, made.currency), ORIGIN, "price")
    for name, amount in (("shipping", made.shipping), ("buy_now", made.buy_now)):
        if amount is not None:
            yield Fact(name, Amount(amount, made.currency), ORIGIN, name)
    for name in _TEXTS:
        value = getattr(made, name)
        if value and not (name == "seller_name" and REFERENCE.fullmatch(value)):
            yield Fact(name, value, ORIGIN, name)
    for name in ("date_listed", "ends_at"):
        if (value := getattr(made, name)) and read_date(value):
            yield Fact(name, value, ORIGIN, name)


def find_record(states: Iterable[Any], title: str | None) -> dict[str, Any] | None:
    """The object that bears the page's name and offers something, by the names of any language."""
    wanted = one_line(title or "")
    if len(wanted) < 8:
        return None
    tried = 0
    for _, value in objects_in(states):
        if not any(isinstance(v, str) and one_line(v) == wanted for v in value.values()):
            continue
        tried += 1
        if tried > _MOST_TRIED:
            return None
        if len(value) > 2 and may_be_listing(value):
            return value
    return None


# --- data in pieces ------------------------------------------------------------------------------

_PUSH = re.compile(r"\.push\(\s*(?=\[\s*\d+\s*,\s*\")")  # its literal beginning is found fast
_LIST = re.compile(r"([\w$]+)(?:\s*=[^)]{0,80}\))?$")
_MOST_PIECES = 2_000


def joined_pieces(scripts: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """The data that scripts push on a list piece by piece, as JSON scripts (type, text).

    Each piece is a row's number and a text; the texts joined are lines of an id and a value.
    """
    pieces: dict[str, list[str]] = {}
    for kind, text in scripts:
        if "json" in kind or ".push(" not in text:
            continue
        for match in list(_PUSH.finditer(text))[:_MOST_PIECES]:
            name = _LIST.search(text[max(0, match.start() - 120) : match.start()])
            row = load_prefix(text, match.end()) if name is not None else None
            if name is not None and isinstance(row, list) and isinstance(row[-1], str):
                pieces.setdefault(name[1], []).append(row[-1])
    return [("application/json", text) for own in pieces.values() for text in _rows("".join(own))]


_ROW = re.compile(r"([0-9a-zA-Z]{1,8}):(?:T([0-9a-f]{1,8}),)?")


def _rows(joined: str) -> list[str]:
    """The values of all lines that hold objects; texts kept apart are put where they belong."""
    values: list[str] = []
    texts: dict[str, str] = {}
    position = 0
    while (match := _ROW.match(joined, position)) is not None:
        if match[2] is not None:  # a text with its length in bytes
            body = joined[match.end() :].encode("utf-8", "surrogatepass")[: int(match[2], 16)]
            text = body.decode("utf-8", "ignore")
            texts[match[1]] = text
            position = match.end() + len(text)
            position += joined.startswith("\n", position)
            continue
        end = joined.find("\n", match.end())
        end = len(joined) if end < 0 else end
        values.append(joined[match.end() : end])
        position = end + 1
    return [_with_texts(v, texts) for v in values if v[:1] in "[{" and '{"' in v]


def _with_texts(value: str, texts: Mapping[str, str]) -> str:
    if not texts or '"$' not in value:
        return value
    return re.sub(
        r'"\$([0-9a-zA-Z]{1,8})"',
        lambda m: json.dumps(texts[m[1]]) if m[1] in texts else m[0],
        value,
    )


# --- data in attributes --------------------------------------------------------------------------

_HELD = ("{&quot;", "{&#34;", "='{\"", "='[{\"")
_MOST_HELD = 50


def held_in_attributes(root: HtmlElement, text: str) -> list[tuple[str, str]]:
    """The objects in attributes, which a page's scripts take what they show from (type, text)."""
    if not any(start in text for start in _HELD):
        return []
    path = "descendant::*/@*[starts-with(., '{') or starts-with(., '[{')]"
    found = (str(value) for value in select(root, path))
    long = [value for value in islice(found, _MOST_HELD * 4) if len(value) >= 60]
    return [("application/json", value) for value in long[:_MOST_HELD]]
