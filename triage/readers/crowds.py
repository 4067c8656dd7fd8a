"""Long lists that are no part of a listing: links to other pages, boxes of a filter, remarks.

They make up most of a heavy page. Dropped first, they cost the later steps nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice

from triage.readers.addresses import is_profile, leads_away
from triage.readers.gallery import FRAME_ATTRIBUTE
from triage.readers.markup import HtmlElement, count, drop, select
from triage.readers.zones import is_card, is_named, remove

LEAST_LINKS = 30  # alike and side by side; menus and rows of a listing are shorter
LEAST_BOXES = 12
LONGEST_TEXT = 80  # characters of one link
LEAST_ROWS = 250  # in one holder: no listing has so many of anything, side by side


# --- walls ---------------------------------------------------------------------------------------


def drop_walls(root: HtmlElement, anchor: HtmlElement | None) -> int:
    """Take hundreds of rows, cards or boxes that stand side by side out of a page, whatever they
    hold, but for what the seller wrote, what holds the anchor, and posts of a thread.

    Returns how many of them stood for other listings.
    """
    kept = set(anchor.iterancestors()) | {anchor} if anchor is not None else set()
    cards = 0
    for parent in select(root, f"descendant::*[*[{LEAST_ROWS}]]"):
        if parent.tag in _NO_WALLS or parent in kept or _is_text_of_people(parent):
            continue
        rows = count(parent, _COUNT_ROWS)
        if rows < LEAST_ROWS:
            continue
        if all(_is_linked_card(row) for row in islice(parent, 12)):
            cards += rows
        _drop_rows(parent, rows)
    return cards


_ROWS = ("div", "li", "tr", "p", "a", "article", "section", "label", "option", "dt", "dd", "form",
         "ul", "table", "tbody", "button", "figure", "h3", "h4")  # fmt: skip
_IS_ROW = " or ".join(f"self::{tag}" for tag in _ROWS)
_COUNT_ROWS = " + ".join(f"count({tag})" for tag in _ROWS)


def _drop_rows(parent: HtmlElement, rows: int) -> None:
    if rows == len(parent) and not (parent.text or "").strip():
        drop(parent)
    else:
        remove(select(parent, f"*[{_IS_ROW}]"))


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
    if len(group) >= LEAST_LINKS and (targets := _targets(group, url)):
        return len(targets) > len(group) // 2
    return all(_is_check_box(c) for c in group)


def _targets(group: list[HtmlElement], url: str | None) -> set[str]:
    """Where elements lead that are bare links to other pages; nothing if one of them is none."""
    found: set[str] = set()
    for element in group:
        href = _bare_link(element)
        if href not in found and not leads_away(href, url):
            return set()
        found.add(href)
    return found


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


def _bare_link(element: HtmlElement) -> str:
    """The address of an element that shows the text of one link and nothing else; or ""."""
    while element.tag != "a":  # inward through boxes that hold one thing each
        if len(element) != 1 or (element.text or "").strip():
            return ""
        element = element[0]
        if (element.tail or "").strip():
            return ""
    count = len(element)
    if count > 1 or (count and len(element[0])):
        return ""
    inner = element[0] if count else element
    if inner.tag in ("img", "picture") or len(inner.text or "") > LONGEST_TEXT:
        return ""
    return element.get("href") or ""


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
