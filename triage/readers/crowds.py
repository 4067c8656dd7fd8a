"""Long lists that are no part of a listing: links to other pages, boxes of a filter, remarks.

They make up most of a heavy page. Dropped first, they cost the later steps nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice

from triage.readers.addresses import is_profile, leads_away
from triage.readers.gallery import FRAME_ATTRIBUTE
from triage.readers.markup import HtmlElement, drop, select
from triage.readers.zones import is_card, is_named

LEAST_LINKS = 30  # alike and side by side; menus and rows of a listing are shorter
LEAST_BOXES = 12
LONGEST_TEXT = 80  # characters of one link
LEAST_ROWS = 400  # in one holder: no listing has so many of anything, side by side


# --- walls ---------------------------------------------------------------------------------------


def drop_walls(root: HtmlElement, anchor: HtmlElement | None) -> int:
    """Take hundreds of rows, cards or boxes that stand side by side out of a page, whatever they
    hold, but for what the seller wrote, what holds the anchor, and posts of a thread.

    Returns how many of them stood for other listings.
    """
    kept = set(anchor.iterancestors()) | {anchor} if anchor is not None else set()
    cards = 0
    for parent in select(root, f"descendant::*[*[{LEAST_ROWS}]]"):
        if parent.tag in _NO_WALLS:
            continue
        rows = [child for child in parent if child.tag in _ROWS]
        if len(rows) < LEAST_ROWS or not kept.isdisjoint(rows) or _is_text_of_people(parent):
            continue
        if all(_is_linked_card(row) for row in rows[:12]):
            cards += len(rows)
        _drop_group(parent, rows, kept)
    return cards


_ROWS = frozenset(
    ("div", "li", "tr", "p", "a", "article", "section", "label", "option", "dt", "dd", "form", "ul",
     "table", "tbody", "button", "figure", "h3", "h4")
)  # fmt: skip
_NO_WALLS = frozenset(("head", "html", "body", "main", "svg"))


def _is_text_of_people(parent: HtmlElement) -> bool:
    """Say whether this stands in what the seller wrote, or holds posts."""
    if any(a.get(FRAME_ATTRIBUTE) for a in (parent, *parent.iterancestors())):
        return True
    inside = (e for row in islice(parent, 3) for e in row.iter())
    return _is_written(parent) or any(is_named(e, "post_text") for e in inside)


def _is_linked_card(row: HtmlElement) -> bool:
    links = (a.get("href") or "" for a in row.iter("a"))
    return any(leads_away(href, None) for href in links) and is_card(row)


# --- crowds --------------------------------------------------------------------------------------


def drop_crowds(
    root: HtmlElement, anchor: HtmlElement | None, url: str | None = None, has_posts: bool = False
) -> None:
    """Take long lists of bare links, of check boxes and of people's remarks out of a page.

    The anchor stays, and so do remarks where the page may be a thread (`has_posts`).
    """
    kept = set(anchor.iterancestors()) | {anchor} if anchor is not None else {root}
    for parent in select(root, f"descendant::*[*[{LEAST_BOXES}]]"):
        for group in _alike(parent):
            is_crowd = _is_crowd(group, url) or (not has_posts and _are_remarks(group))
            if is_crowd and kept.isdisjoint(group) and not _is_written(parent):
                _drop_group(parent, group, kept)


def _alike(parent: HtmlElement) -> Iterable[list[HtmlElement]]:
    """The children of one make, by tag and class, where there are enough of them."""
    groups: dict[tuple[str, str | None], list[HtmlElement]] = {}
    for child in parent:
        groups.setdefault((child.tag, child.get("class")), []).append(child)
    return [group for group in groups.values() if len(group) >= LEAST_BOXES]


def _is_crowd(group: list[HtmlElement], url: str | None) -> bool:
    if group[0].tag in ("br", "p", "option", "img", "td", "th"):
        return False
    if len(group) >= LEAST_LINKS and all(_is_bare_link(c, url) for c in group):
        return len({_link_in(c).get("href") for c in group}) > len(group) // 2
    return all(_is_check_box(c) for c in group)


def _are_remarks(group: list[HtmlElement]) -> bool:
    """Say whether each of many elements links to the page of a person, of several persons."""
    if len(group) < LEAST_LINKS or group[0].tag in ("br", "option", "img", "td", "th"):
        return False
    people: set[str] = set()
    for element in group:
        address = next((a.get("href") or "" for a in element.iter("a")), "")
        if not address or not is_profile(address):
            return False
        people.add(address)
    return len(people) > len(group) // 4


def _is_bare_link(element: HtmlElement, url: str | None) -> bool:
    """Say whether an element shows the text of one link to another page, and nothing else."""
    link = _link_in(element)
    if link.tag != "a" or len(link) > 1 or (len(link) and len(link[0])):
        return False
    inner = link[0] if len(link) else link
    if inner.tag in ("img", "picture") or len(inner.text or "") > LONGEST_TEXT:
        return False
    return leads_away(link.get("href") or "", url)


def _link_in(element: HtmlElement) -> HtmlElement:
    """Go inward through boxes that hold one thing each, as far as a link."""
    while element.tag != "a" and len(element) == 1 and not (element.text or "").strip():
        if (element[0].tail or "").strip():
            return element
        element = element[0]
    return element


def _is_check_box(element: HtmlElement) -> bool:
    """Say whether an element is one choice of many: a check box with a few words."""
    if len(element) > 4:
        return False
    inputs = [e for e in element.iter("input") if e.get("type", "").lower() == "checkbox"]
    return len(inputs) == 1


def _is_written(parent: HtmlElement) -> bool:
    """Say whether this stands in what the seller wrote."""
    return any(is_named(e, "description") for e in (parent, *parent.iterancestors()))


def _drop_group(parent: HtmlElement, group: list[HtmlElement], kept: set[HtmlElement]) -> None:
    if len(group) == len(parent) and not (parent.text or "").strip() and parent not in kept:
        drop(parent)
        return
    for child in group:
        drop(child)
