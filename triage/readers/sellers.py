"""Who sells: the name and the id that a page's labels, links, headings and attributes tell.

A link that is known to be the seller's has the id in the last step of its address, whatever the
site calls the step before; without such a sign only addresses of people and shops count.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice

from triage.readers.addresses import owner_in, seller_in
from triage.readers.dates import StatedDate, day_after
from triage.readers.facts import VISIBLE, Fact
from triage.readers.labels import field_of_label
from triage.readers.markup import HtmlElement, select
from triage.readers.phrases import says
from triage.readers.words import flat_text, text_lines
from triage.readers.zones import HEADINGS, heading_zone, is_named

_FEEDBACK = re.compile(
    r"\(\s*([\d.,'’ ]+)\s*\)|([★☆]\s*)?(\d{1,3}(?:[.,]\d+)?\s?%(?:\s+[^\d(|·]{3,40})?)"
)


# --- after a label -------------------------------------------------------------------------------


def labelled_seller(
    value: str, note: str, element: HtmlElement | None, language: str = ""
) -> Iterator[Fact]:
    """The seller after a label: the name, the id in its link, the day and feedback after it."""
    first, link = value, None
    lines: list[str] = []
    if element is not None:
        lines = [line for line in text_lines(element).split("\n") if line.strip()]
        link = _link_of(element, value)
        label = re.compile(rf"^{re.escape(note.strip('“”'))}\s*[:：]?\s*")
        lines = [line for line in (label.sub("", line).strip() for line in lines) if line]
        is_own = len(lines) > 1 and value.startswith(" ".join(lines[0].split()))
        first = lines[0] if is_own else value
        if link is not None:
            text = _own_name(link)
            first = text if any(c.isalpha() for c in text) else first
            if handle := owner_in(link.get("href") or ""):
                yield Fact("seller_id", handle, VISIBLE, f"{note} link")
    if _NAMING.fullmatch(first.strip(" :：")) and element is not None:
        first = lines[1] if len(lines) > 1 else first
    if link is None and element is not None and (marked := _marked_name(element, value)):
        first = marked
    name, word, stated = _parted(first, value, language)
    if stated is not None and (word == "," or _dates_a_listing(note, word)):
        yield Fact("date_listed", stated.iso, VISIBLE, note)
    name = _without_rating(name)
    if name and len(name) <= 80 and any(c.isalnum() for c in name):
        yield Fact("seller_name", name, VISIBLE, note)
    feedback = value.replace(name, "", 1).strip(" ,|·•–-") if name else ""
    if _FEEDBACK.search(feedback):
        yield Fact("seller_feedback", feedback, VISIBLE, note)


_ENDS_NAME = re.compile(r"\s*[(（|·•★–]|\s+-\s+|\s{2,}|,?\s+\d{1,3}(?:[.,]\d+)?\s?%|\t")


def _parted(first: str, value: str, language: str) -> tuple[str, str, StatedDate | None]:
    """The name in what stands first in a value; the day after it, and the word between."""
    start, word, stated = day_after(value, language) or (None, "", None)
    name = value[:start] if first == value else first
    return _ENDS_NAME.split(name.strip())[0].strip(" ,:"), word, stated


def _dates_a_listing(note: str, word: str) -> bool:
    """Say whether a label tells of listing: "Published by", "Eingestellt von"."""
    verb = note.strip("“”").rsplit(" ", 1)[0]
    return "date_listed" in (field_of_label(verb), field_of_label(f"{verb} {word}"))


def _link_of(element: HtmlElement, value: str) -> HtmlElement | None:
    """The seller's link in the value of a label: to a person's page, or else with the name."""
    links = [*element.iter("a")]
    parent = element.getparent()
    links += [parent] if parent is not None and parent.tag == "a" else []
    known = [a for a in links if seller_in(a.get("href") or "")]
    if known:
        named = (a for a in known if any(c.isalpha() for c in flat_text(a)))
        return next(named, known[0])
    for link in links[:3]:
        text = flat_text(link)
        if text and value.startswith(text) and _may_be_name(text):
            return link
    return None


def seller_after_day(value: str, note: str, element: HtmlElement | None) -> Iterator[Fact]:
    """Who has listed a thing on a day: "Listed on 3 May 2026 by Hedda Brun"."""
    match = _BY.search(value)
    if match is None or len(match[1]) > 50:
        return
    name = _ENDS_NAME.split(match[1].strip())[0].strip(" ,.:")
    if not _may_be_name(name):
        return
    for link in element.iter("a") if element is not None else ():
        if flat_text(link) == name and (handle := owner_in(link.get("href") or "")):
            yield Fact("seller_id", handle, VISIBLE, f"{note} link")
    yield Fact("seller_name", name, VISIBLE, note)


# labels of a name in a part about the seller
_NAMING = re.compile(
    r"(?i)(?:(?:user|display|full|shop|screen)?[- ]?name|nom|nome|nombre|naam|nazwa|namn|navn|"
    r"pseudo|benutzername|nutzername|名前|ユーザー名)"
)


def _own_name(link: HtmlElement) -> str:
    """The name in a link, without a badge after it in marks of its own."""
    shown = [e for e in link if isinstance(e.tag, str) and flat_text(e)]
    own = " ".join((link.text or "").split())
    if own and shown and all(is_named(e, "badge", "icon") for e in shown):
        return own
    if not own and len(shown) > 1 and not (shown[0].tail or "").strip():
        return _own_name(shown[0])
    return text_lines(link).strip().split("\n")[0].strip()


def _marked_name(element: HtmlElement, value: str) -> str | None:
    """The name in a mark of its own at the beginning of a value: "<b>Rosa</b>, Leeds"."""
    for mark in islice(element.iter("b", "strong"), 3):
        text = flat_text(mark)
        if text and value.startswith(text) and text != value and _may_be_name(text):
            return text if value[len(text) :].lstrip()[:1] in ",(（·|–-" else None
    return None


_BY = re.compile(r"(?i)\d\s*,?\s+(?:by|von|durch|par|da|por|door|przez|av|af)\s+(\S.*)$")


# --- by links, names of parts, headings ----------------------------------------------------------

_NO_NAME = re.compile(
    r"(?i)\b(?:see|view|visit|more|other|all|show|contact|message|profile|items|ask|follow|"
    r"alle|mehr|weitere|zum|zur|profil|besuchen|anzeigen|kontakt\w*|"
    r"voir|tous|autres|boutique du|contacter|vedi|tutti|altri|contatta|visita|"
    r"ver|todos|otros|contactar|perfil|tienda de)\b"
)
_CHROME = ("header", "footer", "nav")
# what stands for a seller's id in links to the reader's own pages
_OWN_PAGES = frozenset(
    ("me", "my", "self", "account", "login", "signin", "sign-in", "register", "signup", "settings",
     "logout", "messages", "favourites", "favorites", "watchlist", "new", "edit", "mein", "moi")
)  # fmt: skip


def find_seller(body: HtmlElement, outside: set[HtmlElement], told: list[Fact]) -> list[Fact]:
    """What tells who sells beside the labels, whose facts are `told`."""
    facts = seller_links(body, outside)
    known = {f.field: f.value for f in (*told, *facts) if f.field in ("seller_name", "seller_id")}
    if not known:
        finders = (named_seller, headed_seller, _signed_seller, _seller_of_a_kind)
        facts = next((found for find in finders if (found := find(body, outside))), [])
        known = {f.field: f.value for f in facts}
    if "seller_id" not in known or "seller_name" not in known:
        facts += _in_attributes(body, outside, known)
    return facts


def seller_links(body: HtmlElement, outside: set[HtmlElement]) -> list[Fact]:
    """The seller's profile link: one whose address has a seller's id and whose text is a name."""
    found: dict[str, list[Fact]] = {}
    inside: set[str] = set()
    for link in body.iter("a"):
        handle = seller_in(link.get("href", "")) if link.get("href") else None
        if handle is None or handle.casefold() in _OWN_PAGES:
            continue
        above = list(link.iterancestors())
        if any(a in outside for a in above):
            continue
        if not any(a.tag in _CHROME for a in above):
            inside.add(handle)
        facts = found.setdefault(handle, [Fact("seller_id", handle, VISIBLE, "profile link")])
        text = _without_rating(re.split(r"\s*[(\n]", text_lines(link).strip())[0].strip())
        if 0 < len(text) <= 50 and not _NO_NAME.search(text) and any(c.isalpha() for c in text):
            facts.append(Fact("seller_name", text, VISIBLE, "profile link"))
            facts += _feedback_after(link)
        elif len(facts) == 1 and (name := _name_beside(link)) is not None:
            facts.append(Fact("seller_name", name, VISIBLE, "beside the profile link"))
    if len(found) > 1 and len(inside) == 1:  # the reader's own page is linked in the site's head
        return found[next(iter(inside))]
    return next(iter(found.values()), []) if len(found) == 1 else []


def _name_beside(link: HtmlElement) -> str | None:
    """A name set off in the small box about a link that only says "View profile"."""
    for box in islice(link.iterancestors(), 3):
        if box.tag in ("body", "main", "article") or len(flat_text(box)) > 160:
            return None
        for element in _name_places(box):
            name = _without_rating(flat_text(element))
            if _may_be_name(name):
                return name
    return None


def named_seller(body: HtmlElement, outside: set[HtmlElement]) -> list[Fact]:
    """The name in a part whose class says that it is about the seller, where nothing else does."""
    for part in body.iter("div", "section", "aside", "article", "p", "td", "li", "span", "h3", "a"):
        if not is_named(part, "seller") or any(a in outside for a in (part, *part.iterancestors())):
            continue
        if facts := _named_in(part, "part about the seller"):
            return facts
    return []


def _named_in(part: HtmlElement, note: str) -> list[Fact]:
    """The first name in a part that is about the seller, and the id in the link about it."""
    for element in _name_places(part):
        name = _without_rating(flat_text(element))
        if _may_be_name(name):
            handle = _id_beside(part, name)
            ids = [Fact("seller_id", handle, VISIBLE, note)] if handle else []
            return [Fact("seller_name", name, VISIBLE, note), *ids]
    own = " ".join((part.text or "").split()) if len(part) else ""
    return [Fact("seller_name", own, VISIBLE, note)] if _may_be_name(own) else []


def _id_beside(part: HtmlElement, name: str) -> str | None:
    """The id in the address of the link that says a name, in a part or about it."""
    links = [*part.iter("a"), *(a for a in islice(part.iterancestors(), 2) if a.tag == "a")]
    said = (a for a in links if flat_text(a).startswith(name))
    return next((h for a in said if (h := owner_in(a.get("href") or ""))), None)


def headed_seller(body: HtmlElement, outside: set[HtmlElement]) -> list[Fact]:
    """The name under a heading such as "About the seller"."""
    for heading in body.iter(*HEADINGS[1:], "strong", "b", "legend", "summary"):
        text = flat_text(heading) if len(heading) < 3 else ""
        if not text or len(text) > 40 or not _heads_a_seller(text):
            continue
        if any(a in outside for a in heading.iterancestors()):
            continue
        for part in _after(heading):
            lines = text_lines(part).split("\n")
            facts = _named_in(part, f"under “{text}”")
            name = _without_rating(_ENDS_NAME.split(lines[0].strip())[0])
            if not facts and _may_be_name(name):
                facts = [Fact("seller_name", name, VISIBLE, f"under “{text}”")]
            if facts:
                return facts
    return []


_SIGNED = (
    "descendant::a[contains(concat(' ', @rel, ' '), ' author ')]"
    " | descendant::*[contains(concat(' ', @class, ' '), ' vcard ')]"
    "/descendant-or-self::*[contains(concat(' ', @class, ' '), ' fn ')]"
)
_BYLINE = re.compile(r"(?i)(?:^|[\s·|(])(?:by|von|par|da|di|por|door|przez|av|af|od)\s*:?$")
_OF_MAKERS = re.compile(
    r"(?i)/(?:brands?|makers?|marken?|marques?|marche|marcas?|merken|designers?|manufacturers?"
    r"|collections?|categor\w+|c|tags?|search|s)/"
)


def _signed_seller(body: HtmlElement, outside: set[HtmlElement]) -> list[Fact]:
    """The name in a link that says who has written the page, or right after "by"."""
    after_by = (a for a in body.iter("a") if _BYLINE.search(_text_right_before(a)))
    for link in (*select(body, _SIGNED), *after_by):
        name, address = _own_name(link), link.get("href") or ""
        if any(e in outside or e.tag in _CHROME for e in link.iterancestors()):
            continue
        if _may_be_name(name) and not _OF_MAKERS.search(address):
            handle = owner_in(address)
            ids = [Fact("seller_id", handle, VISIBLE, "byline")] if handle else []
            return [Fact("seller_name", name, VISIBLE, "byline"), *ids]
    return []


def _text_right_before(element: HtmlElement) -> str:
    previous, parent = element.getprevious(), element.getparent()
    text = previous.tail if previous is not None else parent.text if parent is not None else ""
    return (text or "")[-40:].rstrip()


def _seller_of_a_kind(body: HtmlElement, outside: set[HtmlElement]) -> list[Fact]:
    """The name right above a line that says "Private seller" or the like."""
    for line in body.iter("span", "small", "p", "div", "em", "li"):
        if (
            len(line)
            or not 4 < len(line.text or "") < 60
            or not says("seller_kind", line.text or "")
        ):
            continue
        above = next((e for e in line.itersiblings(preceding=True) if flat_text(e)), None)
        if above is None or any(a in outside for a in line.iterancestors()):
            continue
        name = _own_name(above)
        if _may_be_name(name):
            handle = _id_beside(above, name)
            ids = [Fact("seller_id", handle, VISIBLE, "above its kind")] if handle else []
            return [Fact("seller_name", name, VISIBLE, "above its kind"), *ids]
    return []


def _heads_a_seller(text: str) -> bool:
    return says("seller_heading", text) or field_of_label(text) == "seller"


def _after(heading: HtmlElement) -> Iterator[HtmlElement]:
    """The two elements with text that follow a heading, or a wrapper about it alone."""
    top = heading
    while (parent := top.getparent()) is not None and flat_text(parent) == flat_text(heading):
        top = parent
    shown = (s for s in top.itersiblings() if isinstance(s.tag, str) and flat_text(s))
    yield from (s for s in islice(shown, 2) if s.tag not in HEADINGS)


_ATTRIBUTES = re.compile(
    r"(?:data-)?(?:seller|vendor|shop|store|merchant|dealer|owner|member|user|account|consignor)"
    r"[-_]?(id|no|nr|number|name|nick|username|handle|slug|login)?"
)
_STATING = (
    "descendant::*[@*[starts-with(name(), 'data-seller') or starts-with(name(), 'data-vendor')"
    " or starts-with(name(), 'seller') or starts-with(name(), 'vendor')"
    " or name() = 'data-user-id' or name() = 'data-userid' or name() = 'user-id'"
    " or name() = 'data-member-id' or name() = 'member-id' or name() = 'data-username'"
    " or name() = 'data-shop-id' or name() = 'shop-id' or name() = 'data-owner-id'"
    " or name() = 'owner-id' or name() = 'user-name' or name() = 'data-shop-name'"
    " or name() = 'shop-name' or name() = 'data-dealer-id' or name() = 'dealer-id'"
    " or name() = 'username' or name() = 'name' and contains(@class, '-')]]"
)


def _in_attributes(
    body: HtmlElement, outside: set[HtmlElement], known: dict[str, str]
) -> list[Fact]:
    """What attributes of the parts about the seller say, if they all say the same."""
    found: dict[str, set[str]] = {"seller_id": set(), "seller_name": set()}
    for element in select(body, _STATING):
        if any(a in outside or a.tag in _CHROME for a in (element, *element.iterancestors())):
            continue
        for field, value in _stated_by(element):
            found[field].add(value)
    return [
        Fact(field, next(iter(values)), VISIBLE, "attribute of the part about the seller")
        for field, values in found.items()
        if field not in known and len(values) == 1
    ]


def _stated_by(element: HtmlElement) -> Iterator[tuple[str, str]]:
    near = (element, *islice(element.iterancestors(), 2))
    is_sellers = any(is_named(e, "seller") for e in near)
    for name, value in ((str(n).lower(), " ".join(str(v).split())) for n, v in element.items()):
        match = _ATTRIBUTES.fullmatch(name)
        is_told = is_sellers or "seller" in name or "vendor" in name
        if not value or len(value) > 60 or not is_told:
            continue
        part = "name" if name == "name" else match[1] if match is not None else None
        if part in ("name", "nick") and _may_be_name(value):
            yield "seller_name", value
        elif part and part != "name" and " " not in value:
            yield "seller_id", value


_NAME_CLASS = re.compile(
    r"(?i)(?:^|[-_\s])(?:user|seller|shop|member|display|nick|screen)?-?name\b"
)


def _name_places(part: HtmlElement) -> Iterator[HtmlElement]:
    """Where a name may stand: in an element so named, in a heading, in what stands out."""
    below = list(islice(part.iterdescendants(), 60))
    if not below and (part.tag == "a" or _NAME_CLASS.search(_own_names(part))):
        yield part
    yield from (e for e in below if _NAME_CLASS.search(e.get("class") or ""))
    yield from (e for e in below if e.tag in (*HEADINGS, "strong", "b"))
    yield from (e for e in below if e.tag == "a")
    yield from (
        e for e in below if not len(e) and len(e.text or "") > 3 and e.tag in ("span", "div")
    )


def _own_names(element: HtmlElement) -> str:
    return " ".join(str(v) for n, v in element.items() if n in ("class", "id", "data-testid"))


def _may_be_name(text: str) -> bool:
    is_short = 2 <= len(text) <= 40 and len(text.split()) <= 5
    if not is_short or ":" in text or not any(c.isalpha() for c in text):
        return False
    return field_of_label(text) is None and heading_zone(text) is None and not _NO_NAME.search(text)


_RATING = re.compile(
    r"\s*[,·|–-]?\s*(?:[★☆⭐✩✭]|\d[.,]\d\s*(?:[★☆⭐/]|$)|\d{1,3}(?:[.,]\d+)?\s?%|[(\[]\s*[\d.,+]+\s*[)\]]"
    r"|\d+\s+(?:reviews?|ratings?|feedbacks?|bewertungen|avis|recensioni|opiniones|sales|verkäufe"
    r"|beoordelingen|avaliações|opinii|omdömen)\b).*$",
    re.I,
)


def _without_rating(name: str) -> str:
    """A seller's name without the score that stands after it.

    >>> _without_rating("wirewright 4.9 ★"), _without_rating("Shop 24")
    ('wirewright', 'Shop 24')
    """
    return _RATING.sub("", name).strip() or name


def _feedback_after(link: HtmlElement) -> list[Fact]:
    """The score and share that stand after a seller's name in the same line."""
    parent = link.getparent()
    around = flat_text(parent) if parent is not None else ""
    after = around.partition(flat_text(link))[2].strip(" ,|·•–-")
    if len(around) > 160 or not _FEEDBACK.match(after):
        return []
    return [Fact("seller_feedback", after, VISIBLE, "after the seller's name")]
