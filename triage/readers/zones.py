"""Which part of a page is what: similar items, page chrome, gallery, description, item specifics.

`clean` takes a page apart before anything is read from it, so that later steps see the listing
alone. Words and headings come from data/zones.toml.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache
from itertools import pairwise
from typing import Any

from triage.readers.addresses import is_profile, leads_away
from triage.readers.labels import field_of_label
from triage.readers.markup import HtmlElement, drop, select
from triage.readers.phrases import may_start, says, starts_of
from triage.readers.prices import has_money
from triage.readers.tables import table_of
from triage.readers.words import flat_text

HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")
_CAMEL = re.compile(r"(?<=[a-zß-ÿ])(?=[A-Z])|[^0-9A-Za-zÀ-ɏ]+|(?<=[A-Za-z])(?=\d)")
_NONE: frozenset[str] = frozenset()
_NAMING = frozenset(
    (
        *("class", "id", "role", "name", "aria-label"),
        *("data-testid", "data-test", "data-qa", "data-role", "data-section", "data-component"),
        *(
            "data-block",
            "data-qa-id",
            "data-cy",
            "data-automation-id",
            "data-e2e",
            "data-marker",
            "data-module",
            "data-zone",
            "data-area",
            "data-hook",
            "data-name",
            "data-type",
        ),
    )
)


@cache
def _data() -> dict[str, Any]:
    return table_of("zones.toml")


@lru_cache(maxsize=1 << 14)
def zones_of_name(name: str) -> frozenset[str]:
    """The zones that the words of a name tell: exact words, or long ones anywhere in it.

    >>> sorted(zones_of_name("x-itemGallery")), sorted(zones_of_name("old-prix"))
    (['gallery'], ['badge', 'old', 'price'])
    """
    zones: set[str] = set()
    before = ""
    for step in name.split():
        first, last, told = _zones_of_step(step)
        zones |= told
        if before and first:
            zones |= _zones_of_word(before + first)
        before = last or before
    return frozenset(zones)


# classes of style libraries that lay out and name nothing: "max-w-5xl", "md:min-h-screen", "mt-2"
_UTILITY = re.compile(
    r"(?:[a-z0-9-]+:)*-?(?:(?:max|min)-[wh]|[wh]|m[trblxyse]?|p[trblxyse]?|text|bg|font|leading"
    r"|tracking|gap(?:-[xy])?|grid(?:-(?:cols|rows|flow))?|cols?|rows?|order|flex|basis|justify"
    r"|items|self|content|place|object|overflow(?:-[xy])?|rounded|border(?:-[trblxy])?|shadow"
    r"|opacity|z|top|bottom|left|right|inset(?:-[xy])?|start|end|float|align|space-[xy]|divide-[xy]"
    r"|list|table|aspect|cursor|select|transition|duration|ease|line-clamp|d|g|fs|fw|lh|size)"
    r"-(?:\[[^\]]*\]|\d[\w./%-]*|auto|full|screen|px|xs|sm|md|lg|[2-9]?xl|base|none|start|end|center"
    r"|middle|between|around|evenly|stretch|baseline|cover|contain|hidden|visible|scroll|clip|tight"
    r"|snug|normal|relaxed|loose|wider?|bold|semibold|medium|light|disc|decimal|inside|outside"
    r"|wrap|nowrap|col|row|block|inline|grid|cell|fixed|square|video|pointer|all|fit|min|max|prose"
    r"|(?:gray|grey|slate|zinc|stone|neutral|red|green|blue|white|black|muted|primary|secondary|dark"
    r"|light|success|danger|warning|info|body)(?:-\d+)?)"
)


@lru_cache(maxsize=1 << 14)
def _zones_of_step(step: str) -> tuple[str, str, frozenset[str]]:
    """The first and the last word of a name without spaces, and the zones that it tells."""
    parts = [p.lower() for p in _CAMEL.split(step) if p]
    if not parts or ("-" in step and _UTILITY.fullmatch(step)):
        return "", "", _NONE
    told = (_zones_of_word(word) for word in (*parts, *map("".join, pairwise(parts))))
    return parts[0], parts[-1], _NONE.union(*told)


@lru_cache(maxsize=1 << 15)
def _zones_of_word(word: str) -> frozenset[str]:
    exact, inside = _data()["words"], _data()["inside"]
    zones = {zone for zone, listed in exact.items() if word in listed}
    zones |= {zone for zone, listed in inside.items() if any(long in word for long in listed)}
    return frozenset(zones)


def words_of_zone(zone: str) -> tuple[str, ...]:
    return tuple(_data()["words"][zone])


# what each element of the page at hand is named; names do not change while a page is read
_named: dict[HtmlElement, frozenset[str]] = {}


def forget_page() -> None:
    """Let go of the elements of a page that has been read."""
    _named.clear()


def zones_of(element: HtmlElement) -> frozenset[str]:
    """The zones that an element's class, id, role and data names tell."""
    zones = _named.get(element)
    if zones is None:
        zones = _named[element] = _zones_of_attributes(element)
    return zones


def _zones_of_attributes(element: HtmlElement) -> frozenset[str]:
    attributes = element.items()
    if not attributes:
        return _NONE
    if len(attributes) == 1:
        name, value = attributes[0]
        return zones_of_name(str(value)[:300]) if name in _NAMING else _NONE
    named = [value for name, value in attributes if name in _NAMING]
    return zones_of_name(" ".join(map(str, named))[:300]) if named else _NONE


def is_named(element: HtmlElement, *zones: str) -> bool:
    return not zones_of(element).isdisjoint(zones)


@cache
def _heading_pattern(zone: str) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{p})" for p in _data()["headings"][zone]), re.I)


@cache
def _heading_starts() -> frozenset[str]:
    return starts_of([p for rows in _data()["headings"].values() for p in rows])


_AROUND = " :：–—-_·.*=#~|<>＜＞《》〈〉「」『』【】[]［］■□◆◇●○▼▽▲△►▶★☆※"


@lru_cache(maxsize=4096)
def heading_zone(text: str) -> str | None:
    """What a heading announces: similar, description, specifics, other; None for anything else.

    >>> heading_zone("Das könnte Ihnen auch gefallen"), heading_zone("Artikelmerkmale:")
    ('similar', 'specifics')
    >>> heading_zone("【商品説明】"), heading_zone("*** Description ***")
    ('description', 'description')
    """
    if not may_start(text, _heading_starts()):
        return None
    text = " ".join(text.split()).strip(_AROUND).replace("’", "'")
    if not text or len(text) > 80:
        return None
    zones = ("description", "specifics", "similar", "other")
    return next((z for z in zones if _heading_pattern(z).fullmatch(text)), None)


def remove(elements: Iterable[HtmlElement]) -> None:
    """Take elements out of their tree, their tails stay."""
    for element in elements:
        drop(element)


def clean(root: HtmlElement, anchor: HtmlElement | None, url: str | None = None) -> int:
    """Take chrome, similar items and cards of other listings out; whatever holds the anchor stays.

    Returns how many cards there were.
    """
    kept = set(anchor.iterancestors()) | {anchor} if anchor is not None else {root}
    doomed: list[HtmlElement] = []
    pending = [root]
    while pending:
        element = pending.pop()
        if element in kept or not _is_foreign(element):
            pending.extend(element)
        else:
            doomed.append(element)
    remove(doomed)
    for heading in _similar_headings(root):
        _remove_section(heading, kept)
    cards = find_cards(root, kept, url)
    remove(cards)
    return len(cards)


def find_cards(root: HtmlElement, kept: set[HtmlElement], url: str | None) -> list[HtmlElement]:
    """List the parts that stand for other listings: alike siblings that each link elsewhere.

    Three alike, each with a price or with a picture and a title; of two, each with all of them.
    """
    linked: dict[HtmlElement, dict[HtmlElement, str]] = {}
    for link in root.iter("a"):
        href = link.get("href") or ""
        if not leads_away(href, url) or is_profile(href):
            continue
        child = link
        for parent in link.iterancestors():
            if child in kept:
                break
            children = linked.setdefault(parent, {})
            if child in children:
                break  # an earlier link in it was followed outward from here
            children[child] = href
            child = parent
    several = (children for children in linked.values() if len(children) > 1)
    return [card for children in several for card in _alike_cards(children)]


def _alike_cards(children: dict[HtmlElement, str]) -> list[HtmlElement]:
    groups: dict[tuple[str, str | None], list[HtmlElement]] = {}
    for child in children:
        groups.setdefault((child.tag, child.get("class")), []).append(child)
    cards: list[HtmlElement] = []
    for group in groups.values():
        targets = {children[c] for c in group}
        if len(group) < 2 or len(targets) < 2 or group[0].tag in ("td", "th", "dt", "dd"):
            continue
        if all(is_card(c, len(group) < 3) for c in group[:12]):
            cards += group
    return cards


def is_card(element: HtmlElement, needs_all: bool = False) -> bool:
    """Say whether an element shows one thing: a price, or a picture and a title; or all of them."""
    text = " ".join("".join(map(str, element.itertext())).split())
    if len(text) > 600:
        return False
    has_price = has_money(text)
    has_picture = element.find(".//img") is not None
    has_title = len(text) >= 8 and any(c.isalpha() for c in text)
    if needs_all:
        return has_price and has_picture and has_title
    return has_price or (has_picture and has_title)


def _is_foreign(element: HtmlElement) -> bool:
    zones = zones_of(element)
    if not zones and element.tag not in _FOREIGN:
        return False
    if element.tag == "dialog":  # one of pictures alone shows them large
        pictures = sum(1 for _ in element.iter("img"))
        return pictures < 2 or len(flat_text(element)) > 100
    if element.tag in ("nav", "select"):
        return True
    if element.tag == "footer":
        return not any(a.tag in ("article", "section", "main") for a in element.iterancestors())
    if element.tag in ("body", "html", "main", "article", "img", "picture", "source"):
        return False
    if "similar" in zones:
        return True
    if "chrome" not in zones or not zones.isdisjoint(("gallery", "description", "seller")):
        return False
    return not (_states_the_end(element) or _states_what_it_is(element))


_FOREIGN = frozenset(("dialog", "nav", "select", "footer"))


def _states_the_end(element: HtmlElement) -> bool:
    """A banner that says of the listing that it is sold or over is no chrome."""
    if len(element) > 6 or element.tag == "footer":
        return False
    text = flat_text(element)
    first = re.split(r"(?<=[.!])\s", text)[0]
    return len(text) <= 160 and (says("sold", first) or says("ended", first))


def _states_what_it_is(element: HtmlElement) -> bool:
    """ "Listing ID: 77 | Date posted: 6 November": a listing's last line is no page's foot."""
    if len(element) > 6 or element.tag == "footer":
        return False
    text = flat_text(element)
    told = re.findall(r"(?:^|[|·•,;]\s*)([^|·•,;:]{2,30}):\s*\S", text) if len(text) <= 160 else []
    return any(field_of_label(label.strip()) in ("listing_id", "date_listed") for label in told)


_HEADING_TAGS = (*HEADINGS, "strong", "b", "summary", "legend", "caption", "p", "div", "span",
                 "td", "th")  # fmt: skip


def _similar_headings(root: HtmlElement) -> list[HtmlElement]:
    return [h for h in root.iter(*_HEADING_TAGS) if _is_similar_heading(h)]


def _is_similar_heading(element: HtmlElement) -> bool:
    count, text = len(element), element.text
    if count == 0 and not text:
        return False
    if count > 3 or (count and element.tag in ("p", "div", "span")):
        return False
    text = text or ""
    if len(text) > 100 or (not count and not may_start(text, _heading_starts())):
        return False
    return heading_zone(flat_text(element)[:101]) == "similar"


def _remove_section(heading: HtmlElement, kept: set[HtmlElement]) -> None:
    """Remove what a heading opens: its container if it opens that too, else what follows it."""
    if heading.getroottree().getroot() is None or heading.getparent() is None or heading in kept:
        return
    top = heading
    while (parent := top.getparent()) is not None and parent not in kept and _opens(parent, top):
        top = parent
    siblings = list(top.itersiblings()) if top is heading or _is_bare_heading(top, heading) else []
    remove([*_until_next_section(siblings, heading, kept), top])


def _opens(parent: HtmlElement, child: HtmlElement) -> bool:
    """Say whether a child is the first thing with text in its parent."""
    if parent.tag in ("body", "html", "main") or (parent.text or "").strip():
        return False
    return all(
        not flat_text(c) and c.find(".//img") is None for c in child.itersiblings(preceding=True)
    )


def _is_bare_heading(top: HtmlElement, heading: HtmlElement) -> bool:
    """A wrapper about the heading alone ("<div><h2>Similar</h2></div>") opens what follows it."""
    return flat_text(top) == flat_text(heading) and top.find(".//img") is None


def _until_next_section(
    siblings: list[HtmlElement], heading: HtmlElement, kept: set[HtmlElement]
) -> list[HtmlElement]:
    """Siblings up to the next heading of the same rank (or one that opens another part)."""
    taken: list[HtmlElement] = []
    for sibling in siblings:
        if sibling in kept or _starts_section(sibling, heading):
            break
        if taken and is_named(sibling, "gallery", "description", "specifics"):
            break
        taken.append(sibling)
    return taken


def _starts_section(element: HtmlElement, heading: HtmlElement) -> bool:
    rank = heading.tag if heading.tag in HEADINGS else "h6"
    inside = [element] if element.tag in HEADINGS else select(element, ".//h1|.//h2|.//h3|.//h4")
    for other in inside[:1]:
        if heading_zone(flat_text(other)) in ("description", "specifics", "other"):
            return True
        if element is other and other.tag <= rank:
            return True
    return False
