"""The listings in a JSON export, wherever and however they stand in it.

An export may be one listing, a list, an object per number, columns, a table with its header, the
answer of a service (lists in pages, "edges" and "node", JSON:API 1.1 resources, a database's own
way of writing values), or a note about each listing with that inside. Lists of other things beside
the listings ("similar", "facets") are left alone.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from triage.readers.field_names import (
    field_of,
    is_listing,
    is_unstated,
    is_weak,
    key_of,
    meanings,
)
from triage.readers.fields import Named, scalars
from triage.readers.json_names import is_elsewhere
from triage.readers.json_photos import is_photos
from triage.readers.json_shapes import is_about_the_sale, named_body, plain_object
from triage.readers.json_specifics import group_beside

Object = dict[str, Any]
MAX_DEPTH = 12


def find_listings(value: Any) -> list[Object]:
    """Find the objects that are listings, in order; texts that hold JSON are opened if need be."""
    return [one for one, _ in plain_listings(value)]


def plain_listings(value: Any) -> list[tuple[Object, Object]]:
    """The same, each also brought to plain values (see `json_shapes.plain_object`)."""
    found = _believed(_listings_in(opened(value)))
    if found or not _holds_json(value):
        return found
    return _believed(_listings_in(opened(_unpacked(value))))


# --- what is no listing ------------------------------------------------------------------------


def _believed(found: list[Object]) -> list[tuple[Object, Object]]:
    made = ((one, plain_object(one)) for one in found)
    return [(one, plain) for one, plain in made if may_be_listing(one, plain)]


def may_be_listing(value: Mapping[str, Any], plain: Mapping[str, Any] | None = None) -> bool:
    """Say whether an object offers something, by what its values are, not only by their names.

    Menus, word lists of a site's languages, articles, profiles, places, tasks and price lists have
    titles, prices and links too. With an amount, something more than a name must be told; without
    one, who sells, a number, photos, specifics or the like. `plain` is the object in plain values,
    if these are known.
    """
    if _kind(value) not in _OFFERED or "geometry" in value:
        return False
    plain = plain_object(value) if plain is None else plain
    names = [n for n in scalars(plain) if n.value.strip()]
    told = {(f, n.name) for n in names if (f := field_of(n.name)) is not None}
    fields = {field for field, _ in told}
    yes_no = meanings("yes_no")
    stated = [n.value for n in names if field_of(n.name) in _ASKED and not is_unstated(n.value)]
    amounts = [text for text in stated if key_of(text) not in yes_no or text.isdigit()]
    strong = any(f == "title" and not is_weak(n) for f, n in told)
    if any(re.search(r"\d", a) or key_of(a) in meanings("free") for a in amounts):
        return strong or bool(fields & {*_TELLING, "description", "url"})
    if amounts:
        is_told = bool(fields & {*_TELLING, "description", "url", "id"})
        return strong and is_told and not _are_labels(amounts, names)
    sale = fields & set(_TELLING)
    if any(key_of(str(k)) in _WRITES for k in value):
        sale -= {"seller_name", "seller_id"}
    is_stated = any(field_of(k) in _ASKED for k in value)  # a price that was not given
    others = fields & {"id", "description", "date_listed", "ended", "url"}
    if strong:
        is_bare = fields == {"title", "id"} and len(value) == 2  # one of our own, hardly filled in
        return is_stated or is_bare or len(sale) > 1 or bool(sale and others)
    return len(sale) > 1 and bool(sale & {"listing_id", "specifics", "shipping"})


def _are_labels(amounts: Sequence[str], names: Sequence[Named]) -> bool:
    """Say whether the amounts are words of a site ("price": "Your price"), stating nothing.

    Any other word for an amount ("VB", "make an offer", a slip) leaves the price open; the
    listing is there all the same.
    """
    titles = [n.value for n in names if field_of(n.name) == "title"]
    amounts = [text for text in amounts if key_of(text) not in meanings("ended")]  # "sold"
    if any(field_of(text) is not None for text in (*titles, *amounts)):
        return True
    asked = any(field_of(word) in _ASKED for a in amounts for word in re.findall(r"\w+", a))
    return asked and not any(re.search(r"\d", n.value) for n in names if field_of(n.name))


_TELLING = ("seller_name", "seller_id", "listing_id", "photos", "specifics", "shipping", "location")
_WRITES = ("author", "from", "username", "by")  # who writes texts or is shown in a profile
# schema.org types that are offered; of other types nothing is read
_OFFERED = ("", "product", "offer", "individualproduct", "productmodel", "aggregateoffer", "demand")


def _kind(value: Mapping[str, Any]) -> str:
    kind = value.get("@type")
    kinds = kind if isinstance(kind, list) else [kind]
    plain = [
        k.rpartition("/")[2].rpartition(":")[2].casefold() for k in kinds if isinstance(k, str)
    ]
    return next((k for k in plain if k in _OFFERED), plain[0] if plain else "")


# --- services and databases --------------------------------------------------------------------

# how databases and services write a value with its kind: {"$date": ...}, {"stringValue": ...}
_TYPED = re.compile(
    r"\$(?:date|oid|uuid|number\w+)|(?:string|integer|double|boolean|timestamp|reference)Value"
    r"|S|N|BOOL|__text|#text|_text|\$t"
)
_NESTED = {"mapValue": "fields", "arrayValue": "values"}


def opened(value: Any, included: Mapping[tuple[str, str], Any] | None = None) -> Any:
    """A document without what services and databases put about values.

    >>> opened({"edges": [{"node": {"title": "A", "at": {"$date": "2026-11-01"}}}]})
    [{'title': 'A', 'at': '2026-11-01'}]
    """
    if isinstance(value, list):
        return opened(told, included) if (told := _in_one_language(value)) is not None else [
            opened(one, included) for one in value
        ]  # fmt: skip
    if not isinstance(value, dict):
        return value
    if (told := _in_one_language(value)) is not None:
        return opened(told, included)
    if len(value) == 1:
        ((key, inner),) = value.items()
        if _TYPED.fullmatch(key) and not isinstance(inner, list):
            return opened(inner, included)
        if key in _NESTED and isinstance(inner, dict):
            return opened(inner.get(_NESTED[key]), included)
        if key in ("M", "L") and isinstance(inner, dict | list):
            return opened(inner, included)
    included = _included(value) or included or {}
    value = _resource(_with_relations(value, included))
    made = {key: opened(inner, included) for key, inner in value.items()}
    return _without_edges(made)


# ISO 639-1 codes; those that are common keys of other things ("id", "no", "is") are left out
_LANGUAGES = frozenset(
    [
        "en",
        "de",
        "fr",
        "it",
        "es",
        "nl",
        "pt",
        "pl",
        "sv",
        "da",
        "ja",
        "fi",
        "cs",
        "hu",
        "el",
        "ro",
        "bg",
        "hr",
        "sk",
        "sl",
        "tr",
        "uk",
    ]
)
_LOCALE = re.compile(r"([a-z]{2})(?:[-_][A-Z]{2})?")
_OF_LOCALE = ("lang", "language", "locale", "languagecode", "lng")


def _in_one_language(value: Any) -> Any:
    """What is told once per language ({"en": ..., "de": ...}), in the first; None if it is not."""
    if isinstance(value, dict):
        found = [_LOCALE.fullmatch(k) for k in value]
        if value and all(m is not None and m[1] in _LANGUAGES for m in found):
            return next(iter(value.values()))
        return None
    if not value or not all(isinstance(one, dict) and len(one) in (2, 3) for one in value):
        return None
    first = value[0]
    codes = [v for k, v in first.items() if key_of(k) in _OF_LOCALE]
    texts = [v for k, v in first.items() if key_of(k) in ("value", "text", "content", "label")]
    is_told = len(codes) == 1 and isinstance(codes[0], str) and _LOCALE.fullmatch(codes[0])
    return texts[0] if is_told and len(texts) == 1 else None


def _included(value: Mapping[str, Any]) -> dict[tuple[str, str], Any]:
    """The resources that a JSON:API document carries for others to name (7.3)."""
    rows = value.get("included")
    if not isinstance(rows, list):
        return {}
    return {(str(r.get("type")), str(r.get("id"))): r for r in rows if isinstance(r, dict)}


_HOLDERS = ("relationships", "_embedded", "embedded", "relations")
_OF_THE_STORE = ("type", "id", "_id", "meta", "highlight", "sort", "jsonapi")


def _with_relations(value: Object, included: Mapping[tuple[str, str], Any]) -> Object:
    """An object with what it holds as relations (JSON:API 1.1, 7.2; HAL) as values of its own."""
    held = [k for k in _HOLDERS if isinstance(value.get(k), dict)]
    if not held:
        return value
    made = {k: v for k, v in value.items() if k not in held}
    for name, link in (pair for k in held for pair in value[k].items()):
        if not isinstance(link, dict) or not link.keys() <= {"links", "meta"}:
            made.setdefault(name, _followed(link, included))
    return made


def _followed(link: Any, included: Mapping[tuple[str, str], Any]) -> Any:
    """What a relation names, or what it holds itself."""
    named = link.get("data") if isinstance(link, dict) else None
    if isinstance(named, list):
        return [_related(n, included) for n in named[:200] if isinstance(n, dict)]
    return _related(named, included) if isinstance(named, dict) else link


def _resource(value: Object) -> Object:
    """A resource or stored document as one object: its id, its attributes, what stands beside."""
    body = named_body(value)
    if body is None:
        return value
    number = value.get("id", value.get("_id"))
    made: Object = {**value[body]}
    if number is not None and not any(field_of(k) == "listing_id" for k in made):
        made["listing_id"] = str(number)
    for key, inner in value.items():
        if key == body or key in _OF_THE_STORE or is_elsewhere(key):
            continue
        if isinstance(inner, dict | list) or field_of(key) not in _NOT_OF_IT:
            made.setdefault(key, inner)
    return made


def _related(named: Mapping[str, Any], included: Mapping[tuple[str, str], Any]) -> Object:
    found = included.get((str(named.get("type")), str(named.get("id"))), {})
    attributes = found.get("attributes")
    own = named.get("attributes")
    told = attributes if isinstance(attributes, dict) else own if isinstance(own, dict) else {}
    plain = {k: v for k, v in named.items() if k not in ("type", "attributes", "links", "meta")}
    return {**plain, **told}


_ROWS = ("results", "items", "nodes", "elements", "entries", "_items")


def _without_edges(value: Object) -> Any:
    """A connection (its "edges" hold a "node" each) as the list of its nodes."""
    edges = value.get("edges")
    if (
        isinstance(edges, list)
        and edges
        and all(isinstance(e, dict) and "node" in e for e in edges)
    ):
        return [edge["node"] for edge in edges]
    if len(value) == 1:
        ((key, rows),) = value.items()
        if key in _ROWS and isinstance(rows, list):
            return rows
    nodes = value.get("nodes")
    about = {"pageinfo", "totalcount", "nodes", "count", "edges", "typename"}
    if isinstance(nodes, list) and {key_of(k).strip("_") for k in value} <= about:
        return nodes
    return value


def _holds_json(value: Any, depth: int = 0) -> bool:
    if isinstance(value, str):
        return len(value) > 40 and value.lstrip()[:1] in ("{", "[")
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return depth < 6 and any(_holds_json(v, depth + 1) for v in list(inner)[:1000])


def _unpacked(value: Any, depth: int = 0) -> Any:
    """A document with the texts opened that hold JSON themselves."""
    if isinstance(value, str) and _holds_json(value):
        try:
            return json.loads(value, parse_int=str, parse_float=str, parse_constant=lambda _: None)
        except (ValueError, RecursionError):
            return value
    if depth > 6:
        return value
    if isinstance(value, list):
        return [_unpacked(v, depth + 1) for v in value]
    if isinstance(value, dict):
        return {k: _unpacked(v, depth + 1) for k, v in value.items()}
    return value


# --- finding -----------------------------------------------------------------------------------


def _listings_in(value: Any, depth: int = 0) -> list[Object]:
    """Find the listings: the value itself, the items of a list, or those of what is inside."""
    if (rows := _as_rows(value)) is not None:
        return rows
    if isinstance(value, list):
        return [found for item in value for found in _listings_in(item, depth + 1)]
    if not isinstance(value, dict) or depth > MAX_DEPTH:
        return []
    if keyed := _keyed(value):
        return keyed
    if (core := _core(value)) is not None:
        return [core]
    if _is_envelope(value) and (found := _together(value, depth)):
        return found
    is_one = is_listing(n.name for n in scalars(value))
    if is_one and any(_asks_outright(k, v) for k, v in value.items()):
        return [value]
    told = _told(value) if is_one else set()
    if told & _ASKED:
        return [value]
    found = _together(value, depth)
    if is_one and (not found or ("description" in told and not any(map(_is_asked, found)))):
        return [value]
    return found


def _is_envelope(value: Mapping[str, Any]) -> bool:
    """Say whether an object states nothing of a listing itself: it only holds others."""
    return not any(_is_stated(k, v) for k, v in value.items())


def _is_stated(key: str, value: Any) -> bool:
    if isinstance(value, dict | list):  # "data" is a date in Italian, "listing" a number
        is_told = field_of(key) in (None, "title", *_ASKED, *_TELLING, "description", "buy_now")
        return is_told and field_of(key) != "listing_id" and _may_state(key)
    return value is not None and field_of(key) is not None


def _may_state(key: str) -> bool:
    return is_about_the_sale(key) or field_of(key) == "title"


_ASKED = {"price", "bid", "sold"}


def _told(value: Mapping[str, Any]) -> set[str | None]:
    """The fields that an object states itself, not only in lists.

    An export may have a title and a seller of its own about the list of listings.
    """
    plain = plain_object({k: v for k, v in value.items() if not isinstance(v, list)})
    return {field_of(n.name) for n in scalars(plain) if n.value.strip()}


def _asks_outright(key: str, value: Any) -> bool:
    """Say whether a value is an amount under its own name, so that nothing need be worked out."""
    is_amount = isinstance(value, str) and re.fullmatch(r"\d+(?:\.\d+)?", value) is not None
    return is_amount and field_of(key) in _ASKED


def _is_asked(value: Mapping[str, Any]) -> bool:
    return bool(_told(value) & _ASKED)


def _together(value: Mapping[str, Any], depth: int) -> list[Object]:
    """The listings inside an object: its one listing, else those of all its lists.

    Things without a price are left out if others have one: menus and links have titles too.
    """
    inside = {k: v for k, v in value.items() if isinstance(v, list | dict)}
    named = {k: v for k, v in inside.items() if not is_elsewhere(str(k))}
    groups = _groups(named, depth) or _groups({k: v for k, v in inside.items() if k in _ADS}, depth)
    if len(groups) < 2:
        return groups[0][1] if groups else []
    asked = [g for g in groups if any(map(_is_asked, g[1][:20]))] or groups
    single = [found for inner, found in asked if isinstance(inner, dict) and len(found) == 1]
    if len(single) == 1:
        return single[0]
    return [one for _, found in asked for one in found]


_ADS = ("ads", "adList", "ad_list")  # the listings of one site, what others pay for on another


def _groups(values: Mapping[str, Any], depth: int) -> list[tuple[Any, list[Object]]]:
    found = ((inner, _listings_in(inner, depth + 1)) for inner in values.values())
    return [(inner, listings) for inner, listings in found if listings]


def _core(value: Mapping[str, Any]) -> Object | None:
    """The listing inside an entry of a list ("position", "savedAt"), with what that knows of it."""
    plain = {k: v for k, v in value.items() if not isinstance(v, dict | list)}
    if "title" in {field_of(k) for k in plain}:
        return None
    own = [k for k, v in value.items() if isinstance(v, dict) and _names_a_thing(v)]
    own = [k for k in own if not is_elsewhere(k)]
    if len(own) != 1:
        return None
    about = {k: v for k, v in value.items() if k not in own and k not in plain}
    known = {k: v for k, v in plain.items() if field_of(k) not in _NOT_OF_IT}
    beside = {k: v for k, v in about.items() if _is_said_beside(k, v)}
    whole = {**known, **beside, **value[own[0]]}
    if not any(field_of(k) == "url" for k in whole) and (address := _page_of(value)):
        whole["url"] = address
    told = _told(whole)
    return whole if told & _ASKED or "description" in _told(value[own[0]]) else None


def _is_said_beside(key: str, value: Any) -> bool:
    """Say whether what stands beside a listing's object is of it: sale, photos, or specifics."""
    is_rows = isinstance(value, list) and any(group_beside({key: value}))
    return is_about_the_sale(key) or is_photos(key, value) or is_rows


def _page_of(value: Mapping[str, Any]) -> str | None:
    """The address of the page that a crawler's entry is about, told in it or with its request."""
    asked = [v for k, v in value.items() if key_of(k) in ("request", "source", "page", "meta")]
    for told in (value, *(a for a in asked if isinstance(a, dict))):
        for key, inner in told.items():
            is_page = isinstance(inner, str) and re.match(r"https?://", inner) is not None
            if is_page and field_of(key) == "url" and "/api" not in inner:
                return str(inner)
    return None


_NOT_OF_IT = (None, "none", "id", "ignored", "ended", "url")


def _names_a_thing(value: Mapping[str, Any]) -> bool:
    """Say whether an object has a title of its own, and something that listings state."""
    fields = {field_of(k) for k in map(str, value)}
    return "title" in fields and len(fields - {None, "none", "ignored", "seller_id"}) > 1


def _keyed(value: Mapping[str, Any]) -> list[Object]:
    """The listings of an object that holds one under each key; a number there is the listing's."""
    is_one = len(value) == 1 and _is_number(next(iter(value)))
    if not (is_one or len(value) > 1) or not all(isinstance(v, dict) for v in value.values()):
        return []
    if any(field_of(key) is not None for key in value):
        return []
    found = [(key, one) for key, one in value.items() if is_listing(n.name for n in scalars(one))]
    if len(found) * 2 <= len(value):
        return []
    return [
        {"listing_id": key, **one} if _is_number(key) and not _has_number(one) else one
        for key, one in found
    ]


def _is_number(key: str) -> bool:
    return re.fullmatch(r"[\w-]*\d{4}[\w-]*", key) is not None


def _has_number(value: Mapping[str, Any]) -> bool:
    return any(field_of(key) in ("listing_id", "id", "url") for key in value)


_HEADERS = ("columns", "header", "headers", "cols", "fields", "names", "spalten", "colonnes",
            "colonne", "columnas")  # fmt: skip


def _as_rows(value: Any) -> list[Object] | None:
    """The rows of a table that stands in JSON, as objects; None for anything else.

    It may be a list of lists with the header first, columns and rows apart, or a list per column.
    """
    if isinstance(value, dict):
        keys = {str(key).casefold(): key for key in value}
        header = next((value[keys[name]] for name in _HEADERS if name in keys), None)
        if isinstance(header, list):
            rows = max((v for v in value.values() if _is_table(v)), key=len, default=None)
            return None if rows is None else _dicts(header, rows)
        columns = {k: v for k, v in value.items() if isinstance(v, list)}
        lengths = {len(column) for column in columns.values()}
        if (rows := _by_position(value)) is not None:
            return rows
        texts = "title" in {field_of(k) for k in columns} and is_listing(columns)
        is_by_column = len(columns) >= 3 and len(lengths) == 1 and texts
        return (
            _dicts(list(columns), list(zip(*columns.values(), strict=True)))
            if is_by_column
            else None
        )
    if _is_table(value) and len(value) > 1 and all(isinstance(c, str) for c in value[0]):
        return _dicts(value[0], value[1:]) if is_listing(value[0]) else None
    return None


def _by_position(value: Mapping[str, Any]) -> list[Object] | None:
    """The rows of a table that holds an object per column ({"title": {"0": ..., "1": ...}})."""
    columns = list(value.values())
    if len(columns) < 3 or not all(isinstance(c, dict) and c for c in columns):
        return None
    keys = list(columns[0])
    if not is_listing(map(str, value)) or not all(list(c) == keys for c in columns):
        return None
    if not all(re.fullmatch(r"\d{1,7}", k) for k in keys):
        return None
    return [{name: column[k] for name, column in value.items()} for k in keys]


def _is_table(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(row, list) for row in value)


def _dicts(header: Sequence[Any], rows: Sequence[Sequence[Any]]) -> list[Object] | None:
    """Rows as objects, by a header of names or of objects that name the columns."""
    names = [next(iter(c.values()), "") if isinstance(c, dict) else c for c in header]
    if not all(isinstance(n, str) for n in names) or not is_listing(names):
        return None
    return [dict(zip(names, row, strict=False)) for row in rows]
