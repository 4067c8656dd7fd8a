"""A saved listing page: its HTML and what lies beside it in, its listings out.

The page is taken apart in a fixed order: structured data first (it also says what the page is
about), then chrome and similar items are cut away, then gallery, description and visible facts
are read from what is left. Which source holds per field is in facts.py and data/trust.toml.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from dataclasses import replace as changed
from typing import Any

from extractors.records import Listing
from triage.readers.addresses import IMAGE_ENDING, canonical_url, file_name, item_in
from triage.readers.bounds import check_markup
from triage.readers.crowds import drop_crowds, drop_walls
from triage.readers.description import find_description
from triage.readers.encoding import decode_page
from triage.readers.facts import Fact
from triage.readers.frames import graft_frames
from triage.readers.gallery import Gallery, find_gallery
from triage.readers.headline import find_anchor
from triage.readers.hidden import find_hidden, hidden_text, sheets_of
from triage.readers.items import Item, read_json_ld, read_microdata, read_rdfa
from triage.readers.line_ends import hand_down, set_out_blocks, write_looks
from triage.readers.markup import HtmlElement, parse_html, plain_elements, select
from triage.readers.meta_facts import (
    meta_facts,
    meta_images,
    read_meta,
    saved_from,
    without_host,
    without_site,
)
from triage.readers.phrases import says, without_state
from triage.readers.runs import wrap_runs
from triage.readers.schema_facts import (
    choose_product,
    find_products,
    image_addresses,
    product_facts,
)
from triage.readers.settle import Settled, settle
from triage.readers.source import Asset, ReadResult, Resources, Source, Unreadable, scheme_of
from triage.readers.state_facts import (
    find_state_listing,
    may_be_about,
    read_states,
    script_images,
    seller_beside,
    seller_without_name,
    state_facts,
    state_images,
)
from triage.readers.state_records import (
    find_record,
    held_in_attributes,
    joined_pieces,
    record_facts,
)
from triage.readers.threads import find_thread, is_wanted, may_be_thread, thread_number
from triage.readers.tolerant_json import load_json
from triage.readers.visible_facts import ORIGIN, visible_facts
from triage.readers.words import flat_text, text_lines
from triage.readers.zones import clean, forget_page, is_named, remove
from triage.snapshots import stable_id

_PAGE_NAME = re.compile(r"\.(?:html?|xhtml?|htm|xht|shtml|php|aspx?|jsp)$", re.I)
_PAGE_HEAD = re.compile(
    rb"<!doctype\s+html|<html[\s>]|<head[\s>]|<body[\s>]|<!--\s*saved from url|<meta\s", re.I
)


def can_read(head: bytes, name: str) -> bool:
    """Say whether a file is an HTML page, by its name or its first tags."""
    if b"\0" in head[:200] and head[:2] in (b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<"):
        head = head.replace(b"\0", b"")
    if _PAGE_NAME.search(name):
        return b"<" in head
    start = head.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")[:1]
    return start == b"<" and _PAGE_HEAD.search(head) is not None


def read(source: Source) -> ReadResult:
    """Read a saved page with its companion files; raises Unreadable."""
    return read_page(source.data(), source.resources(), source)


@dataclass(frozen=True)
class Page:
    """A page taken apart as far as all later steps need it."""

    root: HtmlElement
    body: HtmlElement
    anchor: HtmlElement | None
    language: str
    frames: Sequence[Asset | None]
    facts: tuple[Fact, ...]
    images: tuple[str, ...]
    saved_url: str | None
    is_product: bool
    is_thread: bool
    problems: tuple[tuple[str, str], ...] = field(default=())


def read_page(html: bytes, resources: Resources, source: Source) -> ReadResult:
    """Read the listing of a page, or say why there is none.

    Raises Unreadable for markup that is beyond all bounds or holds no page.
    """
    check_markup(html)
    text = decode_page(html, source.charset)
    root = parse_html(text)
    if root is None or root.find("body") is None:
        raise Unreadable("holds no page", "save the listing's page again")
    plain_elements(root, text)
    resources = _with_base(root, resources)
    frames = graft_frames(root, resources)
    anchor = find_anchor(root)
    cards = drop_walls(root, anchor)
    alive = list(root.iter())  # elements are made anew on each visit unless something holds them
    try:
        page = _structured(root, text, anchor, frames, source, resources)
        return _read_listing(page, cards, resources, source)
    finally:
        alive.clear()
        forget_page()


def _with_base(root: HtmlElement, resources: Resources) -> Resources:
    """Follow <base href>, but not away from the folder in which a page was saved."""
    base = root.find(".//base[@href]")
    if base is None or (scheme_of(base.get("href", "")) and not scheme_of(resources.base)):
        return resources
    return resources.rebased(base.get("href", ""))


def language_of(root: HtmlElement) -> str:
    """The page's language tag in lower case ("de-ch"), or ""."""
    stated = (
        root.get("lang")
        or root.get("{http://www.w3.org/XML/1998/namespace}lang")
        or root.get("xml:lang")
        or ""
    )
    if not stated:
        for meta in root.iter("meta"):
            name = (
                meta.get("http-equiv") or meta.get("name") or meta.get("property") or ""
            ).lower()
            if name in ("content-language", "language", "og:locale"):
                stated = meta.get("content") or ""
                break
    return stated.strip().replace("_", "-").lower()[:12]


# --- structured data -----------------------------------------------------------------------------


def _structured(
    root: HtmlElement,
    text: str,
    anchor: HtmlElement | None,
    frames: Sequence[Asset | None],
    source: Source,
    resources: Resources,
) -> Page:
    """Read all structured data and choose what the page is about."""
    language = language_of(root)
    meta = read_meta(root)
    facts = meta_facts(root, meta, language)
    saved_url, saved_date = saved_from(text)
    facts += _carrier_facts(source, saved_url, saved_date)
    scripts = [(s.get("type", "").lower(), s.text or "") for s in root.iter("script") if s.text]
    linked, broken = read_json_ld(t for kind, t in scripts if "ld+json" in kind)
    items = [*linked, *read_microdata(root), *read_rdfa(root)]
    facts = _without_site_names(facts)
    title = flat_text(anchor) if anchor is not None else None
    url = next(
        (u for f in facts if f.field == "url" and (u := canonical_url(f.value, source.url))), None
    )
    products, _ = find_products(items)
    images: list[str] = []
    chosen = []
    for origin in ("json-ld", "microdata", "rdfa"):
        own = [p for p in products if p.origin == origin and not _is_elsewhere(p)]
        product = choose_product(own, title or _first(facts, "title"), url)
        if product is not None:
            chosen.append(product)
            facts += product_facts(product, language)
            images += image_addresses(product)
    number = next((f.value for f in facts if f.field == "listing_id"), None)
    name = title or _first(facts, "title")
    data = [(k, t) for k, t in scripts if "ld+json" not in k]
    data += [*joined_pieces(data), *held_in_attributes(root, text)]
    near = [s for s in data if may_be_about(s[1], name, number)]
    states = read_states(near)
    state = find_state_listing(states, name, number)
    if state is None and not chosen and url:
        state = _fetched(url, name, number, resources)
    if state is None and not chosen:
        state = find_record(states, name)
    if state is not None:
        told = state_facts(state, language)
        more = record_facts(state, told, language)
        facts += [*more, *told]
        named = seller_beside(states, state)
        if not named and seller_without_name(state) is not None:
            named = seller_beside(read_states(s for s in data if s not in near), state)
        facts += named
        images += state_images(state) if not images else []
    images += _listed_images(root, text) if not images else []
    if not images:
        shown = frozenset(a for i in root.iter("img") if len(a := i.get("src") or "") > 4)
        images += script_images((t for k, t in scripts if "json" not in k), shown)
    images += [i for i in meta_images(meta) if not images]
    problems = (
        [("structured data that cannot be read", "nothing to do; the rest was read")]
        if broken
        else []
    )
    facts = _without_signature(facts, title, dict(meta).get("og:site_name"))
    body = root.find("body")
    return Page(
        root=root,
        body=body if body is not None else root,
        anchor=anchor,
        language=language,
        frames=frames,
        facts=tuple(facts),
        images=tuple(dict.fromkeys(images)),
        saved_url=saved_url,
        is_product=bool(chosen or state),
        is_thread=not (chosen or state) and may_be_thread(root),
        problems=tuple(problems),
    )


def _fetched(
    url: str, title: str | None, number: str | None, resources: Resources
) -> dict[str, Any] | None:
    """The listing among the replies to a page's scripts, where the page itself is a shell."""
    number = number or item_in(url)
    step = file_name(url)
    names = [n for n in (number, step) if n and len(n) > 3]
    replies = read_states(resources.replies(*names)) if names else []
    return find_state_listing(replies, title, number, step)


_LISTED = re.compile(r"data-[\w-]+=(?:'|\")\s*\[\s*(?:\{|\"|&quot;)")


def _listed_images(root: HtmlElement, text: str) -> list[str]:
    """The images in a data attribute that holds a list of them for the page's scripts."""
    if not _LISTED.search(text):
        return []
    for element in select(root, "descendant::*[@*[starts-with(normalize-space(.), '[')]]")[:50]:
        for name, value in element.items():
            if str(name).startswith("data-") and IMAGE_ENDING.search(str(value).replace('"', "#")):
                found = state_images({"images": load_json(str(value))})
                if len(found) > 1 and all(IMAGE_ENDING.search(a) for a in found):
                    return found
    return []


def _without_site_names(facts: Sequence[Fact]) -> list[Fact]:
    addresses = [f.value for f in facts if f.field == "url"]
    return [
        changed(f, value=without_host(f.value, addresses)) if f.origin == "page title" else f
        for f in facts
    ]


def _without_signature(facts: list[Fact], heading: str | None, site: str | None) -> list[Fact]:
    """Titles without the site's name before or after them, where the page's heading has none."""
    if not heading:
        return facts
    plain = " ".join(heading.split())
    addresses = [f.value for f in facts if f.field == "url"]
    return [
        changed(f, value=plain)
        if f.field == "title" and _is_signed(" ".join(f.value.split()), plain, site, addresses)
        else f
        for f in facts
    ]


def _is_signed(title: str, heading: str, site: str | None, addresses: Sequence[str]) -> bool:
    if title == heading or heading not in title:
        return False
    return heading in (without_site(title, site), without_host(title, addresses))


def _first(facts: Sequence[Fact], name: str) -> str | None:
    return next((f.value for f in facts if f.field == name), None)


def _is_elsewhere(product: Item) -> bool:
    """Say whether an item's element stands among similar items or in a list of others."""
    if product.element is None:
        return False
    return any(
        is_named(a, "similar")
        for a in [product.element, *product.element.iterancestors()]
        if a.tag not in ("body", "html")
    )


def _carrier_facts(source: Source, saved_url: str | None, saved_date: str | None) -> list[Fact]:
    facts = []
    if saved_url:
        facts.append(Fact("url", saved_url, "saved-from comment"))
    if saved_date:
        facts.append(Fact("date_saved", saved_date, "saved-from comment"))
    if source.url and canonical_url(source.url):
        facts.append(Fact("url", source.url, "carrier"))
    if source.saved_at:
        facts.append(Fact("date_saved", source.saved_at, "carrier"))
    return facts


# --- the visible page ----------------------------------------------------------------------------


def _read_listing(page: Page, cards: int, resources: Resources, source: Source) -> ReadResult:
    """Read what the page shows; `cards` stood for other listings and are dropped already."""
    anchor = page.anchor
    sheets = sheets_of(page.root, resources)
    remove([*page.root.iter("script", "style", "template", "svg", "math")])
    facts = list(page.facts)
    heading = flat_text(anchor) if anchor is not None else ""
    base = _address_base(page, source)
    url = settle([f for f in facts if f.field == "url"], base).values.get("url")
    drop_crowds(page.body, anchor, url, page.is_thread)
    thread = find_thread(page.body, heading, page.language) if page.is_thread else None
    cards += clean(page.body, anchor, url)
    wrap_runs(page.body)
    write_looks(page.body, sheets)
    found = find_description(page.body, anchor) if thread is None else (thread.content, ORIGIN)
    description = found[0] if found else None
    if description is not None:
        hand_down(description)
        set_out_blocks(description, sheets)
    gallery = find_gallery(page.body, resources, page.frames, page.images, url, description)
    hidden = find_hidden(page.body, sheets, description)
    unseen = hidden_text(hidden)
    remove(hidden)
    if anchor is not None:  # without what only a screen reader says before the title
        facts.append(Fact("title", flat_text(anchor) or heading, "heading"))
        if heading.endswith(("…", "...")) and (whole := anchor.get("title")):
            facts.append(Fact("title", whole, "heading", "its title attribute"))
    facts = _with_bare_titles(facts)
    if found is not None:
        facts.append(Fact("description", text_lines(found[0]), found[1]))
    facts += visible_facts(page.body, anchor, description, page.language)
    if thread is not None:
        facts += thread.facts
        if (number := thread_number(url)) is not None:
            facts.append(Fact("listing_id", number, "address"))
    if url and (number := item_in(url)):
        facts.append(Fact("listing_id", number, "address"))
    settled = settle(facts, base)
    why_not = _why_no_listing(page, settled, gallery, facts, cards)
    if thread is not None and (not thread.is_offer or is_wanted(heading)):
        why_not = "a thread that offers nothing"
    problems = tuple(source.problem(*p) for p in page.problems)
    if why_not:
        return ReadResult((), (*problems, source.problem(why_not, "save the page of one listing")))
    carried = canonical_url(source.url or "") or canonical_url(page.saved_url or "")
    listing = _listing(settled, gallery, unseen, source, carried)
    used = gallery.used | {a.place for a in page.frames if a is not None}
    return ReadResult((listing,), problems, frozenset(used))


def _with_bare_titles(facts: Sequence[Fact]) -> list[Fact]:
    """Titles without the state that stands in them ("Sold • ..."), and that state as a fact."""
    result: list[Fact] = []
    for fact in facts:
        title, kind = without_state(fact.value) if fact.field == "title" else ("", None)
        result.append(fact if kind is None else changed(fact, value=title))
        if kind in ("sold", "ended"):
            result.append(Fact("status", kind, ORIGIN, "in the title"))
    return result


def _address_base(page: Page, source: Source) -> str | None:
    """The address from which the page's own relative addresses start."""
    known = source.url or page.saved_url
    stated = page.root.find(".//base[@href]")
    href = canonical_url(stated.get("href", ""), known) if stated is not None else None
    return href or known


# fields that only pages of one listing have, and what each is worth as a sign of one
_SIGNS = {
    "listing_id": 2, "seller_name": 1, "seller_id": 1, "date_listed": 1, "ends_at": 1, "auction": 1,
    "shipping": 1, "offers_accepted": 1, "location": 1, "bid": 1, "sold": 1, "buy_now": 1,
}  # fmt: skip
_TELLING = ("visible text", "json-ld", "microdata", "rdfa", "page state", "product tags")


def _why_no_listing(
    page: Page, settled: Settled, gallery: Gallery, facts: Sequence[Fact], cards: int
) -> str | None:
    """Say in a few words why a page is no listing; None if it is one."""
    values = settled.values
    if "title" not in values:
        return "a page without a title"
    titles = [f.value for f in facts if f.field == "title"]
    needed = 3
    if any(says("no_listing", t) for t in titles) and not page.is_thread:
        needed = 6
    elif cards >= 6:
        needed = 4
    if not page.is_product and not page.is_thread:
        needed = max(needed, _needed_by_money(settled, gallery, facts))
    if _signs(page, settled, gallery, facts) >= needed:
        return None
    return f"a page that lists {cards} others" if cards > 2 else "a page that is no listing"


def _needed_by_money(settled: Settled, gallery: Gallery, facts: Sequence[Fact]) -> int:
    """How much must speak for a page that states no price, or a bare amount alone."""
    if not settled.values.keys() & {"price", "buy_now"}:
        is_gone = any(f.field == "status" and f.value in ("sold", "ended") for f in facts)
        return 4 if is_gone else 5
    told = {f.field for f in facts if f.origin in _TELLING}
    has_photo = bool(gallery.photos or gallery.missing)
    is_told = told & {"price", "bid", "sold", "buy_now", "start_bid", "seller_name", "seller_id"}
    return 3 if has_photo or is_told else 4


def _signs(page: Page, settled: Settled, gallery: Gallery, facts: Sequence[Fact]) -> int:
    """Weigh what speaks for a page being the page of one listing."""
    values = settled.values
    told = {f.field for f in facts if f.origin in _TELLING}
    weak = "price" in values and not told & {"price", "bid", "sold", "buy_now", "start_bid"}
    return (
        3 * page.is_product
        + (1 if weak else 2 if "price" in values else 0)
        + min(3, sum(_SIGNS.get(name, 0) for name in told))
        + (len(values.get("specifics", ())) >= 2)
        + ("description" in values and not _is_share_text(settled))
        + bool(gallery.photos or gallery.missing)
    )


def _is_share_text(settled: Settled) -> bool:
    return settled.origins["description"][0].startswith(("open graph", "meta"))


def _listing(
    settled: Settled,
    gallery: Gallery,
    unseen: str | None,
    source: Source,
    saved_from: str | None,
) -> Listing:
    origins = dict(settled.origins)
    if gallery.origin:
        origins["photos"] = (gallery.origin,)
    values = {k: v for k, v in settled.values.items() if k in Listing.__dataclass_fields__}
    listing = Listing(
        id="", source=source.path, member=source.member, photos=gallery.photos,
        missing_photos=gallery.missing, hidden_text=unseen, saved_from=saved_from, origins=origins,
        **values,
    )  # fmt: skip
    return changed(listing, id=stable_id(listing))
