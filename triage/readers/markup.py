"""HTML text to an element tree, by one parser with the same settings everywhere."""

from __future__ import annotations

import re
from typing import Any, cast

from lxml import etree

from triage.readers.source import Unreadable

# plain elements: the classes of lxml.html cost a look-up in Python for each element touched
HtmlElement = etree._Element


# what XML cannot hold and the tree therefore refuses to take over when text is moved in it
_CONTROLS = bytes(n for n in range(32) if n not in (9, 10, 12, 13))
_NO_CHARACTERS = (b"\xef\xbf\xbe", b"\xef\xbf\xbf")
_REFERENCES = re.compile(
    rb"&#(?:0*(?:[0-8]|1[14-9]|2[0-9]|3[01])(?![0-9])"
    rb"|[xX]0*(?:[0-8bBeEfF]|1[0-9a-fA-F])(?![0-9a-fA-F]));?"
)


def _clean(text: str) -> bytes:
    """The text as UTF-8 without controls, however they are written; form feeds are blanks."""
    data = text.encode("utf-8", "replace").translate(None, _CONTROLS).replace(b"\f", b" ")
    if b"\xef\xbf" in data:
        for sequence in _NO_CHARACTERS:
            data = data.replace(sequence, b"")
    return _REFERENCES.sub(b"", data) if b"&#" in data else data


def parse_html(text: str) -> HtmlElement | None:
    """Parse a page or a part of one; None if it holds no element at all.

    Unlike the parser's defaults, nothing is dropped for being nested deep or long; where the
    parser cannot follow (2,048 levels) it raises Unreadable.
    """
    data = _clean(text)
    if not data.strip():
        return None
    parser = etree.HTMLParser(
        encoding="utf-8", huge_tree=True, remove_comments=True, remove_pis=True
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.ParserError, etree.XMLSyntaxError, ValueError):
        return None
    if not isinstance(root, HtmlElement):
        return None
    if any(error.message.startswith("Excessive depth") for error in list(parser.error_log)[-20:]):
        raise Unreadable("tags nested more than 2,000 deep", "save only the listing")
    _close_voids(root)
    return root


def _close_voids(root: HtmlElement) -> None:
    """Put what follows an element that holds nothing beside it: the parser knows only old ones."""
    for element in list(root.iter("source", "track", "wbr", "embed")):
        parent = element.getparent()
        if parent is None or (not len(element) and not element.text):
            continue
        position = parent.index(element) + 1
        parent[position:position] = list(element)
        element.tail, element.text = (element.text or "") + (element.tail or ""), None


def plain_elements(root: HtmlElement, text: str) -> None:
    """Make known elements of a page's own ones, and of shadow trees written out in its text.

    A custom element (WHATWG HTML, 4.13) becomes a box, its name a class; within a line it becomes
    a part of the line. A declarative shadow tree (4.12.3) is what the reader sees of its host.
    """
    own = select(root, _DASHED) if _MAYBE_DASHED.search(text) is not None else []
    for element in (*own, *list(root.iter("template", "input"))):
        tag = element.tag
        if tag == "template" and {"shadowrootmode", "shadowroot"} & set(element.keys()):
            element.tag = "div"
        elif tag == "input" and _shows_value(element):
            element.tag, element.text = "span", element.get("value")
        elif isinstance(tag, str) and "-" in tag and tag not in _KNOWN_DASHED:
            parent = element.getparent()
            is_inline = parent is not None and parent.tag in _LINES
            element.tag = "span" if is_inline else "div"
            names = element.get("class")
            element.set("class", f"{tag} {names}" if names else tag)


_DASHED = "descendant::*[contains(name(), '-')]"
_MAYBE_DASHED = re.compile(r"<[A-Za-z][^\s/>-]*-")  # asking each element's name takes long


def _shows_value(element: HtmlElement) -> bool:
    """Say whether a field of a form is there to be read: it cannot be changed."""
    is_text = element.get("type", "text").lower() in ("text", "number", "email", "url", "")
    return is_text and "readonly" in element.attrib and bool(element.get("value"))


_KNOWN_DASHED = frozenset(
    ("amp-img", "annotation-xml", "color-profile", "font-face", "missing-glyph")
)
_LINES = frozenset(
    ("p", "span", "a", "b", "strong", "i", "em", "u", "small", "label", "button", "h1", "h2", "h3",
     "h4", "h5", "h6", "s", "del", "time", "font", "dt")
)  # fmt: skip


def drop(element: HtmlElement) -> None:
    """Take an element with all that is in it out of its tree; the text after it stays."""
    parent = element.getparent()
    if parent is None:
        return
    previous = element.getprevious()
    if element.tail and previous is not None:
        previous.tail = (previous.tail or "") + element.tail
    elif element.tail:
        parent.text = (parent.text or "") + element.tail
    element.tail = None
    parent.remove(element)


def select(root: HtmlElement, path: str, **names: Any) -> list[HtmlElement]:
    """The elements that an XPath expression finds, in page order."""
    return cast("list[HtmlElement]", root.xpath(path, **names))


def count(root: HtmlElement, path: str) -> int:
    """The number that an XPath expression gives."""
    return int(cast("float", root.xpath(path)))


_CLASSES = etree.XPath("//@class", smart_strings=False)
_IDS = etree.XPath("//@id", smart_strings=False)


def classes_and_ids(root: HtmlElement) -> set[str]:
    """All that stands in the page's class and id attributes."""
    return {*cast("list[str]", _CLASSES(root)), *cast("list[str]", _IDS(root))}


def with_attributes(root: HtmlElement, *names: str) -> list[HtmlElement]:
    """The elements below that have any of these attributes, in page order.

    Going by the attribute costs a quarter of asking each element for it.
    """
    return select(root, " | ".join(f"descendant::*/@{name}/.." for name in names))
