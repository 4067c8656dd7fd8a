"""Item specifics in JSON exports: objects, pairs, groups, lists side by side, prefixed names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from triage.readers.field_names import field_of, key_of
from triage.readers.json_amounts import AMOUNTS, plain_number
from triage.readers.json_names import Object, is_elsewhere, is_kind, named, words_of
from triage.readers.prices import read_price

MOST_ROWS = 1_000


# "offer_param_Brand", "attr.bridge", "item_specific:Bridge"
PREFIXED = re.compile(
    r"(?i)(?:[a-z]+[_.:-])?(?:attr|attribute|param|parameter|prop|property|spec|specific|aspect"
    r"|feature|merkmal|caract|kenmerk|cecha)s?[_.:/-]+(?!(?:raw|json|list|text|string|str|html|count|total|ids?)s?$)(\S.*)"
)


def pairs_in(value: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Names and values in an object of specifics, which may say each value's kind or unit."""
    if (pair := pair_in(value)) is not None:
        yield pair
        return
    if (side := _side_by_side(value)) is not None:
        yield from side
        return
    for key, inner in list(value.items())[:MOST_ROWS]:
        if isinstance(inner, dict):
            if (labelled := _labelled(str(key), inner)) is not None:
                yield labelled
            elif (text := _value_in(inner)) is not None:
                yield str(key), text
            else:
                yield from pairs_in(inner)
        elif isinstance(inner, list):
            listed = list(listed_pairs(inner, "specifics"))
            texts = [str(i) for i in inner if isinstance(i, str | int)]
            yield from listed or ([(str(key), ", ".join(texts))] if texts else [])
        elif inner is not None and not str(key).startswith("@"):
            yield str(key), said(inner)


def _side_by_side(value: Mapping[str, Any]) -> list[tuple[str, str]] | None:
    """Names and values in two lists of an object ({"names": [...], "values": [...]})."""
    lists = [v for v in value.values() if isinstance(v, list)]
    if len(value) != 2 or len(lists) != 2 or len(lists[0]) != len(lists[1]):
        return None
    first, second = (key_of(str(k)).rstrip("s") for k in value)
    is_told = first in named("specifics", "label") and f"{second}s" in named("specifics", "value")
    pairs = zip(*lists, strict=True)
    return [(str(k), said(v)) for k, v in pairs] if is_told else None


def said(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def with_parallel(value: Object) -> Object:
    """Put two lists that run side by side ("attributeNames", "attributeValues") together."""
    lists = {k: v for k, v in value.items() if isinstance(v, list) and v and is_specifics(k)}
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


def is_group(key: str, value: Mapping[str, Any]) -> bool:
    """Say whether an object under any name holds specifics: texts under names as people write them.

    Programs' own names ("displayName", "view_count") are no labels, nor are a name and a number.
    """
    if is_elsewhere(key) or len(value) > 60 or set(value) <= {"id", "name"}:
        return False
    known = sum(any(w in named("label", "words") for w in words_of(str(k))) for k in value)
    if _is_apart(key) and known < 2:
        return False
    told = [(str(k), v) for k, v in value.items() if v is not None and v != ""]
    plain = [(k, v) for k, v in told if isinstance(v, str | int | float) or _is_listed(v)]
    labels = [k for k, v in plain if _is_label(k) or _is_measured(v)]
    return len(plain) == len(told) > 0 and len(labels) * 2 > len(told)


def _is_apart(key: str) -> bool:
    return any(w in named("apart", "words") for w in (*words_of(key), key_of(key)))


def _is_listed(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(i, str) for i in value)


def _is_label(key: str) -> bool:
    """Say whether a name is written as a label on a page: with spaces or a capital, or known."""
    if len(key) > 60:
        return False
    is_known = any(w in named("label", "words") for w in words_of(key))
    if is_known or re.search(r"[\u3040-\u30ff\u4e00-\u9fff]", key):
        return True
    return re.fullmatch(r"[A-ZÀ-Þ][^\W\d_A-Z]+|\S+(?: \S+)+", key) is not None


def _is_measured(value: object) -> bool:
    return isinstance(value, str) and _MEASURED.fullmatch(value.strip()) is not None


_MEASURED = re.compile(r"\d{1,3}(?:[.,]\d)?\s?(?:mm|cm|in|″|\")")


def is_fact(key: str, value: object) -> bool:
    """Say whether a value in a group is the listing's own ("Prezzo"), not the piece's ("Stato")."""
    field = field_of(key)
    return field not in (None, "ended", "specifics", "title", "id", "ignored", "quantity") and (
        field not in AMOUNTS
        or plain_number(value) is not None
        or read_price(str(value)) is not None
    )


def listed_pairs(rows: list[Any], field: str | None) -> Iterator[tuple[str, str]]:
    """Names and values in a list of specifics: objects, pairs, texts, groups of them.

    Under a name that is not one of specifics, only objects with name and value are.
    """
    if not rows or len(rows) > MOST_ROWS:
        return
    objects = [r for r in rows if isinstance(r, dict)]
    if len(objects) == len(rows):
        pairs = [pair_in(row) for row in objects]
        grouped = all(any(_is_of_group(k, v) for k, v in row.items()) for row in objects)
        if _are_single(objects):
            yield from ((str(k), said(v)) for row in objects for k, v in row.items())
            return
        if field is None and (not all(pairs) or len(rows) < 2) and not grouped:
            return
        for row, pair in zip(objects, pairs, strict=True):
            within = [p for v in row.values() if isinstance(v, dict) and (p := pair_in(v))]
            if pair is not None:
                yield pair
            elif len(within) == 1:
                yield within[0]
            elif field is None or len(row) > 1:
                yield from _group(row)
            else:
                yield from pairs_in(row)
    elif field == "specifics" or (field is None and _are_labelled(rows)):
        for row in rows:
            if isinstance(row, list) and len(row) == 2 and isinstance(row[0], str):
                yield row[0], str(row[1])
            elif isinstance(row, str) and (cut := _LABELLED.match(row)):
                yield cut[1], cut[2]


_LABELLED = re.compile(r"([^:=]{2,60}?)\s*[:=]\s*(\S.*)")


def _are_single(rows: list[dict[str, Any]]) -> bool:
    """Say whether each object of a list is one label with its value ([{"Maker": "V"}, ...])."""
    told = [pair for row in rows if len(row) == 1 for pair in row.items()]
    labels = [k for k, v in told if isinstance(v, str | int) and (_is_label(k) or _is_measured(v))]
    return len(told) == len(rows) > 1 and len(labels) * 2 > len(rows)


def _are_labelled(rows: list[Any]) -> bool:
    """Say whether a list under any name is one of short pairs or of texts with labels."""
    pairs = [row for row in rows if isinstance(row, list) and len(row) == 2]
    labels = [row[0] for row in pairs if all(isinstance(i, str | int) for i in row)]
    labels += [cut[1] for row in rows if isinstance(row, str) and (cut := _LABELLED.match(row))]
    told = [label for label in labels if isinstance(label, str) and _is_label(label)]
    return len(labels) == len(rows) > 1 and len(told) * 2 > len(rows)


def _is_of_group(key: object, value: object) -> bool:
    """Say whether a value in a row holds the row's specifics."""
    return is_specifics(key) or (isinstance(value, dict) and is_group(str(key), value))


def _group(row: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The specifics of a group with a heading."""
    for key, inner in row.items():
        if isinstance(inner, list) and (is_specifics(key) or is_kind(key, "photos", "lists")):
            yield from listed_pairs(inner, "specifics")
        elif isinstance(inner, dict) and _is_of_group(key, inner):
            yield from pairs_in(inner)


def group_beside(text: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The specifics that an object holds beside a text."""
    for key, inner in text.items():
        if isinstance(inner, list):
            yield from listed_pairs(inner, "specifics" if is_specifics(key) else None)
        elif isinstance(inner, dict) and is_specifics(key):
            yield from pairs_in(inner)


def is_specifics(key: object) -> bool:
    return field_of(str(key)) == "specifics" or any(
        w in named("specifics", "words") for w in words_of(str(key))
    )


def pair_in(row: Mapping[str, Any]) -> tuple[str, str] | None:
    """The name and the value in an object such as {"name": "Bridge", "value": "21 mm"}."""
    if len(row) > 8 or any(field_of(str(k)) in ("price", "url", "photos") for k in row):
        return None
    keys = {_of_a_pair(str(k)): k for k in row}
    labels = [(at, k) for k, at in named("specifics", "label").items() if k in keys]
    values = [(at, k) for k, at in named("specifics", "value").items() if k in keys]
    for _, label in sorted(labels):
        name = row[keys[label]]
        for _, value in sorted(values):
            text = _value_text(row[keys[value]]) if value != label else None
            is_short = text is not None and (value not in _TEXTS or len(text) <= 80)
            if isinstance(name, str) and name.strip() and text is not None and is_short:
                return name, _with_unit(text, row)
    return None


_TEXTS = ("description", "data", "body", "content")  # in a pair if they are short


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
    pair = pair_in(value)
    is_told = any(key_of(str(k)) in ("label", "title", "caption", "displayname") for k in value)
    return pair if pair and (is_told or key_of(pair[0]) == key_of(key)) else None


def _value_in(value: Mapping[str, Any]) -> str | None:
    """The value in an object that says its kind beside it ({"value": "21 mm", "type": "text"})."""
    keys = {key_of(str(k)): k for k in value}
    found = [(at, k) for k, at in named("specifics", "value").items() if k in keys]
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
    return said(value) if isinstance(value, str | int | float) and str(value).strip() else None


def _is_text_of_value(key: object) -> bool:
    return is_kind(key, "specifics", "value") or is_kind(key, "specifics", "label")


def _with_unit(text: str, row: Mapping[str, Any]) -> str:
    unit = next((v for k, v in row.items() if is_kind(k, "specifics", "unit")), None)
    return f"{text} {unit}" if isinstance(unit, str) and unit and unit not in text else text
