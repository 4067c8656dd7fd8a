"""Structured data of a page as one kind of value: items with types and properties.

JSON-LD 1.1, HTML microdata (WHATWG HTML, 5.2) and RDFa Lite 1.1 (W3C) all become `Item`s. The
walkers over microdata and RDFa are our own because two things are needed that a library that
returns plain text cannot give: which element a value stands in, and its lines.
"""

from __future__ import annotations

import html as entities
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from triage.readers.markup import HtmlElement, select
from triage.readers.tolerant_json import load_json
from triage.readers.words import text_lines

Value = "str | Item"


@dataclass(frozen=True, eq=False)
class Item:
    """A thing described: its types without vocabulary ("Product"), and its properties in order."""

    types: tuple[str, ...]
    properties: Mapping[str, tuple[Any, ...]]
    origin: str
    id: str | None = None
    element: HtmlElement | None = field(default=None, repr=False)

    def all(self, *names: str) -> tuple[Any, ...]:
        """Every value of the properties named, in the order of the names."""
        return tuple(v for name in names for v in self.properties.get(name, ()))

    def texts(self, *names: str) -> tuple[str, ...]:
        """The values that are text and not blank; of an item its name or value."""
        found = (v.label if isinstance(v, Item) else v for v in self.all(*names))
        return tuple(t for t in found if t)

    def text(self, *names: str) -> str | None:
        return next(iter(self.texts(*names)), None)

    def items(self, *names: str) -> tuple[Item, ...]:
        return tuple(v for v in self.all(*names) if isinstance(v, Item))

    @property
    def label(self) -> str:
        for name in ("name", "value", "text", "@value", "url"):
            for value in self.properties.get(name, ()):
                if isinstance(value, str) and value:
                    return value
        return ""

    def has_type(self, *names: str) -> bool:
        return any(t in names for t in self.types)

    def walk(self) -> Iterator[tuple[tuple[str, ...], Item]]:
        """This item and all below, each with the property names that lead to it."""
        stack: list[tuple[tuple[str, ...], Item]] = [((), self)]
        seen: set[int] = set()
        while stack:
            path, item = stack.pop()
            if id(item) in seen:
                continue
            seen.add(id(item))
            yield path, item
            below = [
                ((*path, name), value)
                for name, values in item.properties.items()
                for value in values
                if isinstance(value, Item) and len(path) < 12
            ]
            stack.extend(reversed(below))


@lru_cache(maxsize=4096)
def short_name(term: str) -> str:
    """Drop the vocabulary of a type or property.

    >>> short_name("https://schema.org/Product"), short_name("schema:Offer"), short_name("@id")
    ('Product', 'Offer', '@id')
    """
    return re.split(r"[/#]", term.strip().rstrip("/"))[-1].rsplit(":", 1)[-1]


# --- JSON-LD ---------------------------------------------------------------------------------


def read_json_ld(scripts: Iterable[str]) -> tuple[tuple[Item, ...], int]:
    """Read the items of JSON-LD scripts, links by @id within the page followed.

    Second comes the number of scripts that could not be read.
    """
    texts = [script for script in scripts if script.strip()]
    loaded = [load_json(text) for text in texts]
    nodes = [node for value in loaded for node in _nodes(value)]
    known = _by_id(nodes) if any('"@id"' in text for text in texts) else {}
    items = tuple(_item(node, known, 0) for node in nodes if not _is_list(node))
    return items, sum(value is None for value in loaded)


# lists of other things, which say nothing of the page's own
_LISTS = frozenset(("ItemList", "OfferCatalog", "BreadcrumbList"))


def _is_list(node: Mapping[str, Any]) -> bool:
    return any(short_name(t) in _LISTS for t in _texts(node.get("@type", node.get("type"))))


def _nodes(value: Any) -> list[dict[str, Any]]:
    """The top nodes: of an object, of a list, of a @graph."""
    if isinstance(value, list):
        return [node for entry in value for node in _nodes(entry)]
    if not isinstance(value, dict):
        return []
    graph = value.get("@graph")
    if graph is not None and not ({"@type", "type"} & value.keys()):
        return _nodes(graph)
    return [value, *(_nodes(graph) if graph is not None else [])]


def _by_id(nodes: Iterable[Any]) -> dict[str, dict[str, Any]]:
    """Every node with an @id and something said of it."""
    known: dict[str, dict[str, Any]] = {}
    stack = list(nodes)
    while stack:
        value = stack.pop()
        if isinstance(value, list):
            stack.extend(value)
        elif isinstance(value, dict):
            name = value.get("@id")
            if isinstance(name, str) and len(value) > len(known.get(name, {"@id": 0})):
                known[name] = value
            stack.extend(v for v in value.values() if isinstance(v, dict | list))
    return known


def _item(node: dict[str, Any], known: Mapping[str, dict[str, Any]], depth: int) -> Item:
    name = node.get("@id") if isinstance(node.get("@id"), str) else None
    if name is not None and len(node) == 1 and name in known and depth < 12:
        node = known[name]
    values = {
        short_name(key): tuple(_values(value, known, depth))
        for key, value in node.items()
        if key not in ("@id", "@type", "@context", "@graph")
    }
    types = tuple(short_name(t) for t in _texts(node.get("@type", node.get("type"))))
    return Item(types, values, "json-ld", name)


def _values(value: Any, known: Mapping[str, dict[str, Any]], depth: int) -> Iterator[Any]:
    if depth > 12:
        return
    if isinstance(value, list):
        for entry in value:
            yield from _values(entry, known, depth + 1)
    elif isinstance(value, dict):
        if "@value" in value or "@list" in value or "@set" in value:
            inner = next(value[k] for k in ("@value", "@list", "@set") if k in value)
            yield from _values(inner, known, depth + 1)
        else:
            yield _item(value, known, depth + 1)
    elif isinstance(value, bool):
        yield "true" if value else "false"
    elif value is not None:
        text = format(value, "f") if not isinstance(value, str | int) else str(value)
        yield (entities.unescape(text) if "&" in text else text).strip()


def _texts(value: Any) -> list[str]:
    entries = value if isinstance(value, list) else [value]
    return [entry for entry in entries if isinstance(entry, str)]


# --- microdata -------------------------------------------------------------------------------

_ADDRESS_OF = {
    "a": "href", "area": "href", "link": "href", "img": "src", "audio": "src", "embed": "src",
    "iframe": "src", "source": "src", "track": "src", "video": "src", "object": "data",
}  # fmt: skip


def read_microdata(root: HtmlElement) -> tuple[Item, ...]:
    """Read the top items of a page's microdata (WHATWG HTML, 5.2.5: crawl the properties)."""
    scopes = select(root, "descendant-or-self::*/@itemscope/..")  # faster than a condition on all
    tops = [e for e in scopes if "itemprop" not in e.attrib]
    named = ((e, {short_name(t) for t in e.get("itemtype", "").split()}) for e in tops)
    own = (e for e, types in named if types.isdisjoint(_LISTS))
    return tuple(_microdata_item(element, root, frozenset()) for element in own)


def _microdata_item(scope: HtmlElement, root: HtmlElement, above: frozenset[HtmlElement]) -> Item:
    values: dict[str, list[Any]] = {}
    above = above | {scope}
    for element in _properties(scope, root):
        if "itemscope" in element.attrib:
            if element in above or len(above) > 12:
                continue
            value: Any = _microdata_item(element, root, above)
        else:
            value = _element_value(element)
        for name in element.get("itemprop", "").split():
            values.setdefault(short_name(name), []).append(value)
    types = tuple(short_name(t) for t in scope.get("itemtype", "").split())
    properties = {name: tuple(found) for name, found in values.items()}
    return Item(types, properties, "microdata", scope.get("itemid"), scope)


def _properties(scope: HtmlElement, root: HtmlElement) -> list[HtmlElement]:
    """Elements with itemprop that belong to a scope, those of itemref included, in page order."""
    pending = list(reversed(list(scope)))
    for name in scope.get("itemref", "").split()[:50]:
        pending[:0] = reversed(select(root, "descendant-or-self::*[@id=$name]", name=name)[:1])
    found: list[HtmlElement] = []
    seen: set[HtmlElement] = {scope}
    while pending:
        element = pending.pop()
        if element in seen or not isinstance(element.tag, str):
            continue
        seen.add(element)
        if element.get("itemprop"):
            found.append(element)
        if "itemscope" not in element.attrib:
            pending.extend(reversed(list(element)))
    return found


def _element_value(element: HtmlElement) -> str:
    """The value of a property (WHATWG HTML, 5.2.4), with lines kept where it is text."""
    if element.tag == "meta" or element.get("content") is not None:
        return (element.get("content") or "").strip()
    address = _ADDRESS_OF.get(element.tag)
    if address is not None and element.get(address):
        return (element.get(address) or "").strip()
    for name in {"data": ("value",), "meter": ("value",), "time": ("datetime",)}.get(
        element.tag, ()
    ):
        if element.get(name):
            return (element.get(name) or "").strip()
    return text_lines(element)


# --- RDFa Lite -------------------------------------------------------------------------------


def read_rdfa(root: HtmlElement) -> tuple[Item, ...]:
    """Read the top items of a page's RDFa Lite 1.1 (vocab, typeof, property, resource, prefix)."""
    typed = select(root, "descendant-or-self::*/@typeof/..")
    tops = [e for e in typed if "property" not in e.attrib]
    if not tops or not select(root, "boolean(descendant::*[@property])"):
        return ()
    return tuple(_rdfa_item(element, 0) for element in tops)


def _rdfa_item(scope: HtmlElement, depth: int) -> Item:
    values: dict[str, list[Any]] = {}
    pending = list(reversed(list(scope)))
    while pending:
        element = pending.pop()
        is_item = element.get("typeof") is not None
        names = (element.get("property") or element.get("rel") or "").split()
        if is_item and element.get("property") is None and element.get("rel") is None:
            continue
        if names and depth < 12:
            value = _rdfa_item(element, depth + 1) if is_item else _rdfa_value(element, names)
            for name in names:
                values.setdefault(short_name(name), []).append(value)
        if not is_item:
            pending.extend(reversed(list(element)))
    types = tuple(short_name(t) for t in (scope.get("typeof") or "").split())
    properties = {name: tuple(found) for name, found in values.items()}
    return Item(types, properties, "rdfa", scope.get("resource") or scope.get("about"), scope)


def _rdfa_value(element: HtmlElement, names: Sequence[str] = ()) -> str:
    """The value of a property: content, then resource, href, src, then datetime, then text.

    Pages mark a link's text as a name; its address, which by RDFa Lite is the value, is no name.
    """
    is_name = any(short_name(name) == "name" for name in names)
    if is_name and element.get("content") is None and (text := text_lines(element)):
        return text
    for name in ("content", "resource", "href", "src", "datetime"):
        if element.get(name) is not None:
            return (element.get(name) or "").strip()
    return text_lines(element)
