"""The heading about which a page turns: the listing's name, not the site's or a category's.

Which of several headings it is, the page's own title tells; what stands beside the name in the
heading (a badge, a price, words for a screen reader) is set behind it or left out.
"""

from __future__ import annotations

import re
from itertools import islice
from urllib.parse import urlsplit

from triage.readers.markup import HtmlElement, drop, select
from triage.readers.words import flat_text, one_line
from triage.readers.zones import heading_zone, is_named


def find_anchor(root: HtmlElement) -> HtmlElement | None:
    """The element about which the page turns: the main heading, or the main item's name."""
    anchor = _main_heading(root)
    if anchor is not None and len(anchor):
        _set_out_extras(anchor, _page_title(root))
    return anchor


def _main_heading(root: HtmlElement) -> HtmlElement | None:
    headings = [h for h in root.iter("h1") if flat_text(h)]
    own = [h for h in headings if not _is_the_sites(h)]
    if len(own) == 1 and len(headings) == 1:
        return _nearer_the_title(root, own[0])
    outside = [h for h in own if not _in_chrome(h)]
    named = [h for h in outside if "itemprop" in h.attrib or "property" in h.attrib]
    if named or outside:
        return _nearer_the_title(root, *(named or outside))
    names = select(
        root,
        "descendant-or-self::*[@itemprop='name' or @property='name' or @property='schema:name']",
    )
    texts = [n for n in names if n.tag not in ("meta", "link") and not _in_chrome(n)]
    found = texts[0] if texts else _as_page_title(root)
    if found is None:
        found = next(iter(headings), None)
    return found if found is not None else _named_title(root)


def _named_title(root: HtmlElement) -> HtmlElement | None:
    """Without a main heading and a page title that tells: a heading by its role or its name."""
    roles = select(root, "descendant::*[@role='heading' and @aria-level='1']")
    named = (e for e in root.iter("h2", "h3", "div", "p", "span") if is_named(e, "title"))
    for element in (*roles, *islice(named, 20)):
        text = flat_text(element)
        is_box = any(e.tag in _BOXES for e in element)
        if not 8 <= len(text) <= 200 or " " not in text or is_box or _in_chrome(element):
            continue
        if heading_zone(text[:81]) is None:
            return element
    return None


_BOXES = ("div", "p", "ul", "table", "section", "h2", "h3", "img")


def _is_the_sites(heading: HtmlElement) -> bool:
    """Say whether a heading is the site's name: all of it a link to the site's first page."""
    if any(is_named(e, "site") for e in (heading, *islice(heading, 2))):
        return True
    link = next(heading.iter("a"), None)
    if link is None or flat_text(link) != flat_text(heading):
        return False
    try:
        parts = urlsplit((link.get("href") or "#").strip())
    except ValueError:
        return False
    return bool(parts.netloc or parts.path) and not (parts.path.strip("/") or parts.query)


_PARTS = re.compile(r"\s*(?:[|·•»«›‹–—]|::+|\s[-/:<>~]\s)\s*")


_TITLE_PARTS = re.compile(rf"{_PARTS.pattern}|:\s")


def _page_title(root: HtmlElement) -> str:
    title = root.find(".//title")
    return one_line(title.text or "") if title is not None else ""


def _nearer_the_title(root: HtmlElement, *headings: HtmlElement) -> HtmlElement:
    """The first heading whose words are mostly the page title's; else a lesser heading that is
    one whole part of the title, which the first one is not or of which it is a lesser part."""
    title = _page_title(root)
    fits = [h for h in headings if _shares_words(one_line(flat_text(h)), title)]
    if not title or (fits and len(headings) > 1):
        return _most_of(fits, title) if fits else headings[0]
    parts = [p for p in _TITLE_PARTS.split(title) if p]
    first = one_line(flat_text(headings[0]))
    longest = max(parts, key=len, default="")
    if len(parts) < 2 or (fits and first not in parts):
        return headings[0]
    if (first == longest and first == parts[0]) or (longest != first and longest in first):
        return headings[0]
    for other in root.iter("h2", "h3"):
        text = one_line(flat_text(other))
        is_part = text in parts or (len(text) > 11 and text in title)
        is_nearer = len(text) > len(first) or (text == parts[0] and len(text) > 11)
        if is_part and " " in text and is_nearer and not _in_chrome(other):
            return other
    return headings[0]


def _most_of(headings: list[HtmlElement], title: str) -> HtmlElement:
    whole = [h for h in headings if one_line(flat_text(h)) in title]
    return max(whole, key=lambda h: len(flat_text(h))) if len(whole) > 1 else headings[0]


_WORD = re.compile(r"\w{2,}")


def _shares_words(text: str, title: str) -> bool:
    words, told = set(_WORD.findall(text)), set(_WORD.findall(title))
    return bool(words) and 2 * len(words & told) >= len(words)


_TITLE_TAGS = ("h2", "h3", "h4", "font", "b", "strong", "big", "center", "td", "th", "div", "p",
               "span")  # fmt: skip


def _as_page_title(root: HtmlElement) -> HtmlElement | None:
    """Without a main heading: the first element that says what most of the page's title says."""
    whole = _page_title(root)
    if len(whole) < 8:
        return None
    parts = _PARTS.split(whole)
    own = (parts[0], max(parts, key=len))  # where sites put the name
    for element in root.iter(*_TITLE_TAGS):
        if len(element) > 1 or (len(element) == 0 and len(element.text or "") < 8):
            continue
        if len(element) and len(element[0]):
            continue
        text = one_line(flat_text(element))
        is_most = len(text) >= 8 and " " in text and (len(text) >= len(whole) * 0.4 or text in own)
        is_said = whole.startswith(text) or whole.endswith(text) or text in parts
        if is_most and is_said and not _in_chrome(element):
            return element
    return None


def _in_chrome(element: HtmlElement) -> bool:
    return any(
        a.tag in ("nav", "footer") or is_named(a, "chrome", "similar")
        for a in element.iterancestors()
    )


# --- what stands beside the name in a heading ----------------------------------------------------

_ASIDE = (
    "span",
    "small",
    "sup",
    "sub",
    "em",
    "i",
    "b",
    "strong",
    "div",
    "mark",
    "label",
    "abbr",
    "a",
)


def _set_out_extras(anchor: HtmlElement, title: str) -> None:
    """Put what is no part of the name behind the heading; drop what only a screen reader says.

    A heading that the page's title repeats as a whole is left as it is.
    """
    whole = one_line(flat_text(anchor))
    if whole and whole in title:
        return
    for part in [e for e in anchor if e.tag in _ASIDE and flat_text(e)]:
        rest = _without(anchor, part)
        is_extra = is_named(part, "badge") or (len(rest) >= 8 and " " in rest and rest in title)
        if len(rest) < 3 or not is_extra:
            continue
        is_unseen = is_named(part, "unseen")
        drop(part)
        if not is_unseen and anchor.getparent() is not None:
            part.tail, anchor.tail = anchor.tail, None
            anchor.addnext(part)


def _without(anchor: HtmlElement, part: HtmlElement) -> str:
    """The plain text of a heading without one of its parts."""
    texts = [anchor.text or ""]
    for child in anchor:
        texts += ["" if child is part else f" {flat_text(child)} ", child.tail or ""]
    return one_line("".join(texts))
