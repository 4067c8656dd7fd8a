"""HTML text to an element tree, by one parser with the same settings everywhere."""

from __future__ import annotations

from lxml import etree
from lxml.html import HtmlElement, HTMLParser


def parse_html(text: str) -> HtmlElement | None:
    """Parse a page or a part of one; None if it holds no element at all.

    Unlike the parser's defaults, nothing is dropped for being nested deep or long.
    """
    text = text.replace("\0", "")
    if not text.strip():
        return None
    parser = HTMLParser(encoding="utf-8", huge_tree=True, remove_comments=True, remove_pis=True)
    try:
        root = etree.fromstring(text.encode("utf-8", "replace"), parser)
    except (etree.ParserError, etree.XMLSyntaxError, ValueError):
        return None
    return root if isinstance(root, HtmlElement) else None
